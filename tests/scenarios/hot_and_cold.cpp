// ctest: physics,slow 300
// Heat and cold: fluid that boils, drums that grow, fluid that is stiff.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const char* const kDescent = "complaints/floor_after_a_descent";

Played descend(double boiling) {
    Scenario s = descent(485);
    s.hardware.fluid.set("boiling_point", boiling);
    return play(s);
}

} // namespace

TEST_CASE("boiling: the file's own expectations") {
    Scenario s = load(kDescent);
    s.sample = 0.05;
    check_own_expectations(play(s));
    // Without the air that boiling drives out of solution nothing is left of it when it is cold.
    s = load(kDescent, {"fluid.solubility=0"});
    s.sample = 0.05;
    CHECK(play(s).held("pedal.travel") < 68e-3);
}

TEST_CASE("boiling: the caliper stands at the vapour pressure of its temperature, fresh fluid does "
          "not boil") {
    const double old = 273.15 + 145, dry = 273.15 + 230, t = 470;
    const Played run = descend(old), fresh = descend(dry);
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const double T = run.at("front_left.fluid_temperature", t);
    REQUIRE(T > old + 2);
    // Clausius and Clapeyron by hand: 1 atm exp(5500 (1/418.15 - 1/T)); what is left of the air in
    // the caliper adds its own share, 0.2 % of 15 cm3 in 15 cm3.
    const double vapour = kStandardPressure * std::exp(5500 * (1 / old - 1 / T));
    CHECK(near(fluid.vapour_pressure(T), vapour, 1, 1e-6));
    CHECK(run.at("front_left.pressure", t) >= vapour - kStandardPressure);
    CHECK(run.at("front_left.pressure", t) <=
          vapour - kStandardPressure + 0.01 * kStandardPressure);
    // Nothing of this with fresh fluid, which is as hot.
    CHECK(fresh.at("front_left.fluid_temperature", t) > old + 2);
    CHECK(fresh.at("pedal.travel", 482.9) < 75e-3);
    CHECK(fresh.at("front_left.torque", 482.9) > 250);
    CHECK(fresh.at("master.primary_reservoir.fluid", t) < 116e-6);
    CHECK(run.at("pedal.travel", 482.9) > fresh.at("pedal.travel", 482.9) + 40e-3);
}

TEST_CASE("drums grow: hot they take a longer stroke by R 2 A_w (alpha D/2 dT)/A, without vapour") {
    // The parking brake drags on the road and heats both drums; it is let off before the stop.
    const auto drive = [](bool dragged) {
        Scenario s = plain({"car.start_speed=80 km/h", "car.hold_speed=80 km/h"});
        if (dragged)
            for (const char* drum : {"rear_left", "rear_right"}) {
                s.changes.push_back({drum, "parking_brake", 350, 1, 0});
                s.changes.push_back({drum, "parking_brake", 0, 120, 0});
            }
        s.changes.push_back({"car", "hold_speed", 0, 121, 0});
        std::stable_sort(s.changes.begin(), s.changes.end(),
                         [](const Change& a, const Change& b) { return a.at < b.at; });
        s.foot = force({{0, 0}, {122, 0}, {126, 300}, {127, 300}, {128, 0}});
        s.duration = 129;
        s.sample = 0.005;
        return play(s);
    };
    const Played cold = drive(false), hot = drive(true);
    const double t = 121.9, end = 127;
    const double warmer =
        hot.at("rear_left_drum.temperature", t) - cold.at("rear_left_drum.temperature", t);
    REQUIRE(warmer > 80);
    const double grown = 11e-6 * hot.field("rear_left.drum_radius") * warmer; // grey iron
    // What has warmed up behind the residual valve pushes the pistons out a little.
    const auto more = [&](const char* channel) { return hot.at(channel, t) - cold.at(channel, t); };
    const double out = more("rear_left.piston_travel");
    CHECK(near(more("rear_left.clearance") + out, grown, 1e-7, 1e-3));
    CHECK(out < 0.15 * grown);
    // Nothing boils: the fluid is far below 230 C.
    CHECK(hot.at("rear_left.fluid_temperature", t) < 273.15 + 120);
    const auto stroke = [&](const char* channel) {
        return hot.at(channel, end) - cold.at(channel, end);
    };
    // In the stop both drums go on to warm up; what counts is how they stand at its end.
    const double at_end =
        hot.at("rear_left_drum.temperature", end) - cold.at("rear_left_drum.temperature", end);
    const double longer = 2 * 2 * circle(hot.field("rear_left.cylinder")) *
                          (11e-6 * hot.field("rear_left.drum_radius") * at_end - out) /
                          master_area(hot);
    MESSAGE("drums " << warmer << " K warmer: pedal longer by " << stroke("pedal.travel") * 1e3
                     << " mm, by the formula " << hot.field("pedal.ratio") * longer * 1e3);
    CHECK(near(stroke("master.secondary_travel"), longer, 0, 0.1));
    CHECK(near(stroke("pedal.travel"), hot.field("pedal.ratio") * longer, 0, 0.1));
    CHECK(near(hot.at("rear_left.pressure", end), cold.at("rear_left.pressure", end), 0, 0.01));
}

TEST_CASE("cold: the release of a front line slows down with the fluid's viscosity") {
    // The master's primary piston is home in some 0.2 s; from then on the calipers empty through
    // pipes and the compensating port, p' = -p/(R C(p)), R in proportion to the viscosity as long
    // as all of that is laminar: 1200 mm2/s at -40 C, 415 at -30.
    double viscosity = 0;
    const auto falls = [&](const char* temperature, double* by_hand) {
        const Played run = play(let_go({std::string("surroundings.temperature=") + temperature}));
        const BrakeFluid fluid =
            make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
        viscosity = fluid.viscosity(run.field("surroundings.temperature"));
        if (by_hand) {
            // Both calipers' fluid passes the port and the first pipe, one's the rest.
            const double bore = 3.34e-3;
            const auto tube = [&](double length, double d) {
                return 128 * fluid.density() * viscosity * length / (M_PI * std::pow(d, 4));
            };
            *by_hand = 2 * Hole(run, run.field("master.port"), 1e-3, 0.65).a +
                       2 * tube(run.field("front_pipe.length"), bore) +
                       tube(run.field("left_pipe.length"), bore) +
                       tube(run.field("left_hose.length"), run.field("left_hose.bore"));
        }
        return falls_below(run, 0.5e6) - falls_below(run, 1e6);
    };
    double R = 0;
    const double at_cold = falls("-40 C", &R), cold = viscosity;
    const double at_cool = falls("-30 C", nullptr), cool = viscosity;
    const double at_warm = falls("20 C", nullptr);
    MESSAGE("from 1 to 0.5 MPa: " << at_cold << " s at -40 C, " << at_cool << " s at -30 C ("
                                  << cool * 1e6 << " mm2/s), " << at_warm << " s at 20 C");
    CHECK(near(cold, 1200e-6, 0, 1e-3));
    CHECK(near(at_cold / at_cool, cold / cool, 0, 0.1));
    CHECK(at_cool > 10 * at_warm);
    // A caliper gives 0.15 + exp(-p/0.6) cm3/MPa, its hose 0.38 (0.09 + 1.5/(p + 3)^2): 0.4 at 1
    // MPa, 0.65 at half of it.
    CHECK(at_cold > std::log(2.0) * R * 0.35e-12);
    CHECK(at_cold < std::log(2.0) * R * 0.7e-12);
}
