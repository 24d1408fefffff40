// Laws of the fluid and of a volume of it, against closed forms.
#include <doctest/doctest.h>

#include "fluid/dissolved_air.hpp"
#include "hydraulics/control_volume.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

constexpr double kT0 = kReferenceTemperature;

VolumeState solve(double swept, double liquid, double gas, double T = kT0, const Walls& walls = {},
                  const BrakeFluid& fluid = BrakeFluid(), double nucleus = 1e-12) {
    return solve_volume(fluid, walls, swept, liquid, gas, T, nucleus, kStandardPressure);
}

} // namespace

TEST_CASE("the rational liquid law is the power law to about 1e-6 at 10 MPa") {
    // Murnaghan v = (1 + K' x)^(-1/K'), x = p/K0, and ours v = 1 - x / (1 + m x), m = (K' + 1)/2,
    // agree to second order; the third-order terms are -(1 + K')(1 + 2 K')/6 = -38.5 and -m^2 =
    // -30.25, so ours is 8.25 x^3 larger: 1.4e-6 at 10 MPa. Fourth order takes about a tenth of it.
    const BrakeFluid fluid;
    const double T = 298.15; // where K0 is K0
    for (const double p : {2e6, 5e6, 10e6}) {
        const double x = p / 1.8e9, power = std::pow(1 + 10 * x, -0.1);
        const double rational = fluid.specific_volume(p, T) / fluid.expansion(T);
        CHECK(near(rational - power, 8.25 * x * x * x, 0, 0.15));
    }
    const double h = 1e3;
    const double slope = (fluid.specific_volume(h, T) - fluid.specific_volume(-h, T)) / (2 * h);
    CHECK(near(-fluid.expansion(T) / slope, 1.8e9, 0, 1e-6)); // tangent modulus
    // K0 falls by 0.5 % per kelvin of the exponent: exp(-0.005 x 20).
    CHECK(near(fluid.modulus(318.15), 1.8e9 * std::exp(-0.1), 0, 1e-12));
}

TEST_CASE("viscosity follows the D341 line through the two points of the data sheet") {
    const BrakeFluid fluid;
    CHECK(near(fluid.viscosity(233.15), 1200e-6, 0, 1e-9));
    CHECK(near(fluid.viscosity(373.15), 2.5e-6, 0, 1e-9));
}

TEST_CASE("vapour pressure is one atmosphere at the boiling point and falls with temperature") {
    const BrakeFluid fluid;
    CHECK(near(fluid.vapour_pressure(503.15), kStandardPressure, 0, 1e-12));
    CHECK(fluid.vapour_pressure(293.15) < 100); // a glycol ether hardly boils at 20 C
    CHECK(fluid.vapour_pressure(400.0) > fluid.vapour_pressure(350.0));
}

TEST_CASE("a rigid box full of liquid: pressure from the content alone") {
    // V = L v(p): with V = 10 cm3 and v known at 5 MPa, put in L = V / v(5 MPa).
    const BrakeFluid fluid;
    const double V = 10e-6, p = 5e6;
    const VolumeState s = solve(V, V / fluid.specific_volume(p, kT0), 0);
    CHECK(near(s.p, p, 1, 1e-6)); // the nucleus of 1e-12 m3 costs 2e-14 m3 at 5 MPa: 4 Pa
    CHECK(near(s.volume, V, 0, 1e-15));
}

TEST_CASE("a pocket of gas in a box obeys the isothermal gas law") {
    // A stiff liquid so that gas alone counts: G p0 / p_abs = V - L.
    BrakeFluid::Data data;
    data.bulk_modulus = 1e15;
    const BrakeFluid fluid(data);
    const double V = 10e-6, gas = 1e-6;
    for (const double room : {2e-6, 1e-6, 0.5e-6, 0.1e-6}) {
        const VolumeState s = solve(V, V - room, gas, kT0, {}, fluid, 1e-18);
        const double vapour = fluid.vapour_pressure(kT0);
        CHECK(near(s.p + kStandardPressure - vapour, gas * kStandardPressure / room, 0.5, 1e-9));
    }
}

TEST_CASE(
    "however far a volume is stretched, its absolute pressure stays above the vapour pressure") {
    const BrakeFluid fluid;
    const double vapour = fluid.vapour_pressure(kT0);
    for (const double stretch : {1.0001, 1.01, 1.5, 10.0})
        for (const double gas : {0.0, 1e-9, 1e-7}) {
            const VolumeState s = solve(10e-6 * stretch, 10e-6, gas);
            CHECK(s.p + kStandardPressure > vapour);
            if (stretch >= 1.5) CHECK(s.p < 0); // nothing there to fill the room
        }
}

