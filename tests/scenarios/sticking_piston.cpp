// A caliper piston that sticks in its bore, and two look-alike master cylinders.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("a sticking piston keeps its friction from both pads, and holds them on afterwards") {
    const Played sound = play(plain());
    for (const double stuck : {500.0, 1000.0, 2000.0}) {
        CAPTURE(stuck);
        const Played run = with_fault(plain(), "piston_sticking", "front_left", stuck);
        const double area = circle(run.field("front_left.piston")),
                     lever = run.field("front_left.friction") * run.field("front_left.radius"),
                     p = run.held("front_left.pressure"),
                     grip = run.field("front_left.seal_grip") + stuck,
                     pins = run.field("front_left.pin_friction");
        // Seal and rust have slipped on the way out: the inner pad has p A less all they hold.
        const double inner = p * (area - run.field("front_left.seal_grip_rise")) - grip;
        CHECK(near(run.held("front_left.clamp"), inner, 0, 0.01));
        CHECK(near(run.held("front_left.torque"), lever * 2 * inner, lever * pins, 0.01));
        // Let go, the pads push it home until its friction holds them, with the head's help.
        const double head = run.residual("front_left.pressure") * area;
        CHECK(run.residual("front_left.pressure") < 10e3);
        CHECK(run.residual("front_left.clamp") <= grip + head);
        CHECK(run.residual("front_left.clamp") >= 0.97 * grip); // the seal's share relaxes
        CHECK(
            near(run.residual("front_left.torque"), lever * 2 * grip, lever * (pins + head), 0.03));
        CHECK(near(run.held("front_right.torque"), sound.held("front_right.torque"), 0, 0.01));
        CHECK(run.residual("front_right.torque") < kDragLimit);
    }
    CHECK(play(plain({"front_left.sticking=0 N"})).held("front_left.torque") ==
          sound.held("front_left.torque"));
}

TEST_CASE(
    "a look-alike cylinder with a wider bore: pressure falls by the areas, in both circuits") {
    const Played sound = play(plain());
    for (const double bore : {19.05e-3, 22.22e-3, 23.81e-3}) {
        CAPTURE(bore);
        const Played run = with_fault(plain(), "wrong_bore", "master", bore);
        const double A = circle(bore), t = 2.85, p1 = run.at("master.primary.pressure", t),
                     p2 = run.at("master.secondary.pressure", t);
        const double rod = run.field("pedal.ratio") * (300 - run.field("pedal.return_force"));
        CHECK(near(p1, (rod - primary_spring(run, t) - cup_friction(run, p1)) / A, 0, 0.02));
        CHECK(near(p2 - p1,
                   (primary_spring(run, t) - secondary_spring(run, t) - cup_friction(run, p2)) / A,
                   10e3, 0));
        CHECK((bore > sound.field("master.bore")) == (p1 < sound.held("master.primary.pressure")));
        CHECK((bore > sound.field("master.bore")) ==
              (run.held("pedal.travel") < sound.held("pedal.travel")));
    }
}

TEST_CASE("ports that shut late cost R times the travel, once for a caged cylinder") {
    // Each lip may come to rest anywhere over its port, so the port's diameter is what is not
    // known: a small one, and a pedal so slow that it passes what the pistons displace.
    Scenario slow = plain({"master.port=0.3 mm"});
    slow.foot = travel({{0, 0}, {70, 70e-3}});
    slow.duration = 70;
    const auto at_pressure = [](const Played& run, const char* channel) {
        const std::vector<double> p = run.of("master.primary.pressure");
        for (std::size_t i = 0; i < p.size(); ++i)
            if (p[i] >= 1e6) return run.trace.rows[i][run.index(channel)];
        return kUnset;
    };
    const Played sound = play(slow);
    for (const double late : {2e-3, 3e-3}) {
        CAPTURE(late);
        const Played run = with_fault(slow, "port_travel_off", "master", late);
        // Both pistons go together until both ports are shut: x1 = x_p + (V1 + V2)/A.
        const double more = late - sound.field("master.port_travel"),
                     port = sound.field("master.port"), ratio = sound.field("pedal.ratio");
        CHECK(near(at_pressure(run, "pedal.travel") - at_pressure(sound, "pedal.travel"),
                   ratio * more, ratio * port, 0));
        CHECK(near(at_pressure(run, "master.secondary_travel") -
                       at_pressure(sound, "master.secondary_travel"),
                   more, port, 0));
    }
}
