// Plain data of a scenario: the foot's input, timed changes, faults.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>

#include "parts/registry.hpp"
#include "system/changes.hpp"
#include "system/faults.hpp"
#include "system/foot.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

PartSpec part(const std::string& name, const char* kind,
              std::vector<std::pair<const char*, double>> given = {}) {
    PartSpec spec;
    spec.name = name;
    spec.kind = find_kind(kind);
    REQUIRE(spec.kind != nullptr);
    spec.values = Values(spec.kind->fields);
    for (const auto& [field, value] : given)
        spec.values.set(field, value);
    return spec;
}

/// Pedal, cylinder, a pipe to one caliper on each outlet.
Scenario small_car() {
    Scenario s;
    Hardware& h = s.hardware;
    h.fluid = Values(fluid_fields());
    h.surroundings = Values(surroundings_fields());
    h.parts = {part("pedal", "pedal", {{"ratio", 5}}),
               part("master", "tandem_master", {{"bore", 20e-3}}),
               part("pipe", "line", {{"length", 1.0}}),
               part("left", "disc_caliper", {{"piston", 50e-3}}),
               part("hose", "hose", {{"length", 0.4}}),
               part("right", "disc_caliper", {{"piston", 50e-3}})};
    h.circuits = {{"primary", {{"pipe", "left"}, {}}}, {"secondary", {{"hose", "right"}, {}}}};
    s.foot.time = {0, 1};
    s.foot.value = {0, 0};
    s.duration = 1;
    return s;
}

FootInput ramp() {
    FootInput f;
    f.time = {0, 1, 2, 2.1, 3, 4};
    f.value = {0, 100, 100, 60, 60, 0};
    return f;
}

/// A valve that shuts at 0.1, opens at 0.9 and is full at 3 MPa.
Hardware hold_off_alone() {
    Hardware h;
    h.fluid = Values(fluid_fields());
    h.surroundings = Values(surroundings_fields());
    h.parts = {part("valve", "hold_off_valve", {{"shut", 0.1e6}, {"open", 0.9e6}, {"full", 3e6}})};
    REQUIRE(complete(h).empty());
    return h;
}

} // namespace

TEST_CASE("the foot: straight lines that go on past their corner, so that a step never sees it") {
    const Foot foot(ramp());
    CHECK(near(foot.at(0.5).value, 50, 1e-12, 0));
    CHECK(near(foot.at(0.5).rate, 100, 1e-12, 0));
    CHECK(near(foot.on_stretch(0.5, 1.01).value, 101, 1e-9, 0)); // still the first line
    CHECK(foot.on_stretch(1.0, 1.01).value == 100);
    CHECK(foot.at(9).value == 0);
    CHECK(foot.at(9).rate == 0);
    CHECK(foot.corners() == std::vector<double>{0, 1, 2, 2.1, 3, 4});
}

TEST_CASE("the foot: held until the end of the last constant stretch of 0.2 s above zero") {
    const Foot foot(ramp());
    CHECK(foot.held_until(10) == 3);
    CHECK(foot.held_until(1.9) == 1.9);      // the run ends within the first hold
    CHECK(std::isnan(foot.held_until(1.1))); // 0.1 s is no hold
    CHECK(foot.free(4, 5));
    CHECK_FALSE(foot.free(3.5, 5));
    FootInput short_blip;
    short_blip.time = {0, 1, 1.5, 2};
    short_blip.value = {0, 0, 50, 0};
    CHECK_FALSE(Foot(short_blip).free(0.5, 3)); // zero at both ends, not between
}

TEST_CASE("a measured trace has no corners inside, passes its samples and has a continuous rate") {
    FootInput f;
    f.measured = true;
    for (int i = 0; i <= 1000; ++i) {
        f.time.push_back(i * 1e-3);
        f.value.push_back(100 * std::sin(3 * i * 1e-3));
    }
    const Foot foot(f);
    CHECK(foot.corners() == std::vector<double>{0, 1});
    CHECK(near(foot.at(0.5).value, 100 * std::sin(1.5), 1e-9, 0));
    CHECK(near(foot.at(0.2505).value, 100 * std::sin(0.7515), 1e-4, 0));
    CHECK(near(foot.at(0.25 - 1e-9).rate, foot.at(0.25 + 1e-9).rate, 1e-3, 0));
}

