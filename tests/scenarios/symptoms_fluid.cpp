// ctest: physics,slow 300
// Air, water, the wrong fluid, a low reservoir, heat and frost.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Of a pocket that fills `volume` at 1 atm: what it loses between two gauge pressures.
double lost(double volume, double from, double to) {
    return volume * kStandardPressure *
           (1 / (kStandardPressure + from) - 1 / (kStandardPressure + to));
}

/// Time in which a front caliper falls from 1 to 0.5 MPa.
double falls(const Played& run, double from) {
    return falls_below(run, 0.5e6, from) - falls_below(run, 1e6, from);
}

} // namespace

TEST_CASE("air anywhere costs the pedal what the gas law says: R V (p0/p_rest - p0/p)/A") {
    struct Place {
        const char *at, *pressure;
        double share; // of the pocket that may leave by the port before it is shut
        double late;  // by which a sound rear holds the secondary piston up at its port, at the pad
    };
    // Slow where the pistons pass their ports, between 20 and 40 N: what they displace there goes
    // back to the reservoirs, and a circuit that can take nothing holds the other piston up.
    Scenario slow = without_creep(plain());
    slow.foot = force({{0, 0}, {5, 20}, {65, 40}, {95, 300}, {100, 300}});
    slow.duration = 101;
    const Played sound = play(slow);
    // What the circuits give for a pressure at the end, as the sound car shows it: the springs,
    // longer pressed, take some off.
    const auto give = [&](const char* channel) {
        return (sound.at("pedal.travel", 95) - sound.at("pedal.travel", 90)) /
               (sound.at(channel, 95) - sound.at(channel, 90));
    };
    for (const Place& place :
         {Place{"front_left", "front_left.pressure", 0.01, 0},
          Place{"front_pipe", "hold_off.inlet.pressure", 0.01, 0},
          Place{"rear_right", "rear_right.pressure", 0.01, 0.3e-3},
          // 1.1 mm of travel out of 19 mm and the dead volume: a twentieth of the chamber.
          Place{"master.primary", "master.primary.pressure", 0.06, 0}})
        for (const double volume : {0.4e-6, 1e-6}) {
            CAPTURE(std::string(place.at));
            CAPTURE(volume);
            const Played run = with_fault(slow, "air", place.at, volume);
            const double room = lost(volume, run.at(place.pressure, 0), run.held(place.pressure));
            const double longer =
                run.field("pedal.ratio") * room / master_area(run) -
                give(place.pressure) * (sound.held(place.pressure) - run.held(place.pressure));
            const double found = run.held("pedal.travel") - sound.held("pedal.travel");
            MESSAGE(place.at << ", " << volume * 1e6 << " cm3: " << found * 1e3 << " mm, by hand "
                             << longer * 1e3);
            CHECK(found <= longer * 1.03);
            CHECK(found >= longer * (0.97 - place.share) - place.late);
            CHECK(near(run.held(place.pressure), sound.held(place.pressure), 0, 0.02));
        }
}

TEST_CASE("a low reservoir gives air when the pistons run back: later strokes are longer by it") {
    Scenario s = plain();
    s.foot = quick_presses();
    s.foot.time.back() = 4;
    s.foot.value.back() = 250; // the third is held
    s.duration = 4;
    const Played sound = play(s), run = with_fault(s, "reservoir_low", "master", 0.5e-6);
    const double t = 3.9, p0 = kStandardPressure;
    struct Circuit {
        double fluid, air, pressure;
    };
    const auto circuit = [&](const Played& played, const std::string& name) {
        const std::string reservoir = "master." + name + "_reservoir";
        return Circuit{played.field("master.reservoir_volume") - played.at(reservoir + ".fluid", t),
                       -played.at(reservoir + ".air", t),
                       played.at("master." + name + ".pressure", t)};
    };
    // What has gone into a circuit: less fluid than in a sound car, and air instead, which the foot
    // presses together. The pedal pays for the rest.
    double missing = 0;
    for (const char* name : {"primary", "secondary"}) {
        const Circuit low = circuit(run, name), full = circuit(sound, name);
        CHECK(near(full.air, 0, 5e-9, 0));
        CHECK(low.air > 0.1e-6);
        CHECK(low.fluid < full.fluid);
        missing += full.fluid - low.fluid - low.air * p0 / (p0 + low.pressure);
    }
    const double longer = run.field("pedal.ratio") * missing / master_area(run);
    const double found = run.at("pedal.travel", t) - sound.at("pedal.travel", t);
    MESSAGE(found * 1e3 << " mm longer, by hand " << longer * 1e3);
    CHECK(longer > 3e-3);
    CHECK(near(found, longer, 0.2e-3, 0.05));
    CHECK(std::any_of(run.summary.cautions.begin(), run.summary.cautions.end(),
                      [](const std::string& c) {
                          return c.find("air was drawn in at master") != std::string::npos;
                      }));
}

