// Wheels: which brake and which disc or drum sit on each wheel of the vehicle.
#include <algorithm>
#include <set>

#include "parts/part.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

/// A vehicle names its wheels by its joints; whatever else has a wheel joint sits on one of them.
bool is_vehicle(const PartKind& kind) {
    return std::count_if(kind.joints.begin(), kind.joints.end(),
                         [](const JointInfo& j) { return j.kind == JointKind::wheel; }) > 1;
}

class WheelReader {
  public:
    WheelReader(const Source& source, Hardware& hardware) : source_(source), hardware_(hardware) {
        for (const PartSpec& part : hardware.parts) {
            if (is_vehicle(*part.kind))
                for (const JointInfo& j : part.kind->joints)
                    wheels_.emplace_back(j.name);
            else if (part.kind->has(JointKind::wheel))
                names_.push_back(part.name);
        }
    }

    void read(const Node& node) {
        if (node.kind != Node::Kind::map) {
            refuse(node, "wheels", describe(node), "a map from wheels to lists of parts");
            return;
        }
        if (wheels_.empty()) {
            refuse(node, "wheels", "wheels without a car", "a part of kind vehicle to carry them");
            return;
        }
        for (std::size_t i = 0; i < node.items.size(); ++i)
            read_wheel(node.keys[i], node.items[i]);
        if (hardware_.wheels.size() < wheels_.size() && node.items.size() < wheels_.size())
            for (const std::string& wheel : wheels_)
                if (std::none_of(hardware_.wheels.begin(), hardware_.wheels.end(),
                                 [&](const Wheel& w) { return w.name == wheel; }))
                    refuse(node, "wheels", "nothing on " + wheel,
                           "every wheel with its brake, or an empty list");
    }

  private:
    void refuse(const Node& node, const std::string& path, const std::string& found,
                const std::string& allowed, const std::string& meant = {}) {
        source_.findings.add(source_.at(node), path, found, allowed, meant);
    }

    void read_wheel(const Node::Key& key, const Node& list) {
        const std::string path = "wheels." + key.text;
        if (std::find(wheels_.begin(), wheels_.end(), key.text) == wheels_.end()) {
            source_.findings.add(source_.at(key), path, "an unknown wheel", one_of(wheels_),
                                 nearest(key.text, wheels_));
            return;
        }
        if (list.kind != Node::Kind::list) {
            refuse(list, path, describe(list), "a list of part names");
            return;
        }
        Wheel wheel{key.text, {}};
        for (const Node& item : list.items) {
            const auto text = read_text(item, source_, path, "names of a brake and of its rotor");
            if (!text) continue;
            if (std::find(names_.begin(), names_.end(), text->text) == names_.end())
                refuse(item, path, text->text, "a brake or a rotor", nearest(text->text, names_));
            else if (!seen_.insert(text->text).second)
                refuse(item, path, text->text + " a second time", "each part on one wheel");
            else
                wheel.parts.push_back(text->text);
        }
        hardware_.wheels.push_back(std::move(wheel));
    }

    const Source& source_;
    Hardware& hardware_;
    std::vector<std::string> wheels_, names_;
    std::set<std::string> seen_;
};

} // namespace

void read_wheels(const Node* node, const Source& source, const Position& parts_at,
                 Hardware& hardware) {
    if (node) {
        WheelReader(source, hardware).read(*node);
        return;
    }
    for (const PartSpec& part : hardware.parts)
        if (is_vehicle(*part.kind))
            source.findings.add(parts_at, "wheels", "nothing",
                                "a map that says which brake sits on which wheel of " + part.name);
}

} // namespace pedalbench::runner