namespace {

/// A press as a load cell sees it: a sample every millisecond, 1 N rms of noise (seeded), nothing
/// below zero, as the reader leaves it. Force `held` from 1.2 s to 2.2 s, away by 2.6 s.
FootInput noisy(double held, unsigned seed, double end) {
    std::mt19937 engine(seed);
    std::normal_distribution<double> noise(0, 1);
    FootInput f;
    f.measured = true;
    for (int i = 0; i * 1e-3 <= end; ++i) {
        const double t = i * 1e-3;
        const double clean = held * std::clamp(std::min(t - 0.2, 1.0), 0.0, 1.0) -
                             held * std::clamp((t - 2.2) / 0.4, 0.0, 1.0);
        f.time.push_back(t);
        f.value.push_back(std::max(0.0, clean + noise(engine)));
    }
    return f;
}

} // namespace

TEST_CASE("a load cell's noise hides neither the hold nor the free pedal") {
    for (unsigned seed = 1; seed <= 40; ++seed) {
        CAPTURE(seed);
        const Foot foot(noisy(250, seed, 4.5));
        const double held = foot.held_until(4.5);
        // In the flat part, and near its end: the medians look 20 ms ahead, and by chance the last
        // of them that lies in the middle half of the scatter may come a few windows earlier.
        CHECK(held <= 2.2);
        CHECK(held >= 2.1);
        CHECK(foot.free(3.5, 4.5));
        CHECK_FALSE(foot.free(2.5, 4.5)); // at 2.5 s there are 62 N on it
        CHECK_FALSE(foot.free(0.5, 1.5));
        // The run ends within the hold; the trace ends within it.
        CHECK(foot.held_until(1.8) <= 1.8);
        CHECK(foot.held_until(1.8) >= 1.7);
        CHECK(std::isnan(foot.held_until(1.2)));
        CHECK(Foot(noisy(250, seed, 2.0)).held_until(4) == 4);
    }
}

TEST_CASE("a slow press of a load cell is no hold, and one spike does not end one") {
    FootInput slow = noisy(250, 7, 4.5), spike = slow;
    for (std::size_t i = 0; i < slow.time.size(); ++i) { // up at 25 N/s, down at 625 N/s
        slow.time[i] *= 12.0 / 4.5;
        slow.value[i] = std::max(0.0, std::min(25 * slow.time[i], 250 - 625 * (slow.time[i] - 10)));
    }
    CHECK(std::isnan(Foot(slow).held_until(21)));
    spike.value[1900] = 0;
    spike.value[2150] = 400;
    CHECK(near(Foot(spike).held_until(4.5), 2.15, 0.05, 0));
    CHECK(Foot(spike).free(3.5, 4.5));
}

TEST_CASE("without noise a measured hold ends with the last window that lies in it") {
    FootInput f = noisy(250, 1, 4.5);
    for (std::size_t i = 0; i < f.time.size(); ++i)
        f.value[i] = f.time[i] < 0.2   ? 0
                     : f.time[i] < 1.2 ? 250 * (f.time[i] - 0.2)
                     : f.time[i] < 2.2 ? 250
                                       : std::max(0.0, 250 - 625 * (f.time[i] - 2.2));
    // The median of 20 ms is still 250 N while half of them lie before 2.2 s.
    CHECK(near(Foot(f).held_until(4.5), 2.19, 0.0015, 0));
    CHECK(Foot(f).free(3.5, 4.5));
}

TEST_CASE("a gradual change is twenty equal steps from what stood before") {
    Scenario s = small_car();
    s.changes = {{"left", "clearance", 0.6e-3, 2, 1}};
    const auto steps = in_steps(s);
    REQUIRE(steps.size() == 20);
    const double before = 0.2e-3; // the default
    CHECK(near(steps.front().value, before + 0.4e-3 / 20, 1e-12, 0));
    CHECK(near(steps.front().at, 2.05, 1e-12, 0));
    CHECK(steps.back().value == 0.6e-3);
    CHECK(near(steps.back().at, 3, 1e-12, 0));
}

TEST_CASE("changes of what does not exist are refused by name") {
    Scenario s = small_car();
    CHECK_THROWS_WITH_AS(apply(s.hardware, {"lefd", "piston", 1, 0, 0}),
                         "there is no part named lefd", std::invalid_argument);
    CHECK_THROWS_WITH_AS(apply(s.hardware, {"left", "pistn", 1, 0, 0}),
                         "left has no field named pistn", std::invalid_argument);
}

