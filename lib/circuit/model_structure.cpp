// What of the assembled circuit does not change with the state: heights, who depends on whom, the
// pattern of the Jacobian, names of channels.
#include <algorithm>
#include <cmath>
#include <set>

#include "circuit/model.hpp"

namespace pedalbench {

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
        for (int s = 0; s + 1 < node.states(); ++s)
            depends_[n].push_back(node.state + s);
    }
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const int n = kind.positions();
        std::vector<int> places(kind.ports.size() * n, -1);
        // Which positions sweep which port does not change with the state: ask once, at rest.
        std::vector<double> x(n + 1, 0), volume(kind.ports.size() + 1), slope(places.size() + 1);
        part_[k]->start(x.data());
        part_[k]->swept(x.data(), volume.data(), slope.data());
        for (std::size_t port = 0; port < kind.ports.size(); ++port)
            for (int s = 0; s < n; ++s) {
                if (slope[port * n + s] == 0) continue;
                std::vector<int>& list = depends_[i.node[port]];
                const int column = i.column(kind, s);
                if (column < 0) continue;
                const auto found = std::find(list.begin(), list.end(), column);
                places[port * n + s] = static_cast<int>(found - list.begin());
                if (found == list.end()) list.push_back(column);
            }
        swept_at_.push_back(std::move(places));
    }
    for (Tank& tank : tanks_) {
        const Instance& i = layout_.instances[tank.instance];
        for (std::size_t s = 0; s < kind_of(hardware_, i).states.size(); ++s) {
            tank.at.push_back(static_cast<int>(depends_[tank.node].size()));
            depends_[tank.node].push_back(i.state + static_cast<int>(s));
        }
    }
}

/// Contacts are latches: nothing has a slope by the lamp's wire, nor the wire by anything but the
/// lamp's own law. Without this its row and column would join everything with everything.
bool Model::couples(int row, int column) const {
    const auto wire = [this](int i) {
        return i < static_cast<int>(layout_.joints.size()) &&
               layout_.joints[i].kind == JointKind::wire;
    };
    return row >= 0 && column >= 0 && (row == column || !(wire(row) || wire(column)));
}