TEST_CASE("water in the fluid: 3.7 % boil at 155 C, and after the descent nothing is in front") {
    BrakeFluid::Data data;
    data.water = 0.037; // DOT 4, dry 230 C, wet 155 C: the minima of 49 CFR 571.116
    CHECK(near(BrakeFluid(data).boiling_point() - 273.15, 155, 0.1, 0));
    // LR903 of the UK Transport and Road Research Laboratory: about 250 C dry, 145 C at 3 %, as
    // vapour locks; a boiling point lies some way above.
    data.boiling_point = 273.15 + 250;
    data.water = 0.03;
    CHECK(BrakeFluid(data).boiling_point() > 273.15 + 145);
    CHECK(BrakeFluid(data).boiling_point() < 273.15 + 180);
    double last = 1e3;
    for (const double water : {0.0, 0.01, 0.02, 0.05, 0.1}) {
        data.water = water;
        CHECK(BrakeFluid(data).boiling_point() < last);
        last = BrakeFluid(data).boiling_point();
    }

    // Without air in solution, which the heat drives out of wet fluid and dry in different measure
    // (1.6 mm of pedal): here it is about vapour.
    const Scenario s = descent(485, {"fluid.solubility=0"});
    const Played dry = play(s), wet = with_fault(s, "water_in_fluid", "fluid", 0.037);
    REQUIRE(dry.at("front_left.fluid_temperature", 470) > 273.15 + 157);
    CHECK(near(wet.at("pedal.travel", 316), dry.at("pedal.travel", 316), 1e-3, 0)); // pressed
    CHECK(wet.at("pedal.travel", 482.9) > dry.at("pedal.travel", 482.9) + 40e-3);
    CHECK(wet.at("front_left.torque", 482.9) < 20);
    CHECK(dry.at("front_left.torque", 482.9) > 250);
}

TEST_CASE("thick fluid: in the cold the release slows in proportion to its viscosity") {
    const double thick = 2400e-6, cold = 238.15;
    Scenario s = plain({"surroundings.temperature=-35 C"});
    s.foot = force({{0, 0}, {10, 300}, {40, 300}, {40.02, 0}});
    s.duration = 60;
    const Played sound = play(s), run = with_fault(s, "thick_fluid", "fluid", thick);
    // ASTM D341 by hand through 100 C and -40 C.
    const auto at = [&](double at_cold) {
        const auto w = [](double nu) { return std::log10(std::log10(nu * 1e6 + 0.7)); };
        const double lo = std::log10(233.15), hi = std::log10(373.15), x = std::log10(cold);
        const double y = w(at_cold) + (w(2.5e-6) - w(at_cold)) * (x - lo) / (hi - lo);
        return (std::pow(10, std::pow(10, y)) - 0.7) * 1e-6;
    };
    MESSAGE(at(1200e-6) * 1e6 << " and " << at(thick) * 1e6 << " mm2/s: " << falls(sound, 40)
                              << " and " << falls(run, 40) << " s");
    CHECK(near(falls(run, 40) / falls(sound, 40), at(thick) / at(1200e-6), 0, 0.12));
    CHECK(
        near(run.at("front_left.pressure", 39.9), sound.at("front_left.pressure", 39.9), 0, 0.02));
}

TEST_CASE(
    "heat and frost: hot the pedal is longer by fluid and air, in frost the release is slow") {
    Scenario slow = without_creep(plain());
    slow.foot = force({{0, 0}, {60, 300}, {65, 300}});
    slow.duration = 66;
    const double hot = 333.15;
    const Played mild = play(slow), heat = with_fault(slow, "hot_or_cold", "surroundings", hot);
    // p/(K + 5.5 p) of all fluid with K = 1.8 GPa exp(-0.005 (T - 25 C)), and the free air, 0.2 %
    // at 1 atm and 20 C, which fills more room at rest.
    const double p = mild.held("front_left.pressure");
    const auto pressed = [&](double T) {
        return p / (1.8e9 * std::exp(-0.005 * (T - 298.15)) + 5.5 * p);
    };
    const double volume = mild.summary.ledger.chambers;
    const double room =
        volume * (pressed(hot) - pressed(293.15)) +
        0.002 * volume * (hot / 293.15 - 1) * (1 - kStandardPressure / (kStandardPressure + p));
    const double longer = mild.field("pedal.ratio") * room / master_area(mild);
    const double found = heat.held("pedal.travel") - mild.held("pedal.travel");
    MESSAGE("longer by " << found * 1e3 << " mm, by hand " << longer * 1e3);
    CHECK(near(found, longer, 0, 0.15));
    CHECK(near(heat.held("front_left.pressure"), p, 0, 0.01));

    const Played frost = with_fault(let_go(), "hot_or_cold", "surroundings", 233.15);
    CHECK(play(let_go()).at("front_left.pressure", 10.5) < 0.1e6);
    CHECK(frost.at("front_left.pressure", 10.5) > 1e6);
}

TEST_CASE("what says how a run begins does not come later, and the fluid is no part") {
    Scenario s = plain();
    const auto refused = [&](const char* kind, const char* at, double size, double from) {
        Scenario copy = s;
        return apply_fault(copy, {"fault", find_fault(kind), at, size, from, 0});
    };
    for (const auto& [kind, at, size] :
         {std::tuple{"air", "front_left", 1e-6}, std::tuple{"reservoir_low", "master", 1e-6},
          std::tuple{"water_in_fluid", "fluid", 0.03},
          std::tuple{"hot_or_cold", "surroundings", 250.0}}) {
        CHECK(refused(kind, at, size, 0).empty());
        REQUIRE(refused(kind, at, size, 1).size() == 1);
        CHECK(refused(kind, at, size, 1)[0].field == "from");
    }
    REQUIRE(refused("water_in_fluid", "master", 0.03, 0).size() == 1);
    CHECK(refused("water_in_fluid", "master", 0.03, 0)[0].reason == "this fault befalls the fluid");
}
