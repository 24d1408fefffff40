// What every part owes to the circuit, whatever its law: one suite over all kinds in the registry.
// A new part is in it as soon as it is registered and has a variant in samples.hpp. Here: exact
// derivatives, conserved flows, finite rates, a monotone pressure. Guards are in
// conformance_guards.cpp, the ends of all fields in conformance_fields.cpp, whole cars in
// conformance_circuit.cpp.
#include <set>

#include "suite.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("every registered kind has a variant to be tested in") {
    for (const PartKind* kind : part_kinds()) {
        CAPTURE(kind->name);
        CHECK(std::any_of(variants().begin(), variants().end(),
                          [&](const Variant& v) { return v.kind == kind->name; }));
    }
}

TEST_CASE("the variants of a kind reach both sides of each of its guards") {
    for (const PartKind* kind : part_kinds()) {
        std::vector<char> on(kind->guards.size()), off(kind->guards.size());
        for (const Variant& variant : variants()) {
            if (variant.kind != kind->name) continue;
            const Specimen s(variant);
            Draw draw(kSeed);
            for (int i = 0; i < 3000; ++i) {
                const Vector x = s.local(draw);
                s.rates(x, s.modes(x, draw), false);
                for (int k = 0; k < s.guards(); ++k)
                    (s.guard[k] > 0 ? on : off)[k] = 1;
            }
        }
        for (std::size_t k = 0; k < on.size(); ++k) {
            CAPTURE(kind->name);
            CAPTURE(kind->guards[k].name);
            CHECK(on[k]);
            CHECK(off[k]);
        }
    }
}

TEST_CASE("derivatives agree with differences in every mode") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        Sharpness sharpness;
        for (int i = 0; i < 100; ++i) {
            const Vector x = s.local(draw);
            const Modes mode = s.modes(x, draw);
            check_slopes(s, x, mode, false, sharpness);
            check_slopes(s, x, mode, true, sharpness);
            // A mode that does not belong to the sign: what a stage sees that looks past a guard.
            Modes other = mode;
            if (s.guards() > 0) other[draw.below(s.guards())] ^= 1;
            check_slopes(s, x, other, true, sharpness);
        }
        CHECK(sharpness.sharp >= 0.97 * sharpness.all);
    });
}

TEST_CASE("what flows into one port comes out of the others") {
    std::set<std::string_view> moved;
    over_all_variants([&moved](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 2000; ++i) {
            const Vector x = s.local(draw);
            const Vector out = s.rates(x, s.modes(x, draw), draw.chance(0.5));
            for (const int kept : {0, 1, 3}) { // liquid, gas, air in solution
                double sum = 0, size = 0;
                for (int port = 0; port < s.ports(); ++port) {
                    const double in = out[s.kind.positions() + kPortOutputs * port + kept];
                    sum += in;
                    size += std::abs(in);
                }
                if (size > 0) moved.insert(s.kind.name);
                CHECK(near(sum, 0, 8 * kEps * size, 0));
            }
        }
    });
    // The sums were not all of nothing: whoever stands in a line, opens to the world or feeds a
    // circuit.
    for (const PartKind* kind : part_kinds()) {
        const bool opens =
            std::any_of(kind->ports.begin(), kind->ports.end(),
                        [](const PortInfo& p) { return p.kind == PortKind::outside; });
        CAPTURE(kind->name);
        if (kind->through || opens || (kind->has(JointKind::rod) && !kind->ports.empty()))
            CHECK(moved.count(kind->name) == 1);
    }
}

TEST_CASE("a wire gets 1 from each closed contact, and nothing has a slope by it but its lamp") {
    long closed = 0;
    over_all_variants([&closed](const Specimen& s, Draw& draw) {
        for (int j = 0; j < static_cast<int>(s.kind.joints.size()); ++j) {
            if (s.kind.joints[j].kind != JointKind::wire) continue;
            const int wire = s.states() + j, columns = s.kind.locals();
            const bool holds = s.kind.joints[j].holds;
            for (int i = 0; i < 300; ++i) {
                const Vector x = s.local(draw);
                const Modes mode = s.modes(x, draw);
                Vector quantity(s.kind.quantities.size() + 1);
                s.part->quantities(x.data(), s.aside.data(),
                                   Gates(mode.data(), s.guard.data(), true), quantity.data());
                double contacts = 0;
                for (std::size_t q = 0; q < s.kind.quantities.size(); ++q)
                    if (s.kind.quantities[q].name.ends_with("contact")) contacts += quantity[q];
                const double gives = s.rates(x, mode, true)[wire] + (holds ? x[wire] : 0);
                CHECK(near(gives, contacts, 1e-12, 0));
                closed += contacts > 0;
                const Vector slope = s.slopes(x, mode, true);
                for (int c = 0; c < columns; ++c)
                    CHECK(slope[wire * columns + c] == (holds && c == wire ? -1 : 0));
                for (int row = 0; row < s.kind.outputs(); ++row)
                    if (row != wire) CHECK(slope[row * columns + wire] == 0);
            }
        }
    });
    CHECK(closed > 1000);
}

