// Faults at a wheel, each by the reading that a workshop knows it by.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("seized pins take their friction from the outer pad: the torque falls by mu r N") {
    // Inner pad N_i, outer pad N_i - N: the sum of both falls by N against 2 N_i of free pins.
    const Played sound = play(plain());
    double last = sound.held("front_left.torque");
    for (const double friction : {1000.0, 2000.0, 4000.0}) {
        const Played seized = with_fault(plain(), "pins_seized", "front_left", friction);
        const double lever =
            seized.field("front_left.friction") * seized.field("front_left.radius");
        const double lost = sound.held("front_left.torque") - seized.held("front_left.torque");
        CHECK(near(lost, lever * (friction - sound.field("front_left.pin_friction")), 0, 0.1));
        CHECK(seized.held("front_left.torque") < last); // the size matters
        last = seized.held("front_left.torque");
        CHECK(near(seized.held("front_right.torque"), sound.held("front_right.torque"), 0, 0.02));
    }
}

TEST_CASE("a seal without rollback leaves the wheel dragging by its own grip") {
    const Played sound = play(plain());
    const double lever = sound.field("front_left.friction") * sound.field("front_left.radius"),
                 grip = sound.field("front_left.seal_grip"),
                 pins = sound.field("front_left.pin_friction");
    // The pads push the piston home until the seal holds it: the inner pad is left with the grip
    // and what fluid stands above; relaxing, the seal may lose its soft branch. The outer pad bears
    // what the pins hold besides.
    const Played worn = with_fault(plain(), "seal_without_rollback", "front_left");
    const double head = worn.residual("front_left.pressure") * circle(51e-3);
    const double drag = worn.residual("front_left.torque");
    CHECK(drag >= lever * 2 * grip * (1 - sound.field("front_left.seal_branch")));
    CHECK(drag <= lever * (2 * (grip + head) + pins));
    CHECK(drag > 4);
    CHECK(worn.residual("front_left.clearance") < 1e-6);
    CHECK(near(worn.residual("front_right.torque"), sound.residual("front_right.torque"), 0.1, 0));
    CHECK(near(worn.held("front_left.torque"), sound.held("front_left.torque"), 0, 0.05));
    // The size is what is left of the return: from none to all of it.
    double last = drag;
    for (const double left : {0.3, 0.6, 1.0}) {
        const Played run = with_fault(plain(), "seal_without_rollback", "front_left", left);
        // Not below what the pins alone leave, which the last two share to round-off.
        CHECK(run.residual("front_left.torque") <= last * (1 + 1e-6));
        last = run.residual("front_left.torque");
    }
    CHECK(last <= lever * pins * 1.01); // nothing but the pins on the outer pad
    CHECK(last == sound.residual("front_left.torque"));
}

TEST_CASE("strong return springs take shoe factor x radius x their force from the torque") {
    const Played sound = play(plain());
    for (const double push_out : {0.3e6, 0.9e6}) {
        const Played run = with_fault(plain(), "shoe_springs", "rear_left", push_out);
        // F0 = p_out A_w (1 - rise) - friction: the difference of two pressures.
        const double lost = (push_out - sound.field("rear_left.push_out")) *
                            circle(sound.field("rear_left.cylinder")) *
                            (1 - sound.field("rear_left.cup_friction_rise"));
        const double lever =
            sound.field("rear_left.shoe_factor") * sound.field("rear_left.drum_radius");
        CHECK(near(sound.held("rear_left.torque") - run.held("rear_left.torque"), lever * lost, 0,
                   0.03));
        CHECK(near(run.held("rear_right.torque"), sound.held("rear_right.torque"), 0, 0.005));
        // They move when the pressure passes what pushes them out.
        const double at = run.at("rear_left.pressure", run.when("rear_left: shoes leave"));
        CHECK(near(at, push_out, 0, 0.15));
    }
}

TEST_CASE("shoes too far from the drum: a stroke longer by R 2 A_w (their clearance more)/A") {
    const Played sound = play(plain());
    for (const double clearance : {0.3e-3, 0.9e-3}) {
        const Played run = with_fault(plain(), "shoes_misadjusted", "rear_left", clearance);
        const double longer = 2 * circle(sound.field("rear_left.cylinder")) *
                              (clearance - sound.field("rear_left.clearance")) / master_area(sound);
        CHECK(near(run.held("master.secondary_travel") - sound.held("master.secondary_travel"),
                   longer, 0, 0.04));
        CHECK(near(run.held("pedal.travel") - sound.held("pedal.travel"),
                   sound.field("pedal.ratio") * longer, 0, 0.04));
        CHECK(near(run.held("rear_left.pressure"), sound.held("rear_left.pressure"), 0, 0.01));
    }
}

