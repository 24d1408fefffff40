// Valves and the warning switch that are stuck, dirty or have the wrong springs.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Out over in beyond the knee, from its stated fields.
double curve(const Played& run, double in) {
    const double knee = run.field("rear_valve.knee");
    return in < knee ? in : knee + run.field("rear_valve.slope") * (in - knee);
}

} // namespace

TEST_CASE("hold-off valve stuck open: the discs wait for nothing") {
    const Played sound = play(slow_stop(300)),
                 run = with_fault(slow_stop(300), "hold_off_stuck_open", "hold_off");
    for (const double t : {2.0, 3.0, 5.0, 11.0}) {
        CHECK(near(run.at("hold_off.outlet.pressure", t), run.at("hold_off.inlet.pressure", t), 2e3,
                   0));
    }
    // A sound one still holds 0.4 MPa off.
    const double t = sound.when("hold_off: plate opens") - 0.3;
    REQUIRE(sound.at("hold_off.inlet.pressure", t) > 0.4e6);
    CHECK(sound.at("hold_off.outlet.pressure", t) < 0.15e6);
    CHECK(near(run.held("front_left.torque"), sound.held("front_left.torque"), 0, 0.01));
    // Its rod goes on working: at its outer stop in the hold, home when the foot is off.
    CHECK(near(run.held("hold_off.rod_travel"), run.field("hold_off.out_travel"), 0.05e-3, 0));
    CHECK(run.residual("hold_off.rod_travel") < 0.05e-3);
    CHECK(run.residual("front_left.torque") < kDragLimit);
}

TEST_CASE("hold-off valve stuck shut: the front keeps what the check shut in, lamp dark, pedal "
          "high") {
    const Played sound = play(slow_stop(300)),
                 run = with_fault(slow_stop(300), "hold_off_stuck_shut", "hold_off");
    const double shut = run.when("hold_off: check shuts");
    REQUIRE(shut < 4);
    // No more than stood before the check as it sat, and that less what the flow cost.
    CHECK(run.held("hold_off.outlet.pressure") < run.field("hold_off.shut"));
    CHECK(run.held("hold_off.outlet.pressure") > 0.6 * run.field("hold_off.shut"));
    CHECK(run.held("front_left.torque") < 0.05 * sound.held("front_left.torque"));
    CHECK(
        near(run.held("hold_off.inlet.pressure"), sound.held("hold_off.inlet.pressure"), 0, 0.02));
    CHECK(near(run.held("rear_left.torque"), sound.held("rear_left.torque"), 0, 0.02));
    CHECK(run.count("lamp lit") == 0);
    CHECK(run.count("hold_off: plate opens") == 0);
    // What the front does not take stays in the cylinder.
    CHECK(run.held("pedal.travel") < sound.held("pedal.travel") - 20e-3);
    CHECK(run.residual("front_left.pressure") < 10e3);
}

TEST_CASE("residual valve stuck on its seat: the rear keeps the whole pressure of the stop") {
    const Played sound = play(plain()),
                 run = with_fault(plain(), "residual_valve_stuck_shut", "rear_residual");
    CHECK(near(run.held("rear_left.pressure"), sound.held("rear_left.pressure"), 0, 0.01));
    // With the front empty it drives the switch's piston to its end, and the lamp lights: that
    // makes room, 1.2 mm x 28 mm2. The rear gives it by 0.036 cm3/MPa of hose (0.3 m x (0.09
    // + 1.5/(p + 3)^2)), 0.022 of pipes, 0.022 of shoes (4 A^2/k) and 0.011 of the fluid.
    const double room = run.field("switch.end_travel") * circle(run.field("switch.bore"));
    CHECK(near(run.residual("rear_left.pressure"),
               run.held("rear_left.pressure") - room / 0.091e-12, 0, 0.03));
    CHECK(run.count("switch: contact closes", 2.9) == 1);
    CHECK(run.residual("rear_left.torque") > 0.85 * run.held("rear_left.torque"));
    CHECK(run.residual("rear_residual.inlet.pressure") < 5e3);
    CHECK(run.residual("front_left.torque") < kDragLimit);
}

