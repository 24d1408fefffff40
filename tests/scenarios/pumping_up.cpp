// Air in a caliper: quick strokes bring the pedal up by what comes in past the cups, a rest takes
// it back. A high point keeps its air.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

double levels(const Played& run, double t) {
    return run.at("master.primary_reservoir.fluid", t) +
           run.at("master.secondary_reservoir.fluid", t);
}

} // namespace

TEST_CASE("pumping up: the lesson's own expectations, and each stroke shorter by what came in") {
    const Played run = play(load("pumping_up"));
    check_own_expectations(run);
    // At one force the circuits hold one content beside the cylinder: what the reservoirs have
    // given more than at the first stroke the pistons need not travel, R dV/A. A quick stroke ends
    // with pressures some 3 % apart, which gas and pads turn into as much of their share.
    const double per_volume = run.field("pedal.ratio") / circle(run.field("master.bore"));
    for (const double t : {1.4, 2.2, 3.0, 3.8}) {
        CAPTURE(t);
        const double shorter = run.at("pedal.travel", 0.6) - run.at("pedal.travel", t);
        const double given = levels(run, 0.6) - levels(run, t);
        MESSAGE(t << " s: " << shorter * 1e3 << " mm shorter, " << given * 1e9
                  << " mm3 more in the lines: " << per_volume * given * 1e3 << " mm");
        CHECK(near(shorter, per_volume * given, 0, 0.1));
    }
    // Nothing is lost by it.
    CHECK(near(levels(run, 64), levels(run, 0), 0.2e-6, 0));
}

TEST_CASE("pumping up: slow releases give the pistons time, and the pedal stays where it was") {
    Scenario s = load("pumping_up");
    s.expectations.clear();
    s.foot =
        force({{0, 0}, {0.3, 200}, {0.6, 200}, {5, 0}, {15, 0}, {15.3, 200}, {15.6, 200}, {20, 0}});
    s.duration = 20;
    const Played run = play(s);
    // Of 122 mm; bubbles that climbed meanwhile stand higher and under a little less pressure.
    CHECK(near(run.at("pedal.travel", 15.6), run.at("pedal.travel", 0.6), 4e-3, 0));
}

TEST_CASE("a screw at the bottom: the lesson's own expectations; on top it lets the air out") {
    check_own_expectations(play(load("screw_at_the_bottom")));
    Scenario s = load("screw_at_the_bottom", {"front_left_bleeder.space_above=0"});
    s.expectations.clear();
    const Played run = play(s);
    // 45 cm3 through 16.5 cm3 of room: exp(-45/16.5) = 0.065 of 6 cm3, and what the fluid brings.
    CHECK(run.residual("front_left_bleeder.free_air") < 0.6e-6);
    CHECK(run.at("pedal.travel", 36.9) < 80e-3);
}
