// Energy: what a part stores, gives and loses balances at any state, whatever moves it; and what it
// loses is never below zero.
#include "suite.hpp"

#include "hydraulics/free_energy.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// A state with ports that hold what their pressure allows: liquid, some gas, some air in solution.
Vector filled(const Specimen& s, Draw& draw) {
    Vector x = s.local(draw);
    const BrakeFluid& fluid = s.around.fluid;
    for (int i = 0; i < s.states(); ++i) // air in a chamber, slow swelling
        if (s.kind.states[i].dimension == Dimension::volume) x[i] = std::abs(x[i]);
    for (int port = 0; port < s.ports(); ++port) {
        double* at = x.data() + s.port_at(port);
        at[3] = s.around.temperature;
        at[0] = std::max(at[0], -1e5);
        const bool outside = s.kind.ports[port].kind == PortKind::outside;
        if (outside) at[0] = 0;
        const double share = outside ? 0 : draw.log_uniform(1e-6, 0.5);
        const double q = at[0] + s.around.pressure - fluid.vapour_pressure(at[3]);
        at[1] = (1 - share) / fluid.specific_volume(at[0], at[3]);
        at[2] = share * q / (kStandardPressure * at[3] / kReferenceTemperature);
        at[4] = at[1] * fluid.data().solubility * draw.log_uniform(1e-3, 10);
    }
    return x;
}

/// How fast everything moves: own states as the law says, the rest at random.
Vector moving(const Specimen& s, const Vector& out, Draw& draw) {
    Vector rate(s.kind.locals(), 0.0);
    for (int i = 0; i < s.states(); ++i)
        rate[i] = out[i];
    for (int i = s.states(); i < s.kind.positions(); ++i)
        rate[i] = draw.uniform(-1, 1) * (s.kind.dimension(i) == Dimension::length ? 0.3 : 30);
    rate[s.kind.positions()] = draw.uniform(-1, 1) * draw.log_uniform(1e-2, 1e3);
    for (int port = 0; port < s.ports(); ++port)
        rate[s.port_at(port)] = draw.uniform(-1e7, 1e7);
    return rate;
}

struct Balance {
    double off = 0, size = 0; // W: what is missing, and the sum of the sizes of all terms
    void add(double power) { off += power, size += std::abs(power); }
};

Potentials potentials(const Specimen& s, const Vector& x, int port) {
    const double* at = x.data() + s.port_at(port);
    const bool outside = s.kind.ports[port].kind == PortKind::outside;
    return {s.around.fluid,
            s.around.pressure,
            at[0],
            at[3],
            outside ? s.around.jar().liquid : at[1],
            outside ? s.around.jar().dissolved : at[4]};
}

} // namespace

TEST_CASE("energy: stored, lost and given balance at any state, in every mode") {
    int balanced = 0;
    over_all_variants([&balanced](const Specimen& s, Draw& draw) {
        const int n = s.kind.positions();
        for (int i = 0; i < 2000; ++i) {
            const Vector x = filled(s, draw);
            const Modes mode = s.modes(x, draw);
            const Vector out = s.rates(x, mode, false), rate = moving(s, out, draw);
            const Gates gates(mode.data(), s.guard.data(), false);

            Vector slope(s.kind.locals());
            s.part->stored(x.data(), s.aside.data(), gates, slope.data());
            const Exchange e =
                s.part->exchange(x.data(), rate.data(), out.data(), s.aside.data(), gates);
            Balance b;
            for (int j = 0; j < s.kind.locals(); ++j)
                b.add(slope[j] * rate[j]);
            for (const double power : {e.lost, -e.column, -e.supplied, -e.unpaid})
                b.add(power);
            for (std::size_t j = 0; j < s.kind.joints.size(); ++j) {
                const double gives = out[s.states() + j];
                if (s.kind.joints[j].kind == JointKind::rod) b.add(gives * rate[s.states() + j]);
                if (s.kind.joints[j].kind == JointKind::wheel) b.add(gives * x[s.states() + j]);
            }
            Vector volume(s.ports() + 1), swept(s.ports() * n + 1);
            s.part->swept(x.data(), volume.data(), swept.data());
            for (int port = 0; port < s.ports(); ++port)
                for (int j = 0; j < n; ++j)
                    b.add(-x[s.port_at(port)] * swept[port * n + j] * rate[j]);
            balanced += b.size > 0;
            CHECK_MESSAGE(std::abs(b.off) <= 1e-10 * b.size, s.kind.name, ": ", b.off, " of ",
                          b.size, " W");
        }
    });
    CHECK(balanced > 50000);
}

