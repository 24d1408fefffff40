// What is said beside the figures: the ground they stand on, wheels, lamp, and the caution at the
// end.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "compare.hpp"
#include "parts/registry.hpp"
#include "record/remarks.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

Hardware small_car() {
    Hardware h;
    h.fluid = Values(fluid_fields());
    h.surroundings = Values(surroundings_fields());
    for (const auto& [name, kind] :
         std::vector<std::pair<std::string, std::string>>{{"switch", "pressure_switch"},
                                                          {"front", "disc_caliper"},
                                                          {"drip", "leak"},
                                                          {"screw", "bleeder"},
                                                          {"rear", "drum_brake"}})
        h.parts.push_back({name, find_kind(kind), Values(find_kind(kind)->fields)});
    return h;
}

ChannelFigures figures(const std::string& path, double settled, double lowest, double last) {
    ChannelFigures f;
    f.channel.path = path;
    f.settled = settled;
    f.lowest = lowest;
    f.last = f.residual = last;
    return f;
}

Summary sound() {
    Summary s;
    s.channels = {
        figures("switch.contact", 0, 0, 0), figures("front.torque", 0, 0, 4),
        figures("rear.torque", 0, -0.1, 0),
        // A cubic millimetre more or less is the give of a wall.
        figures("drip.outside.fluid", 0, 0, 0.9e-9), figures("screw.outside.fluid", 0, 0, 20e-6),
        figures("rear.outside.air", 0, -0.9e-9, 0), figures("rear.free_air", 5e-8, 1e-8, 1e-8)};
    return s;
}

std::string last_caution(Summary s) {
    judge_the_end(s, small_car());
    return s.cautions.empty() ? "" : s.cautions.back();
}

} // namespace

TEST_CASE("assumed values: surroundings too; weak ground first, then wide ranges, absences last") {
    Hardware h = small_car();
    const auto before = assumed_of(h);
    const auto has = [](const std::vector<Assumed>& all, const std::string& path) {
        return std::any_of(all.begin(), all.end(), [&](const auto& a) { return a.path == path; });
    };
    CHECK(has(before, "surroundings.temperature"));
    CHECK(has(before, "front.seal_stiffness"));
    h.surroundings.set("temperature", 300);
    CHECK_FALSE(has(assumed_of(h), "surroundings.temperature"));
    const auto firmness = [](Mark m) {
        return m == Mark::judgement ? 0 : m == Mark::practice ? 1 : 2;
    };
    const auto width = [](const Assumed& a) {
        if (a.field->dimension == Dimension::choice || a.value == 0) return 0.0;
        return (a.field->high - a.field->low) / std::abs(a.value);
    };
    for (std::size_t i = 1; i < before.size(); ++i) {
        const Assumed &a = before[i - 1], &b = before[i];
        CHECK(firmness(a.field->mark) <= firmness(b.field->mark));
        if (a.field->mark == b.field->mark) CHECK(width(a) >= width(b));
    }
}

TEST_CASE("derived values are told and not called assumed; a mere copy is not told") {
    Values v(find_kind("disc_caliper")->fields);
    v.derive("clearance_light", 0.25e-3); // two that follow from the seal, by chance alike
    v.derive("clearance_hard", 0.25e-3);
    v.derive("seal_grip", 180);             // has a default, and was derived in its place
    v.derive("clearance", v["seal_shift"]); // the same as another field
    Hardware car;
    car.fluid = Values(fluid_fields());
    car.surroundings = Values(surroundings_fields());
    car.parts.push_back({"front", find_kind("disc_caliper"), v});
    std::vector<std::string> told;
    for (const Reading& r : derived_of(car))
        told.push_back(r.name);
    std::sort(told.begin(), told.end());
    CHECK(told == std::vector<std::string>{"front.clearance_hard", "front.clearance_light",
                                           "front.seal_grip"});
    for (const Assumed& a : assumed_of(car)) {
        CHECK(a.path != "front.seal_grip");
        CHECK(a.path != "front.clearance_light");
    }
}

TEST_CASE("a sound end brings no caution") {
    CHECK(last_caution(sound()).empty());
    Summary s = sound();
    judge_the_end(s, small_car());
    CHECK(s.has_lamp);
    CHECK_FALSE(s.lamp_lit_at_end);
    CHECK(s.lamp_lit.empty());
    REQUIRE(s.wheels.size() == 2);
    CHECK_FALSE(s.wheels[0].drags()); // 4 N m is at the limit, not above it
    Summary pressed = sound();
    for (ChannelFigures& f : pressed.channels)
        f.residual = kUnset;
    judge_the_end(pressed, small_car());
    CHECK_FALSE(pressed.wheels[0].drags());
}

TEST_CASE("each reason to leave the car where it is, by name") {
    Summary s = sound();
    s.channels[0].last = 1;
    CHECK(last_caution(s) == "This car stays where it is until the cause is found and mended: the "
                             "warning lamp is lit.");
    s = sound();
    s.channels[1].residual = 4.1;
    CHECK(last_caution(s).ends_with(": front drags."));
    s = sound();
    s.channels[3].last = 1e-7;
    CHECK(last_caution(s).ends_with(": fluid was lost at drip."));
    s = sound();
    s.channels[5].lowest = -1e-7; // and pressed out again: it had been in
    CHECK(last_caution(s).ends_with(": air was drawn in at rear."));
    s.channels[0].last = 1;
    s.channels[1].residual = s.channels[2].residual = 9;
    CHECK(last_caution(s).ends_with(": the warning lamp is lit, air was drawn in at rear and front "
                                    "and rear drag."));
}

TEST_CASE("the lamp's spans: lit from the start, in between, until the end") {
    Summary s = sound();
    s.channels[0].settled = s.channels[0].last = 1;
    s.events = {{1, "switch", "lamp dark", {}},
                {2, "switch", "lamp lit", {}},
                {2.5, "switch", "lamp dark", {}},
                {3, "switch", "lamp lit", {}}};
    judge_the_end(s, small_car());
    REQUIRE(s.lamp_lit.size() == 3);
    CHECK(near(s.lamp_lit[0].from, 0, 0, 0));
    CHECK(near(s.lamp_lit[0].to, 1, 0, 0));
    CHECK(near(s.lamp_lit[1].to, 2.5, 0, 0));
    CHECK(near(s.lamp_lit[2].from, 3, 0, 0));
    CHECK(std::isnan(s.lamp_lit[2].to));
    CHECK(s.lamp_lit_at_end);
}

TEST_CASE("fluid that became hotter than it bears without pressure is told by name") {
    // Dry fluid boils at 230 C at 1 atm.
    for (const double celsius : {229.0, 231.0}) {
        Summary s = sound();
        s.channels.push_back(figures("front.fluid_temperature", 293, 293, 300));
        s.channels.back().peak = 273.15 + celsius;
        const std::string caution = last_caution(s);
        CHECK(caution.starts_with(
                  "The fluid became hotter than it bears without pressure at front:") ==
              (celsius > 230));
        CHECK(caution.empty() == (celsius < 230));
    }
}