TEST_CASE("slopes of modulus and vapour pressure by temperature are those of their laws") {
    const BrakeFluid fluid;
    for (const double T : {243.0, 293.15, 420.0}) {
        const Dual<1> t = Dual<1>::seed(T, 0);
        const double modulus = fluid.modulus(T), vapour = fluid.vapour_pressure(T);
        CHECK(near(BrakeFluid::modulus_T(modulus), fluid.modulus(t).d[0], 0, 1e-14));
        CHECK(near(BrakeFluid::vapour_pressure_T(vapour, T), fluid.vapour_pressure(t).d[0], 0,
                   1e-14));
        CHECK(near(fluid.expansion_T(), fluid.expansion(t).d[0], 0, 1e-14));
    }
}

TEST_CASE("volumes that are solved together do not feel each other") {
    const BrakeFluid fluid;
    std::vector<Walls> walls(11);
    std::vector<VolumeContent> contents;
    for (std::size_t i = 0; i < walls.size(); ++i) {
        walls[i].linear = 1e-15;
        // None, some, and in the last three more soft walls than are taken side by side.
        for (std::size_t k = 0; k < (i < 8 ? i % 3 : 5); ++k)
            walls[i].add({1e-15, 0.1e-6 * static_cast<double>(k + 1), 2e6});
        const double n = static_cast<double>(i);
        contents.push_back({&walls[i], 10e-6, (9.9 + 0.03 * n) * 1e-6, 1e-8 * n, 280 + 10 * n});
    }
    contents[5].liquid = std::nan("");
    std::vector<VolumeState> together(contents.size());
    solve_volumes(fluid, contents, 1e-12, kStandardPressure, together.data());
    for (std::size_t i = 0; i < contents.size(); ++i) {
        CAPTURE(i);
        const VolumeContent& c = contents[i];
        const VolumeState alone = solve(c.swept, c.liquid, c.gas, c.T, walls[i]);
        if (i == 5) {
            CHECK(std::isnan(together[i].p));
            continue;
        }
        CHECK(together[i].p == alone.p);
        CHECK(together[i].p_T == alone.p_T);
        // The equation itself: room between the walls is what liquid and gas take. The gas's share
        // of the pressure, down to 1 Pa where there is next to none, as a difference of pressures
        // would have lost its digits.
        const double p = together[i].p, gas_p = together[i].gas_p;
        const double taken = c.liquid * fluid.specific_volume(p, c.T) +
                             (c.gas + 1e-12) * kStandardPressure * (c.T / kT0) / gas_p;
        CHECK(near(c.swept + walls[i].stretch(p), taken, 0, 1e-14));
        CHECK(near(gas_p, p + kStandardPressure - fluid.vapour_pressure(c.T), 1e-7, 1e-14));
    }
}

TEST_CASE("a volume at exactly -1 Pa is not undone by a soft one beside it") {
    const BrakeFluid fluid;
    Walls hard, soft;
    hard.linear = 1e-15;
    soft.add({1e-15, 0.1e-6, 2e6});
    double high = 11e-6, low = 9e-6; // liquid: more of it, more pressure
    VolumeState alone;
    for (int i = 0; i < 200; ++i) {
        const double liquid = 0.5 * (low + high);
        alone = solve(10e-6, liquid, 1e-8, kT0, hard);
        (alone.p > -1 ? high : low) = liquid;
        const VolumeContent contents[] = {{&hard, 10e-6, liquid, 1e-8, kT0},
                                          {&soft, 10e-6, 10e-6, 1e-8, kT0}};
        VolumeState together[2];
        solve_volumes(fluid, contents, 1e-12, kStandardPressure, together);
        REQUIRE(together[0].p == alone.p);
        REQUIRE(together[0].volume == alone.volume);
    }
    CHECK(near(alone.p, -1, 1e-6, 0));
}

