// What handbooks and service data say of valves, held against the demo car as it is, by runs.
#include "scenarios/scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kPsi = 6894.757293168; // Pa

/// The demo car under a slow foot, so that each valve stands in its balance.
Played pressed(double newton) {
    Scenario s = load("ordinary_stop");
    s.expectations.clear();
    s.foot = force({{0, 0}, {30, newton}, {32, newton}});
    s.duration = 32;
    return play(s);
}

} // namespace

TEST_CASE("hold-off valve (Oldsmobile 1982 manual; seen): its seal closes at 4-30 psi") {
    const Played run = pressed(200);
    const Event* shut = run.event("hold_off: check shuts");
    REQUIRE(shut != nullptr);
    const double at = run.at("hold_off.inlet.pressure", shut->time) / kPsi;
    CHECK(at >= 4);
    CHECK(at <= 30);
}

TEST_CASE("hold-off valve (repair guides and study guides; seen): no restriction before it closes, "
          "front pressure released at 75-125 psi, then it blends to full") {
    const Played run = pressed(400);
    const double shut = run.when("hold_off: check shuts"), open = run.when("hold_off: plate opens");
    REQUIRE(shut > 0);
    REQUIRE(open > shut);
    // Open to either side the circuits stand alike: what a slow foot moves past the check drops
    // less than 5 kPa.
    for (double t = 0.1; t < shut - 0.5; t += 0.1)
        CHECK(std::abs(run.at("hold_off.difference", t)) < 5e3);
    const double released = run.at("hold_off.inlet.pressure", open) / kPsi;
    CHECK(released >= 75);
    CHECK(released <= 125);
    const double held_back = run.at("hold_off.difference", open);
    CHECK(held_back > 0.5 * released * kPsi);
    CHECK(std::abs(run.at("hold_off.difference", 32)) < 0.05 * held_back);
}

TEST_CASE("pressure bleeding (US Army TB 9-2320-335-13&P, vehicle manuals; seen): equipment of "
          "12-15 psi or 20-30 psi shuts a hold-off valve that shuts below it, gravity does not; "
          "held open by its rod it bleeds") {
    const auto bled = [](double tank, bool held) {
        Scenario s = load("ordinary_stop", {"hold_off.shut=10 psi"});
        s.expectations.clear();
        s.foot = force({{0, 0}, {8, 0}});
        s.duration = 8;
        s.changes = {{"tank", "pressure", tank, 0.5, 0},
                     {"front_left_bleeder", "opening", 2e-3, 2, 0}};
        if (held) s.changes.push_back({"hold_off", "rod", 1, 0, 0});
        return play(s);
    };
    const auto out = [](const Played& run) {
        return (run.at("front_left_bleeder.outside.fluid", 8) -
                run.at("front_left_bleeder.outside.fluid", 3)) *
               1e6; // cm3 in 5 s, when what was pressed together is out
    };
    const Played gravity = bled(0, false);
    CHECK(gravity.count("hold_off: check shuts") == 0);
    CHECK(out(gravity) > 0.5);
    for (const double psi : {12.0, 15.0, 20.0, 30.0}) {
        CAPTURE(psi);
        const Played run = bled(psi * kPsi, false);
        CHECK(run.count("hold_off: check shuts") >= 1);
        CHECK(out(run) < 0.3);
        CHECK(out(bled(psi * kPsi, true)) > 5 * out(gravity));
    }
}

TEST_CASE("residual pressure (US Army TM 5-4210-230-14&P-1 p. 381 and G-W Auto Brakes p. 155; "
          "seen): holding 6-18 psi; what rests in the line is 0.3-1.0 of it") {
    Scenario s = load("ordinary_stop");
    s.expectations.clear();
    // Feet of different haste: what is kept hangs on the last wave before the valve shuts.
    for (const double over : {0.3, 0.8, 3.0}) {
        CAPTURE(over);
        s.foot = force({{0, 0}, {1, 300}, {2, 300}, {2 + over, 0}});
        s.duration = 4 + over;
        const Played run = play(s);
        const double holding = run.field("rear_residual.holding"),
                     rests = run.at("rear_left.pressure", s.duration);
        CHECK(holding / kPsi >= 6);
        CHECK(holding / kPsi <= 18);
        CHECK(rests >= 0.3 * holding);
        CHECK(rests <= 1.0 * holding + 5e3); // and the fluid that stands above
    }
}