TEST_CASE("dirt under a residual valve: the line empties through the gap, and that is what comes "
          "back to the reservoir") {
    const double gap = 0.15e-3;
    Scenario s = plain();
    s.duration = 9;
    const Played sound = play(s), run = with_fault(s, "residual_valve_leaks", "rear_residual", gap);
    const double from = 4, to = 9;
    CHECK(sound.at("rear_residual.held_back", to) >
          0.95 * sound.at("rear_residual.held_back", from));
    CHECK(run.at("rear_residual.held_back", from) > 3 * run.at("rear_residual.held_back", to));
    // A hole in a seat of 0.5 mm, under what stands across it.
    const Hole hole(run, gap, 0.5e-3, 0.65);
    double passed = 0;
    const std::vector<double> across = run.of("rear_residual.held_back");
    for (std::size_t i = 1; i < across.size(); ++i)
        if (run.trace.time[i - 1] >= from && run.trace.time[i] <= to)
            passed += hole.flow(across[i]) * (run.trace.time[i] - run.trace.time[i - 1]);
    const double back = run.at("master.secondary_reservoir.fluid", to) -
                        run.at("master.secondary_reservoir.fluid", from);
    REQUIRE(back > 0.01e-6);
    CHECK(near(back, passed, 1e-9, 0.05));
}

TEST_CASE("by-pass stuck open: the rear gets everything though the front is whole") {
    const Played sound = play(bypassed()),
                 run = with_fault(bypassed(), "bypass_stuck_open", "rear_valve");
    const double in = run.held("rear_valve.inlet.pressure");
    REQUIRE(in > 1.5 * run.field("rear_valve.knee"));
    CHECK(near(run.held("rear_valve.outlet.pressure"), in, 2e3, 0));
    CHECK(near(sound.held("rear_valve.outlet.pressure"), curve(sound, in), 15e3, 0));
    CHECK(run.held("front_left.pressure") > 3.5e6);
}

TEST_CASE("by-pass stuck shut: with the front lost the rear is still held back") {
    const std::vector<std::string> lost{"front_left_bleeder.opening=3 mm"};
    const Played sound = play(bypassed(lost)),
                 run = with_fault(bypassed(lost), "bypass_stuck_shut", "rear_valve");
    // Behind a hold-off valve the front line keeps that valve's opening pressure as long as fluid
    // comes; then it falls and the by-pass opens.
    CHECK(near(sound.held("rear_valve.outlet.pressure"), sound.held("rear_valve.inlet.pressure"),
               5e3, 0));
    const double in = run.held("rear_valve.inlet.pressure");
    REQUIRE(in > 1.5 * run.field("rear_valve.knee"));
    CHECK(near(run.held("rear_valve.outlet.pressure"), curve(run, in), 15e3, 0));
}

TEST_CASE("switch with wrong springs: the lamp lights at the difference that they bear") {
    // As the pistons meet the front falls at once and the difference with it to 0.4 MPa or so; what
    // lies above is told by the foot.
    const Scenario lost = slow_stop(300, {"front_left_bleeder.opening=3 mm"});
    const double usual = play(lost).when("switch: contact closes");
    for (const double trip : {0.6e6, 1.0e6, 1.5e6}) {
        CAPTURE(trip);
        const Played run = with_fault(lost, "switch_springs", "switch", trip);
        const double lit = run.when("switch: contact closes");
        REQUIRE(lit < 12);
        CHECK((trip < 0.8e6) == (lit < usual));
        if (trip > 0.8e6) CHECK(near(std::fabs(run.at("switch.difference", lit)), trip, 0, 0.05));
        // Both circuits sound: dark, whatever the springs.
        CHECK(with_fault(slow_stop(300), "switch_springs", "switch", trip).count("lamp lit") == 0);
    }
}