TEST_CASE("slopes of a volume under vapour, short of gas, in thin air, with many soft walls") {
    const BrakeFluid fluid;
    Walls walls;
    walls.linear = 1e-15;
    for (int k = 1; k < 6; ++k)
        walls.add({1e-15, 0.02e-6 * k, 1e6 * k});
    constexpr double outside = 80e3, nucleus = 1e-12, V = 10e-6;
    // Room beside the warm liquid in all but the last, which is pressed.
    const double content[][3] = {
        {9.9e-6, 1e-12, 293}, {8.5e-6, 1e-9, 420}, {9.4e-6, -3e-12, 350}, {10.1e-6, 1e-7, 310}};
    for (const auto& [L, G, T] : content) {
        CAPTURE(L);
        CAPTURE(G);
        const auto at = [&](double dV, double dL, double dG, double dT) {
            return solve_volume(fluid, walls, V + dV, L + dL, G + dG, T + dT, nucleus, outside);
        };
        const VolumeState s = at(0, 0, 0, 0);
        CHECK(near(s.p + outside, s.gas_p + fluid.vapour_pressure(T), 1e-6, 0));
        // The gas's share has all its digits where the pressure has lost them: where nothing but
        // gas changes, it follows as the pressure does.
        const double h = 1e-6, room = 1e-6 * (V - 9e-6), gas = 1e-4 * (nucleus + std::abs(G));
        const auto gas_slope = [](const VolumeState& up, const VolumeState& down, double step) {
            return (up.gas_p - down.gas_p) / (2 * step);
        };
        CHECK(near(s.p_V, gas_slope(at(room, 0, 0, 0), at(-room, 0, 0, 0), room), 0, 1e-5));
        CHECK(near(s.p_L, gas_slope(at(0, room, 0, 0), at(0, -room, 0, 0), room), 0, 1e-5));
        CHECK(near(s.p_G, gas_slope(at(0, 0, gas, 0), at(0, 0, -gas, 0), gas), 0, 1e-5));
        CHECK(near(s.gas_p_T, gas_slope(at(0, 0, 0, h * T), at(0, 0, 0, -h * T), h * T), 0, 1e-5));
        CHECK(near(s.p_T, s.gas_p_T + BrakeFluid::vapour_pressure_T(fluid.vapour_pressure(T), T), 0,
                   1e-13));
        CHECK(near(s.volume, V + walls.stretch(s.p), 0, 1e-15));
        CHECK(near(s.volume_p, walls.slope(s.p), 0, 1e-14));
    }
}

TEST_CASE("pressure grows with content and falls with room; derivatives match differences") {
    Walls walls;
    walls.add({2e-14, 0.4e-6, 3e6});
    for (const double L : {9.9e-6, 10.02e-6, 10.2e-6})
        for (const double G : {1e-9, 2e-8, 1e-7})
            for (const double T : {263.0, 293.15, 380.0}) {
                const double V = 10e-6;
                const VolumeState s = solve(V, L, G, T, walls);
                CHECK(s.p_L > 0);
                CHECK(s.p_G > 0);
                CHECK(s.p_V < 0);
                const double h = 1e-5;
                const auto slope = [&](double dL, double dG, double dT, double dV, double step) {
                    const double up = solve(V + dV, L + dL, G + dG, T + dT, walls).p;
                    const double down = solve(V - dV, L - dL, G - dG, T - dT, walls).p;
                    return (up - down) / (2 * step);
                };
                // Differences over 1e-5 of the variable: truncation and rounding are both below
                // 1e-5 here.
                CHECK(near(s.p_L, slope(h * L, 0, 0, 0, h * L), 0, 2e-4));
                CHECK(near(s.p_G, slope(0, h * G, 0, 0, h * G), 0, 2e-4));
                CHECK(near(s.p_T, slope(0, 0, h * T * 0.1, 0, h * T * 0.1), 1, 2e-4));
                const double dT = h * T * 0.1;
                const double gas_up = solve(V, L, G, T + dT, walls).gas_p;
                const double gas_down = solve(V, L, G, T - dT, walls).gas_p;
                CHECK(near(s.gas_p_T, (gas_up - gas_down) / (2 * dT), 1, 2e-4));
                CHECK(near(s.p_V, slope(0, 0, 0, h * V, h * V), 0, 2e-4));
                CHECK(near(s.liquid * s.volume, L, 0, 1e-14));
                CHECK(near(s.gas * s.volume, G, 0, 1e-14));
            }
}

TEST_CASE("walls: half of the soft part at the half pressure, slope as differences tell") {
    Walls walls;
    walls.add({1e-14, 0.4e-6, 3e6});
    CHECK(near(walls.stretch(3e6), 3e-8 + 0.2e-6, 0, 1e-12));
    CHECK(
        near(walls.slope(2e6), (walls.stretch(2e6 + 10) - walls.stretch(2e6 - 10)) / 20, 0, 1e-8));
}

TEST_CASE("air leaves a liquid too full in its own time, whatever bubbles there are") {
    // 10 cm3 at 1 atm hold 5 %: 0.5 cm3. Half as much again leaves in 30 s; half as much is missing
    // and goes in at the rate of the bubbles there are, 0.2 cm3 in 600 s.
    const BrakeFluid fluid;
    const double L = 10e-6, full = 0.5e-6;
    const auto out = [&](double dissolved, double gas) {
        return air_out_of_solution(fluid, L, gas, dissolved, kStandardPressure);
    };
    for (const double gas : {0.0, 0.2e-6, 5e-6})
        CHECK(near(out(1.5 * full, gas), 0.5 * full / 30, 0, 1e-12));
    CHECK(near(out(0.5 * full, 0.2e-6), -0.5 * 0.2e-6 / 600, 0, 1e-12));
    CHECK(out(0.5 * full, 0) == 0);
    CHECK(near(out(full, 0.2e-6), 0, 1e-20, 0));
}