void Model::find_sources() {
    still_.assign(layout_.nodes.size(), 0);
    for (std::size_t k = 0; k < layout_.instances.size(); ++k) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const int states = static_cast<int>(kind.states.size());
        Sources from;
        for (int s = 0; s < kind.positions(); ++s) {
            from.column.push_back(i.column(kind, s));
            from.open.push_back(s < states ? 0 : open_value(kind.joints[s - states].kind));
        }
        for (std::size_t port = 0; port < i.node.size(); ++port) {
            const Node& node = layout_.nodes[i.node[port]];
            from.port.push_back({i.node[port], node.kind == PortKind::line ? node.state + 2 : -1,
                                 node.kind == PortKind::reservoir ? node.state : -1,
                                 kind.ports[port].kind == PortKind::level});
        }
        // What moves nothing anywhere takes the same room for good. An open joint stands still.
        from.sweeps =
            std::any_of(swept_at_[k].begin(), swept_at_[k].end(), [](int at) { return at >= 0; });
        if (!from.sweeps) {
            std::vector<double> x(from.open), volume(from.port.size() + 1);
            part_[k]->start(x.data());
            part_[k]->swept(x.data(), volume.data(), nullptr);
            for (std::size_t port = 0; port < from.port.size(); ++port)
                still_[from.port[port].node] += volume[port];
        }
        sources_.push_back(std::move(from));
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
        map.positions = kind.positions();
        for (int s = 0; s < states; ++s)
            map.row.push_back(i.state + s);
        map.row.insert(map.row.end(), i.joint.begin(), i.joint.end());
        map.carries.assign(map.row.size(), kNothing);
        for (const int n : i.node) {
            const Node& node = layout_.nodes[n];
            for (int s = 0; s < 3; ++s)
                map.row.push_back(s + 1 < node.states() ? node.state + s : -1);
            map.row.push_back(node.dissolved());
            map.carries.insert(map.carries.end(), {kNothing, kGas, kNothing, kDissolved});
        }
        // What parts give to a joint becomes its rate; everything else is a rate already.
        for (const int row : map.row)
            map.factor.push_back(
                row >= 0 && row < static_cast<int>(capacity_.size()) ? 1 / capacity_[row] : 1);
        for (const int row : map.row) {
            if (row < 0) continue;
            for (int s = 0; s < kind.positions(); ++s)
                if (const int column = i.column(kind, s); couples(row, column))
                    columns[row].insert(column);
            for (const int n : i.node)
                for (const int column : depends_[n])
                    if (couples(row, column)) columns[row].insert(column);
        }
        for (const int to : i.node)
            for (const int from : i.node)
                columns[layout_.nodes[to].dissolved()].insert(layout_.nodes[from].dissolved());
        map_.push_back(std::move(map));
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        if (node.kind == PortKind::line) columns[node.state + 1].insert(node.dissolved());
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
        const std::span<const int> direction = part_[k]->directions();
        map.ways = 1 + *std::max_element(direction.begin(), direction.end());
        map.drive = direction[map.positions];
        for (const int row : map.row) {
            map.own_start.push_back(static_cast<int>(map.own.size()));
            for (int s = 0; s < map.positions; ++s)
                if (const int column = i.column(kind, s); couples(row, column))
                    map.own.push_back({direction[s], slot(row, column)});
        }
        map.own_start.push_back(static_cast<int>(map.own.size()));
        for (std::size_t p = 0; p < i.node.size(); ++p) {
            const int* way = direction.data() + map.positions + 1 + kPortLocals * p;
            if (way[0] < 0) continue;
            const int n = i.node[p];
            const Node& node = layout_.nodes[n];
            PortColumns port;
            port.sees = way[1] >= 0                             ? PortColumns::kFluid
                        : kind.ports[p].kind == PortKind::level ? PortColumns::kLevel
                                                                : PortColumns::kPressure;
            port.warms = way[3] >= 0;
            port.node = n;
            port.way = way[0];
            port.columns = static_cast<int>(depends_[n].size());
            for (std::size_t o = 0; o < map.row.size(); ++o) {
                for (const int column : depends_[n])
                    port.slot.push_back(couples(map.row[o], column) ? slot(map.row[o], column)
                                                                    : -1);
                // In a reservoir it is as in any fluid that stands open to the air.
                const bool own = map.carries[o] == kDissolved && node.kind == PortKind::line;
                port.dissolved_slot.push_back(own ? slot(map.row[o], node.dissolved()) : -1);
            }
            map.port.push_back(std::move(port));
        }
    }
    for (std::size_t n = 0; n < layout_.nodes.size(); ++n) {
        const Node& node = layout_.nodes[n];
        gas_slot_.emplace_back();
        dissolved_slot_.emplace_back();
        if (node.kind != PortKind::line) continue;
        std::vector<int> by = depends_[n];
        by.push_back(node.dissolved());
        for (const int column : by) {
            gas_slot_[n].push_back(slot(node.state + 1, column));
            dissolved_slot_[n].push_back(slot(node.dissolved(), column));
        }
    }
}

void Model::name_channels() {
    for (const int k : layout_.listed) {
        const Instance& i = layout_.instances[k];
        const PartKind& kind = kind_of(hardware_, i);
        const auto lines =
            std::count_if(kind.ports.begin(), kind.ports.end(),
                          [](const PortInfo& p) { return p.kind == PortKind::line; });
        for (const PortInfo& port : kind.ports) {
            const std::string whole = i.name + "." + std::string(port.name);
            const std::string at = port.kind == PortKind::line && lines == 1 ? i.name : whole;
            if (port.kind == PortKind::line || port.kind == PortKind::sensing) {
                channels_.push_back({at + ".pressure", Dimension::pressure, "gauge pressure"});
                channels_.push_back({at + ".free_air", Dimension::volume,
                                     "free air in the volume at this point, counted at 1 atm"});
                channels_.push_back(
                    {at + ".dissolved_air", Dimension::volume,
                     "air in solution in the volume at this point, counted at 1 atm"});
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

std::size_t Model::channel(const std::string& path) const {
    const auto found = std::find_if(channels_.begin(), channels_.end(),
                                    [&path](const ChannelInfo& c) { return c.path == path; });
    if (found == channels_.end())
        throw InvalidHardware(std::vector<Refusal>{{path, "there is no such channel"}});
    return static_cast<std::size_t>(found - channels_.begin());
}

} // namespace pedalbench