TEST_CASE("a later change of a spring wins over the pressures it was derived from") {
    Hardware h = hold_off_alone();
    const Values& v = h.parts[0].values;
    // A1 open = F + A2 shut, A1 full = F + A2 full.
    const double a1 = 0.25 * M_PI * 14e-3 * 14e-3, a2 = v["outlet_area"], f = v["plate_spring"];
    CHECK(near(a1 * 0.9e6, f + a2 * 0.1e6, 0, 1e-12));
    CHECK(near(a1 * 3e6, f + a2 * 3e6, 0, 1e-12));
    CHECK_FALSE(v.derived(v.find("open"))); // stated
    apply(h, {"valve", "plate_spring", 0.5 * f, 0, 0});
    CHECK(near(v["open"], (0.5 * f + a2 * 0.1e6) / a1, 0, 1e-12));
    CHECK(near(v["full"], 0.5 * f / (a1 - a2), 0, 1e-12));
    CHECK(v.derived(v.find("open"))); // what was stated does not hold any more
    CHECK(v.derived(v.find("full")));
    CHECK_FALSE(v.derived(v.find("shut")));
}

TEST_CASE(
    "another rod spring leaves the plate's spring and area, and another pressure makes them") {
    Hardware h = hold_off_alone();
    const Values& v = h.parts[0].values;
    const double a1 = 0.25 * M_PI * 14e-3 * 14e-3, a2 = v["outlet_area"], f = v["plate_spring"];
    const double rod = 0.25 * M_PI * v["rod_diameter"] * v["rod_diameter"];
    const double more = 0.05e6 * rod; // shuts by 0.05 MPa later
    apply(h, {"valve", "rod_spring", v["rod_spring"] + more, 0, 0});
    CHECK(near(v["shut"], 0.15e6, 0, 1e-12));
    CHECK(v["outlet_area"] == a2);
    CHECK(v["plate_spring"] == f);
    // More stands behind the plate when the check shuts.
    CHECK(near(v["open"], (f + a2 * 0.15e6) / a1, 0, 1e-12));
    CHECK(near(v["full"], 3e6, 0, 1e-12));
    apply(h, {"valve", "open", 1.2e6, 0, 0});
    CHECK(v["open"] == 1.2e6);
    CHECK(near(v["full"], 3e6, 0, 1e-12));
    CHECK(near(a1 * 1.2e6, v["plate_spring"] + v["outlet_area"] * 0.15e6, 0, 1e-12));
}

TEST_CASE("a leak stands in the circuit from the start, with a hole of zero size") {
    Scenario s = small_car();
    const Fault fault{"drip", find_fault("leak"), "pipe", 0.5e-3, 2, 0};
    REQUIRE(apply_fault(s, fault).empty());
    CHECK(s.hardware.parts.back().name == "drip");
    CHECK(s.hardware.parts.back().values["hole"] == 0);
    CHECK(s.hardware.circuits[0].run.parts == std::vector<std::string>{"pipe", "drip", "left"});
    REQUIRE(s.changes.size() == 1);
    CHECK(s.changes[0].value == 0.5e-3);
    CHECK(s.changes[0].at == 2);
    // At the inlet of a pipe, and at an outlet of the cylinder.
    Scenario inlet = small_car(), outlet = small_car();
    REQUIRE(apply_fault(inlet, {"drip", find_fault("leak"), "pipe.inlet", 0.5e-3, 0, 0}).empty());
    CHECK(inlet.hardware.circuits[0].run.parts.front() == "drip");
    REQUIRE(apply_fault(outlet, {"drip", find_fault("leak"), "master.secondary", 0.5e-3, 0, 0})
                .empty());
    CHECK(outlet.hardware.circuits[1].run.parts.front() == "drip");
}

TEST_CASE("faults that cannot be are refused with the reason") {
    Scenario s = small_car();
    const auto missing_size = apply_fault(s, {"drip", find_fault("leak"), "pipe", kUnset, 0, 0});
    REQUIRE(missing_size.size() == 1);
    CHECK(missing_size[0].field == "size");
    const auto wrong_part = apply_fault(s, {"flap", find_fault("hose_flap"), "pipe", 1e-4, 0, 0});
    REQUIRE(wrong_part.size() == 1);
    CHECK(wrong_part[0].reason == "pipe is a line; this fault befalls a hose");
    CHECK(find_fault("hose_flop") == nullptr);
    for (const FaultKind& kind : fault_kinds()) { // every row names fields that exist
        REQUIRE_FALSE(fields_of(kind).empty());
        const Values values(fields_of(kind));
        if (!kind.field.empty()) CHECK(values.find(kind.field) < values.size());
        if (!kind.size_field.empty()) CHECK(values.find(kind.size_field) < values.size());
        CHECK_FALSE(kind.help.empty());
    }
}
