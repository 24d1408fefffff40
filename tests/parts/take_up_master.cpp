// The quick take-up cylinder by itself: what the ring costs and sweeps, which way fluid goes, what
// is refused. In a van: tests/scenarios/take_up.cpp.
#include <doctest/doctest.h>

#include "hydraulics/mechanics.hpp"
#include "samples.hpp"
#include "system/faults.hpp"
#include "system/service.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const PartKind& kind() {
    return *find_kind("take_up_master");
}
using Fields = std::vector<std::pair<std::string, double>>;

/// 20 and 28 mm: A = 3.142 cm2, ring 3.016 cm2.
const Fields kStated = {{"bore", 20e-3}, {"large_bore", 28e-3}};
constexpr double kRing = 0.25 * M_PI * (784e-6 - 400e-6);
constexpr int kRodRow = 3, kTank = 2, kChamber = 4;

Fields with(Fields more) {
    Fields all = kStated;
    all.insert(all.end(), more.begin(), more.end());
    return all;
}

std::string refusal(const Fields& fields) {
    const Specimen s(kind(), fields);
    REQUIRE(s.refused.size() == 1);
    return s.refused[0].field + ": " + s.refused[0].reason;
}

/// Everything at x1 with the pressures of the two circuits and the chamber; heights do not count.
std::vector<double> place(const Specimen& s, double x1, double p1, double p2, double chamber) {
    std::vector<double> local(static_cast<std::size_t>(kind().locals()), 0.0);
    local[0] = local[1] = local[2] = local[3] = x1;
    for (int port = 0; port < s.ports(); ++port) {
        const auto at = static_cast<std::size_t>(s.port_at(port));
        local[at] = port == 0 ? p1 : port == 1 ? p2 : port == kChamber ? chamber : 0;
        local[at + 1] = 1;
        local[at + 3] = kReferenceTemperature;
    }
    return local;
}
Specimen level(const Fields& fields) {
    Specimen s(kind(), fields);
    REQUIRE(s.refused.empty());
    for (PortAside& aside : s.aside)
        aside.head = 0;
    return s;
}
double liquid_into(const Specimen& s, const std::vector<double>& local, int port) {
    const std::vector<char> modes(static_cast<std::size_t>(s.guards()) + 1, 0);
    return s.rates(local, modes,
                   false)[static_cast<std::size_t>(kind().positions() + kPortOutputs * port)];
}

} // namespace

TEST_CASE("take-up cylinder: what each pressure does on the rod is what its volume gives for it") {
    // Energy: power of a pressure p on the rod is p dV/dt, so that dF/dp = dV/dx1 at every port.
    const Specimen s = level(kStated);
    Draw draw(7);
    int looked = 0;
    for (int n = 0; n < 200; ++n) {
        const std::vector<double> local = s.local(draw);
        const std::vector<double> slope = s.slopes(local, s.modes(local, draw), false);
        std::vector<double> volume(static_cast<std::size_t>(s.ports())),
            by(static_cast<std::size_t>(s.ports() * kind().positions()));
        s.part->swept(local.data(), volume.data(), by.data());
        for (int port = 0; port < s.ports(); ++port) {
            const double force =
                slope[static_cast<std::size_t>(kRodRow * kind().locals() + s.port_at(port))];
            const double sweeps = by[static_cast<std::size_t>(port * kind().positions() + kRodRow)];
            CHECK(near(force, sweeps, 1e-15, 1e-12));
            looked += sweeps != 0;
        }
    }
    CHECK(looked == 400); // the primary chamber, and the ring's
    const std::vector<double> before = place(s, 5e-3, 1e6, 1e6, 0);
    std::vector<double> after = before;
    after[static_cast<std::size_t>(s.port_at(kChamber))] = 0.6e6;
    const std::vector<char> modes(static_cast<std::size_t>(s.guards()) + 1, 0);
    CHECK(near(s.rates(before, modes, false)[kRodRow] - s.rates(after, modes, false)[kRodRow],
               0.6e6 * kRing, 0, 1e-9)); // 181 N
}

