// Two proportioning valves in a car with diagonal circuits: who locks first with and without, the
// curve of each, and a circuit lost.
#include "scenario.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("diagonal: with its two valves the front locks first, without them the rear") {
    const Played valves = play(load("hard_stop_diagonal"));
    check_own_expectations(valves);
    Scenario s =
        load("hard_stop_diagonal", {"rear_left_valve.knee=10 MPa", "rear_right_valve.knee=10 MPa"});
    s.expectations.clear();
    const Played none = play(s);
    const double rear = none.when("rear left wheel locks"),
                 front = none.when("front left wheel locks");
    REQUIRE(rear == rear);
    CHECK((front != front || rear < front));
}

TEST_CASE(
    "diagonal: each rear wheel has its own curve, and keeps it when the other circuit is lost") {
    Scenario s = load("hard_stop_diagonal");
    s.expectations.clear();
    s.changes.clear();
    s.foot = force({{0, 0}, {20, 180}, {22, 180}});
    s.duration = 22;
    const auto curve = [](const Played& run, const std::string& valve) {
        const double in = run.held(valve + ".inlet.pressure");
        return run.field(valve + ".knee") +
               run.field(valve + ".slope") * (in - run.field(valve + ".knee"));
    };
    const Played sound = play(s);
    for (const std::string valve : {"rear_left_valve", "rear_right_valve"}) {
        CAPTURE(valve);
        CHECK(sound.held(valve + ".inlet.pressure") > 7e6);
        CHECK(near(sound.held(valve + ".outlet.pressure"), curve(sound, valve), 0, 0.01));
    }
    // 2 mm at the front left: the primary circuit, with the rear right wheel. The other is as it
    // was.
    REQUIRE(apply_fault(s, {"open", find_fault("leak"), "front_left", 2e-3, 0, 0}).empty());
    const Played lost = play(s);
    CHECK(lost.held("rear_right.pressure") < 0.3e6);
    CHECK(near(lost.held("rear_left_valve.outlet.pressure"), curve(lost, "rear_left_valve"), 0,
               0.01));
    CHECK(near(lost.held("rear_left.torque"), sound.held("rear_left.torque"), 0, 0.05));
    CHECK(lost.held("rear_right.torque") < 5);
}
