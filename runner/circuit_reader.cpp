// Circuits: lists of part names from the cylinder outward. Each fluid part stands where its ports
// are.
#include <algorithm>
#include <map>
#include <set>

#include "parts/part.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

int line_ports(const PartKind& kind) {
    return static_cast<int>(
        std::count_if(kind.ports.begin(), kind.ports.end(),
                      [](const PortInfo& p) { return p.kind == PortKind::line; }));
}

/// Circuits begin at its outlets, so it stands in none of them.
bool is_cylinder(const PartKind& kind) {
    return kind.has(JointKind::rod) && line_ports(kind) > 0;
}

/// All contacts of a car light one.
bool is_lamp(const PartKind& kind) {
    return std::any_of(kind.joints.begin(), kind.joints.end(),
                       [](const JointInfo& j) { return j.kind == JointKind::wire && j.holds; });
}

class CircuitReader {
  public:
    CircuitReader(const Source& source, Hardware& hardware) : source_(source), hardware_(hardware) {
        for (const PartSpec& part : hardware.parts)
            if (line_ports(*part.kind) > 0 && !is_cylinder(*part.kind)) names_.push_back(part.name);
    }

    void read(const Node& node) {
        const std::size_t before = source_.findings.size();
        const PartSpec* cylinder =
            only("cylinder", node, [](const PartKind& k) { return is_cylinder(k); });
        only("pedal", node, [](const PartKind& k) { return k.driven; });
        at_most_one("warning lamp", node, is_lamp);
        if (node.kind != Node::Kind::map) {
            refuse(source_.at(node), "circuits", describe(node),
                   "a map from outlets to lists of parts");
            return;
        }
        if (!cylinder) return;
        std::vector<std::string> outlets;
        for (const PortInfo& port : cylinder->kind->ports)
            if (port.kind == PortKind::line && !port.inner) outlets.emplace_back(port.name);
        for (std::size_t i = 0; i < node.items.size(); ++i) {
            const std::string& outlet = node.keys[i].text;
            path_ = "circuits." + outlet;
            if (std::find(outlets.begin(), outlets.end(), outlet) == outlets.end()) {
                refuse(source_.at(node.keys[i]), path_, "an unknown outlet",
                       one_of(outlets) + " of " + cylinder->name, nearest(outlet, outlets));
                continue;
            }
            here_.clear();
            hardware_.circuits.push_back({outlet, read_run(node.items[i])});
        }
        path_ = "circuits";
        // A misspelt name would otherwise be told twice.
        if (source_.findings.size() == before) refuse_left_over(node);
    }

  private:
    void refuse(const Position& at, std::string_view path, std::string_view found,
                std::string_view allowed, std::string_view meant = {}) {
        source_.findings.add(at, path, found, allowed, meant);
    }

    template <class Is>
    const PartSpec* at_most_one(std::string_view what, const Node& node, Is is) {
        const PartSpec* one = nullptr;
        for (const PartSpec& part : hardware_.parts) {
            if (!is(*part.kind)) continue;
            if (one)
                refuse(source_.at(node), part.name,
                       "a second " + std::string(what) + " beside " + one->name, "one");
            one = &part;
        }
        return one;
    }
    template <class Is>
    const PartSpec* only(std::string_view what, const Node& node, Is is) {
        const PartSpec* one = at_most_one(what, node, is);
        if (!one) refuse(source_.at(node), "parts", "no " + std::string(what), "one");
        return one;
    }

    Run read_run(const Node& node) {
        Run run;
        if (node.kind != Node::Kind::list) {
            refuse(source_.at(node), path_, describe(node), "a list of part names");
            return run;
        }
        if (node.items.empty()) refuse(source_.at(node), path_, "an empty list", "part names");
        for (const Node& item : node.items) {
            if (item.kind == Node::Kind::list) {
                run.branches.push_back(read_run(item));
            } else if (item.kind == Node::Kind::map) {
                refuse(source_.at(item), path_, "a map", "part names, and lists for branches");
            } else if (!run.branches.empty()) {
                refuse(source_.at(item), path_, item.text + " after a branch",
                       "branches only at the end of a list; put it before them or into one");
            } else if (check(item)) {
                run.parts.push_back(item.text);
            }
        }
        return run;
    }

    bool check(const Node& item) {
        const Position at = source_.at(item);
        if (item.text.find('.') != std::string::npos) return check_sensing(item);
        const auto it = std::find_if(hardware_.parts.begin(), hardware_.parts.end(),
                                     [&](const PartSpec& p) { return p.name == item.text; });
        if (it == hardware_.parts.end()) {
            refuse(at, path_, item.text + ", which no part is called", "names under parts",
                   nearest(item.text, names_));
            return false;
        }
        const int ports = line_ports(*it->kind);
        if (ports == 0 || is_cylinder(*it->kind)) {
            refuse(at, path_, item.text + ", a " + std::string(it->kind->name),
                   ports == 0 ? "parts with a line port"
                              : "parts behind the cylinder; the circuit begins at its outlet");
            return false;
        }
        const int most = it->kind->through ? 1 : ports;
        if (!here_.insert(item.text).second || seen_[item.text] >= most) {
            refuse(at, path_, item.text + " a second time",
                   most == 1 ? "each part once" : "this part once in each of its circuits");
            return false;
        }
        ++seen_[item.text];
        return true;
    }

    /// "part.port": a port that only feels the pressure of the point where it is named.
    bool check_sensing(const Node& item) {
        std::vector<std::string> ports;
        for (const PartSpec& part : hardware_.parts)
            for (const PortInfo& port : part.kind->ports)
                if (port.kind == PortKind::sensing)
                    ports.push_back(part.name + "." + std::string(port.name));
        if (std::find(ports.begin(), ports.end(), item.text) == ports.end()) {
            refuse(source_.at(item), path_, item.text + ", which feels no pressure",
                   ports.empty() ? "names under parts" : one_of(ports), nearest(item.text, ports));
            return false;
        }
        if (seen_[item.text]++ > 0) {
            refuse(source_.at(item), path_, item.text + " a second time", "each port once");
            return false;
        }
        return true;
    }

    void refuse_left_over(const Node& node) {
        for (const PartSpec& part : hardware_.parts) {
            const int ports = line_ports(*part.kind);
            if (ports == 0 || is_cylinder(*part.kind)) continue;
            const int wanted = part.kind->through ? 1 : ports;
            const int times = seen_[part.name];
            if (times == 0)
                refuse(source_.at(node), path_, "no circuit with " + part.name,
                       "every part with a line port in a circuit");
            else if (times < wanted)
                refuse(source_.at(node), path_, part.name + " in one circuit only",
                       "it in both, since it stands between them");
        }
    }

    const Source& source_;
    Hardware& hardware_;
    std::vector<std::string> names_; // parts that a circuit may hold
    std::string path_;
    std::map<std::string, int> seen_;
    std::set<std::string> here_; // parts of the circuit being read
};

} // namespace

void read_circuits(const Node& node, const Source& source, Hardware& hardware) {
    CircuitReader(source, hardware).read(node);
}

} // namespace pedalbench::runner
