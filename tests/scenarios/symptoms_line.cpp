// Faults of hoses and valves, each by the reading that a workshop knows it by.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// First time at which fluid passing the hole under (inlet pressure - opposed) has filled a volume.
double filled(const Played& run, const Hole& hole, double opposed, double volume) {
    const std::vector<double> p = run.of("left_hose.inlet.pressure");
    double sum = 0;
    for (std::size_t i = 1; i < p.size(); ++i) {
        sum +=
            hole.flow(std::max(0.0, p[i] - opposed)) * (run.trace.time[i] - run.trace.time[i - 1]);
        if (sum >= volume) return run.trace.time[i];
    }
    return kUnset;
}

} // namespace

TEST_CASE(
    "a restricted hose: its wheel comes late by what passes the narrow place, and is equal in "
    "the hold") {
    const Played sound = play(plain());
    const char* touch = "front_left: outer pad touches";
    double last = sound.when(touch);
    for (const double opening : {0.3e-3, 0.25e-3}) {
        const Played run = with_fault(plain(), "hose_restriction", "left_hose", opening);
        // The narrow place is 5 mm long. To touch the piston sweeps its clearance; the caliper asks
        // for no pressure at first and at most for what makes the piston slip, and housing and hose
        // take a tenth more.
        const Hole hole(run, opening, 5e-3, 0.65);
        const double area = circle(run.field("front_left.piston")),
                     volume = area * run.lowest_between("front_left.clearance", 0, 0.1).first;
        const double slips =
            run.field("front_left.seal_grip") / (area - run.field("front_left.seal_grip_rise"));
        const double t = run.when(touch);
        CHECK(t >= filled(run, hole, 0, volume));
        CHECK(t <= filled(run, hole, slips, 1.1 * volume));
        CHECK(t > last + 0.02);
        last = t;
        CHECK(near(run.held("front_left.pressure"), run.held("front_right.pressure"), 0, 0.01));
        CHECK(near(run.held("front_left.torque"), sound.held("front_left.torque"), 0, 0.02));
    }
}

TEST_CASE("a flap in the hose: its wheel keeps its pressure for R C, the other lets go") {
    const double opening = 0.05e-3, off = 2.9;
    const Played sound = play(plain());
    const Played run = with_fault(plain(), "hose_flap", "left_hose", opening);
    // No less yields than both pads at their stiffest and the housing; no more passes than creeping
    // flow. So p >= p0 exp(-t/(a C)); the relaxing seal takes 3 % at most (its branch, 80 N of the
    // 8000 N on the piston, on pads that give the rest).
    const double area = circle(run.field("front_left.piston"));
    const double yields =
        2 * area * area / run.field("front_left.pad_final") + run.field("front_left.stretch");
    const double constant = Hole(run, opening, 5e-3, 0.65).a * yields;
    const double end = run.scenario.duration;
    REQUIRE(constant > 10 * (end - off));
    CHECK(run.residual("front_left.pressure") >
          0.97 * run.at("front_left.pressure", off) * std::exp(-(end - off) / constant));
    CHECK(run.residual("front_left.torque") > 0.9 * run.held("front_left.torque"));
    CHECK(run.residual("front_right.pressure") < 10e3);
    CHECK(run.residual("front_right.torque") < 4);
    CHECK(near(run.held("front_left.pressure"), sound.held("front_left.pressure"), 0, 0.01));
}

TEST_CASE("a soft hose: a stroke longer by R (its extra swelling)/A") {
    // So slowly that in both cars the port passes all that the piston displaces until it is shut.
    Scenario slow = without_creep(plain());
    slow.foot = force({{0, 0}, {60, 300}, {65, 300}});
    slow.duration = 66;
    const Played sound = play(slow);
    const auto grown = [&](const char* channel) {
        return sound.at(channel, 60) - sound.at(channel, 55);
    };
    // What the circuit gives for a pressure, as the sound car shows it in the last of its
    // application: the springs, longer pressed, take some pressure off.
    const double give = grown("master.secondary_travel") / grown("master.secondary.pressure");
    for (const double times : {2.0, 4.0}) {
        const Played run = with_fault(slow, "soft_hose", "rear_hose", times);
        // Per metre a sound hose takes 0.09 cm3/MPa and 0.5 cm3 p/(p + 3 MPa).
        const double p = run.held("rear_left.pressure");
        const double longer = (times - 1) * run.field("rear_hose.length") *
                                  (0.09e-12 * p + 0.5e-6 * p / (p + 3e6)) / master_area(run) -
                              give * (sound.held("rear_left.pressure") - p);
        CHECK(near(run.held("master.secondary_travel") - sound.held("master.secondary_travel"),
                   longer, 0, 0.03));
        CHECK(near(run.held("pedal.travel") - sound.held("pedal.travel"),
                   run.field("pedal.ratio") * longer, 0, 0.03));
        CHECK(near(p, sound.held("rear_left.pressure"), 0, 0.01));
    }
}

TEST_CASE("the plate's spring: the discs come in at (F + A2 p_out)/A1") {
    const Played sound = play(plain());
    const char* opens = "hold_off: plate opens";
    const double t0 = sound.when(opens), a1 = circle(sound.field("hold_off.plate_diameter"));
    for (const double force : {70.0, 170.0}) {
        const Played run = with_fault(plain(), "plate_spring", "hold_off", force);
        const double t = run.when(opens), p = run.at("hold_off.inlet.pressure", t);
        CHECK(near(
            p,
            (force + run.field("hold_off.outlet_area") * run.at("hold_off.outlet.pressure", t)) /
                a1,
            0, 0.02));
        CHECK(near(p - sound.at("hold_off.inlet.pressure", t0),
                   (force - sound.field("hold_off.plate_spring")) / a1, 0, 0.05));
        CHECK((force < sound.field("hold_off.plate_spring")) == (t < t0));
    }
}

TEST_CASE("a residual valve keeps 0.9-1.0 of the pressure that it holds after a slow release") {
    for (const double holding : {40e3, 120e3}) {
        const Played run =
            with_fault(slow_stop(300), "residual_valve_holds", "rear_residual", holding);
        const double band = 50; // Pa, of its guard
        CHECK(run.residual("rear_residual.held_back") >= 0.9 * holding);
        CHECK(run.residual("rear_residual.held_back") <= holding + band);
        CHECK(run.residual("front_left.pressure") < 10e3);
    }
}

TEST_CASE("a flap lets a light foot through, however little it would let back") {
    Scenario light = plain();
    light.foot = force({{0, 0}, {0.5, 100}, {2, 100}});
    light.duration = 2;
    const Played sound = play(light);
    for (const double opening : {20e-6, 31e-6, 50e-6, 200e-6}) {
        CAPTURE(opening);
        const Played run = with_fault(light, "hose_flap", "left_hose", opening);
        // It keeps a peak that the sound hose gives back.
        CHECK(near(run.held("front_left.pressure"), sound.held("front_left.pressure"), 0, 0.05));
        CHECK(near(run.held("pedal.travel"), sound.held("pedal.travel"), 0, 0.01));
    }
}
