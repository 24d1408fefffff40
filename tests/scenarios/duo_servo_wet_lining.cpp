// A light pick-up with duo-servo drums, written from the reference alone, and what a fifth less
// friction costs such a drum.
#include "scenario.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Drum force over tip force as docs/parts/drum_brake.md derives it, in its letters.
double duo_servo_factor(const Played& run, double mu) {
    const double a = run.field("rear_left.anchor_radius"), c = run.field("rear_left.tip_arm"),
                 r = run.field("rear_left.drum_radius"), t1 = run.field("rear_left.lining_from"),
                 t2 = run.field("rear_left.lining_to");
    const double B = a * ((t2 - t1) / 2 - (std::sin(2 * t2) - std::sin(2 * t1)) / 4),
                 D = std::cos(t1) - std::cos(t2),
                 A = r * D - a * (std::pow(std::sin(t2), 2) - std::pow(std::sin(t1), 2)) / 2;
    const double lead = mu * D * c / (B - mu * A);
    return lead * (1 + (c - a + lead * r) / a);
}

} // namespace

TEST_CASE("duo-servo: a fifth less friction takes nearly two fifths of the drum's torque") {
    const Played run = play(load("duo_servo_wet_lining"));
    check_own_expectations(run);
    const double t = 1.99;
    // Both drums have one pressure, so that their torques are as their factors.
    CHECK(near(run.at("rear_left.pressure", t), run.at("rear_right.pressure", t), 0, 0.005));
    const double dry = duo_servo_factor(run, 0.30), wet = duo_servo_factor(run, 0.24);
    CHECK(near(wet / dry, 0.627, 0.001, 0));
    CHECK(near(run.at("rear_left.torque", t) / run.at("rear_right.torque", t), wet / dry, 0, 0.01));

    // The same fifth from a disc is a fifth.
    Scenario disc = load("duo_servo_wet_lining", {"front_left.friction=0.304"});
    disc.expectations.clear();
    const Played discs = play(disc);
    CHECK(near(discs.at("front_left.torque", t) / discs.at("front_right.torque", t), 0.8, 0, 0.01));

    // Without the fault both are alike.
    const Played sound = play(intact(disc));
    CHECK(near(sound.held("rear_left.torque"), sound.held("rear_right.torque"), 0, 0.005));
}

TEST_CASE("pick-up: with the front lost the by-pass gives the drums the whole pressure") {
    // A hole of 2 mm at one front caliper: the primary piston meets the secondary, which then
    // builds the pressure alone, and the valve's by-pass stands open below 0.5 MPa in front.
    Scenario s = load("duo_servo_wet_lining");
    s.expectations.clear();
    s.changes.clear();
    s.foot = force({{0, 0}, {1, 150}, {3, 150}});
    s.duration = 3;
    Scenario lost = s;
    REQUIRE(apply_fault(lost, {"open", find_fault("leak"), "front_left", 2e-3, 0, 0}).empty());
    const Played sound = play(s), run = play(lost);
    CHECK(run.held("master.primary.pressure") < 0.3e6);
    CHECK(near(run.held("rear_valve.outlet.pressure"), run.held("rear_valve.inlet.pressure"), 10e3,
               0));
    // The valve's friction leaves up to 2 f/A2 less where its piston last moved home, as after a
    // press in a second (docs/parts/proportioning_valve.md).
    const double line = 2.4e6 + 0.3 * (sound.held("rear_valve.inlet.pressure") - 2.4e6),
                 loop = 2 * sound.field("rear_valve.piston_friction") /
                        circle(sound.field("rear_valve.head_diameter"));
    CHECK(sound.held("rear_valve.outlet.pressure") > line - loop);
    CHECK(sound.held("rear_valve.outlet.pressure") < line + 10e3);
    // The same rod, less two springs and two cups in its way: 2995 N give 5.3 MPa in place of 3.3.
    CHECK(run.held("rear_left.pressure") > 1.4 * sound.held("rear_left.pressure"));
    CHECK(run.count("lamp lit") == 1);
    CHECK(sound.count("lamp lit") == 0);
}
