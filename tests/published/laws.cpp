// Figures that others have published for flow and stiffness, through the library's public calls.
// Beside each: the source, and whether the number was read there (seen), read and worked out again
// (recomputed), worked out from published inputs (computed) or is from memory.
#include <doctest/doctest.h>

#include "hydraulics/control_volume.hpp"
#include "hydraulics/tube.hpp"
#include "parts/hose.hpp"
#include "parts/line.hpp"
#include "parts/registry.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

const Stream<double> kDot4{1050, 18e-6}; // 20 C: 18 mm2/s by the D341 line below
constexpr double kT0 = kReferenceTemperature;

BrakeFluid fluid_of(double modulus, double slope) {
    BrakeFluid::Data data;
    data.bulk_modulus =
        modulus *
        std::exp(0.005 * (kT0 - 298.15)); // so that it stands at the reference temperature
    data.modulus_slope = slope;
    return BrakeFluid(data);
}

/// V dp/dV of a closed volume by a small squeeze.
double stiffness(const BrakeFluid& fluid, double liquid, double gas, double at,
                 double nucleus = 1e-18) {
    // Find the room in which the content stands at gauge pressure `at`: both phases have closed
    // forms.
    const double vapour = fluid.vapour_pressure(kT0);
    const double room = liquid * fluid.specific_volume(at, kT0) +
                        (gas + nucleus) * kStandardPressure / (at + kStandardPressure - vapour);
    const auto p = [&](double V) {
        return solve_volume(fluid, {}, V, liquid, gas, kT0, nucleus, kStandardPressure).p;
    };
    const double h = 1e-7 * room;
    return -room * (p(room + h) - p(room - h)) / (2 * h);
}

} // namespace

TEST_CASE("sharp-edged holes: practical discharge coefficient 0.60-0.65 (Rabie, Fluid Power "
          "Engineering, p. 27; recomputed)") {
    // Turbulent limit of our opening: Q / (A sqrt(2 dp/rho)) for a 1 mm hole in a thin wall at 20
    // MPa.
    const double q = orifice_flow(20e6, 0.5e-3, 0.0, kDot4), area = M_PI * 0.25e-6;
    const double coefficient = q / (area * std::sqrt(2 * 20e6 / 1050));
    CHECK(coefficient > 0.60);
    CHECK(coefficient <= 0.65);
}

TEST_CASE("laminar tube (Bansal, Fluid Mechanics; inputs seen, answer from memory, recomputed)") {
    // mu 0.1 Pa s, D 50 mm, L 300 m, 3.5 L/s: 684.5 kPa in print with a rounded velocity, 684.288
    // exactly.
    const Stream<double> oil{900, 0.1 / 900};
    CHECK(near(tube_drop(3.5e-3, 50e-3, 300.0, oil), 684.5e3, 0.05e3, 0));
}

TEST_CASE("laminar tube (worked exercise, inputs seen; recomputed)") {
    // mu 0.15531, rho 872.5, D 20 mm, 72 L/h: 791.0 Pa/m, four digits.
    const Stream<double> oil{872.5, 0.15531 / 872.5};
    CHECK(near(tube_drop(72e-3 / 3600, 20e-3, 1.0, oil), 791.0, 0.05, 0));
}

TEST_CASE("when not to use it (common textbook trap; recomputed)") {
    // Water, 3 L/min in a tube of radius 3.8 mm: Re about 8400 by the print, turbulent; the laminar
    // 600 Pa/m is wrong.
    const Stream<double> water{998, 1.0e-6};
    const double q = 3e-3 / 60, reynolds = 4 * q / (M_PI * 7.6e-3 * 1.0e-6);
    CHECK(near(reynolds, 8400, 0, 0.01));
    CHECK(friction_ratio(reynolds) > 3);
    CHECK(tube_drop(q, 7.6e-3, 1.0, water) > 1500);
}

TEST_CASE(
    "transition (lecture notes; seen): laminar below about 2100, turbulent above about 4000") {
    CHECK(friction_ratio(2000.0) == 1);
    CHECK(near(friction_ratio(4100.0), 0.3164 * std::pow(4100.0, 0.75) / 64, 0, 1e-9));
}

TEST_CASE("bulk modulus, definition (Lee Company engineering data; recomputed): 3e5 psi, 3000 psi, "
          "1.0 %") {
    const double psi = 6894.757;
    const BrakeFluid fluid = fluid_of(3e5 * psi, 0);
    // Two digits are given; the secant form with K' = 0 departs by p/(2K) = 0.5 % of the 1 %.
    CHECK(near(1 - fluid.specific_volume(3000 * psi, kT0), 0.010, 0, 0.01));
}

TEST_CASE("effective modulus with 0.5 % free air at 1 atm (compression-only law; Gholizadeh, "
          "Burton, Schoenau 2011; computed)") {
    const BrakeFluid fluid = fluid_of(1.8e9, 10);
    const double absolute[] = {0.2e6, 0.5e6, 1e6, 2e6, 5e6, 10e6};
    const double wanted[] = {0.075e9, 0.39e9, 0.94e9, 1.48e9, 1.78e9, 1.88e9};
    // Two or three digits are given: half a unit of the last one.
    const double half[] = {0.0005e9, 0.005e9, 0.005e9, 0.005e9, 0.005e9, 0.005e9};
    for (int i = 0; i < 6; ++i) {
        const double found = stiffness(fluid, 0.995e-5, 0.005e-5, absolute[i] - kStandardPressure);
        CHECK(near(found, wanted[i], half[i],
                   0.01)); // which volume counts as "total" moves it by the 0.5 %
    }
}

