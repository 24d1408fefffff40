#include "circuit/model.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "parts/registry.hpp"
#include "system/changes.hpp"

namespace pedalbench {
namespace {

constexpr double kGravity = 9.80665;      // m/s2
constexpr double kNucleus = 1e-12;        // reference m3 of gas that any volume keeps on its walls
constexpr double kFluidHeat = 2.4e3;      // J/(kg K), glycol ethers, judgement
constexpr double kReservoirOutlet = 2e-6; // m3 below which a reservoir begins to give air

const PartKind& kind_of(const Hardware& hardware, const Instance& i) {
    return *hardware.parts[i.spec].kind;
}
int positions(const PartKind& kind) {
    return static_cast<int>(kind.states.size()) + kind.rods;
}

} // namespace

Model::Model(const Hardware& hardware)
    : hardware_(hardware), around_(make_surroundings(hardware.fluid, hardware.surroundings)),
      layout_(make_layout(hardware)) {
    const std::vector<Refusal> refusals = complete(hardware_);
    if (!refusals.empty()) throw InvalidHardware(refusals);

    rod_damping_.assign(layout_.rods, 0);
    walls_.resize(layout_.nodes.size());
    tank_.assign(layout_.nodes.size(), 0);
    state_scale_.assign(layout_.states, 0);
    for (int r = 0; r < layout_.rods; ++r)
        state_scale_[r] = 2e-7; // m, as for the pistons
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        part_.push_back(kind.make(hardware_.parts[i.spec].values, around_));
        for (int r = 0; r < kind.rods; ++r)
            rod_damping_[r] += part_.back()->rod_damping(r);
        for (std::size_t port = 0; port < kind.ports.size(); ++port) {
            walls_[i.node[port]].add(part_.back()->wall(static_cast<int>(port)));
            tank_[i.node[port]] += part_.back()->tank_pressure(static_cast<int>(port));
        }
        for (const GuardInfo& g : kind.guards) {
            guard_info_.push_back(&g);
            guard_instance_.push_back(static_cast<int>(k));
        }
        for (std::size_t s = 0; s < kind.states.size(); ++s)
            state_scale_[i.state + s] = kind.states[s].tolerance;
    }
    if (!(rod_damping_[0] > 0))
        throw InvalidHardware(std::vector<Refusal>{
            {"parts", "there is no master cylinder for the push rod to work on"}});
    locate_heights();
    find_dependencies();
    make_pattern();
    name_channels();
}

/// A height that no part states is that of the next node toward the cylinder.
void Model::locate_heights() {
    height_.assign(layout_.nodes.size(), kUnset);
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        for (std::size_t port = 0; port < i.node.size(); ++port) {
            const double h = part_[k]->height(static_cast<int>(port));
            if (!std::isnan(h)) height_[i.node[port]] = h;
        }
    }
    for (std::size_t n = 0; n < height_.size(); ++n) {
        int from = static_cast<int>(n);
        while (from >= 0 && std::isnan(height_[from]))
            from = layout_.nodes[from].upstream;
        if (std::isnan(height_[n])) height_[n] = from >= 0 ? height_[from] : 0;
    }
}

/// A node's pressure depends on its own content and on every position that sweeps it.
void Model::find_dependencies() {
    depends_.resize(layout_.nodes.size());
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind == PortKind::outside) continue;
        for (int s = 0; s < node.states(); ++s)
            depends_[n].push_back(node.state + s);
    }
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const int n = positions(kind), states = static_cast<int>(kind.states.size());
        std::vector<int> places(kind.ports.size() * n, -1);
        // Which positions sweep which port does not change with the state: ask once, at rest.
        std::vector<double> x(n + 1, 0), volume(kind.ports.size() + 1), slope(places.size() + 1);
        part_[k]->start(x.data());
        part_[k]->swept(x.data(), volume.data(), slope.data());
        for (std::size_t port = 0; port < kind.ports.size(); ++port)
            for (int s = 0; s < n; ++s) {
                if (slope[port * n + s] == 0) continue;
                std::vector<int>& list = depends_[i.node[port]];
                const int column = s < states ? i.state + s : s - states;
                const auto found = std::find(list.begin(), list.end(), column);
                places[port * n + s] = static_cast<int>(found - list.begin());
                if (found == list.end()) list.push_back(column);
            }
        swept_at_.push_back(std::move(places));
    }
}

