// A detented switch whose low circuit passes the recentring pressure while the other one stands
// above it by more than the trip: on its way over the piston presses fluid into the low circuit, on
// its way back it takes it out again. It once went to and fro without end.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("a detented switch comes to rest between the recentring pressure and the trip") {
    // The rear of the look-alike cylinder stops rising at about 1.9 MPa, and stands at about 2.2
    // MPa with the piston over.
    for (const double recentre : {1.5e6, 2e6, 2.2e6, 2.5e6, 3.1e6}) {
        CAPTURE(recentre);
        Scenario s = load("look_alike_cylinder",
                          {"switch.centring=detent",
                           "switch.recentre=" + std::to_string(recentre * 1e-6) + " MPa"});
        s.expectations.clear();
        const Played run = play(s);
        const double trip = run.field("switch.trip"), lit = run.when("lamp lit");
        REQUIRE(lit > 0);
        CHECK(near(run.highest_between("switch.difference", 0, lit).first, trip, 0, 0.03));
        CHECK(run.at("switch.contact", 17.5) == 1); // the front stands far above the rear
        // Below the recentring pressure all the time it goes over once and stays.
        if (run.peak("switch.second.pressure") < recentre) {
            CHECK(run.count("switch goes over: second circuit low") == 1);
            CHECK(run.count("switch recentres") == 0);
            CHECK(run.summary.lamp_lit_at_end);
        } else {
            CHECK(run.count("switch goes over: second circuit low") < 10);
        }
    }
}

TEST_CASE("a detented switch comes back when both circuits are high and alike") {
    // Sent over by a rear that is open for the first application only.
    Scenario s = load("ordinary_stop", {"switch.centring=detent"});
    s.expectations.clear();
    s.foot = force({{0, 0}, {2, 200}, {2.5, 200}, {3.5, 0}, {4, 0}, {8, 350}, {8.5, 350}});
    s.duration = 8.5;
    s.changes = {{"rear_left_bleeder", "opening", 3e-3, 0, 0},
                 {"rear_left_bleeder", "opening", 0, 3.8, 0}};
    const Played run = play(s);
    CHECK(run.count("switch goes over") == 1);
    REQUIRE(run.count("switch recentres") == 1);
    const double back = run.when("switch recentres");
    const double lower =
        std::min(run.at("switch.first.pressure", back), run.at("switch.second.pressure", back));
    CHECK(near(lower, run.field("switch.recentre"), 0, 0.001));
    CHECK_FALSE(run.summary.lamp_lit_at_end);
}