TEST_CASE("a bleed screw open under the foot: the pedal falls until the secondary piston bottoms, "
          "and what it sweeps lies in the jar") {
    // Opened during the hold, so that no port takes part.
    const double opened = 2, end = 2.85;
    const Played sound = play(plain());
    const Played run = with_fault(plain({"pedal.floor=200 mm"}), "bleeder_open",
                                  "rear_left_bleeder", 1.5e-3, opened);
    REQUIRE(run.when("master: secondary piston bottoms", opened) < end);
    const double A = master_area(run), fell = run.field("master.secondary_stroke") -
                                              run.at("master.secondary_travel", opened);
    const auto shoes = [&](double t) {
        return 2 * circle(run.field("rear_left.cylinder")) *
               (run.at("rear_left.piston_travel", t) + run.at("rear_right.piston_travel", t));
    };
    // The hose gives back 0.09 cm3/MPa and 0.5 cm3 p/(p + 3 MPa) per metre; the switch goes over;
    // the line, then empty, takes what its weight brings past the cup.
    const double p = run.at("rear_left.pressure", opened),
                 hose = run.field("rear_hose.length") * (0.09e-12 * p + 0.5e-6 * p / (p + 3e6)),
                 over = circle(run.field("switch.bore")) *
                        (run.at("switch.position", end) - run.at("switch.position", opened)),
                 walls = p * (run.field("rear_left.stretch") + run.field("rear_right.stretch") +
                              run.field("master.body_stretch")),
                 tank = run.at("master.secondary_reservoir.fluid", opened) -
                        run.at("master.secondary_reservoir.fluid", end);
    const double out = run.at("rear_left_bleeder.outside.fluid", end),
                 swept = A * fell + shoes(opened) - shoes(end) + hose + walls + over + tank;
    // What was pressed together comes besides: some 60 cm3 with 0.2 % of air, by 4 MPa on 1.8 GPa,
    // are 0.13 and 0.12 cm3.
    CHECK(out >= swept);
    CHECK(out <= swept + 0.3e-6);
    // The pedal is lower by the secondary piston's way and by what the switch takes from the front.
    CHECK(near(run.at("pedal.travel", end) - sound.at("pedal.travel", end),
               run.field("pedal.ratio") * (run.at("master.secondary_travel", end) -
                                           sound.at("master.secondary_travel", end) + over / A),
               0, 0.01));
    CHECK(run.at("rear_left.pressure", end) < 20e3);
    CHECK(near(run.at("front_left.pressure", end), sound.held("front_left.pressure"), 0, 0.05));
}

TEST_CASE(
    "a broken shoe spring: the shoes stay on the drum by their cups, and brake a little more") {
    const Played sound = play(plain()),
                 run = with_fault(plain(), "shoe_spring_broken", "rear_left");
    const double area = circle(run.field("rear_left.cylinder")),
                 lever = run.field("rear_left.shoe_factor") * run.field("rear_left.drum_radius");
    // In the hold the springs' force is missing: F0 at home and k x.
    const double spring =
        run.field("rear_left.push_out") * area * (1 - run.field("rear_left.cup_friction_rise")) -
        run.field("rear_left.cup_friction") +
        run.field("rear_left.spring_rate") * sound.held("rear_left.piston_travel");
    CHECK(near(run.held("rear_left.torque") - sound.held("rear_left.torque"), lever * spring, 0,
               0.03));
    // Off, nothing takes the shoes from the drum but the drum itself, up to what the cups hold.
    const double p = run.residual("rear_left.pressure"),
                 cups = run.field("rear_left.cup_friction") +
                        run.field("rear_left.cup_friction_rise") * p * area;
    CHECK(run.residual("rear_left.torque") <= lever * (p * area + cups) * 1.01);
    CHECK(run.residual("rear_left.torque") > kDragLimit);
    CHECK(run.residual("rear_left.clearance") == 0);
    CHECK(sound.residual("rear_left.torque") == 0);
    CHECK(near(run.residual("rear_right.torque"), 0, 0.1, 0));
    // Before the first stroke they are at home, where nobody sees it.
    CHECK(run.at("rear_left.torque", 0.1) == 0);
}

TEST_CASE("shoes adjusted too close press on the drum at rest, as far as their stop gives") {
    const Played run = with_fault(plain(), "shoes_misadjusted", "rear_left", -0.1e-3);
    // At home springs and stop balance; pushed back by x the stop's and the springs' rates give the
    // force of the lining, but for what the cups hold.
    const double lever = run.field("rear_left.shoe_factor") * run.field("rear_left.drum_radius");
    const double back = -run.at("rear_left.piston_travel", 0.1),
                 force = run.at("rear_left.torque", 0.1) / lever;
    const double stop =
        (run.field("rear_left.stop_stiffness") + run.field("rear_left.spring_rate")) * back;
    const double head = run.at("rear_left.pressure", 0.1) * circle(run.field("rear_left.cylinder"));
    CHECK(back > 0.01e-3);
    CHECK(back < 0.1e-3);
    CHECK(near(force, stop + head, run.field("rear_left.cup_friction"), 0));
    CHECK(run.at("rear_left.torque", 0.1) > kDragLimit);
}