void Model::make_pattern() {
    std::vector<std::set<int>> columns(layout_.states);
    for (int i = 0; i < layout_.states; ++i)
        columns[i].insert(i);
    for (const Instance& i : layout_.instances) {
        const PartKind& kind = kind_of(hardware_, i);
        const int states = static_cast<int>(kind.states.size());
        PartMap map;
        for (int s = 0; s < states; ++s)
            map.row.push_back(i.state + s);
        for (int r = 0; r < kind.rods; ++r)
            map.row.push_back(r);
        for (const int n : i.node) {
            const Node& node = layout_.nodes[n];
            for (int s = 0; s < 3; ++s)
                map.row.push_back(s < node.states() ? node.state + s : -1);
        }
        for (const int row : map.row) {
            if (row < 0) continue;
            for (int s = 0; s < states; ++s)
                columns[row].insert(i.state + s);
            for (int r = 0; r < kind.rods; ++r)
                columns[row].insert(r);
            for (const int n : i.node)
                columns[row].insert(depends_[n].begin(), depends_[n].end());
        }
        map_.push_back(std::move(map));
    }
    pattern_.row_start.push_back(0);
    for (const auto& row : columns) {
        pattern_.column.insert(pattern_.column.end(), row.begin(), row.end());
        pattern_.row_start.push_back(static_cast<int>(pattern_.column.size()));
    }
    const auto slot = [this](int row, int column) {
        const auto begin = pattern_.column.begin() + pattern_.row_start[row];
        const auto end = pattern_.column.begin() + pattern_.row_start[row + 1];
        return static_cast<int>(std::lower_bound(begin, end, column) - pattern_.column.begin());
    };
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        PartMap& map = map_[k];
        for (const int row : map.row) {
            for (std::size_t s = 0; s < kind.states.size(); ++s)
                map.own_slot.push_back(row < 0 ? -1 : slot(row, i.state + static_cast<int>(s)));
            for (int r = 0; r < kind.rods; ++r)
                map.own_slot.push_back(row < 0 ? -1 : slot(row, r));
        }
        for (const int n : i.node) {
            PortColumns port;
            for (const int row : map.row)
                for (const int column : depends_[n])
                    port.slot.push_back(row < 0 ? -1 : slot(row, column));
            map.port.push_back(std::move(port));
        }
    }
}

void Model::name_channels() {
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const auto lines =
            std::count_if(kind.ports.begin(), kind.ports.end(),
                          [](const PortInfo& p) { return p.kind == PortKind::line; });
        for (const PortInfo& port : kind.ports) {
            const std::string whole = i.name + "." + std::string(port.name);
            const std::string at = port.kind == PortKind::line && lines == 1 ? i.name : whole;
            if (port.kind == PortKind::line) {
                channels_.push_back({at + ".pressure", Dimension::pressure, "gauge pressure"});
                channels_.push_back({at + ".free_air", Dimension::volume,
                                     "free air in the volume at this point, counted at 1 atm"});
            } else {
                channels_.push_back({at + ".fluid", Dimension::volume, "fluid that is there"});
                channels_.push_back({at + ".air", Dimension::volume,
                                     "air that came out of the system there, counted at 1 atm"});
            }
        }
        for (const QuantityInfo& q : kind.quantities)
            channels_.push_back({i.name + "." + std::string(q.name), q.dimension, q.help});
    }
}