TEST_CASE("gas modulus, isothermal: K = absolute pressure (Cambridge engineering data; seen)") {
    const BrakeFluid stiff = fluid_of(1e15, 10);
    CHECK(near(stiffness(stiff, 1e-9, 1e-5, 0.9e6, 0), 0.9e6 + kStandardPressure, 0, 1e-3));
}

TEST_CASE("brake fluid in a rigid wall (computed): alpha 8.5e-4, K 1.8 GPa give 1.5 MPa per K") {
    const BrakeFluid fluid = fluid_of(1.8e9, 10);
    const double V = 1e-5;
    const double p = solve_volume(fluid, {}, V, V, 0, kT0 + 1, 1e-18, kStandardPressure).p;
    CHECK(near(p, 1.5e6, 0.05e6, 0)); // two digits
}

TEST_CASE("DOT 4 along the D341 line (one product, typical; recomputed)") {
    const BrakeFluid fluid;
    const double celsius[] = {-20, 0, 20, 50, 80}, wanted[] = {175, 47, 18, 6.9, 3.5}; // mm2/s
    for (int i = 0; i < 5; ++i) // two or three digits are given
        CHECK(near(fluid.viscosity(celsius[i] + 273.15) * 1e6, wanted[i], 0, 0.015));
}

TEST_CASE("a brake pipe 4.76 x 0.71 mm (Hagen-Poiseuille and Lame; computed)") {
    // 6.2e9 Pa s/m3 per m; 0.062 MPa per m at 10 cm3/s; 0.0051 cm3/MPa per m with fluid and wall.
    // Two digits.
    CHECK(near(tube_drop(1e-5, 3.34e-3, 1.0, kDot4), 0.062e6, 0.0006e6, 0));
    Values v(Line::kind.fields);
    v.set("length", 1.0);
    const Line pipe(v, Surroundings{});
    const double wall = pipe.wall(0).linear + pipe.wall(1).linear;
    const double volume = pipe.volume()[0] + pipe.volume()[1];
    CHECK(near((wall + volume / 1.8e9) * 1e12, 0.0051, 0.00006, 0));
    // The wall alone, too small a share to show in two digits: 2/E ((b2 + a2)/(b2 - a2) + nu) with
    // a = 1.67 mm, b = 2.38 mm, E = 206 GPa, nu = 0.3, by hand: 2/206e9 (8.4533/2.8755 + 0.3).
    CHECK(near(wall / volume, 3.1454e-11, 0, 1e-4));
}

TEST_CASE("a compensating port, 0.7 mm (computed): 3.4 and 10.9 cm3/s at 0.1 and 1 MPa in the "
          "turbulent limit, 0.7-0.9 at 10 kPa") {
    const auto port = [](double dp) { return orifice_flow(dp, 0.35e-3, 1e-3, kDot4) * 1e6; };
    CHECK(port(0.1e6) < 3.5); // the laminar part takes a share that falls with pressure
    CHECK(port(0.1e6) > 0.85 * 3.4);
    CHECK(port(1e6) < 11.0);
    CHECK(port(1e6) > 0.93 * 10.9);
    CHECK(port(10e3) > 0.7);
    CHECK(port(10e3) < 0.9);
}

TEST_CASE("leaks at 5 MPa (computed): 0.50 / 4.5 / 50 cm3/s through 0.1 / 0.3 / 1.0 mm in a thin "
          "edge, 0.38 through a 0.7 mm wall") {
    const auto hole = [](double d, double wall) {
        return orifice_flow(5e6, 0.5 * d, wall, kDot4) * 1e6;
    };
    CHECK(near(hole(1e-3, 0), 50, 0, 0.02));
    CHECK(near(hole(0.3e-3, 0), 4.5, 0, 0.03));
    CHECK(near(hole(0.1e-3, 0), 0.50, 0,
               0.06)); // so small a hole is partly laminar even in a thin edge
    CHECK(near(hole(0.1e-3, 0.7e-3), 0.38, 0, 0.03));
}

TEST_CASE("hose expansion stays under its ceiling (49 CFR 571.106 table I, from memory)") {
    // Regular hose, bore 1/8 in or less: 0.66 / 0.79 / 1.21 cm3 per ft at 1000 / 1500 / 2900 psi. A
    // ceiling, so: below.
    Values v(Hose::kind.fields);
    v.set("length", 0.3048);
    REQUIRE(Hose::kind.complete(v, Surroundings{}).empty());
    const Hose hose(v, Surroundings{});
    Walls walls;
    walls.add(hose.wall(0));
    walls.add(hose.wall(1));
    const double psi[] = {1000, 1500, 2900}, ceiling[] = {0.66, 0.79, 1.21};
    for (int i = 0; i < 3; ++i) {
        const double swollen = walls.stretch(psi[i] * 6894.757) * 1e6;
        CHECK(swollen < ceiling[i]);
        CHECK(swollen > 0.2 * ceiling[i]); // and not a pipe
    }
}
