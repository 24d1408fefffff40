#include "circuit/layout.hpp"

#include <algorithm>
#include <map>

namespace pedalbench {
namespace {

std::string join(const std::vector<Refusal>& refusals) {
    std::string text;
    for (const Refusal& r : refusals)
        text += (text.empty() ? "" : "\n") + r.field + ": " + r.reason;
    return text;
}

std::string first_part(const Run& run) {
    if (!run.parts.empty()) return run.parts.front();
    return run.branches.empty() ? "" : first_part(run.branches.front());
}
void put_in_order(Run& run) {
    for (Run& branch : run.branches)
        put_in_order(branch);
    std::sort(run.branches.begin(), run.branches.end(),
              [](const Run& a, const Run& b) { return first_part(a) < first_part(b); });
}

/// Walks the circuits outward and joins ports to nodes. It goes by names, so that nothing depends
/// on the order in which a file lists parts, circuits or branches: not even the last digit.
class Walker {
  public:
    explicit Walker(const Hardware& hardware) : hardware_(hardware) {
        for (std::size_t i = 0; i < hardware.parts.size(); ++i)
            if (!spec_.emplace(hardware.parts[i].name, static_cast<int>(i)).second)
                refuse(hardware.parts[i].name, "two parts have this name");
        for (const auto& [name, spec] : spec_)
            if (segments(hardware.parts[spec]) <= 1) // or it is made when the walk reaches it
                instance_[name] = add_instance(spec, name);
    }

    Layout finish() {
        std::vector<Circuit> circuits = hardware_.circuits;
        std::sort(circuits.begin(), circuits.end(),
                  [](const Circuit& a, const Circuit& b) { return a.outlet < b.outlet; });
        for (Circuit& circuit : circuits) {
            put_in_order(circuit.run);
            start(circuit);
        }
        join_open_ports();
        join_rods();
        join_wheels();
        join_wire();
        refuse_loose();
        for (Instance& i : layout_.instances)
            for (std::size_t port = 0; port < i.node.size(); ++port) {
                if (i.node[port] < 0 && unused(i, kind(i).ports[port])) i.node[port] = i.node[0];
                if (i.node[port] < 0)
                    refuse(i.name, "its " + std::string(kind(i).ports[port].name) +
                                       " is joined to nothing: name it in a circuit");
            }
        if (!refusals_.empty()) throw InvalidHardware(refusals_);
        number();
        return layout_;
    }

  private:
    static int segments(const PartSpec& spec) {
        const std::size_t i = spec.values.find("segments");
        return i < spec.values.size() ? static_cast<int>(spec.values.at(i)) : 1;
    }
    const PartKind& kind(const Instance& i) const { return *hardware_.parts[i.spec].kind; }
    bool unused(const Instance& i, const PortInfo& port) const {
        return port.kind == PortKind::sensing && hardware_.parts[i.spec].values[port.used_by] == 0;
    }
    void refuse(const std::string& where, const std::string& why) {
        refusals_.push_back({where, why});
    }

    int add_instance(int spec, const std::string& name) {
        Instance i;
        i.spec = spec;
        i.name = name;
        i.node.assign(hardware_.parts[spec].kind->ports.size(), -1);
        i.joint.assign(hardware_.parts[spec].kind->joints.size(), -1);
        layout_.instances.push_back(i);
        return static_cast<int>(layout_.instances.size()) - 1;
    }
    int add_node(PortKind port_kind, const std::string& name, int upstream) {
        Node n;
        n.kind = port_kind;
        n.name = name;
        n.upstream = upstream;
        layout_.nodes.push_back(n);
        return static_cast<int>(layout_.nodes.size()) - 1;
    }

    void start(const Circuit& circuit) {
        for (Instance& i : layout_.instances)
            for (std::size_t port = 0; port < i.node.size(); ++port)
                if (kind(i).ports[port].kind == PortKind::line && !kind(i).ports[port].inner &&
                    kind(i).ports[port].name == circuit.outlet && kind(i).has(JointKind::rod)) {
                    if (i.node[port] >= 0) {
                        refuse("circuits." + circuit.outlet,
                               "stands twice: let one circuit branch instead");
                        return;
                    }
                    i.node[port] = add_node(PortKind::line, i.name + "." + circuit.outlet, -1);
                    walk(circuit.run, i.node[port]);
                    return;
                }
        refuse("circuits." + circuit.outlet, "no part has an outlet of that name");
    }

    void walk(const Run& run, int node) {
        for (const std::string& name : run.parts)
            node = pass(name, node);
        for (const Run& branch : run.branches)
            walk(branch, node);
    }