Work Model::make_work() const {
    Work w;
    w.volume.resize(layout_.nodes.size());
    w.swept.resize(layout_.nodes.size());
    for (const auto& d : depends_)
        w.slope.emplace_back(d.size());
    w.guard.assign(layout_.guards, -1);
    std::size_t outputs = 1, jacobian = 1, sweep = 1, x = 1;
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        w.local.emplace_back(kind.locals());
        w.head.emplace_back(kind.ports.size() + 1);
        for (std::size_t port = 0; port < i.node.size(); ++port)
            w.head.back()[port] = around_.fluid.density() * kGravity * height_[i.node[port]];
        outputs = std::max(outputs, static_cast<std::size_t>(kind.outputs()));
        jacobian = std::max(jacobian, static_cast<std::size_t>(kind.outputs() * kind.locals()));
        sweep = std::max(sweep, kind.ports.size() * (positions(kind) + 1));
        x = std::max(x, static_cast<std::size_t>(positions(kind)) + 1);
    }
    w.out.resize(outputs);
    w.jacobian.resize(jacobian);
    w.sweep.resize(sweep);
    w.x.resize(x);
    return w;
}

std::vector<double> Model::start() const {
    std::vector<double> y(layout_.states, 0);
    for (std::size_t k = 0; k < layout_.instances.size(); ++k)
        part_[k]->start(y.data() + layout_.instances[k].state);
    double reservoir_height = 0, tank = 0;
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n)
        if (layout_.nodes[n].kind == PortKind::reservoir) {
            reservoir_height = height_[n];
            tank = tank_[n];
        }
    Work work = make_work();
    for (const Node& node : layout_.nodes)
        if (node.kind == PortKind::line) y[node.state + 2] = around_.temperature;
    volumes(y.data(), work, false); // for the swept volumes only
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind != PortKind::line) continue;
        const double p =
            tank + around_.fluid.density() * kGravity * (reservoir_height - height_[n]);
        const double T = around_.temperature, volume = work.swept[n] + walls_[n].stretch(p);
        const double gas = around_.fluid.data().free_air * volume;
        const double gas_volume = (gas + kNucleus) * kStandardPressure * T / kReferenceTemperature /
                                  (p + around_.pressure - around_.fluid.vapour_pressure(T));
        y[node.state] = (volume - gas_volume) / around_.fluid.specific_volume(p, T);
        y[node.state + 1] = gas;
    }
    for (const Instance& i : layout_.instances) {
        const Values& values = hardware_.parts[i.spec].values;
        const std::size_t field = values.find("reservoir_volume");
        if (field == values.size()) continue;
        for (const int n : i.node)
            if (layout_.nodes[n].kind == PortKind::reservoir)
                y[layout_.nodes[n].state] = values.at(field);
    }
    return y;
}

