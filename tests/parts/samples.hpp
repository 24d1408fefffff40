// What the conformance suite runs over: every kind with sensible fields, in the variants that reach
// all of its laws, and local variables drawn at random from a fixed seed.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <random>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "parts/part.hpp"
#include "parts/registry.hpp"

namespace pedalbench::test {

/// Fields set on a kind, in SI; the rest are defaults.
struct Variant {
    std::string kind, name;
    std::vector<std::pair<std::string, double>> set;
};

/// The first variant of a kind has its required fields only. The others switch on what is off by
/// default.
inline const std::vector<Variant>& variants() {
    static const std::vector<Variant> all = {
        {"pedal", "by force", {{"ratio", 5.2}}},
        {"pedal",
         "by travel, held off",
         {{"ratio", 5.2},
          {"driven_by", 1},
          {"held_off", 5e-3},
          {"held_by", 1},
          {"return_rate", 200}}},
        {"booster", "engine running", {{"diameter", 0.23}}},
        {"booster", "engine off", {{"diameter", 0.23}, {"engine", 0}, {"jump_in", 0}}},
        {"tandem_master", "caged", {{"bore", 20.64e-3}}},
        {"tandem_master",
         "uncaged, half blocked",
         {{"bore", 20.64e-3},
          {"caged", 0},
          {"primary_spring", 80},
          {"secondary_spring", 100},
          {"primary_port_open", 0.5},
          {"secondary_port_travel", 1.4e-3}}},
        {"tandem_master",
         "leaking cups",
         {{"bore", 20.64e-3},
          {"leak_primary", 0.3e-3},
          {"leak_secondary_front", 0.2e-3},
          {"leak_secondary_rear", 0.1e-3},
          {"leak_seals_at", 2e6}}},
        {"tandem_master", "floats, full", {{"bore", 20.64e-3}, {"level_switch", 1}}},
        {"tandem_master",
         "floats, low",
         {{"bore", 20.64e-3}, {"level_switch", 1}, {"low_level", 90e-6}}},
        {"tandem_master", "floats stuck down", {{"bore", 20.64e-3}, {"level_switch", 3}}},
        {"take_up_master", "sound", {{"bore", 20.64e-3}, {"large_bore", 28e-3}}},
        {"take_up_master",
         "floats",
         {{"bore", 20.64e-3}, {"large_bore", 28e-3}, {"level_switch", 1}}},
        {"take_up_master",
         "floats, low",
         {{"bore", 20.64e-3}, {"large_bore", 28e-3}, {"level_switch", 1}, {"low_level", 90e-6}}},
        {"take_up_master",
         "by-pass blocked",
         {{"bore", 20.64e-3}, {"large_bore", 28e-3}, {"bypass", 0}}},
        {"take_up_master",
         "valve hangs open, leaking cups",
         {{"bore", 20.64e-3},
          {"large_bore", 28e-3},
          {"bypass", 2.5e-3},
          {"leak_primary", 0.3e-3},
          {"leak_secondary_rear", 0.1e-3}}},
        {"residual_valve", "fitted", {}},
        {"residual_valve", "not fitted", {{"fitted", 0}}},
        {"residual_valve", "stuck on its seat", {{"stuck", 1}}},
        {"residual_valve", "dirt under it", {{"dirt", 0.1e-3}}},
        {"pressure_switch", "self-centring", {}},
        {"pressure_switch", "detented", {{"centring", 1}}},
        {"pressure_switch", "stuck", {{"sticking", 1000}}},
        {"warning_lamp", "ignition on", {}},
        {"warning_lamp", "ignition off", {{"ignition", 0}}},
        {"warning_lamp", "cranking", {{"ignition", 2}}},
        {"hold_off_valve", "by pressures", {{"shut", 90e3}, {"open", 0.86e6}, {"full", 3.4e6}}},
        {"hold_off_valve",
         "by areas, held",
         {{"rod_spring", 8}, {"outlet_area", 1.2e-4}, {"plate_spring", 120}, {"rod", 1}}},
        {"hold_off_valve",
         "wedged",
         {{"shut", 90e3}, {"open", 0.86e6}, {"full", 3.4e6}, {"rod", 2}}},
        {"hold_off_valve",
         "plate stuck open",
         {{"shut", 90e3}, {"open", 0.86e6}, {"full", 3.4e6}, {"plate", 1}}},
        {"hold_off_valve",
         "plate stuck shut",
         {{"shut", 90e3}, {"open", 0.86e6}, {"full", 3.4e6}, {"plate", 2}}},
        {"proportioning_valve",
         "by-pass stuck open",
         {{"knee", 3e6}, {"slope", 0.3}, {"bypass_front", 0.5e6}, {"bypass", 1}}},
        {"proportioning_valve",
         "by-pass stuck shut",
         {{"knee", 3e6}, {"slope", 0.3}, {"bypass_front", 0.5e6}, {"bypass", 2}}},
        {"proportioning_valve", "by its curve", {{"knee", 3e6}, {"slope", 0.3}}},
        {"proportioning_valve",
         "by areas, with a by-pass",
         {{"inlet_area", 25e-6}, {"spring", 150}, {"bypass_front", 0.5e6}}},
        {"line", "one piece", {{"length", 1.1}}},
        {"line", "without inertia", {{"length", 1.1}, {"inertia", 1e-3}, {"segments", 8}}},
        {"hose", "sound", {{"length", 0.38}}},
        {"hose", "flap", {{"length", 0.38}, {"bore_out", 1.5e-3}, {"bore_back", 0.2e-3}}},
        {"disc_caliper", "sound", {{"piston", 51e-3}}},
        {"disc_caliper",
         "linear pads, no shift",
         {{"piston", 51e-3}, {"pad_take_up", 0}, {"seal_shift", 0}}},
        {"disc_caliper", "worn seal", {{"piston", 51e-3}, {"seal_rollback", 0.3}}},
        {"disc_caliper",
         "clearances stated",
         {{"piston", 51e-3}, {"clearance_light", 0.22e-3}, {"clearance_hard", 0.2e-3}}},
        {"disc_caliper",
         "opposed, two pistons on a side",
         {{"piston", 38e-3}, {"mount", 1}, {"pistons", 2}, {"thickness_variation", 20e-6}}},
        {"disc_caliper",
         "an uneven disc on a loose hub",
         {{"piston", 51e-3},
          {"thickness_variation", 20e-6},
          {"run_out", 0.1e-3},
          {"hub_deflection", 0.05e-3},
          {"wear", 5e-3}}},
        {"disc_caliper", "parked", {{"piston", 51e-3}, {"parking_brake", 8000}}},
        {"drum_brake", "sound", {{"cylinder", 19.05e-3}}},
        {"drum_brake", "cup expanders", {{"cylinder", 19.05e-3}, {"lip_bears", 60e3}}},
        {"drum_brake",
         "a spring broken, shoes too close",
         {{"cylinder", 19.05e-3}, {"springs_left", 0}, {"clearance", -0.1e-3}}},
        {"drum_brake",
         "weaker backward",
         {{"cylinder", 19.05e-3}, {"shoe_factor", 3}, {"shoe_factor_backward", 1}}},
        {"drum_brake", "shoes by geometry", {{"cylinder", 19.05e-3}, {"shoes", 1}}},
        {"drum_brake",
         "two leading shoes",
         {{"cylinder", 19.05e-3}, {"shoes", 2}, {"friction", 0.3}}},
        {"drum_brake", "duo-servo", {{"cylinder", 19.05e-3}, {"shoes", 3}, {"friction", 0.3}}},
        {"drum_brake",
         "parked, with adjuster",
         {{"cylinder", 19.05e-3}, {"parking_brake", 800}, {"adjuster", 1}, {"wear", 0.2e-3}}},
        {"bleeder", "shut", {}},
        {"bleeder", "open into a jar", {{"opening", 1.5e-3}}},
        {"bleeder", "open into the air", {{"opening", 1.5e-3}, {"hose_end", 0}}},
        {"bleeder",
         "under a vacuum, bubbles in the jar",
         {{"opening", 1.5e-3}, {"vacuum", 60e3}, {"bubbles", 0.1}}},
        {"bleeder", "not at the top", {{"opening", 1.5e-3}, {"space_above", 0.1}}},
        {"leak", "none yet", {}},
        {"leak", "open", {{"hole", 0.8e-3}}},
        {"pressure_bleeder", "not connected", {}},
        {"pressure_bleeder", "connected", {{"pressure", 0.15e6}}},
        {"pressure_bleeder", "topping up", {{"pour", 20e-6}}},
        {"pressure_bleeder", "a tank of one litre", {{"pressure", 0.1e6}, {"content", 1e-3}}},
        {"air_pocket", "two cubic centimetres", {{"pocket", 2e-6}}},
        {"rotor", "a disc", {{"mass", 5}}},
        {"vehicle", "rolling", {{"mass", 950}}},
        {"vehicle", "reversing", {{"mass", 950}, {"start_speed", -3}, {"hold_speed", -3}}},
        {"vehicle", "driven uphill", {{"mass", 950}, {"hold_speed", 20}, {"grade", 0.05}}},
    };
    return all;
}

/// Uniform numbers whose sequence does not depend on the standard library.
class Draw {
  public:
    explicit Draw(unsigned seed) : engine_(seed) {}

