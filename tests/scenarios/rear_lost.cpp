// The rear lost, beside circuit_lost.cpp: what foot brings the piston to its end, and what stays
// behind the residual valve.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Played creeping_to(double most, double duration) {
    Scenario s = load("rear_lost");
    s.expectations.clear();
    s.foot = force({{0, 0}, {0.2, 0}, {duration - 1, most}, {duration, most}});
    s.duration = duration;
    return play(s);
}

} // namespace

TEST_CASE("rear lost: the secondary piston reaches its end at R (F - F_r) >= S2(L2) + f1 + f2") {
    // Slowly, so that the hole and the pistons resist little. The primary spring pushes the
    // secondary along: the foot's force goes through it and through p1 A alike.
    const Played lost = creeping_to(60, 61);
    const double needed =
        lost.field("master.secondary_spring") +
        lost.field("master.secondary_rate") * lost.field("master.secondary_stroke");
    const double bottoms = lost.when("master: secondary piston bottoms");
    REQUIRE(bottoms > 0);
    const double f = cup_friction(lost, lost.at("master.primary.pressure", bottoms)) +
                     cup_friction(lost, lost.at("master.secondary.pressure", bottoms));
    const double R = lost.field("pedal.ratio"), F_r = lost.field("pedal.return_force");
    const double rod = R * (lost.at("pedal.force", bottoms) - F_r);
    CHECK(rod >= needed + f);
    // What it takes beyond that opens the residual valve outward and moves the pistons.
    const double p2 = lost.at("master.secondary.pressure", bottoms);
    CHECK(p2 < 20e3);
    CHECK(near(rod, needed + f + p2 * master_area(lost), 0, 0.02));
    // A foot 5 % short of that leaves it standing in its stroke.
    const Played light = creeping_to(F_r + 0.95 * (needed + f) / R, 61);
    CHECK(light.count("master: secondary piston bottoms") == 0);
    CHECK(light.held("master.secondary_travel") < lost.field("master.secondary_stroke"));
}

TEST_CASE("rear lost: behind its residual valve the line is at 0, during the stop and after it") {
    const Scenario s = load("rear_lost");
    const Played lost = play(s), sound = play(intact(s));
    const double holding = lost.field("rear_residual.holding");
    CHECK(sound.residual("rear_residual.outlet.pressure") > 0.3 * holding);
    // The break lies open: nothing but the flow's own drop and the head of the pipe.
    CHECK(std::abs(lost.held("rear_residual.outlet.pressure")) < 2e3);
    CHECK(std::abs(lost.residual("rear_residual.outlet.pressure")) < 2e3);
    for (const char* wheel : {"rear_left", "rear_right"}) {
        CHECK(lost.held(std::string(wheel) + ".torque") < 0.1);
        CHECK(std::abs(lost.residual(std::string(wheel) + ".pressure")) < 0.1 * holding);
    }
}