TEST_CASE("take-up cylinder: which way the chamber's fluid goes") {
    const Specimen s = level(with({{"bypass", 0}}));
    const double covered = 5e-3;
    // Below the valve's pressure and above the circuit's: past the cup, all of it.
    const auto past_cup = place(s, covered, 0.1e6, 0.1e6, 0.2e6);
    CHECK(liquid_into(s, past_cup, 0) > 1e-6);
    CHECK(liquid_into(s, past_cup, kTank) == 0);
    // Below both: nothing moves.
    CHECK(liquid_into(s, place(s, covered, 2e6, 2e6, 0.59e6), kChamber) == 0);
    // Above the valve's: back to the reservoir, from zero flow. 20 kPa lift it by 39 um, of 0.5 mm
    // at most: 20 kPa x 19.6 mm2/(10 N/mm), less 20/275 of that; the way is pi x 5 mm x lift, and
    // its walls take 2 % of the jet.
    const double lift = 20e3 * circle_area(5e-3) / 10e3 * (1 - 20. / 275);
    const double wanted = 0.65 * M_PI * 5e-3 * lift * std::sqrt(2 * 0.62e6 / 1060);
    CHECK(near(liquid_into(s, place(s, covered, 2e6, 2e6, 0.62e6), kTank), wanted, 0, 0.04));
    CHECK(liquid_into(s, place(s, covered, 2e6, 2e6, 0.6e6 + 1), kTank) < 1e-9);
    // Below the reservoir: refilled from it, and from nowhere else.
    const auto refill = place(s, covered, 2e6, 2e6, -10e3);
    CHECK(liquid_into(s, refill, kTank) < -1e-6);
    CHECK(liquid_into(s, refill, 0) == 0);
    // At rest the primary circuit breathes through port and by-pass; without by-pass it cannot.
    CHECK(liquid_into(s, place(s, 0, 50e3, 0, 50e3), kTank) == 0);
    const Specimen sound = level(kStated);
    // 0.4 mm, 1 mm long, at 50 kPa and 18 mm2/s: a = 3.75e10, b = 7.94e16, so 0.59 cm3/s.
    CHECK(near(liquid_into(sound, place(sound, 0, 50e3, 0, 50e3), kTank), 0.59e-6, 0, 0.03));
}

TEST_CASE("take-up cylinder: what cannot work is refused in words") {
    CHECK(refusal({{"bore", 20e-3}, {"large_bore", 20e-3}}) ==
          "large_bore: not larger than bore; it would take nothing up: raise it, or use a "
          "tandem_master");
    CHECK(refusal(with({{"valve_opens", 0.15e6}, {"lip_opening", 0.08e6}})) ==
          "valve_opens: not above twice lip_opening; nothing would pass the cup before the valve "
          "opens: raise it or lower lip_opening");
    CHECK(refusal({{"bore", 20e-3}, {"large_bore", 60e-3}, {"dead_volume", 1e-6}}) ==
          "dead_volume: leaves no fluid in the take-up chamber when both pistons press their "
          "stops: at least 0.6 mm of its ring");
    // What a tandem cylinder refuses, this one refuses too.
    CHECK(refusal(with({{"secondary_spring", 40}})).starts_with("secondary_spring: weaker than"));
}

TEST_CASE("take-up cylinder: what befalls or limits a tandem cylinder does so here") {
    const PartKind& plain = *find_kind("tandem_master");
    int befall = 0;
    for (const FaultKind& fault : fault_kinds()) {
        if (fault.part == "tandem_master") {
            ++befall;
            CHECK(fault.befalls(kind()));
        }
        if (fault.part == "take_up_master") CHECK_FALSE(fault.befalls(plain));
    }
    CHECK(befall >= 9);
    CHECK(measured_fields(kind()).size() == measured_fields(plain).size());
    CHECK(limit_fields(kind()).size() == limit_fields(plain).size());
    CHECK(limit_fields(kind()).size() > 0);
    for (std::size_t i = 0; i < plain.fields.size(); ++i)
        CHECK(kind().fields[i].name == plain.fields[i].name);
}