TEST_CASE("laws stay finite in any mode, also in one that does not belong to the state") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 3000; ++i) {
            const Vector x = s.local(draw);
            Modes mode = s.modes(x, draw);
            for (char& m : mode)
                m = draw.chance(0.5);
            CHECK(finite(s.rates(x, mode, true)));
            CHECK(finite(s.slopes(x, mode, true)));
            CHECK(finite(s.rates(x, mode, false)));
            Vector quantity(s.kind.quantities.size() + 1, Specimen::unwritten);
            s.part->quantities(x.data(), s.aside.data(), Gates(mode.data(), s.guard.data(), true),
                               quantity.data());
            quantity.pop_back();
            CHECK(finite(quantity));
        }
        // At rest exactly: everything zero, and every port alike.
        Vector rest(s.kind.locals(), 0.0);
        s.part->start(rest.data());
        for (int port = 0; port < s.ports(); ++port) {
            rest[s.port_at(port) + 1] = 1;
            rest[s.port_at(port) + 3] = kReferenceTemperature;
        }
        for (const char m : {0, 1}) {
            const Modes mode(s.guards() + 1, m);
            CHECK(finite(s.rates(rest, mode, true)));
            CHECK(finite(s.slopes(rest, mode, true)));
            CHECK(finite(s.slopes(rest, mode, false)));
        }
    });
}

TEST_CASE("swept volumes: slopes against differences, nothing swept where nothing is closed") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        const int n = s.kind.positions(), ports = s.ports();
        const auto swept = [&](const Vector& x, Vector& slope) {
            Vector volume(ports + 1, Specimen::unwritten);
            slope.assign(ports * n + 1, Specimen::unwritten);
            s.part->swept(x.data(), volume.data(), slope.data());
            volume.resize(ports);
            return volume;
        };
        for (int i = 0; i < 200; ++i) {
            const Vector x = s.local(draw);
            Vector slope, unused;
            const Vector here = swept(x, slope);
            for (int port = 0; port < ports; ++port)
                if (s.kind.ports[port].kind != PortKind::line) CHECK(here[port] == 0);
            Vector noise(ports, 0.0);
            for (int port = 0; port < ports; ++port)
                noise[port] = 4 * kEps * std::abs(here[port]);
            for (int j = 0; j < n; ++j) {
                const auto along = [&](double value) {
                    Vector moved = x;
                    moved[j] = value;
                    return swept(moved, unused);
                };
                const auto d = central_differences(along, x[j], 1e-3, noise);
                for (int port = 0; port < ports; ++port)
                    CHECK(near(d[port].value, slope[port * n + j], 3 * d[port].doubt, 1e-7));
            }
        }
    });
}

TEST_CASE("pressure on a reservoir: its slopes by the part's states against differences") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        const std::size_t n = s.kind.states.size();
        for (int port = 0; port < s.ports(); ++port)
            for (int i = 0; i < 50; ++i) {
                Vector x = s.local(draw), slope(n + 1), unused(n + 1);
                x.resize(n);
                s.part->tank_pressure(port, x.data(), slope.data());
                for (std::size_t j = 0; j < n; ++j) {
                    const auto along = [&](double value) {
                        Vector moved = x;
                        moved[j] = value;
                        return Vector{s.part->tank_pressure(port, moved.data(), unused.data())};
                    };
                    const auto d = central_differences(along, x[j], 1e-3, {1e-9});
                    CHECK(near(d[0].value, slope[j], 3 * d[0].doubt, 1e-6));
                }
            }
    });
}

TEST_CASE("the walls of every part make a monotone pressure: more content more, more room less") {
    over_all_variants([](const Specimen& s, Draw&) {
        Vector rest(s.kind.positions() + 1, 0.0), slope(s.ports() * rest.size() + 1);
        Vector volume(s.ports() + 1);
        s.part->start(rest.data());
        s.part->swept(rest.data(), volume.data(), slope.data());
        for (int port = 0; port < s.ports(); ++port) {
            if (s.kind.ports[port].kind != PortKind::line) continue;
            Walls walls;
            walls.add(s.part->wall(port));
            CHECK(walls.slope(-1.01e5) >= 0);
            CHECK(walls.slope(20e6) >= 0);
            const double room = volume[port] + 1e-6; // with a neighbour's dead volume
            double last[3] = {-1e300, -1e300, 1e300};
            // From stretched until it is all vapour to squeezed by 8 %, some 200 MPa.
            for (int i = 0; i <= 58; ++i) {
                const double share = 0.5 + 0.01 * i;
                const auto p = [&](double swept, double liquid, double gas) {
                    return solve_volume(s.around.fluid, walls, swept, liquid, gas, 293.15, 1e-12,
                                        s.around.pressure)
                        .p;
                };
                const double by_liquid = p(room, share * room, 0.01 * room);
                const double by_gas = p(room, 0.9 * room, 0.05 * share * share * room);
                const double by_room = p((0.34 + share) * room, 0.9 * room, 0.002 * room);
                CHECK(by_liquid > last[0]);
                CHECK(by_gas > last[1]);
                CHECK(by_room < last[2]);
                last[0] = by_liquid, last[1] = by_gas, last[2] = by_room;
            }
        }
    });
}
