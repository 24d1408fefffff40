#include "circuit/model.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>

#include "parts/registry.hpp"
#include "system/changes.hpp"

namespace pedalbench {
namespace {

constexpr double kFullest = 9; // parts of air to one of fluid in a volume at the start

/// Error of a joint's value that nobody would notice, in its own unit.
double tolerance_of(JointKind kind) {
    switch (kind) {
    case JointKind::rod:
        return 2e-7;
    case JointKind::wheel:
        return 5e-3;
    case JointKind::angle:
        return 1e-3;
    case JointKind::heat:
        return 0.02;
    case JointKind::wire:
        return 0.01;
    }
    return 1;
}

} // namespace

Model::Model(const Hardware& hardware)
    : hardware_(hardware), around_(make_surroundings(hardware.fluid, hardware.surroundings)),
      layout_(make_layout(hardware)) {
    const std::vector<Refusal> refusals = complete(hardware_);
    if (!refusals.empty()) throw InvalidHardware(refusals);

    capacity_.assign(layout_.joints.size(), 0);
    walls_.resize(layout_.nodes.size());
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n)
        if (layout_.nodes[n].kind == PortKind::line) lines_.push_back(static_cast<int>(n));
    metal_.assign(layout_.nodes.size(), 0);
    state_scale_.assign(layout_.states, 0);
    for (std::size_t j = 0; j < layout_.joints.size(); ++j)
        state_scale_[j] = tolerance_of(layout_.joints[j].kind);
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        part_.push_back(kind.make(hardware_.parts[i.spec].values, around_));
        for (std::size_t j = 0; j < i.joint.size(); ++j)
            if (i.joint[j] >= 0)
                capacity_[i.joint[j]] += part_.back()->capacity(static_cast<int>(j));
        for (std::size_t port = 0; port < kind.ports.size(); ++port) {
            walls_[i.node[port]].add(part_.back()->wall(static_cast<int>(port)));
            metal_[i.node[port]] += part_.back()->heat_capacity(static_cast<int>(port));
            if (kind.ports[port].kind == PortKind::level)
                tanks_.push_back({static_cast<int>(k), static_cast<int>(port), i.node[port], {}});
        }
        for (const GuardInfo& g : kind.guards) {
            guard_info_.push_back(&g);
            guard_instance_.push_back(static_cast<int>(k));
        }
        for (std::size_t s = 0; s < kind.states.size(); ++s)
            state_scale_[i.state + s] = kind.states[s].tolerance;
    }
    locate_heights();
    find_dependencies();
    find_sources();
    make_pattern();
    name_channels();
    refuse_full_pockets();
}

Work Model::make_work() const {
    Work w;
    w.volume.resize(layout_.nodes.size());
    w.content.resize(lines_.size());
    w.line.resize(lines_.size());
    w.swept.resize(layout_.nodes.size());
    w.dissolved.resize(layout_.nodes.size());
    w.per_volume.resize(layout_.nodes.size());
    w.tank.resize(layout_.nodes.size());
    w.heat.resize(layout_.nodes.size());
    for (const auto& d : depends_)
        w.slope.emplace_back(d.size());
    w.guard.assign(layout_.guards, -1);
    std::size_t outputs = 1, jacobian = 1, sweep = 1, x = 1;
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        w.local.emplace_back(kind.locals());
        w.aside.emplace_back(kind.ports.size() + 1);
        for (std::size_t port = 0; port < i.node.size(); ++port)
            w.aside.back()[port].head = around_.fluid.density() * kGravity * height_[i.node[port]];
        outputs = std::max(outputs, static_cast<std::size_t>(kind.outputs()));
        jacobian = std::max(jacobian, static_cast<std::size_t>(kind.outputs() * kind.locals()));
        sweep = std::max(sweep, kind.ports.size() * (kind.positions() + 1));
        x = std::max(x, static_cast<std::size_t>(kind.positions()) + 1);
    }
    w.out.resize(outputs);
    w.jacobian.resize(jacobian);
    w.sweep.resize(sweep);
    w.x.resize(x);
    return w;
}

