// ctest: physics,slow 300
// A brake that drags because its fluid is shut in: heat expands the fluid, first into the pads'
// clearance, then into pressure, which drags and heats. Formulas in the scenario's own parameters.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const char* const kComplaint = "complaints/drags_worse_as_it_is_driven";

/// The first `duration` seconds of the complaint, with the fault or without.
Played drive(double duration, bool fault) {
    Scenario s = driving("drags_worse_as_it_is_driven", fault ? "" : "held_off", duration);
    s.sample = 0.05;
    return play(s);
}

} // namespace

TEST_CASE("growing hot: the file's own expectations") {
    Scenario s = load(kComplaint);
    s.sample = 0.5;
    const Played run = play(s);
    check_own_expectations(run);
    // It is cold and free at the end; what it did on the road is told all the same.
    for (const WheelEnd& wheel : run.summary.wheels) {
        CAPTURE(wheel.part);
        const bool front = wheel.part == "front_left" || wheel.part == "front_right";
        CHECK_FALSE(wheel.drags());
        CHECK(wheel.dragged() == front);
        if (!front) continue;
        CHECK(wheel.most > 80);
        // The drive ends at 900 s; after that the hot disc goes on warming the fluid for a while.
        CHECK(wheel.most_at > 890);
        CHECK(wheel.most_at < 2000);
        CHECK(wheel.most >= run.at(wheel.part + ".torque", 899));
        CHECK(near(wheel.most, run.at(wheel.part + ".torque", wheel.most_at), 0, 1e-3));
    }
}

TEST_CASE("growing hot: with an open port the fluid expands into the reservoir and nothing drags") {
    const Played run = drive(600, false);
    CHECK(run.residual("front_left.torque") < 4);
    // The height of the fluid above the caliper stands on it, and no more.
    const double head = run.field("fluid.density") * 9.80665 *
                        (run.field("master.reservoir_height") - run.field("front_left.height"));
    CHECK(near(run.residual("front_left.pressure"), head, 1e3, 0));
}

TEST_CASE("growing hot: the clearance is used up first, then pressure grows by 0.002 to 0.06 MPa "
          "per kelvin") {
    // Without air in solution: bubbles that go into it in the first minutes would give way to what
    // the fluid grows.
    Scenario s = driving("drags_worse_as_it_is_driven", "held_off", 900, {"fluid.solubility=0"});
    s.sample = 0.05;
    const Played run = with_fault(s, "pedal_held_off", "pedal", 12e-3);
    const double area = circle(run.field("front_left.piston"));
    const double touch = run.when("front_left: inner pad touches the disc", 60);
    REQUIRE(touch > 100);
    // From a minute after the stop until then: what leaves the clearance is what the fluid behind
    // the piston has grown, V alpha dT; V is what stands in the caliper and half of its hose.
    const double from = 100, to = touch;
    const double warmer =
        run.at("front_left.fluid_temperature", to) - run.at("front_left.fluid_temperature", from);
    const double taken =
        area * (run.at("front_left.clearance", from) - run.at("front_left.clearance", to));
    const double bore = run.field("left_hose.bore");
    const double volume = run.field("front_left.dead_volume") +
                          area * run.at("front_left.piston_travel", from) +
                          0.5 * circle(bore) * run.field("left_hose.length");
    const double grown = run.field("fluid.expansion") * volume * warmer;
    MESSAGE("touches at " << touch << " s, " << warmer << " K warmer: " << taken * 1e9
                          << " mm3 of clearance, fluid grown by " << grown * 1e9 << " mm3");
    CHECK(near(taken, grown, 0, 0.25)); // pressure, walls and relaxing seals take the rest
    for (const double t : {600.0, 700.0, 800.0}) {
        const double rise =
            run.at("front_left.pressure", t + 50) - run.at("front_left.pressure", t);
        const double kelvin = run.at("front_left.fluid_temperature", t + 50) -
                              run.at("front_left.fluid_temperature", t);
        MESSAGE("at " << t << " s " << rise / kelvin * 1e-6 << " MPa/K");
        CHECK(rise / kelvin > 0.002e6);
        CHECK(rise / kelvin < 0.06e6);
    }
    // It feeds itself: each hundred seconds add more than those before.
    double last = 0;
    for (double t = 300; t < 900; t += 100) {
        const double added = run.at("front_left.torque", t) - run.at("front_left.torque", t - 100);
        CHECK(added > last);
        last = added;
    }
}

TEST_CASE("growing hot: ten minutes of driving take under 20 000 steps") {
    const Played run = drive(600, true);
    const long tried = run.summary.solver.steps + run.summary.solver.rejected;
    MESSAGE(tried << " steps tried");
    CHECK(tried < 20000);
}