    double uniform(double low, double high) {
        return low + (high - low) * (static_cast<double>(engine_() >> 11) * 0x1p-53);
    }
    double log_uniform(double low, double high) {
        return std::exp(uniform(std::log(low), std::log(high)));
    }
    bool chance(double p) { return uniform(0, 1) < p; }
    std::size_t below(std::size_t n) { return static_cast<std::size_t>(engine_() % n); }

  private:
    std::mt19937_64 engine_;
};

/// One part with what its laws are evaluated on.
class Specimen {
  public:
    explicit Specimen(const Variant& variant) : Specimen(*find_kind(variant.kind), variant.set) {}
    Specimen(const PartKind& part_kind, const std::vector<std::pair<std::string, double>>& set)
        : kind(part_kind), values(part_kind.fields) {
        for (const auto& [name, value] : set)
            values.set(name, value);
        refused = kind.complete(values, around);
        if (refused.empty()) part = kind.make(values, around);
    }

    int states() const { return static_cast<int>(kind.states.size()); }
    int ports() const { return static_cast<int>(kind.ports.size()); }
    int guards() const { return static_cast<int>(kind.guards.size()); }
    int port_at(int port) const { return kind.positions() + 1 + kPortLocals * port; }

    /// Rates at `local`; leaves the guard values in `guard`.
    std::vector<double> rates(const std::vector<double>& local, const std::vector<char>& mode,
                              bool located) const {
        std::vector<double> out(static_cast<std::size_t>(kind.outputs()), unwritten);
        guard.assign(static_cast<std::size_t>(guards()) + 1, -1); // as the circuit does
        part->rates(local.data(), aside.data(), Gates(mode.data(), guard.data(), located),
                    out.data());
        return out;
    }
    /// Derivatives, outputs x locals by rows; zero by what a part is not differentiated by. Free
    /// gas and air in solution share a direction: what acts on neither kind shows under both.
    std::vector<double> slopes(const std::vector<double>& local, const std::vector<char>& mode,
                               bool located) const {
        const std::span<const int> direction = part->directions();
        const int ways = 1 + *std::max_element(direction.begin(), direction.end());
        std::vector<double> out(static_cast<std::size_t>(kind.outputs()), unwritten);
        std::vector<double> table(static_cast<std::size_t>(kind.outputs() * ways), unwritten);
        guard.assign(static_cast<std::size_t>(guards()) + 1, -1); // as the circuit does
        part->derivatives(local.data(), aside.data(), Gates(mode.data(), guard.data(), located),
                          out.data(), table.data());
        std::vector<double> slope;
        for (int row = 0; row < kind.outputs(); ++row)
            for (int i = 0; i < kind.locals(); ++i) {
                const bool none = direction[static_cast<std::size_t>(i)] < 0 ||
                                  (is(i, kGas) && gives(row, kDissolved)) ||
                                  (is(i, kDissolved) && gives(row, kGas));
                slope.push_back(none ? 0
                                     : table[static_cast<std::size_t>(
                                           row * ways + direction[static_cast<std::size_t>(i)])]);
            }
        return slope;
    }
    /// The temperature of a reservoir never changes, so that no part is differentiated by it.
    bool never_changes(int i) const {
        return is(i, kTemperature) && kind.ports[port_of(i)].kind == PortKind::reservoir;
    }