std::vector<double> Model::start() const {
    std::vector<double> y(layout_.states, 0);
    for (std::size_t j = 0; j < layout_.joints.size(); ++j)
        y[j] = open_value(layout_.joints[j].kind);
    for (std::size_t k = 0; k < layout_.instances.size(); ++k)
        part_[k]->start(y.data() + layout_.instances[k].state);
    Work work = make_work();
    const std::vector<double> pockets = at_nodes(&Part::pocket), levels = at_nodes(&Part::level);
    for (const Node& node : layout_.nodes)
        if (node.kind == PortKind::line) y[node.state + 2] = around_.temperature;
    volumes(y.data(), work); // for the swept volumes and the tanks only
    double reservoir_height = 0, tank = 0;
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n)
        if (layout_.nodes[n].kind == PortKind::reservoir) {
            reservoir_height = height_[n];
            tank = work.tank[n];
        }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind != PortKind::line) continue;
        const double p =
            tank + around_.fluid.density() * kGravity * (reservoir_height - height_[n]);
        const double T = around_.temperature, volume = work.swept[n] + walls_[n].stretch(p);
        const double gas = around_.fluid.data().free_air * volume + pockets[n];
        const double gas_volume = (gas + kNucleus) * kStandardPressure * T / kReferenceTemperature /
                                  (p + around_.pressure - around_.fluid.vapour_pressure(T));
        y[node.state] = (volume - gas_volume) / around_.fluid.specific_volume(p, T);
        y[node.state + 1] = gas;
        // As full as it gets while it stands open to the air, before any tank is put on.
        y[node.dissolved()] =
            saturated_air(around_.fluid, y[node.state],
                          p - tank + around_.pressure - around_.fluid.vapour_pressure(T));
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n)
        if (layout_.nodes[n].kind == PortKind::reservoir) {
            y[layout_.nodes[n].state] = levels[n];
            y[layout_.nodes[n].dissolved()] =
                saturated_air(around_.fluid, levels[n], around_.pressure);
        }
    return y;
}

std::vector<double> Model::at_nodes(double (Part::*says)(int) const) const {
    std::vector<double> sum(layout_.nodes.size(), 0);
    for (std::size_t k = 0; k < part_.size(); ++k)
        for (std::size_t port = 0; port < layout_.instances[k].node.size(); ++port)
            sum[layout_.instances[k].node[port]] += ((*part_[k]).*says)(static_cast<int>(port));
    return sum;
}

void Model::refuse_full_pockets() const {
    const std::vector<double> pockets = at_nodes(&Part::pocket), y = start();
    for (std::size_t k = 0; k < part_.size(); ++k)
        for (std::size_t port = 0; port < layout_.instances[k].node.size(); ++port) {
            const int n = layout_.instances[k].node[port];
            if (part_[k]->pocket(static_cast<int>(port)) <= 0 ||
                y[layout_.nodes[n].state] >= pockets[n] / kFullest)
                continue;
            const double room = y[layout_.nodes[n].state] + pockets[n]; // m3, or nearly so
            char most[32];
            std::snprintf(most, sizeof most, "%.2g cm3", room * kFullest / (kFullest + 1) * 1e6);
            throw InvalidHardware(
                {{layout_.instances[k].name + ".pocket",
                  "air for which there is no room where it stands, together "
                  "with what else is there: at most about " +
                      std::string(most) + ", or let it stand where there is more room"}});
        }
}

void Model::set_off(double* y) const {
    std::vector<double> joint;
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        joint.assign(i.joint.size() + 1, 0);
        for (std::size_t j = 0; j < i.joint.size(); ++j)
            if (i.joint[j] >= 0) joint[j] = y[i.joint[j]];
        part_[k]->set_off(y + i.state, joint.data());
        for (std::size_t j = 0; j < i.joint.size(); ++j)
            if (i.joint[j] >= 0) y[i.joint[j]] = joint[j];
    }
}

void Model::press_on_reservoirs(const double* y, Work& work, bool slopes) const {
    std::fill(work.tank.begin(), work.tank.end(), 0.0);
    for (const Tank& tank : tanks_) {
        const double* x = y + layout_.instances[tank.instance].state;
        work.tank[tank.node] += part_[tank.instance]->tank_pressure(tank.port, x, work.x.data());
        if (!slopes) continue;
        for (std::size_t s = 0; s < tank.at.size(); ++s)
            work.slope[tank.node][tank.at[s]].p += work.x[s];
    }
}

double* Model::positions(std::size_t k, const double* y, double* to) const {
    const Sources& from = sources_[k];
    for (std::size_t s = 0; s < from.column.size(); ++s)
        *to++ = from.column[s] >= 0 ? y[from.column[s]] : from.open[s];
    return to;
}

void Model::volumes(const double* y, Work& work) const {
    const auto states = static_cast<std::size_t>(layout_.states);
    if (work.at.size() == states && std::memcmp(work.at.data(), y, states * sizeof *y) == 0) return;
    work.at.assign(y, y + states);
    work.swept = still_;
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        if (!sources_[k].sweeps) continue;
        positions(k, y, work.x.data());
        part_[k]->swept(work.x.data(), work.sweep.data(), nullptr);
        for (std::size_t port = 0; port < sources_[k].port.size(); ++port)
            work.swept[sources_[k].port[port].node] += work.sweep[port];
    }
    press_on_reservoirs(y, work, false);
    for (std::size_t k = 0; k < lines_.size(); ++k) {
        const int n = lines_[k];
        const double* content = y + layout_.nodes[n].state;
        work.content[k] = {&walls_[n], work.swept[n], content[0], content[1], content[2]};
    }
    solve_volumes(around_.fluid, work.content, kNucleus, around_.pressure, work.line.data());
    auto line = work.line.begin();
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        VolumeState& v = work.volume[n];
        if (node.kind == PortKind::line) {
            v = *line++;
            work.per_volume[n] = 1 / v.volume;
            work.dissolved[n] = y[node.dissolved()] / v.volume;
        } else {
            v = VolumeState{};
            v.p = work.tank[n];
            work.dissolved[n] = work.per_volume[n] = 0;
            if (node.kind == PortKind::outside) continue;
            // Open to the air, what stands there is full of it whatever came back.
            const double share = submerged_share(y[node.state]);
            v.liquid = around_.jar().liquid * share;
            v.gas = around_.air().gas * (around_.pressure + v.p) / around_.pressure * (1 - share);
            work.dissolved[n] = around_.jar().dissolved * share;
        }
    }
}