TEST_CASE("energy: nothing that is lost comes back, flows included") {
    double most = 0;
    int judged = 0;
    over_all_variants([&most, &judged](const Specimen& s, Draw& draw) {
        const int n = s.kind.positions();
        // Between two baths a tank gives work; it stands outside the account.
        if (s.kind.name == "pressure_bleeder") return;
        // Heights apart: a column weighs as if it were full of fluid, also where it holds bubbles.
        std::vector<PortAside> level = s.aside;
        for (PortAside& port : level)
            port.head = 0;
        for (int i = 0; i < 2000; ++i) {
            const Vector x = filled(s, draw);
            const Modes mode = s.modes(x, draw);
            Vector out(s.kind.outputs());
            s.part->rates(x.data(), level.data(), Gates(mode.data(), s.guard.data(), false),
                          out.data());
            const Vector rate = moving(s, out, draw);
            const Exchange e = s.part->exchange(x.data(), rate.data(), out.data(), level.data(),
                                                Gates(mode.data(), s.guard.data(), false));
            double lost = e.lost - e.column, size = std::abs(e.lost) + std::abs(e.column);
            // Within a hundredth of a cm3 per second of standstill a stream takes along something
            // of both sides, some microwatts uphill.
            bool creeps = false;
            for (int port = 0; port < s.ports(); ++port) {
                const Potentials mu = potentials(s, x, port);
                const double* flow = out.data() + n + kPortOutputs * port;
                creeps = creeps || (flow[0] != 0 && std::abs(flow[0]) < 1.1e-8);
                for (const double brings :
                     {flow[0] * mu.liquid, flow[1] * mu.gas, flow[3] * mu.dissolved}) {
                    lost -= brings;
                    size += std::abs(brings);
                }
            }
            if (creeps) continue;
            most = std::max(most, lost), ++judged;
            CHECK_MESSAGE(lost >= -1e-9 * size, s.kind.name, ": ", lost, " of ", size, " W");
        }
    });
    CHECK(most > 1);
    CHECK(judged > 50000);
}

TEST_CASE("free energy: its slopes are the laws of liquid, gas and solution") {
    Draw draw(kSeed);
    const BrakeFluid fluid;
    for (int i = 0; i < 2000; ++i) {
        const double T = draw.uniform(240, 400), outside = draw.uniform(6e4, 1.05e5);
        const double vapour = fluid.vapour_pressure(T);
        const double p = draw.chance(0.5) ? draw.uniform(-0.9 * (outside - vapour), 0)
                                          : draw.log_uniform(1, 2e7);
        const auto at = [&](double pressure) {
            return Potentials(fluid, outside, pressure, T, 1, 0.01);
        };
        const double h = 1e-3 * std::max(1e3, p + outside - vapour);
        const auto slope = [&](auto of) { // fourth order
            return (8 * (of(at(p + h)) - of(at(p - h))) - of(at(p + 2 * h)) + of(at(p - 2 * h))) /
                   (12 * h);
        };
        const double k = kStandardPressure * T / kReferenceTemperature;
        CHECK(near(slope([](const Potentials& mu) { return mu.liquid; }),
                   fluid.specific_volume(p, T), 0, 1e-8));
        CHECK(near(slope([](const Potentials& mu) { return mu.gas; }), k / (p + outside - vapour),
                   0, 1e-8));
        // Saturated as Henry's law says, air is worth as much in solution as free.
        const double full = saturated_air(fluid, 1.0, p + outside - vapour);
        const Potentials mu(fluid, outside, p, T, 1, full);
        CHECK(near(mu.dissolved, mu.gas, 1e-9 * k, 1e-9));
    }
}
