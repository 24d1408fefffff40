// The Jacobian of the circuit: what each part says of its own locals, chained through the nodes.
#include <algorithm>

#include "circuit/model.hpp"

namespace pedalbench {

/// How pressure and composition of every node follow its dependencies, after volumes().
void Model::slopes(const double* y, Work& work) const {
    for (auto& row : work.slope)
        std::fill(row.begin(), row.end(), NodeSlope{});
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        if (!sources_[k].sweeps) continue;
        const std::size_t ports = sources_[k].port.size(), n = sources_[k].column.size();
        double* volume = work.sweep.data();
        double* slope = volume + ports;
        positions(k, y, work.x.data());
        part_[k]->swept(work.x.data(), volume, slope);
        for (std::size_t port = 0; port < ports; ++port)
            for (std::size_t s = 0; s < n; ++s)
                if (const int at = swept_at_[k][port * n + s]; at >= 0) // dV_swept/dstate for now
                    work.slope[sources_[k].port[port].node][at].p += slope[port * n + s];
    }
    press_on_reservoirs(y, work, true);
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        const VolumeState& v = work.volume[n];
        auto& row = work.slope[n];
        if (node.kind == PortKind::line) {
            for (std::size_t c = 0; c < row.size(); ++c) {
                const double by_swept = c < 3 ? 0 : row[c].p;
                const double p = c == 0   ? v.p_L
                                 : c == 1 ? v.p_G
                                 : c == 2 ? v.p_T
                                          : v.p_V * by_swept;
                const double volume = (by_swept + v.volume_p * p) * work.per_volume[n];
                row[c] = {p, (c == 0 ? work.per_volume[n] : 0) - v.liquid * volume,
                          (c == 1 ? work.per_volume[n] : 0) - v.gas * volume,
                          -work.dissolved[n] * volume};
            }
        } else if (node.kind == PortKind::reservoir) {
            double slope = 0;
            const double share = submerged_share(y[node.state], &slope);
            const double air = around_.air().gas / around_.pressure;
            row[0] = {0, around_.jar().liquid * slope, -air * (around_.pressure + v.p) * slope,
                      around_.jar().dissolved * slope};
            for (std::size_t c = 2; c < row.size(); ++c)
                row[c].gas = air * (1 - share) * row[c].p;
        }
    }
}

/// Values of the rows of a part, from its own table `slope`.
void Model::put(const PartMap& map, const double* slope, const Work& work, double* values) const {
    const double* by = slope;
    for (std::size_t o = 0; o < map.row.size(); ++o, by += map.ways) {
        if (map.row[o] < 0) continue;
        const double factor = map.factor[o];
        for (int e = map.own_start[o]; e < map.own_start[o + 1]; ++e)
            values[map.own[e].slot] += factor * by[map.own[e].way];
        for (const PortColumns& port : map.port) {
            const double* at = by + port.way;
            const int* slot = port.slot.data() + o * port.columns;
            if (port.sees != PortColumns::kFluid) {
                if (at[0] == 0) continue;
                if (port.sees == PortColumns::kLevel)
                    values[slot[0]] += factor * at[0];
                else
                    for (int c = 0; c < port.columns; ++c)
                        values[slot[c]] += factor * (at[0] * work.slope[port.node][c].p);
                continue;
            }
            const double warm = port.warms ? at[3] : 0;
            if (at[0] == 0 && at[1] == 0 && at[2] == 0 && warm == 0) continue;
            // Free gas and air in solution act on their own kind alone.
            const double gas = map.carries[o] == kGas ? at[2] : 0;
            const double dissolved = map.carries[o] == kDissolved ? at[2] : 0;
            const NodeSlope* node = work.slope[port.node].data();
            for (int c = 0; c < port.columns; ++c) {
                double sum = at[0] * node[c].p + at[1] * node[c].liquid + gas * node[c].gas;
                if (c == 2) sum += warm; // the node's own temperature
                values[slot[c]] += factor * (sum + dissolved * node[c].dissolved);
            }
            if (map.carries[o] == kDissolved && port.dissolved_slot[o] >= 0)
                values[port.dissolved_slot[o]] += at[2] * work.per_volume[port.node];
        }
    }
}

void Model::jacobian(const double* y, const Drive& drive, const char* modes, bool located,
                     Work& work, double* values, double* dfdt) const {
    volumes(y, work);
    slopes(y, work);
    std::fill(values, values + pattern_.column.size(), 0.0);
    std::fill(dfdt, dfdt + layout_.states, 0.0);
    std::fill(work.heat.begin(), work.heat.end(), 0.0);
    for (std::size_t k = 0; k < part_.size(); ++k) {
        const int part = static_cast<int>(k), first = layout_.first_guard[k];
        locals(part, y, drive, work);
        const Gates gates(modes + first, work.guard.data() + first, located);
        part_[k]->derivatives(work.local[k].data(), work.aside[k].data(), gates, work.out.data(),
                              work.jacobian.data());
        const PartMap& map = map_[k];
        const std::vector<int>& node = layout_.instances[k].node;
        for (std::size_t port = 0; port < node.size(); ++port)
            work.heat[node[port]] += work.out[map.positions + kPortOutputs * port + 2];
        if (map.drive >= 0)
            for (std::size_t o = 0; o < map.row.size(); ++o)
                if (map.row[o] >= 0)
                    dfdt[map.row[o]] +=
                        map.factor[o] * work.jacobian[o * map.ways + map.drive] * drive.rate;
        put(map, work.jacobian.data(), work, values);
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind != PortKind::line) continue;
        using D = Dual<4>;
        const VolumeState& v = work.volume[n];
        const D out = air_out_of_solution(around_.fluid, D::seed(y[node.state], 0),
                                          D::seed(y[node.state + 1], 1),
                                          D::seed(y[node.dissolved()], 2), D::seed(v.gas_p, 3));
        const auto& by = work.slope[n];
        for (std::size_t c = 0; c <= by.size(); ++c) {
            const double slope = c == by.size() ? out.d[2]
                                 : c == 2       ? out.d[3] * v.gas_p_T
                                                : out.d[3] * by[c].p + (c < 2 ? out.d[c] : 0);
            values[gas_slot_[n][c]] += slope;
            values[dissolved_slot_[n][c]] -= slope;
        }
        // Temperature rows are heat over capacity, which grows with the content.
        const double capacity = warm_capacity(static_cast<int>(n), y);
        for (int s = pattern_.row_start[node.state + 2]; s < pattern_.row_start[node.state + 3];
             ++s) {
            values[s] /= capacity;
            if (pattern_.column[s] == node.state)
                values[s] -= work.heat[n] * kHeatContent / (capacity * capacity);
        }
    }
}

} // namespace pedalbench
