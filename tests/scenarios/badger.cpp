// A heavy van with discs all round, held against a hand's sums.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// What a pedal of 270 N gives through lever, booster and cylinder; and what that does to the van.
TEST_CASE("all discs: pressure, torque and deceleration of a hard stop are a hand's sums") {
    const Played run = play(load("hard_stop_all_disc"));
    check_own_expectations(run);
    const double t = 3.19; // the end of the hold

    // Lever: (F - return spring) R reaches the booster, whose valve opens at cut_in. Output: the
    // jump, then the ratio on all that comes after it.
    const double rod = (270 - run.field("pedal.return_force")) * run.field("pedal.ratio");
    CHECK(near(run.at("booster.input", t), rod, 0, 0.02));

    // The cylinder: output less its spring and its friction over the area.
    const double A = master_area(run), p = run.at("master.primary.pressure", t);
    const double wanted =
        (run.at("booster.output", t) - primary_spring(run, t) - cup_friction(run, p)) / A;
    CHECK(near(p, wanted, 0, 0.02));

    // The rear valve: 0.36 of what is added beyond 3 MPa, by the pressure that it is fed.
    const double fed = run.at("rear_valve.inlet.pressure", t);
    const double rear = run.field("rear_valve.knee") +
                        run.field("rear_valve.slope") * (fed - run.field("rear_valve.knee"));
    CHECK(near(run.at("rear_valve.outlet.pressure", t), rear, 0, 0.02));

    // Two pads a wheel press what the piston gives, less the stretch of its seal (under its grip).
    double brakes = 0;
    for (const char* wheel : {"front_left", "rear_left"}) {
        CAPTURE(std::string(wheel));
        const std::string w = wheel;
        const double lever = 2 * run.field(w + ".friction") * run.field(w + ".radius");
        const double pw = run.at(w + ".pressure", t), push = circle(run.field(w + ".piston")) * pw;
        const double grip = run.field(w + ".seal_grip") + run.field(w + ".seal_grip_rise") * pw;
        const double torque = run.at(w + ".torque", t);
        CHECK(torque <= lever * push);
        CHECK(torque >= lever * (push - grip));
        brakes += 2 * torque;
    }

    // All four over the tyres and the mass, the wheels' inertia and the air aside: 2 %.
    const double g = run.at("car.deceleration", t);
    CHECK(near(g, brakes / run.field("car.tyre_radius") / run.field("car.mass"), 0, 0.03));
    // 8 MPa in front and 4.8 behind by the sums beforehand: 2 x 317 x 8 + 2 x 170 x 4.8 = 6.7 kN m,
    // 0.67 g.
    CHECK(near(g, 0.67 * 9.81, 0, 0.03));
}

TEST_CASE("all discs: without vacuum next to nothing is left of the same foot") {
    // Reservoir and engine give nothing: input goes through one to one, less the return spring.
    Scenario s = load("hard_stop_all_disc", {"booster.vacuum=0 kPa"});
    s.expectations.clear();
    // So little pressure never opens the take-up valve; its chamber empties through the by-pass,
    // which takes some seconds, and the piston comes to rest after it.
    s.foot = force({{0, 0}, {0.2, 0}, {1.2, 270}, {9, 270}});
    s.duration = 9;
    const Played bare = play(s);
    const double t = 8.9;
    const double rod = (270 - bare.field("pedal.return_force")) * bare.field("pedal.ratio");
    const double spring = bare.field("booster.return_spring") +
                          bare.field("booster.return_rate") * bare.at("master.primary_travel", t);
    const double p = bare.at("master.primary.pressure", t);
    CHECK(bare.count("take-up valve opens") == 0);
    CHECK(near(p,
               (rod - spring - primary_spring(bare, t) - cup_friction(bare, p)) / master_area(bare),
               0, 0.03));
    CHECK(p < 0.6e6);
    // 0.58 MPa: 2 x 317 x 0.58 + 2 x 170 x 0.58 N m are 0.56 m/s2, the seals aside.
    const double brakes = 2 * (bare.at("front_left.torque", t) + bare.at("rear_left.torque", t));
    CHECK(brakes / bare.field("car.tyre_radius") / bare.field("car.mass") < 0.56);
    CHECK(brakes > 0);
}

} // namespace
