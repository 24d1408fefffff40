// The bleed screw by itself: what it draws back, what a vacuum does to it, and the pocket that
// stands at it when a run begins.
#include "circuit/layout.hpp"
#include "hydraulics/bubble_rise.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kScrew = 1.2e-3; // m

Change set(const char* part, const char* field, double value, double at = 0) {
    return {part, field, value, at, 0, Origin::scenario};
}

/// The Marten with a foot and changes of its own.
Scenario car(const FootInput& input, const std::vector<Change>& changes, double duration) {
    Scenario s = load("ordinary_stop");
    s.expectations.clear();
    s.faults.clear();
    s.foot = input;
    s.changes = changes;
    s.duration = duration;
    return s;
}

} // namespace

TEST_CASE("bleed screw: a pocket is air at its point from the start, in place of fluid") {
    const Played plain = play(car(force({{0, 0}}), {}, 0.1));
    const Played pocket =
        play(car(force({{0, 0}}), {set("front_left_bleeder", "pocket", 3e-6)}, 0.1));
    const char* air = "front_left_bleeder.free_air";
    // In the five seconds of rest before, a thousandth of it climbs into the hose: area x speed x
    // slope x share of bubbles, 3 cm3 in what the caliper and half a hose hold.
    const double bore = pocket.field("left_hose.bore"), length = pocket.field("left_hose.length"),
                 drop = pocket.field("master.height") - pocket.field("front_left.height"),
                 holds = pocket.field("front_left.dead_volume") + 0.5 * circle(bore) * length;
    const BrakeFluid fluid =
        make_surroundings(pocket.hardware.fluid, pocket.hardware.surroundings).fluid;
    const double climbs = 5 * circle(bore) * drop / length * (3e-6 / holds) *
                          BubbleRise(bore, length, fluid.density()).speed(fluid.viscosity(293.15));
    CHECK(near(pocket.at(air, 0) - plain.at(air, 0), 3e-6 - climbs, 0.1 * climbs + 1e-10, 0));
    const auto room = [](double p) { return 3e-6 * kStandardPressure / (p + kStandardPressure); };
    const double rest = room(pocket.at("front_left.pressure", 0));
    CHECK(near(pocket.summary.ledger.chambers, plain.summary.ledger.chambers - rest, 5e-9, 0));

    // Under a held foot it takes the pedal down by the room that it loses, through the cylinder's
    // area and the pedal's ratio.
    const FootInput press = force({{0, 0}, {1, 200}, {2, 200}});
    const Played firm = play(car(press, {}, 2));
    const Played soft = play(car(press, {set("front_left_bleeder", "pocket", 3e-6)}, 2));
    const double lost = rest - room(soft.at("front_left.pressure", 2));
    CHECK(near(soft.at("pedal.travel", 2) - firm.at("pedal.travel", 2),
               soft.field("pedal.ratio") * lost / master_area(soft), 0, 0.05));
}

TEST_CASE("bleed screw: no pocket that fills its volume") {
    const Scenario s = car(force({{0, 0}}), {set("rear_left_bleeder", "pocket", 20e-6)}, 0.1);
    Trace trace;
    CHECK_THROWS_AS(simulate(s, trace), InvalidHardware);
}

TEST_CASE("bleed screw left open on the up-stroke: fluid from a jar, air from a bare end") {
    const FootInput stroke = force({{0, 0}, {0.5, 0}, {1, 100}, {2, 100}, {2.5, 0}});
    const std::vector<Change> open = {set("front_left_bleeder", "opening", kScrew, 0.2),
                                      set("front_left_bleeder", "opening", 0, 5)};
    for (const double bubbles : {-1.0, 0.0, 0.2}) { // below zero: the end in air
        CAPTURE(bubbles);
        std::vector<Change> changes = open;
        changes.push_back(set("front_left_bleeder", "hose_end", bubbles < 0 ? 0 : 1));
        if (bubbles > 0) changes.push_back(set("front_left_bleeder", "bubbles", bubbles));
        const Played run = play(car(stroke, changes, 5.5));
        const double fluid = run.at("front_left_bleeder.fluid_back", 5.5);
        const double air = run.at("front_left_bleeder.air_back", 5.5);
        CHECK(run.count("front_left_bleeder: draws back") >= 1);
        if (bubbles < 0) {
            CHECK(fluid == 0);
            CHECK(air > 0.1e-6);
        } else {
            CHECK(fluid > 0.1e-6);
            CHECK(near(air, fluid * bubbles / (1 - bubbles), 1e-12, 1e-3));
        }
        // While the foot presses next to nothing comes back. Net falls by what does, and what left
        // in all, net and back together, never falls.
        CHECK(run.at("front_left_bleeder.fluid_back", 2) <= 0.05 * fluid);
        const auto net = run.of("front_left_bleeder.outside.fluid"),
                   back = run.of("front_left_bleeder.fluid_back");
        double highest = 0, deepest = 0, gross = 0, fall = 0;
        for (std::size_t i = 0; i < net.size(); ++i) {
            highest = std::max(highest, net[i]);
            deepest = std::max(deepest, highest - net[i]);
            gross = std::max(gross, net[i] + back[i]);
            fall = std::max(fall, gross - net[i] - back[i]);
        }
        CHECK(near(deepest, fluid, 0.02e-6, 0.05));
        CHECK(fall < 1e-9);
    }
}

TEST_CASE("bleed screw under a vacuum: it draws without a foot, and air past its threads") {
    const std::vector<Change> changes = {set("rear_left_bleeder", "vacuum", 50e3, 0.2),
                                         set("rear_left_bleeder", "opening", kScrew, 0.5)};
    const Played run = play(car(force({{0, 0}}), changes, 3));
    // dp = a q + b q^2 of the screw under what stands at it and the vacuum.
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const double rho = fluid.density(), mu = rho * fluid.viscosity(293.15);
    const double length = run.field("rear_left_bleeder.length");
    const auto hole = [length](double density, double viscosity, double drop, double diameter) {
        const double r = 0.5 * diameter;
        const double a =
            3 * viscosity / std::pow(r, 3) + 8 * viscosity * length / (M_PI * std::pow(r, 4));
        const double b = 0.5 * density / std::pow(0.65 * circle(diameter), 2);
        return (std::sqrt(a * a + 4 * b * drop) - a) / (2 * b);
    };
    const double p = run.at("rear_left.pressure", 3);
    CHECK(p < 0);
    // What flows is the mixture of cylinder and half of the pipe; told is its fluid.
    const double bore =
        run.field("rear_left_pipe.outer_diameter") - 2 * run.field("rear_left_pipe.wall_thickness");
    const double room = run.field("rear_left.dead_volume") +
                        0.5 * circle(bore) * run.field("rear_left_pipe.length");
    const double air =
        run.at("rear_left.free_air", 3) * kStandardPressure / (p + kStandardPressure);
    CHECK(near(run.at("rear_left_bleeder.flow", 3),
               hole(rho, mu, p + 50e3, kScrew) * (1 - air / room), 0, 0.01));
    CHECK(near(run.at("rear_left_bleeder.false_air", 3),
               hole(1.2, 1.2 * 1.5e-5, 50e3, run.field("rear_left_bleeder.thread_gap")), 0, 0.02));
    CHECK(run.at("rear_left_bleeder.false_air", 0.4) == 0);
}
