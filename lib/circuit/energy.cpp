// The energy account of the circuit: what it stores and where its power goes.
#include "circuit/model.hpp"

namespace pedalbench {

/// Of a node, with the height at which the content counts. A bath is full of air at its own
/// pressure.
Potentials Model::potentials(int n, const double* y, const Work& work, double height) const {
    const Node& node = layout_.nodes[n];
    const bool line = node.kind == PortKind::line;
    const double content = line ? y[node.state] : around_.jar().liquid;
    const double dissolved = line ? y[node.dissolved()] : around_.jar().dissolved;
    Potentials mu(around_.fluid, around_.pressure, work.volume[n].p,
                  line ? y[node.state + 2] : around_.temperature, content, dissolved);
    mu.liquid += around_.fluid.density() * kGravity * height;
    return mu;
}

Energy Model::energy(const double* y, const Drive& drive, const char* modes, bool located,
                     Work& work) const {
    std::vector<double> rate(layout_.states), values(pattern_.column.size());
    rates(y, drive, modes, located, work, rate.data());
    std::vector<double> unused(layout_.states);
    jacobian(y, drive, modes, located, work, values.data(), unused.data()); // for the node slopes

    Energy e;
    std::vector<double> pressure_rate(layout_.nodes.size(), 0);
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        for (std::size_t c = 0; c < depends_[n].size(); ++c)
            pressure_rate[n] += work.slope[n][c].p * rate[depends_[n][c]];
        if (node.kind != PortKind::line) continue;
        const double L = y[node.state], G = y[node.state + 1], T = y[node.state + 2];
        const double D = y[node.dissolved()], p = work.volume[n].p;
        const Potentials mu = potentials(static_cast<int>(n), y, work, height_[n]);
        e.stored += L * mu.liquid + (G + kNucleus) * mu.gas + D * mu.dissolved - p * work.swept[n] -
                    walls_[n].integral(p);
        e.heat += warm_capacity(static_cast<int>(n), y) * (T - around_.temperature);
        // What comes out of solution goes from one potential to the other.
        e.lost += air_out_of_solution(around_.fluid, L, G, D, work.volume[n].gas_p) *
                  (mu.dissolved - mu.gas);
    }
    for (std::size_t j = 0; j < layout_.joints.size(); ++j) {
        const double value = y[j], moves = rate[j];
        if (layout_.joints[j].kind == JointKind::rod) e.lost += capacity_[j] * moves * moves;
        if (layout_.joints[j].kind == JointKind::wheel)
            e.stored += 0.5 * capacity_[j] * value * value;
        if (layout_.joints[j].kind == JointKind::heat)
            e.heat += capacity_[j] * (value - around_.temperature);
    }

    std::vector<double> local_rate, slope, out;
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const Gates gates(modes + layout_.first_guard[k],
                          work.guard.data() + layout_.first_guard[k], located);
        const double* local = work.local[k].data();
        const PortAside* aside = work.aside[k].data();
        out.assign(kind.outputs() + 1, 0);
        part_[k]->rates(local, aside, gates, out.data());

        local_rate.assign(kind.locals() + 1, 0);
        for (int s = 0; s < kind.positions(); ++s)
            if (i.column(kind, s) >= 0) local_rate[s] = rate[i.column(kind, s)];
        local_rate[kind.positions()] = drive.rate;
        for (std::size_t port = 0; port < i.node.size(); ++port)
            local_rate[kind.positions() + 1 + kPortLocals * port] = pressure_rate[i.node[port]];

        slope.assign(kind.locals() + 1, 0);
        e.stored += part_[k]->stored(local, aside, gates, slope.data());
        const Exchange x = part_[k]->exchange(local, local_rate.data(), out.data(), aside, gates);
        e.supplied += x.supplied;
        e.unpaid += x.unpaid;
        e.lost += x.lost - x.column;
        e.rubbed += x.rubbed;
        e.cooled += x.cooled;

        // Flows: what they fall by is lost; a bath that gives supplies, one that takes is paid.
        bool inside = false;
        for (const int n : i.node)
            inside = inside || layout_.nodes[n].kind == PortKind::line;
        if (!inside) continue; // from bath to bath
        for (std::size_t port = 0; port < i.node.size(); ++port) {
            const int n = i.node[port];
            const Node& node = layout_.nodes[n];
            const double* flow = out.data() + kind.positions() + kPortOutputs * port;
            // The world begins where the part stands.
            const double height = height_[node.kind == PortKind::outside ? i.node[0] : n];
            const Potentials mu = potentials(n, y, work, height);
            const double brings = flow[0] * mu.liquid + flow[1] * mu.gas + flow[3] * mu.dissolved;
            e.lost -= brings;
            if (node.kind == PortKind::line) continue;
            e.supplied -= brings;
            e.cooled += flow[2];
        }
    }
    return e;
}

} // namespace pedalbench
