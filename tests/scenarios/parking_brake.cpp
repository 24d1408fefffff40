// ctest: physics,slow 300
// The parking brake of a rear caliper: what it holds, what it leaves, what a hanging cable does.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The heavy van, discs all round, with its levers pulled by P newton at each rear
/// piston from `from` on, and let off at `off`.
Scenario parked(double P, double off, double end, const std::vector<std::string>& sets = {},
                double from = 0.5) {
    Scenario s = load("hard_stop_all_disc", sets);
    s.expectations.clear();
    s.changes = {};
    for (const char* wheel : {"rear_left", "rear_right"}) {
        s.changes.push_back({wheel, "parking_brake", P, from, from > 0 ? 0.5 : 0});
        if (off < end) s.changes.push_back({wheel, "parking_brake", 0, off, 0.5});
    }
    s.foot = force({{0, 0}, {end, 0}});
    s.duration = end;
    return s;
}

/// 2 mu r of a rear disc [m].
double lever(const Played& run) {
    return 2 * run.field("rear_left.friction") * run.field("rear_left.radius");
}

/// What the pads of a caliper held by P bear: P less the seal's grip, of which the soft branch has
/// given up its share where the piston has not slipped since; the pins take their part from one.
void check_held(const Played& run, double t, double P) {
    const double torque = run.at("rear_left.torque", t);
    P += run.at("rear_left.pressure", t) * circle(run.field("rear_left.piston")); // the head's
    const double grip = run.field("rear_left.seal_grip"),
                 pins = run.field("rear_left.pin_friction");
    CHECK(torque >= lever(run) * (P - grip - 0.5 * pins));
    CHECK(torque <= lever(run) * (P - grip * (1 - run.field("rear_left.seal_branch"))));
}

} // namespace

TEST_CASE("a parked caliper holds 2 mu r (P - F_s0), less the pins' share") {
    for (const double P : {2000.0, 5000.0, 10000.0}) {
        CAPTURE(P);
        // Pulled out in half a second the pistons draw their line near to a vacuum; air out of
        // solution would take three hundredths of the room that the reservoir fills.
        const Played run = play(parked(P, 6, 6, {"fluid.solubility=0"}));
        check_held(run, 6, P);
        // It is the lever's alone: no pressure, and the other axle is free.
        CHECK(run.at("rear_left.pressure", 6) < 10e3);
        CHECK(run.at("front_left.torque", 6) < 1);
        // The piston has drawn A x through the open port: both rear ones from one reservoir.
        const double drawn =
            2 * circle(run.field("rear_left.piston")) *
            (run.at("rear_left.piston_travel", 6) - run.at("rear_left.piston_travel", 0.4));
        CHECK(drawn > 0.5e-6);
        CHECK(near(run.at("master.secondary_reservoir.fluid", 0.4) -
                       run.at("master.secondary_reservoir.fluid", 6),
                   drawn, 0, 0.02));
    }
}

TEST_CASE(
    "parking on a slope of 20 % (571.135 and R13-H, from memory): what holds and what rolls") {
    // m g sin 11.31 deg x tyre radius on two discs of 2 mu r each: 2900 kg x 9.81 x 0.1961 x 0.35 m
    // / (2 x 0.0942 m) = 10.36 kN at each piston, and the grip of this car's seals, 379 N.
    const std::vector<std::string> downhill{"car.grade=-20 %"};
    const Played any = play(parked(12000, 8, 8, downhill, 0));
    const double slope = 0.2 / std::sqrt(1.04);
    const double needed =
        any.field("car.mass") * 9.80665 * slope * any.field("car.tyre_radius") / (2 * lever(any)) +
        any.field("rear_left.seal_grip");
    CHECK(near(needed, 10740, 0, 0.01));
    // A wheel that is held creeps, as the model has it, at some hundredths of a radian per second.
    const double creep = 0.2 * any.field("car.tyre_radius");
    const Played holds = play(parked(1.1 * needed, 8, 8, downhill, 0));
    CHECK(std::fabs(holds.at("car.speed", 8)) < creep);
    CHECK(std::fabs(holds.at("car.speed", 8) - holds.at("car.speed", 5)) < 0.1 * creep);
    const Played rolls = play(parked(0.8 * needed, 8, 8, downhill, 0));
    CHECK(rolls.at("car.speed", 8) > rolls.at("car.speed", 5) + 0.3);
}

TEST_CASE("let off, a moderate pull leaves nothing, a hard one no more than the seal's own grip") {
    // Without pressure the seal takes back its stretch alone, F_s0/k = 0.38 mm and 0.47 when its
    // soft branch has relaxed. Both pads give by 2 d, F(d) = 70 (d - 0.08 (1 - exp(-d/0.0966)))
    // kN, d in mm: 0.16 mm at 1.8 kN, 0.20 at 2.8, 0.28 at 6.8, but 0.48 at 11.6.
    for (const double P : {1000.0, 3000.0, 7000.0}) {
        const Played run = play(parked(P, 6, 10));
        check_held(run, 5.9, P);
        CHECK(run.residual("rear_left.torque") < 4);
        CHECK(run.residual("rear_left.clearance") > 0);
        CHECK_FALSE(run.summary.lamp_lit_at_end);
    }
    for (const double P : {12000.0, 20000.0}) {
        const Played run = play(parked(P, 6, 10));
        const double grip = run.field("rear_left.seal_grip"),
                     pins = run.field("rear_left.pin_friction");
        CHECK(run.residual("rear_left.torque") > 4);
        CHECK(run.residual("rear_left.torque") <= lever(run) * (grip + 0.5 * pins));
    }
}

TEST_CASE("a caliper's cable that hangs: the disc drags by 2 mu r (P - F_s0), and no lamp tells") {
    Scenario s = parked(0, 8, 8);
    s.changes = {};
    const Played sound = play(s);
    for (const double P : {500.0, 1500.0}) {
        CAPTURE(P);
        Scenario stuck = s;
        REQUIRE(
            apply_fault(stuck, {"fault", find_fault("caliper_cable_stuck"), "rear_left", P, 0.5, 1})
                .empty());
        const Played run = play(stuck);
        check_held(run, 8, P);
        CHECK(
            near(run.residual("rear_right.torque"), sound.residual("rear_right.torque"), 0.01, 0));
        CHECK(run.at("rear_left.parking_contact", 4) == 0);
        CHECK(run.count("lamp lit") == 0);
    }
}
