// ctest: physics,slow 300
// The proportioning valve in the rear line of the van: knee, slope, the loop of a release, the end
// of the piston's way, by-pass, and the fault that moves its knee.
#include "scenario.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const std::string kIn = "rear_valve.inlet.pressure", kOut = "rear_valve.outlet.pressure",
                  kTravel = "rear_valve.piston_travel";

Scenario lesson(const std::vector<std::string>& sets = {}) {
    return load("proportioning_valve", sets);
}
const Played& slow() {
    static const Played run = play(lesson());
    return run;
}

/// Areas and forces of the valve, by its stated fields alone.
struct Piston {
    double a2, a1, spring, rate, friction, shut, knee, slope;

    explicit Piston(const Played& run)
        : a2(circle(run.field("rear_valve.head_diameter"))), a1(run.field("rear_valve.inlet_area")),
          spring(run.field("rear_valve.spring")), rate(run.field("rear_valve.rate")),
          friction(run.field("rear_valve.piston_friction")),
          shut(run.field("rear_valve.shut_travel")), knee(run.field("rear_valve.knee")),
          slope(run.field("rear_valve.slope")) {}

    double curve(double p) const { return p < knee ? p : knee + slope * (p - knee); }
};

/// The first instant from `from` on at which a channel has passed a level, upward or downward.
double passes(const Played& run, const std::string& channel, double level, double from,
              bool upward) {
    double t = from;
    while (t < run.trace.time.back() && (run.at(channel, t) < level) == upward)
        t += 1e-3;
    REQUIRE(t < run.trace.time.back());
    return t;
}

/// The lesson's car pressed once: `rise` seconds to `peak`, held for 1 s, let go in 1 s. A quick
/// press makes the column of fluid run on, so that the piston overshoots, comes back and turns its
/// friction round: only a slow one stays on the curve.
Scenario pressed_once(double peak, double rise, const std::vector<std::string>& sets = {}) {
    Scenario s = lesson(sets);
    s.expectations.clear();
    s.foot = force({{0, 0}, {rise, peak}, {rise + 1, peak}, {rise + 2, 0}});
    s.duration = rise + 4;
    return s;
}

/// With a by-pass that feels the front line behind the switch.
Scenario bypassed(Scenario s) {
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "rear_valve") part.values.set("bypass_front", 0.5e6);
    std::vector<std::string>& front = s.hardware.circuits[0].run.parts;
    front.insert(front.begin() + 1, "rear_valve.front");
    return s;
}

} // namespace

TEST_CASE("proportioning valve: the lesson's own expectations") {
    check_own_expectations(slow());
}

TEST_CASE("proportioning valve: curve, and areas and spring, are the same valve") {
    const Piston v(slow());
    CHECK(near(v.a1 / v.a2, 0.34, 0, 1e-12));
    CHECK(near((v.spring + v.rate * v.shut + v.friction) / (v.a2 - v.a1), 1.8e6, 0, 1e-12));
    // The other way round: the same areas and spring give the same curve.
    Scenario s = lesson();
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "rear_valve") {
            part.values = Values(part.kind->fields);
            part.values.set("inlet_area", v.a1);
            part.values.set("spring", v.spring);
        }
    const Hardware by_areas = hardware_at(s);
    CHECK(near((*find_values(by_areas, "rear_valve"))["knee"], 1.8e6, 0, 1e-12));
    CHECK(near((*find_values(by_areas, "rear_valve"))["slope"], 0.34, 0, 1e-12));
}

TEST_CASE("proportioning valve: first application, equal up to the knee, then knee + slope more") {
    const Piston v(slow());
    // The seat narrows over its last travel, and a creeping foot asks for little flow: both
    // pressures are equal up to the knee itself.
    for (double p = 0.3e6; p < 0.97 * v.knee; p += 0.1e6) {
        const double t = passes(slow(), kIn, p, 0, true);
        CAPTURE(p);
        CHECK(near(slow().at(kOut, t), slow().at(kIn, t), 2e3, 0));
    }
    for (double p = 1.03 * v.knee; p < 5.4e6; p += 0.2e6) {
        const double t = passes(slow(), kIn, p, 0, true);
        CAPTURE(p);
        CHECK(near(slow().at(kOut, t), v.curve(slow().at(kIn, t)), 5e3, 0));
    }
    // The event tells the knee, 10 um of travel before it: 0.1 N.
    const Event* knee = slow().event("rear_valve: begins to hold back");
    REQUIRE(knee != nullptr);
    CHECK(near(knee->readings.at(0).value, v.knee, 5e3, 0));
    CHECK(near(knee->readings.at(1).value, v.knee, 5e3, 0));
    CHECK(slow().count("rear_valve: begins to hold back") == 1);
    CHECK(slow().count("rear_valve: way is open again") == 1);
    // Metering: the piston stays within a few micrometres of its lip.
    const double from = passes(slow(), kIn, 1.03 * v.knee, 0, true);
    CHECK(near(slow().lowest_between(kTravel, from, 20).first, v.shut, 5e-6, 0));
}