void Model::locals(int k, const double* y, const Drive& drive, Work& work) const {
    const Sources& from = sources_[k];
    double* local = positions(static_cast<std::size_t>(k), y, work.local[k].data());
    *local++ = drive.value;
    PortAside* aside = work.aside[k].data();
    for (const Sources::Port& port : from.port) {
        const VolumeState& v = work.volume[port.node];
        if (port.level >= 0) aside->level = y[port.level];
        ++aside;
        *local++ = port.feels_level ? y[port.level] : v.p;
        *local++ = v.liquid;
        *local++ = v.gas;
        *local++ = port.temperature >= 0 ? y[port.temperature] : around_.temperature;
        *local++ = work.dissolved[port.node];
    }
}

double Model::open_value(JointKind kind) const {
    return kind == JointKind::heat ? around_.temperature : 0;
}

/// Fluid and the metal that goes warm with it [J/K].
double Model::warm_capacity(int n, const double* y) const {
    return kHeatContent * y[layout_.nodes[n].state] + metal_[n];
}

void Model::rates(const double* y, const Drive& drive, const char* modes, bool located, Work& work,
                  double* f) const {
    volumes(y, work);
    std::fill(f, f + layout_.states, 0.0);
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const int part = static_cast<int>(k), first = layout_.first_guard[k];
        locals(part, y, drive, work);
        const Gates gates(modes + first, work.guard.data() + first, located);
        part_[k]->rates(work.local[k].data(), work.aside[k].data(), gates, work.out.data());
        const PartMap& map = map_[k];
        for (std::size_t o = 0; o < map.row.size(); ++o)
            if (map.row[o] >= 0) f[map.row[o]] += map.factor[o] * work.out[o];
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind != PortKind::line) continue;
        f[node.state + 2] /= warm_capacity(static_cast<int>(n), y);
        const double out = air_out_of_solution(around_.fluid, y[node.state], y[node.state + 1],
                                               y[node.dissolved()], work.volume[n].gas_p);
        f[node.state + 1] += out;
        f[node.dissolved()] -= out;
    }
}

double Model::error_norm(const Work& work, const double* e, const ErrorScale& scale) const {
    double worst = 0;
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        worst = std::max({worst, std::abs(e[node.state]) / scale.volume,
                          std::abs(e[node.state + 1]) / scale.volume,
                          std::abs(e[node.dissolved()]) / scale.volume});
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

void Model::error_weights(const double* y, Work& work, const ErrorScale& scale,
                          double* weight) const {
    volumes(y, work);
    slopes(y, work);
    for (int i = 0; i < layout_.states; ++i)
        weight[i] = state_scale_[i] > 0 ? 1 / (state_scale_[i] * scale.states) : 0;
    const auto at_least = [weight](int i, double w) { weight[i] = std::max(weight[i], w); };
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        for (const int i : {node.state, node.state + 1, node.dissolved()})
            at_least(i, 1 / scale.volume);
        if (node.kind != PortKind::line) continue;
        for (std::size_t c = 0; c < depends_[n].size(); ++c)
            at_least(depends_[n][c], std::abs(work.slope[n][c].p) / scale.pressure);
    }
}

FluidLedger Model::ledger(const double* y) const {
    FluidLedger l;
    for (const Node& n : layout_.nodes) {
        const double liquid = y[n.state], gas = y[n.state + 1];
        l.dissolved += y[n.dissolved()];
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
        case PortKind::sensing:
        case PortKind::level:
            break; // no node is of these kinds
        }
    }
    return l;
}

void Model::channel_values(const double* y, const Drive& drive, const char* modes, bool located,
                           Work& work, double* values) const {
    volumes(y, work);
    for (const int k : layout_.listed) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        for (std::size_t port = 0; port < i.node.size(); ++port) {
            const Node& node = layout_.nodes[i.node[port]];
            *values++ = node.kind == PortKind::line ? work.volume[i.node[port]].p : y[node.state];
            *values++ = y[node.state + 1];
            if (node.kind == PortKind::line) *values++ = y[node.dissolved()];
        }
        const int first = layout_.first_guard[k];
        locals(k, y, drive, work);
        part_[k]->quantities(work.local[k].data(), work.aside[k].data(),
                             Gates(modes + first, work.guard.data() + first, located), values);
        values += kind.quantities.size();
    }
}

} // namespace pedalbench