    /// Local variables over their whole range, with every scale about as likely as every other;
    /// often two of a kind lie close together, as a piston and the anchor of its friction do.
    std::vector<double> local(Draw& draw) const {
        std::vector<double> x;
        for (int i = 0; i < kind.positions(); ++i) {
            const Dimension of = kind.dimension(i);
            if (of == Dimension::temperature) {
                x.push_back(draw.uniform(233, 703));
                continue;
            }
            if (of == Dimension::angle) { // one turn is like the next
                x.push_back(draw.uniform(-4, 4));
                continue;
            }
            if (of == Dimension::rotation || of == Dimension::velocity) {
                x.push_back((draw.chance(0.2) ? -1 : 1) * draw.log_uniform(1e-3, 200));
                continue;
            }
            if (of == Dimension::number) { // contacts on a wire
                x.push_back(draw.uniform(-0.2, 2));
                continue;
            }
            const bool flow = of == Dimension::flow;
            const double size = flow ? draw.log_uniform(1e-10, 2e-4) : draw.log_uniform(1e-7, 5e-2);
            const double sign = draw.chance(flow ? 0.5 : 0.3) ? -1 : 1;
            if (i > 0 && draw.chance(0.6))
                x.push_back(x[draw.below(x.size())] + 0.02 * sign * size);
            else
                x.push_back(sign * size);
        }
        x.push_back(draw.chance(0.5) ? draw.log_uniform(1e-3, 0.3) : draw.log_uniform(1, 1000));
        for (int port = 0; port < ports(); ++port) {
            const double size = draw.log_uniform(1, 2e7);
            double p = draw.chance(0.3) ? -std::min(size, 1.01e5) : size;
            if (port > 0 && draw.chance(0.5))
                p = x[static_cast<std::size_t>(port_at(0))] + 0.01 * p;
            x.push_back(std::max(p, -1.01e5));
            x.push_back(draw.uniform(0.8, 1.1));
            x.push_back(draw.log_uniform(1e-6, 1));
            x.push_back(draw.uniform(233, 403));
            x.push_back(draw.log_uniform(1e-3, 0.3));
        }
        return x;
    }
    /// Modes that the signs of the guards ask for at `local`; latches stand as chance has it.
    std::vector<char> modes(const std::vector<double>& local, Draw& draw) const {
        std::vector<char> mode(static_cast<std::size_t>(guards()) + 1, 0);
        for (int k = 0; k < guards(); ++k)
            if (kind.guards[static_cast<std::size_t>(k)].latch)
                mode[static_cast<std::size_t>(k)] = draw.chance(0.5);
        rates(local, mode, false);
        for (int k = 0; k < guards(); ++k)
            if (!kind.guards[static_cast<std::size_t>(k)].latch)
                mode[static_cast<std::size_t>(k)] = guard[static_cast<std::size_t>(k)] > 0;
        return mode;
    }

    static constexpr double unwritten = 4.2e99; // what an output that no law writes still holds

    Surroundings around;
    const PartKind& kind;
    Values values;
    std::vector<Refusal> refused;
    std::unique_ptr<const Part> part;
    /// Heads, and reservoirs that hold 60 cm3.
    std::vector<PortAside> aside = {{0, 0}, {900, 0}, {2500, 60e-6}, {1700, 60e-6}, {300, 0}};
    mutable std::vector<double> guard;

  private:
    /// Of what stands at a port, by its place among the locals; among the outputs gas is the second
    /// and air in solution the fourth.
    enum { kPressure, kLiquid, kGas, kTemperature, kDissolved };
    std::size_t port_of(int i) const {
        return static_cast<std::size_t>((i - port_at(0)) / kPortLocals);
    }
    bool is(int i, int what) const {
        return i >= port_at(0) && (i - port_at(0)) % kPortLocals == what;
    }
    bool gives(int row, int what) const {
        return row >= kind.positions() &&
               (row - kind.positions()) % kPortOutputs == (what == kGas ? 1 : 3);
    }
};

} // namespace pedalbench::test