TEST_CASE("proportioning valve: on release the outlet follows at once, by slope/(1 + k C/A2^2)") {
    const Piston v(slow());
    const double from = 24, to = 30; // the cups of the master cylinder have turned round
    const double out = slow().at(kOut, from) - slow().at(kOut, to);
    const double in = slow().at(kIn, from) - slow().at(kIn, to);
    // What the rear circuit gave back fills the room that the piston made.
    const double C = v.a2 * (slow().at(kTravel, to) - slow().at(kTravel, from)) / out;
    CHECK(C > 0.03e-12);
    CHECK(near(out / in, v.slope / (1 + v.rate * C / (v.a2 * v.a2)), 0, 0.01));
    // Above the curve of application all the way down.
    CHECK(slow().at(kOut, to) > v.curve(slow().at(kIn, to)) + 20e3);
}

TEST_CASE("proportioning valve: the loop is 2 f/A1 wide in the inlet, 2 f/A2 in the outlet") {
    const Piston v(slow());
    // 9 N ask for 0.67 MPa more in the second press; it gives 0.8 MPa.
    for (const double friction : {3.0, 6.0, 9.0}) {
        CAPTURE(friction);
        Scenario s = lesson({"rear_valve.piston_friction=" + std::to_string(friction) + " N"});
        s.expectations.clear();
        const Played run = play(without_creep(s)); // of the hose; the rear holds the same fluid
        // At one place of the piston the rear holds the same fluid, so it stands at the same
        // pressure; the inlet differs by the friction that has turned round.
        for (const double x : {0.7e-3, 0.8e-3}) {
            const double down = passes(run, kTravel, x, 21, true);
            const double up = passes(run, kTravel, x, 32, false);
            REQUIRE(down < 31);
            CHECK(near(run.at(kOut, up), run.at(kOut, down), 5e3, 0));
            CHECK(near(run.at(kIn, up) - run.at(kIn, down), 2 * friction / v.a1, 5e3, 0.01));
        }
        // It is back in its lip 2 f/A1 above where the foot let go ...
        const double again = passes(run, kTravel, v.shut, 32, false);
        REQUIRE(again < 45);
        CHECK(near(run.at(kIn, again) - run.at(kIn, 21), 2 * friction / v.a1, 10e3, 0.01));
        // ... and meters on a line lower by 2 f/A2.
        const double lower = v.curve(run.at(kIn, 45.9)) - 2 * friction / v.a2;
        CHECK(near(run.at(kOut, 45.9), lower, 6e3, 0));
    }
}

TEST_CASE("proportioning valve: release is complete, the way opens at knee - 2 f/(A2 - A1)") {
    const Piston v(slow());
    const double lip = slow().when("rear_valve: fluid returns past the lip", 46);
    const double home = passes(slow(), kTravel, v.shut, lip, false);
    REQUIRE(lip < home);
    // Between them the outlet stands above the inlet by crack and flow loss alone.
    for (double t = lip + 0.05; t < home; t += 0.05)
        CHECK(near(slow().at(kOut, t) - slow().at(kIn, t), 4e3, 2e3, 0)); // crack: 3 kPa
    CHECK(near(slow().at(kIn, home), v.knee - 2 * v.friction / (v.a2 - v.a1), 8e3, 0));
    CHECK(std::abs(slow().residual("rear_valve.difference")) < 5e3);
    CHECK(slow().residual(kTravel) < 0); // its spring holds it on its stop
    CHECK(std::abs(slow().residual("rear_left.pressure") -
                   slow().summary.of("rear_left.pressure").settled) < 5e3);
}

TEST_CASE("proportioning valve: at the end of its way the outlet stands until the inlet is below") {
    Scenario s = lesson({"rear_valve.end_travel=0.8 mm"});
    s.expectations.clear();
    const Played run = play(s);
    const double end = run.when("rear_valve: piston reaches its end", 46);
    const double lip = run.when("rear_valve: fluid returns past the lip", 46);
    REQUIRE(end < lip);
    CHECK(run.at(kIn, end) - run.at(kIn, lip) > 0.5e6);
    // The stop, 30 kN/mm, gives way by 1 um more; that much room makes 1 kPa.
    CHECK(near(run.at(kOut, lip), run.at(kOut, end), 5e3, 0));
    CHECK(near(run.at(kIn, lip), run.at(kOut, lip), 5e3, 0));
    CHECK(std::abs(run.residual("rear_valve.difference")) < 5e3);
}