void Model::volumes(const double* y, Work& work, bool slopes) const {
    std::fill(work.swept.begin(), work.swept.end(), 0.0);
    if (slopes)
        for (auto& s : work.slope)
            std::fill(s.begin(), s.end(), NodeSlope{});
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const int n = positions(kind), states = static_cast<int>(kind.states.size());
        const int ports = static_cast<int>(kind.ports.size());
        for (int s = 0; s < n; ++s)
            work.x[s] = s < states ? y[i.state + s] : y[s - states];
        double* volume = work.sweep.data();
        double* slope = volume + ports;
        part_[k]->swept(work.x.data(), volume, slope);
        for (int port = 0; port < ports; ++port) {
            work.swept[i.node[port]] += volume[port];
            if (!slopes) continue;
            for (int s = 0; s < n; ++s) // dV_swept/dstate for now, turned into pressure below
                if (swept_at_[k][port * n + s] >= 0)
                    work.slope[i.node[port]][swept_at_[k][port * n + s]].p += slope[port * n + s];
        }
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        VolumeState& v = work.volume[n];
        if (node.kind == PortKind::line) {
            const double L = y[node.state], G = y[node.state + 1], T = y[node.state + 2];
            v = solve_volume(around_.fluid, walls_[n], work.swept[n], L, G, T, kNucleus,
                             around_.pressure);
            if (!slopes) continue;
            auto& row = work.slope[n];
            for (std::size_t c = 0; c < row.size(); ++c) {
                const double by_swept = c < 3 ? 0 : row[c].p; // dV_swept/dstate
                const double p = c == 0   ? v.p_L
                                 : c == 1 ? v.p_G
                                 : c == 2 ? v.p_T
                                          : v.p_V * by_swept;
                const double volume = (by_swept + v.volume_p * p) / v.volume;
                row[c] = {p, (c == 0 ? 1 / v.volume : 0) - v.liquid * volume,
                          (c == 1 ? 1 / v.volume : 0) - v.gas * volume, c == 2 ? 1.0 : 0.0};
            }
        } else {
            v = VolumeState{};
            v.p = node.kind == PortKind::reservoir ? tank_[n] : 0;
            if (node.kind == PortKind::outside) continue;
            // Full of liquid, then air as the level uncovers the outlet: a smooth step over 2 cm3.
            const double u = std::clamp(y[node.state] / kReservoirOutlet, 0.0, 1.0);
            const double share = u * u * (3 - 2 * u), slope = 6 * u * (1 - u) / kReservoirOutlet;
            const double liquid = around_.jar().liquid;
            const double air = around_.air().gas * (around_.pressure + v.p) / around_.pressure;
            v.liquid = liquid * share;
            v.gas = air * (1 - share);
            if (slopes) work.slope[n][0] = {0, liquid * slope, -air * slope, 0};
        }
    }
}

void Model::locals(int k, const double* y, const Drive& drive, Work& work) const {
    const Instance& i = layout_.instances[k];
    const PartKind& kind = kind_of(hardware_, i);
    double* local = work.local[k].data();
    for (std::size_t s = 0; s < kind.states.size(); ++s)
        *local++ = y[i.state + s];
    for (int r = 0; r < kind.rods; ++r)
        *local++ = y[r];
    *local++ = drive.value;
    for (const int n : i.node) {
        const VolumeState& v = work.volume[n];
        *local++ = v.p;
        *local++ = v.liquid;
        *local++ = v.gas;
        *local++ = layout_.nodes[n].kind == PortKind::line ? y[layout_.nodes[n].state + 2]
                                                           : around_.temperature;
    }
}

/// Forces become the rod's speed, heat becomes warmth; everything else is a rate already.
double Model::row_factor(int k, int output) const {
    const PartKind& kind = kind_of(hardware_, layout_.instances[k]);
    const int forces = static_cast<int>(kind.states.size()), ports = forces + kind.rods;
    if (output >= forces && output < ports) return 1 / rod_damping_[output - forces];
    return 1;
}

void Model::rates(const double* y, const Drive& drive, const char* modes, bool located, Work& work,
                  double* f) const {
    volumes(y, work, false);
    std::fill(f, f + layout_.states, 0.0);
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const int part = static_cast<int>(k), first = layout_.first_guard[k];
        locals(part, y, drive, work);
        const Gates gates(modes + first, work.guard.data() + first, located);
        part_[k]->rates(work.local[k].data(), work.head[k].data(), gates, work.out.data());
        const std::vector<int>& row = map_[k].row;
        for (std::size_t o = 0; o < row.size(); ++o)
            if (row[o] >= 0) f[row[o]] += row_factor(part, static_cast<int>(o)) * work.out[o];
    }
    for (const Node& n : layout_.nodes)
        if (n.kind == PortKind::line)
            f[n.state + 2] /= kFluidHeat * around_.fluid.density() * y[n.state];
}

