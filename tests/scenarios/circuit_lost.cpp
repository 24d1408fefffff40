// One circuit lost: longer pedal, the other circuit as before, lamp. Formulas in the scenario's own
// parameters.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

double pedal(const Played& run, double force) {
    return run.field("pedal.ratio") * (force - run.field("pedal.return_force"));
}

} // namespace

TEST_CASE("front lost: the pedal is longer by what is left of the primary stroke, the rear is as "
          "before") {
    const Scenario s = load("front_lost");
    const Played lost = play(s), sound = play(intact(s));
    check_own_expectations(lost);
    const double t = 9.2, A = master_area(lost), L1 = lost.field("master.primary_stroke");
    CHECK(near(lost.held("rear_left.pressure"), sound.held("rear_left.pressure"), 0, 0.02));
    // p2 A = R (F - F_r) - S2 - f1 - f2, whichever way the force takes through the pistons.
    const double p2 = lost.held("master.secondary.pressure");
    const double S2 = lost.field("master.secondary_spring") +
                      lost.field("master.secondary_rate") * lost.at("master.secondary_travel", t);
    CHECK(near(p2 * A, pedal(lost, 300) - S2 - cup_friction(lost, 0) - cup_friction(lost, p2), 0,
               0.02));
    // Lamp: the pistons have met, and p2 - p1 is the trip pressure.
    CHECK(lost.when("master: pistons meet") < lost.when("lamp lit"));
    // Its difference is the trip pressure when the foot is so slow that the switch's piston moves
    // without drag.
    Scenario slow = s;
    slow.expectations.clear();
    slow.foot = force({{0, 0}, {0.2, 0}, {24.2, 300}});
    slow.duration = 24.2;
    const Played creeping = play(slow);
    const Event* lit = creeping.event("switch: contact closes");
    REQUIRE(lit != nullptr);
    const double difference = lit->readings.at(1).value - lit->readings.at(0).value;
    CHECK(near(difference, lost.field("switch.trip"), 0, 0.05));
    // Spilled in one application: the stroke between port and secondary piston, and a little that
    // passes the port.
    const double x_p = lost.field("master.port_travel");
    const double spilled = lost.at("broken_pipe.outside.fluid", t);
    CHECK(spilled > 0.9 * A * (L1 - x_p));
    // Seepage before the port is shut: through a 0.7 mm hole under the reservoir's head of 1 kPa,
    // at most 0.35 cm3/s.
    CHECK(spilled < A * L1 + 0.35e-6 * lost.when("master: primary port shut") + 0.1e-6);
}

TEST_CASE("front lost: pedal minus intact = R (L1 - V1/A)") {
    // So slowly that in both cars the ports pass all that the pistons displace until the lips have
    // covered them.
    Scenario s = load("front_lost");
    s.expectations.clear();
    s.foot = force({{0, 0}, {200, 300}, {203, 300}});
    s.duration = 203;
    RunOptions coarse;
    coarse.sample = 0.5;
    const Played lost = play(s, coarse), sound = play(intact(s), coarse);
    const double t = 203, R = lost.field("pedal.ratio"), L1 = lost.field("master.primary_stroke");
    // V1/A: what the front circuit takes at rest under its pressure, as stroke of the primary
    // against the secondary.
    const double taken =
        sound.at("master.primary_travel", t) - sound.at("master.secondary_travel", t);
    const double longer = lost.at("pedal.travel", t) - sound.at("pedal.travel", t);
    MESSAGE("longer by " << (longer * 1e3) << " mm, formula " << (R * (L1 - taken) * 1e3));
    CHECK(near(longer, R * (L1 - taken), 0, 0.03));
}

TEST_CASE("front lost behind the hold-off valve: its inlet stays at F_s/A1 and the lamp comes "
          "later by that") {
    const Played lost = play(load("front_lost_behind_valve"));
    check_own_expectations(lost);
    const double A1 = circle(lost.field("hold_off.plate_diameter"));
    const double kept = lost.field("hold_off.plate_spring") / A1; // outlet at zero
    CHECK(near(lost.at("hold_off.inlet.pressure", 5.2), kept, 0, 0.03));
    CHECK(near(lost.at("hold_off.inlet.pressure", 6.1), kept, 0, 0.03));
    // The lamp lights when the rear stands above that by the trip pressure; at the light foot it
    // does not get there.
    const Event* lit = lost.event("switch: contact closes");
    REQUIRE(lit != nullptr);
    CHECK(lit->time > 1.2);
    CHECK(lost.when("lamp lit") > lit->time);
    CHECK(near(lit->readings.at(1).value, kept + lost.field("switch.trip"), 0, 0.05));
}

TEST_CASE("rear lost: the pedal is longer by what is left of the secondary stroke, the front is as "
          "before") {
    const Scenario s = load("rear_lost");
    const Played lost = play(s), sound = play(intact(s));
    check_own_expectations(lost);
    const double t = 9.2, R = lost.field("pedal.ratio"), L2 = lost.field("master.secondary_stroke");
    CHECK(near(lost.at("pedal.travel", t) - sound.at("pedal.travel", t),
               R * (L2 - sound.at("master.secondary_travel", t)), 0, 0.03));
    CHECK(
        near(lost.held("master.primary.pressure"), sound.held("master.primary.pressure"), 0, 0.02));
    CHECK(near(lost.held("front_left.pressure"), sound.held("front_left.pressure"), 0, 0.02));
    CHECK(lost.held("rear_left.pressure") <
          20e3); // behind a residual valve, but with no fluid to hold
    // The secondary bottoms when the push rod has overcome its spring at full stroke and both
    // frictions.
    const double bottoms = lost.when("master: secondary piston bottoms");
    const double rod = lost.at("pedal.rod_force", bottoms);
    const double S2 =
        lost.field("master.secondary_spring") + lost.field("master.secondary_rate") * L2;
    CHECK(rod >=
          0.98 * (S2 + 2 * lost.field("master.cup_friction"))); // 2 %: the damping of a moving rod
    CHECK(lost.held("master.primary.pressure") * master_area(lost) <
          pedal(lost, 300) - primary_spring(lost, t)); // the rest is friction
}

TEST_CASE("rear lost: a self-centring switch lets the lamp go dark, a detented one keeps it") {
    const Played self = play(load("rear_lost"));
    CHECK(self.count("lamp dark") == 1);
    CHECK_FALSE(self.summary.lamp_lit_at_end);
    // At any pressure of the sound circuit alone: a harder second application does not recentre it.
    Scenario s = load("rear_lost", {"switch.centring=detent"});
    s.expectations.clear();
    s.foot = force({{0, 0}, {0.2, 0}, {2.2, 300}, {3, 0}, {4, 0}, {6, 450}, {7, 0}});
    s.duration = 8.5;
    const Played detent = play(s);
    CHECK(detent.peak("master.primary.pressure") > 1.3 * detent.field("switch.recentre"));
    CHECK(detent.count("lamp lit") == 1);
    CHECK(detent.count("lamp dark") == 0);
    CHECK(detent.summary.lamp_lit_at_end);
}