    /// Joins the part to the node; returns the node behind it.
    int pass(const std::string& name, int node) {
        const std::size_t dot = name.find('.');
        if (dot != std::string::npos) {
            sense(name.substr(0, dot), name.substr(dot + 1), node);
            return node;
        }
        const auto spec = spec_.find(name);
        if (spec == spec_.end()) {
            refuse("circuits", "there is no part named " + name);
            return node;
        }
        const PartSpec& part = hardware_.parts[spec->second];
        if (segments(part) > 1) return pass_segments(part, spec->second, node);
        Instance& i = layout_.instances[instance_.at(name)];
        if (!part.kind->through) {
            for (std::size_t port = 0; port < i.node.size(); ++port)
                if (part.kind->ports[port].kind == PortKind::line &&
                    !part.kind->ports[port].inner && i.node[port] < 0) {
                    i.node[port] = node;
                    return node;
                }
            refuse(name, "stands in the circuits more often than it has ports");
            return node;
        }
        if (i.node[0] >= 0) {
            refuse(name, "stands in the circuits twice");
            return node;
        }
        i.node[0] = node;
        i.node[1] = add_node(PortKind::line, name + ".outlet", node);
        return i.node[1];
    }

    /// Lets a sensing port of a part feel the node.
    void sense(const std::string& part, const std::string& port, int node) {
        const auto found = instance_.find(part);
        if (found != instance_.end()) {
            Instance& i = layout_.instances[found->second];
            for (std::size_t k = 0; k < i.node.size(); ++k) {
                if (kind(i).ports[k].kind != PortKind::sensing || kind(i).ports[k].name != port)
                    continue;
                if (i.node[k] >= 0) refuse(part, "its " + port + " stands in the circuits twice");
                i.node[k] = node;
                return;
            }
        }
        refuse("circuits", "no part feels a pressure at " + part + "." + port);
    }

    int pass_segments(const PartSpec& part, int spec, int node) {
        if (instance_.count(part.name)) {
            refuse(part.name, "stands in the circuits twice");
            return node;
        }
        for (int k = 1; k <= segments(part); ++k) {
            const std::string name = part.name + (k == 1 ? "" : "#" + std::to_string(k));
            const int i = add_instance(spec, name);
            if (k == 1) instance_[part.name] = i;
            layout_.instances[i].node[0] = node;
            node = layout_.instances[i].node[1] = add_node(PortKind::line, name + ".outlet", node);
        }
        return node;
    }

    /// Reservoirs of one name are one node; every opening to the world counts for itself, and so
    /// does a volume that no circuit reaches.
    void join_open_ports() {
        std::map<std::string_view, int> reservoir;
        for (Instance& i : layout_.instances)
            for (std::size_t port = 0; port < i.node.size(); ++port) {
                const PortInfo& info = kind(i).ports[port];
                const std::string name = i.name + "." + std::string(info.name);
                if (info.kind == PortKind::outside || info.inner)
                    i.node[port] = add_node(info.kind, name, -1);
                if (info.kind != PortKind::reservoir && info.kind != PortKind::level) continue;
                if (!reservoir.count(info.name))
                    reservoir[info.name] = add_node(PortKind::reservoir, name, -1);
                i.node[port] = reservoir[info.name];
            }
    }

    static bool links(const PartKind& kind) {
        return std::count_if(kind.joints.begin(), kind.joints.end(),
                             [](const JointInfo& j) { return j.kind == JointKind::rod; }) > 1;
    }

    /// One rod from the pedal to the cylinder; a part with two rod joints, such as a booster, cuts
    /// it in two.
    void join_rods() {
        std::vector<Instance*> chain;
        for (Instance& i : layout_.instances)
            if (links(kind(i))) chain.push_back(&i);
        std::vector<Slot> rod;
        for (Instance& i : layout_.instances)
            if (kind(i).driven) rod.push_back({&i, 0});
        std::string name = "push rod";
        for (Instance* link : chain) {
            rod.push_back({link, 0});
            join(JointKind::rod, name, rod);
            rod = {{link, 1}};
            name = link->name + " rod";
        }
        for (Instance& i : layout_.instances)
            if (kind(i).has(JointKind::rod) && !kind(i).driven && !links(kind(i)))
                rod.push_back({&i, 0});
        if (!join(JointKind::rod, name, rod))
            refuse("parts", "there is no master cylinder for the push rod to work on");
    }

