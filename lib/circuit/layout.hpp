// Which parts meet where: nodes, instances of parts, and the place of everything in the state
// vector.
#pragma once

#include <stdexcept>
#include <string>
#include <vector>

#include "parts/part.hpp"
#include "system/system.hpp"

namespace pedalbench {

/// Hardware that cannot be built; every refusal names "part.field" or "part".
class InvalidHardware : public std::runtime_error {
  public:
    explicit InvalidHardware(std::vector<Refusal> refusals);
    const std::vector<Refusal>& refusals() const { return refusals_; }

  private:
    std::vector<Refusal> refusals_;
};

/// A fluid node: what all ports joined there share.
struct Node {
    PortKind kind = PortKind::line;
    std::string name;  // the first port joined here, "master.primary"
    int upstream = -1; // the node toward the cylinder, for heights that nobody states
    int state = -1;    // index of the liquid content; gas follows, then temperature if kind is line

    int states() const { return kind == PortKind::line ? 4 : 3; }
    /// Index of the air in solution, the last of its states.
    int dissolved() const { return state + states() - 1; }
};

/// What parts share beside fluid (JointKind); its value is the state of the same index.
struct Joint {
    JointKind kind = JointKind::rod;
    std::string name; // "push rod", "front_left"
};

/// One part in the circuit. A pipe cut into segments is several instances of one specification.
struct Instance {
    int spec = 0; // index into Hardware::parts
    std::string name;
    std::vector<int> node;  // per port
    std::vector<int> joint; // per joint of the part, -1: open
    int state = 0;          // index of the first own state

    /// State of a position (own states, then joints); -1 where the joint is open.
    int column(const PartKind& kind, int position) const {
        const int states = static_cast<int>(kind.states.size());
        return position < states ? state + position : joint[position - states];
    }
};

/// What kind of part an instance is one of.
inline const PartKind& kind_of(const Hardware& hardware, const Instance& i) {
    return *hardware.parts[i.spec].kind;
}

/// Fixed over all changes of fields: the same description of circuits gives the same layout.
/// State vector: joints, then the own states of the parts, then liquid, gas, temperature and
/// air in solution of the nodes.
struct Layout {
    std::vector<Node> nodes;
    std::vector<Instance> instances;
    std::vector<Joint> joints;
    int states = 0;
    int guards = 0;
    std::vector<int> first_guard; // per instance
    std::vector<int> listed;      // instances in the order in which the hardware lists its parts

    std::string state_name(const Hardware& hardware, int i) const;
};

/// Whether the wire of the car's contacts leads to a warning lamp.
bool has_lamp(const Hardware& hardware);

/// Throws InvalidHardware.
Layout make_layout(const Hardware& hardware);

} // namespace pedalbench
