// The front lost, beside circuit_lost.cpp: what the size of the hole and the place of the break
// change.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("front lost: from 2 mm on the size of the hole changes neither the rear nor the order") {
    const Played sound = play(intact(load("front_lost")));
    for (const char* size : {"2 mm", "3 mm", "5 mm"}) {
        CAPTURE(std::string(size));
        const Played lost = play(load("front_lost", {std::string("broken_pipe.size=") + size}));
        for (const char* wheel : {"rear_left.pressure", "rear_right.pressure"})
            CHECK(near(lost.held(wheel), sound.held(wheel), 0, 0.02));
        CHECK(lost.when("master: pistons meet") < lost.when("lamp lit"));
        // At least the stroke from the shut port to the other piston.
        const double stroke =
            lost.field("master.primary_stroke") - lost.field("master.port_travel");
        CHECK(lost.at("broken_pipe.outside.fluid", 9.2) > 0.9 * master_area(lost) * stroke);
    }
}

TEST_CASE("front lost behind the hold-off valve: the lamp comes later by F_s/A1, and not at all at "
          "a light foot") {
    // A quick foot shuts the check, a creeping one then passes the lamp's pressure without drag in
    // the switch.
    const auto creeping = [](const char* file, double most) {
        Scenario s = load(file);
        s.expectations.clear();
        s.foot = force({{0, 0}, {0.2, 0}, {0.26, 110}, {1.2, 110}, {21.2, most}, {22.2, most}});
        s.duration = 22.2;
        return play(s);
    };
    const Played near_end = creeping("front_lost", 210),
                 far_end = creeping("front_lost_behind_valve", 210);
    const double kept =
        far_end.field("hold_off.plate_spring") / circle(far_end.field("hold_off.plate_diameter"));
    const double trip = far_end.field("switch.trip");
    const double lit = far_end.when("lamp lit");
    REQUIRE(lit > 1.2);
    const double p2 = far_end.at("master.secondary.pressure", lit);
    CHECK(near(p2, kept + trip, 0, 0.05));
    // With the pipe broken at the cylinder the same foot lights it sooner: by that pressure less.
    const double sooner = near_end.when("lamp lit");
    REQUIRE(sooner > 0);
    CHECK(sooner < lit);
    // A foot that gives the rear less than both together leaves it dark: by the force balance of
    // the two pistons, 15 % below.
    const double A = master_area(far_end), p = 0.85 * (kept + trip);
    const double F = far_end.field("pedal.return_force") +
                     (p * A + secondary_spring(far_end, lit) + cup_friction(far_end, p) +
                      cup_friction(far_end, kept)) /
                         far_end.field("pedal.ratio");
    const Played light = creeping("front_lost_behind_valve", F);
    CHECK(light.count("lamp lit") == 0);
    CHECK(light.held("master.secondary.pressure") > trip); // it would have, but for the valve
}
