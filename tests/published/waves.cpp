// Water hammer: a screw at the end of a long pipe is shut at once (pipe.yaml beside this file).
#include "hydraulics/tube.hpp"
#include "scenarios/scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kShut = 0.3; // s

/// What the end of the pipe feels.
struct Hammer {
    double before;   // velocity [m/s] until the screw is shut
    double rise;     // mean of the first plateau over what stood there [Pa]
    double back;     // time until the wave is back from the reservoir [s]
    double friction; // drop of the steady flow along the pipe [Pa]
    double length;
};

/// `speed` is the wave speed that fluid and wall give together.
Hammer shut_at(double speed) {
    Scenario s = load("../tests/published/pipe");
    const Hardware hardware = hardware_at(s);
    const Values &fluid_fields = *find_values(hardware, "fluid"),
                 &pipe = *find_values(hardware, "pipe");
    const double density = fluid_fields["density"], outer = 0.5 * pipe["outer_diameter"],
                 inner = outer - pipe["wall_thickness"];
    // A thick wall of steel, Lame: 2/E ((Ro2 + Ri2)/(Ro2 - Ri2) + nu).
    const double wall =
        2 / 2.06e11 * ((outer * outer + inner * inner) / (outer * outer - inner * inner) + 0.3);
    const double modulus = 1 / (1 / (density * speed * speed) - wall);
    s.hardware.fluid.set("bulk_modulus", modulus * std::exp(0.005 * (20 - 25)));
    const Played run = play(s);

    Hammer h;
    h.length = run.field("pipe.length");
    const double bore = 2 * inner, q = run.at("screw.flow", kShut - 1e-3);
    h.before = q / circle(bore);
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    h.friction = tube_drop(q, bore, h.length, Stream<double>{density, fluid.viscosity(293.15)});
    const double there = run.at("screw.pressure", kShut - 1e-3), time = 2 * h.length / speed;
    const std::vector<double> p = run.of("screw.pressure");
    double sum = 0;
    int rows = 0;
    h.back = kUnset;
    for (std::size_t i = 0; i < p.size(); ++i) {
        const double t = run.trace.time[i] - kShut;
        if (t > 0.1 * time && t < 0.9 * time) sum += p[i], ++rows;
    }
    REQUIRE(rows > 200);
    h.rise = sum / rows - there;
    for (std::size_t i = p.size(); i-- > 0;) { // the first fall below half of it after the plateau
        const double t = run.trace.time[i] - kShut;
        if (t > 0.5 * time && p[i] < there + 0.5 * h.rise) h.back = t;
    }
    return h;
}

} // namespace

TEST_CASE("wave speed (water hammer tutorial; recomputed): water with K 2.0164 GPa, 1420 m/s") {
    const Hammer h = shut_at(std::sqrt(2.0164e9 / 1000));
    // A front in 64 cells is two of them wide.
    CHECK(near(2 * h.length / h.back, 1420, 0, 0.01));
}

TEST_CASE(
    "water hammer (trade article; recomputed): 5 ft/s stopped in water, 328 psi at 4849 ft/s") {
    constexpr double foot = 0.3048, psi = 6894.757293168;
    const Hammer h = shut_at(4849 * foot);
    REQUIRE(h.before > 0.5);
    const double at_five = 5 * foot / h.before * h.rise;
    MESSAGE(h.before << " m/s stopped: " << h.rise * 1e-5 << " bar, at 5 ft/s " << at_five / psi
                     << " psi");
    // No friction in the rule. Ours adds what the wave frees of the steady drop along the pipe, and
    // the shear of the core that still runs while the wall stands: up to 8.1/2 of it more.
    CHECK(at_five > 0.995 * 328 * psi);
    CHECK(at_five < 328 * psi + 5 * foot / h.before * 5 * h.friction);
    CHECK(h.friction < 0.01 * h.rise);
}
