// What a fault or a stop is there for must show in the figures that a workshop reads.
#include "scenario.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario plain(const std::vector<std::string>& sets = {}) {
    Scenario s = load("ordinary_stop", sets);
    s.expectations.clear();
    return s;
}

Played with_fault(const char* kind, const char* at, double size) {
    Scenario s = plain();
    REQUIRE(apply_fault(s, {"fault", find_fault(kind), at, size, 0, 0}).empty());
    return play(s);
}

} // namespace

TEST_CASE("seized pins take their friction from the outer pad: the torque falls by mu r N") {
    // Inner pad N_i, outer pad N_i - N: the sum of both falls by N against 2 N_i of free pins.
    const Played sound = play(plain());
    double last = sound.held("front_left.torque");
    for (const double friction : {1000.0, 2000.0, 4000.0}) {
        const Played seized = with_fault("pins_seized", "front_left", friction);
        const double lever =
            seized.field("front_left.friction") * seized.field("front_left.radius");
        const double lost = sound.held("front_left.torque") - seized.held("front_left.torque");
        CHECK(near(lost, lever * (friction - sound.field("front_left.pin_friction")), 0, 0.1));
        CHECK(seized.held("front_left.torque") < last); // the size matters
        last = seized.held("front_left.torque");
        CHECK(near(seized.held("front_right.torque"), sound.held("front_right.torque"), 0, 0.02));
    }
}

TEST_CASE("the floor stops the pad, whether the foot gives force or travel") {
    Scenario s = plain({"pedal.floor=50 mm"});
    const Played pressed = play(s);
    CHECK(near(pressed.peak("pedal.travel"), 50e-3, 0.05e-3, 0));
    CHECK(pressed.count("pedal: pedal meets the floor") == 1);
    CHECK(pressed.held("pedal.force") == 300); // the foot's; the floor bears what the arm does not
    CHECK(pressed.held("master.primary.pressure") <
          0.6 * play(plain()).held("master.primary.pressure"));
    // Until it is there nothing differs.
    const double t = pressed.when("pedal: pedal meets the floor");
    CHECK(near(pressed.at("pedal.travel", t), 50e-3, 0.05e-3, 0));
    s.foot = travel({{0, 0}, {1, 60e-3}, {2, 60e-3}, {3, 0}});
    const Played pushed = play(s);
    CHECK(
        near(pushed.peak("pedal.travel"), 50e-3, 0.4e-3, 0)); // 10 mm / flex on a floor of 30 kN/mm
    CHECK(near(pushed.held("master.primary.pressure"), pressed.held("master.primary.pressure"), 0,
               0.03));
}

TEST_CASE(
    "what was set before the start is told, and a wedged rod in the hardware brings its caution") {
    Scenario s = plain();
    s.changes = {{"hold_off", "rod", 2, 0, 0}};
    const Summary changed = play(s).summary;
    REQUIRE_FALSE(changed.events.empty());
    CHECK(changed.events.front().part == "hold_off");
    CHECK(changed.events.front().text == "rod becomes wedged");
    const auto warns = [](const Summary& summary) {
        return std::any_of(summary.cautions.begin(), summary.cautions.end(),
                           [](const std::string& c) {
                               return c.find("Never wedge a hold-off valve") != std::string::npos;
                           });
    };
    CHECK(warns(changed));
    CHECK(warns(play(plain({"hold_off.rod=wedged"})).summary));
    CHECK_FALSE(warns(play(plain()).summary));
}
