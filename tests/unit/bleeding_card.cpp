// A job card turned into changes and a foot: who does what when.
#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "parts/registry.hpp"
#include "places.hpp"
#include "system/foot.hpp"
#include "system/system.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

PartSpec part(const std::string& name, const char* kind) {
    const PartKind* k = find_kind(kind);
    REQUIRE(k != nullptr);
    return {name, k, Values(k->fields)};
}

/// A car that has what a card may want, with two wheels.
Scenario car() {
    Scenario s;
    for (const char* name : {"left", "right"}) {
        s.hardware.parts.push_back(part(name, "disc_caliper"));
        s.hardware.parts.push_back(part(std::string(name) + "_screw", "bleeder"));
        s.hardware.parts.push_back(part(std::string(name) + "_pipe", "line"));
    }
    s.hardware.parts.push_back(part("tank", "pressure_bleeder"));
    s.hardware.parts.push_back(part("hold_off", "hold_off_valve"));
    s.hardware.circuits.push_back({"primary",
                                   {{"hold_off"},
                                    {{{"left_pipe", "left", "left_screw"}, {}},
                                     {{"right_pipe", "right", "right_screw"}, {}}}}});
    return s;
}

BleedStep line(const Scenario& s, const std::string& at, BleedMethod method,
               const std::vector<std::pair<const char*, double>>& keys) {
    BleedStep step;
    step.at = at;
    step.bleeder = find_bleeder(s.hardware, at);
    step.how = Values(bleed_fields());
    step.how.set("method", static_cast<double>(method));
    for (const auto& [key, value] : keys)
        step.how.set(key, value);
    return step;
}

std::vector<Change> of(const Scenario& s, const std::string& part, const std::string& field) {
    std::vector<Change> found;
    for (const Change& c : s.changes)
        if (c.part == part && c.field == field) found.push_back(c);
    return found;
}

} // namespace

TEST_CASE("a card names a wheel by its brake or by its screw") {
    const Scenario s = car();
    CHECK(find_bleeder(s.hardware, "left") == "left_screw");
    CHECK(find_bleeder(s.hardware, "right_screw") == "right_screw");
    CHECK(find_bleeder(s.hardware, "hold_off").empty());
    CHECK(find_bleeder(s.hardware, "left_pipe").empty());
    CHECK(find_bleeder(s.hardware, "tank").empty());
    CHECK(find_bleeder(s.hardware, "nobody").empty());
}

TEST_CASE("by the pedal: the foot is on before the screw opens and still on when it is shut") {
    Scenario s = car();
    s.bleeding.steps = {line(s, "left", BleedMethod::pedal, {{"strokes", 3}})};
    const double end = expand_bleeding(s);
    const Foot foot(s.foot);
    const auto screw = of(s, "left_screw", "opening");
    REQUIRE(screw.size() == 6);
    for (std::size_t i = 0; i < screw.size(); ++i) {
        CAPTURE(i);
        CHECK(screw[i].origin == Origin::procedure);
        CHECK(screw[i].value == (i % 2 == 0 ? 1.2e-3 : 0));
        CHECK(foot.at(screw[i].at).value == 150);
        CHECK(foot.at(screw[i].at).rate == 0);
    }
    CHECK(near(screw[1].at - screw[0].at, 1.5, 1e-12, 0));
    CHECK(foot.at(end).value == 0);
    CHECK(end >= screw.back().at + 1);
    CHECK(s.bleeding.steps[0].from == 1);
    CHECK(s.bleeding.steps[0].to == end);
    // Between two strokes the pedal is free.
    CHECK(foot.at(screw[2].at - 0.8).value == 0);
}

TEST_CASE("left open, the screw is opened once and shut after the last stroke") {
    Scenario s = car();
    s.bleeding.steps = {
        line(s, "left", BleedMethod::pedal, {{"strokes", 3}, {"left_open", 1}, {"hose", 0}})};
    expand_bleeding(s);
    const auto screw = of(s, "left_screw", "opening"), hose = of(s, "left_screw", "hose_end");
    REQUIRE(screw.size() == 2);
    REQUIRE(hose.size() == 1);
    CHECK(hose[0].at < screw[0].at);
    CHECK(Foot(s.foot).at(screw[1].at).value == 0);
}