void Model::jacobian(const double* y, const Drive& drive, const char* modes, bool located,
                     Work& work, double* values, double* dfdt) const {
    volumes(y, work, true);
    std::fill(values, values + pattern_.column.size(), 0.0);
    std::fill(dfdt, dfdt + layout_.states, 0.0);
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const int part = static_cast<int>(k), first = layout_.first_guard[k];
        const int own = positions(kind), columns = kind.locals();
        locals(part, y, drive, work);
        const Gates gates(modes + first, work.guard.data() + first, located);
        part_[k]->derivatives(work.local[k].data(), work.head[k].data(), gates, work.out.data(),
                              work.jacobian.data());
        const PartMap& map = map_[k];
        for (std::size_t o = 0; o < map.row.size(); ++o) {
            if (map.row[o] < 0) continue;
            const double* slope = work.jacobian.data() + o * columns;
            const double factor = row_factor(part, static_cast<int>(o));
            for (int c = 0; c < own; ++c)
                values[map.own_slot[o * own + c]] += factor * slope[c];
            dfdt[map.row[o]] += factor * slope[own] * drive.rate;
            for (std::size_t port = 0; port < i.node.size(); ++port) {
                const double* by = slope + own + 1 + 4 * port;
                if (by[0] == 0 && by[1] == 0 && by[2] == 0 && by[3] == 0) continue;
                const auto& node = work.slope[i.node[port]];
                const int* slot = map.port[port].slot.data() + o * node.size();
                for (std::size_t c = 0; c < node.size(); ++c)
                    values[slot[c]] += factor * (by[0] * node[c].p + by[1] * node[c].liquid +
                                                 by[2] * node[c].gas + by[3] * node[c].T);
            }
        }
    }
    // Temperature rows carry 1 / (c rho L); no part makes heat yet, so its slope by L is zero.
    for (const Node& n : layout_.nodes)
        if (n.kind == PortKind::line) {
            const double factor = 1 / (kFluidHeat * around_.fluid.density() * y[n.state]);
            for (int s = pattern_.row_start[n.state + 2]; s < pattern_.row_start[n.state + 3]; ++s)
                values[s] *= factor;
        }
}

double Model::error_norm(const Work& work, const double* e, const ErrorScale& scale) const {
    double worst = 0;
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        worst = std::max({worst, std::abs(e[node.state]) / scale.volume,
                          std::abs(e[node.state + 1]) / scale.volume});
        if (node.kind != PortKind::line) continue;
        double p = 0;
        for (std::size_t c = 0; c < depends_[n].size(); ++c)
            p += work.slope[n][c].p * e[depends_[n][c]];
        worst = std::max(worst, std::abs(p) / scale.pressure);
        if (std::isnan(p)) return p;
    }
    for (int i = 0; i < layout_.states; ++i) {
        if (std::isnan(e[i])) return e[i];
        if (state_scale_[i] > 0)
            worst = std::max(worst, std::abs(e[i]) / (state_scale_[i] * scale.states));
    }
    return worst;
}

FluidLedger Model::ledger(const double* y) const {
    FluidLedger l;
    for (const Node& n : layout_.nodes) {
        const double liquid = y[n.state], gas = y[n.state + 1];
        switch (n.kind) {
        case PortKind::line:
            l.liquid_chambers += liquid, l.gas_chambers += gas;
            break;
        case PortKind::reservoir:
            l.liquid_reservoirs += liquid, l.gas_reservoirs += gas;
            break;
        case PortKind::outside:
            l.liquid_outside += liquid, l.gas_outside += gas;
            break;
        }
    }
    return l;
}

void Model::channel_values(const double* y, const Drive& drive, const char* modes, bool located,
                           Work& work, double* values) const {
    volumes(y, work, false);
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        for (std::size_t port = 0; port < i.node.size(); ++port) {
            const Node& node = layout_.nodes[i.node[port]];
            *values++ = node.kind == PortKind::line ? work.volume[i.node[port]].p : y[node.state];
            *values++ = y[node.state + 1];
        }
        const int first = layout_.first_guard[k];
        locals(static_cast<int>(k), y, drive, work);
        part_[k]->quantities(work.local[k].data(), work.head[k].data(),
                             Gates(modes + first, work.guard.data() + first, located), values);
        values += kind.quantities.size();
    }
}

} // namespace pedalbench