    /// What sits on one wheel shares its speed, its angle and its heat. The vehicle has a joint for
    /// each of its wheels, by name.
    void join_wheels() {
        std::vector<Wheel> wheels = hardware_.wheels;
        std::sort(wheels.begin(), wheels.end(),
                  [](const Wheel& a, const Wheel& b) { return a.name < b.name; });
        for (const Wheel& wheel : wheels) {
            std::map<JointKind, std::vector<Slot>> slots;
            for (const std::string& name : wheel.parts) {
                const auto at = instance_.find(name);
                if (at == instance_.end()) {
                    refuse("wheels." + wheel.name, "there is no part named " + name);
                    continue;
                }
                Instance& i = layout_.instances[at->second];
                for (std::size_t j = 0; j < i.joint.size(); ++j) {
                    const JointKind joint = kind(i).joints[j].kind;
                    if (joint == JointKind::rod || joint == JointKind::wire) continue;
                    if (i.joint[j] >= 0) refuse(name, "sits on two wheels");
                    slots[joint].push_back({&i, static_cast<int>(j)});
                }
            }
            bool known = false;
            for (Instance& i : layout_.instances)
                for (std::size_t j = 0; j < i.joint.size(); ++j)
                    if (kind(i).joints[j].name == wheel.name) {
                        known = true;
                        slots[kind(i).joints[j].kind].push_back({&i, static_cast<int>(j)});
                    }
            if (!known)
                refuse("wheels." + wheel.name, "there is no vehicle with a wheel of that name");
            for (const auto& [joint, sharing] : slots)
                join(joint, wheel.name, sharing);
        }
    }

    /// All contacts of a car lie on one wire to its one warning lamp.
    void join_wire() {
        std::vector<Slot> slots;
        int lamps = 0;
        for (Instance& i : layout_.instances)
            for (std::size_t j = 0; j < i.joint.size(); ++j) {
                if (kind(i).joints[j].kind != JointKind::wire) continue;
                slots.push_back({&i, static_cast<int>(j)});
                if (kind(i).joints[j].holds && ++lamps > 1)
                    refuse(i.name, "there is another warning lamp already: all contacts light one");
            }
        join(JointKind::wire, "lamp wire", slots);
    }

    /// A wheel or a disc that sits nowhere would turn and heat nothing.
    void refuse_loose() {
        for (const Instance& i : layout_.instances)
            for (std::size_t j = 0; j < i.joint.size(); ++j)
                if (kind(i).joints[j].holds && i.joint[j] < 0)
                    refuse(i.name, "its " + std::string(kind(i).joints[j].name) +
                                       " is joined to nothing: name it under wheels");
    }

    struct Slot {
        Instance* part;
        int joint;
    };
    /// False, and nothing is joined, if no part brings capacity.
    bool join(JointKind joint, const std::string& name, const std::vector<Slot>& slots) {
        const auto holds = [this](const Slot& s) { return kind(*s.part).joints[s.joint].holds; };
        if (std::none_of(slots.begin(), slots.end(), holds)) return false;
        for (const Slot& s : slots)
            s.part->joint[s.joint] = static_cast<int>(layout_.joints.size());
        layout_.joints.push_back({joint, name});
        return true;
    }

    void number() {
        int next = static_cast<int>(layout_.joints.size());
        for (Instance& i : layout_.instances) {
            i.state = next;
            next += static_cast<int>(kind(i).states.size());
            layout_.first_guard.push_back(layout_.guards);
            layout_.guards += static_cast<int>(kind(i).guards.size());
        }
        for (Node& n : layout_.nodes) {
            n.state = next;
            next += n.states();
        }
        layout_.states = next;
        for (std::size_t i = 0; i < layout_.instances.size(); ++i)
            layout_.listed.push_back(static_cast<int>(i));
        std::stable_sort(layout_.listed.begin(), layout_.listed.end(), [this](int a, int b) {
            return layout_.instances[a].spec < layout_.instances[b].spec;
        });
    }

    const Hardware& hardware_;
    Layout layout_;
    std::map<std::string, int> spec_, instance_;
    std::vector<Refusal> refusals_;
};

} // namespace

InvalidHardware::InvalidHardware(std::vector<Refusal> refusals)
    : std::runtime_error(join(refusals)), refusals_(std::move(refusals)) {}

bool has_lamp(const Hardware& hardware) {
    for (const PartSpec& spec : hardware.parts)
        for (const JointInfo& j : spec.kind->joints)
            if (j.kind == JointKind::wire && j.holds) return true;
    return false;
}

Layout make_layout(const Hardware& hardware) {
    return Walker(hardware).finish();
}

std::string Layout::state_name(const Hardware& hardware, int i) const {
    if (i < static_cast<int>(joints.size())) {
        constexpr const char* kValue[] = {" position", " speed", " angle", " face temperature",
                                          " contacts"};
        return joints[i].name + kValue[static_cast<int>(joints[i].kind)];
    }
    for (const Instance& part : instances) {
        const PartKind& kind = *hardware.parts[part.spec].kind;
        const int own = i - part.state;
        if (own >= 0 && own < static_cast<int>(kind.states.size()))
            return part.name + " " + std::string(kind.states[own].name);
    }
    constexpr const char* kContent[] = {" liquid content", " gas content", " temperature"};
    for (const Node& n : nodes) {
        if (i == n.dissolved()) return n.name + " air in solution";
        if (i >= n.state && i < n.dissolved()) return n.name + kContent[i - n.state];
    }
    return "state " + std::to_string(i);
}

} // namespace pedalbench