TEST_CASE("proportioning valve: damping shifts nothing that a gauge shows") {
    // A third of it or three times: pressed slowly nothing moves. Pressed quickly, or with fifty
    // times the damping, the piston rings on reaching its lip and its friction keeps what it was
    // turned to by that: still the same to the eye of a gauge, and 3 % of 2 f/A2.
    for (const double rise : {20.0, 2.0}) {
        const Played usual = play(pressed_once(400, rise));
        for (const char* damping : {"0.67 N s/m", "6 N s/m", "100 N s/m"}) {
            CAPTURE(rise);
            CAPTURE(std::string(damping));
            const Played other =
                play(pressed_once(400, rise, {std::string("rear_valve.damping=") + damping}));
            const bool calm = rise == 20 && other.field("rear_valve.damping") < 10;
            CHECK(near(other.held(kOut), usual.held(kOut), calm ? 1e3 : 5e3, 0));
            CHECK(near(other.peak(kOut), usual.peak(kOut), 20e3, 0));
        }
    }
}

TEST_CASE("proportioning valve: after a stab the outlet stands within the friction of the piston") {
    for (const double rise : {0.12, 0.5, 2.0}) {
        CAPTURE(rise);
        const Played stab = play(pressed_once(400, rise));
        const Piston v(stab);
        const double line = v.curve(stab.held(kIn));
        CHECK(stab.held(kOut) < line + 5e3);
        CHECK(stab.held(kOut) > line - 2 * v.friction / v.a2 - 5e3);
        CHECK(stab.count("rear_valve:") < 40); // it does not chatter
        CHECK(std::abs(stab.residual("rear_valve.difference")) < 5e3);
    }
}

TEST_CASE("proportioning valve: with the front lost the by-pass gives the rear everything") {
    const Scenario press = pressed_once(400, 20);
    const Played without = play(press), sound = play(bypassed(press));
    // A sound front shuts it long before the knee, and it changes nothing.
    const double shut = sound.when("rear_valve: by-pass shuts");
    REQUIRE(shut < 10);
    CHECK(near(sound.at("rear_valve.front.pressure", shut), 0.5e6, 1e3, 0));
    CHECK(near(sound.held(kOut), without.held(kOut), 5e3, 0));
    CHECK(sound.held("rear_valve.difference") > 2e6);

    const auto lost = [](Scenario s) {
        REQUIRE(apply_fault(s, {"broken", find_fault("leak"), "front_pipe", 3e-3, 0, 0}).empty());
        return play(s);
    };
    const Played kept = lost(press), open = lost(bypassed(press));
    CHECK(open.peak("rear_valve.front.pressure") < 0.5e6);
    CHECK(open.held(kIn) > 4e6);
    CHECK(near(open.held(kOut), open.held(kIn), 2e3, 0));
    const Piston v(kept);
    CHECK(near(kept.held(kOut), v.curve(kept.held(kIn)), 5e3, 0));
    CHECK(std::abs(open.residual("rear_valve.difference")) < 5e3);
}

TEST_CASE("proportioning valve: the front lost while the foot holds, the by-pass opens and tells") {
    Scenario s = bypassed(pressed_once(400, 2));
    s.foot = force({{0, 0}, {2, 400}, {8, 400}, {9, 0}});
    s.duration = 11;
    REQUIRE(apply_fault(s, {"broken", find_fault("leak"), "front_pipe", 3e-3, 3, 0}).empty());
    const Played run = play(s);
    const double opens = run.when("rear_valve: by-pass opens", 2.5);
    REQUIRE(opens < 8);
    CHECK(run.at("rear_valve.difference", 2.9) > 2e6);
    CHECK(near(run.at(kOut, 7.9), run.at(kIn, 7.9), 2e3, 0));
}

TEST_CASE("proportioning valve: a knee that is off moves the line, whichever way the valve was "
          "described") {
    const Piston right(slow());
    for (const bool by_areas : {false, true})
        for (const double knee : {1.0e6, 3.0e6}) {
            CAPTURE(by_areas);
            CAPTURE(knee);
            Scenario s = pressed_once(400, 20);
            for (PartSpec& part : s.hardware.parts)
                if (by_areas && part.name == "rear_valve") {
                    part.values = Values(part.kind->fields);
                    part.values.set("inlet_area", right.a1);
                    part.values.set("spring", right.spring);
                }
            REQUIRE(
                apply_fault(s, {"off", find_fault("proportioning_knee"), "rear_valve", knee, 0, 0})
                    .empty());
            const Played run = play(s);
            const double in = run.held(kIn);
            REQUIRE(in > 5e6);
            CHECK(near(run.held(kOut), knee + 0.34 * (in - knee), 5e3, 0));
        }
}