TEST_CASE("a tank stays on between two wheels of its own; rod, pump and bottle go when done") {
    Scenario s = car();
    s.bleeding.steps = {
        line(s, "left", BleedMethod::pressure, {{"time", 5}, {"pressure", 2e5}, {"rod", 1}}),
        line(s, "right", BleedMethod::pressure, {{"time", 5}, {"pressure", 2e5}}),
        line(s, "left", BleedMethod::vacuum, {{"time", 5}, {"top_up", 40e-6}}),
        line(s, "right", BleedMethod::gravity, {{"time", 5}})};
    s.bleeding.test = 200;
    const double end = expand_bleeding(s);
    const auto tank = of(s, "tank", "pressure"), rod = of(s, "hold_off", "rod"),
               pump = of(s, "left_screw", "vacuum"), bottle = of(s, "tank", "pour");
    REQUIRE(tank.size() == 2);
    CHECK(tank[0].value == 2e5);
    CHECK(tank[1].value == 0);
    CHECK(tank[1].at >= s.bleeding.steps[1].to);
    CHECK(tank[1].at + tank[1].over < s.bleeding.steps[2].from);
    REQUIRE(rod.size() == 2);
    CHECK(rod[1].value == 0);
    CHECK(rod[1].at <= s.bleeding.steps[1].from);
    REQUIRE(pump.size() == 2);
    CHECK(pump[1].at == s.bleeding.steps[2].to);
    REQUIRE(bottle.size() == 2);
    CHECK(near((bottle[1].at - bottle[0].at) * bottle[0].value, 40e-6, 1e-15, 0));
    // The pedal is tried before the first wheel and after the last, and by nobody in between.
    const Foot foot(s.foot);
    CHECK(foot.at(s.bleeding.test_before).value == 200);
    CHECK(s.bleeding.test_before < s.bleeding.steps[0].from);
    CHECK(foot.at(s.bleeding.test_after).value == 200);
    CHECK(s.bleeding.test_after > s.bleeding.steps[3].to);
    CHECK(foot.free(s.bleeding.steps[0].from, s.bleeding.steps[3].to));
    CHECK(end > s.bleeding.test_after);
    // Nothing is changed into what it is already.
    for (const Change& a : s.changes)
        CHECK(of(s, a.part, a.field).front().value != [&] {
            for (const PartSpec& p : s.hardware.parts)
                if (p.name == a.part) return p.values[a.field];
            return kUnset;
        }());
}

TEST_CASE("what cannot be done on a car is said") {
    Scenario s = car();
    const auto refused = [&s](BleedMethod method,
                              const std::vector<std::pair<const char*, double>>& keys) {
        std::string fields;
        for (const Refusal& r : refuse_step(s.hardware, line(s, "left", method, keys)))
            fields += r.field + " ";
        return fields;
    };
    CHECK(refused(BleedMethod::pedal, {{"strokes", 4}}) == "");
    CHECK(refused(BleedMethod::pedal, {}) == "strokes ");
    CHECK(refused(BleedMethod::pedal, {{"strokes", 4.5}}) == "strokes ");
    CHECK(refused(BleedMethod::gravity, {}) == "time ");
    CHECK(refused(BleedMethod::vacuum, {{"time", 5}, {"left_open", 1}}) == "left_open ");
    CHECK(refused(BleedMethod::pressure, {{"time", 5}, {"rod", 1}, {"top_up", 1e-5}}) == "");
    std::erase_if(s.hardware.parts,
                  [](const PartSpec& p) { return p.name == "tank" || p.name == "hold_off"; });
    CHECK(refused(BleedMethod::pressure, {{"time", 5}, {"rod", 1}, {"top_up", 1e-5}}) ==
          "method top_up rod ");
}

TEST_CASE("every key of a card stands in the reference, with a source where it has a default") {
    std::ifstream in(source_folder() + "/docs/scenario.md");
    const std::string page{std::istreambuf_iterator<char>(in), {}};
    const std::string chapter = page.substr(page.find("## Bleeding"));
    for (const Field& field : bleed_fields()) {
        CAPTURE(std::string(field.name));
        CHECK(chapter.find("`" + std::string(field.name) + "`") != std::string::npos);
        CHECK_FALSE(field.help.empty());
        CHECK(field.source.empty() == (field.mark == Mark::given));
        const bool open = field.fallback != field.fallback;
        CHECK(open == (field.mark == Mark::given));
        if (!open) CHECK(field.low <= field.fallback);
        if (!open) CHECK(field.fallback <= field.high);
    }
}
