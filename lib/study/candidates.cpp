#include "study/candidates.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "circuit/layout.hpp"
#include "parts/part.hpp"
#include "parts/registry.hpp"
#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

const PartSpec* find(const Hardware& hardware, const std::string& name) {
    for (const PartSpec& part : hardware.parts)
        if (part.name == name) return &part;
    return nullptr;
}

bool is_fitted(const PartSpec& part) {
    const std::size_t fitted = part.values.find("fitted");
    return fitted == part.values.size() || part.values.at(fitted) != 0;
}

/// Fluid passes a pipe, a hose, a switch or a valve that is not fitted as if they were not there;
/// other valves part what is before them from what is behind.
bool parts_the_line(const PartSpec& part) {
    if (part.kind->name == "line" || part.kind->name == "hose") return false;
    if (!is_fitted(part)) return false;
    return part.kind->through && part.kind->name != "pressure_switch";
}

/// The stretches of a circuit between two valves.
class Stretches {
  public:
    explicit Stretches(const Hardware& hardware) : hardware_(hardware) {
        std::string master;
        for (const PartSpec& part : hardware.parts)
            if (part.kind->is("tandem_master")) master = part.name;
        for (const Circuit& circuit : hardware.circuits) {
            all_.push_back({master + "." + circuit.outlet, {}});
            walk(circuit.run, all_.size() - 1);
        }
    }
    struct Stretch {
        std::string at;
        std::vector<std::string> parts;
    };
    const std::vector<Stretch>& all() const { return all_; }

  private:
    void walk(const Run& run, std::size_t stretch) {
        for (const std::string& name : run.parts) {
            const PartSpec* part = find(hardware_, name);
            if (!part || part->kind->name == "leak" || part->kind->name == "air_pocket") continue;
            if (parts_the_line(*part)) {
                all_.push_back({name, {}});
                stretch = all_.size() - 1;
            } else if (passed_.insert(name).second) {
                // A switch stands in two circuits; at its name a leak is put into the first.
                all_[stretch].parts.push_back(name);
            }
        }
        for (const Run& branch : run.branches)
            walk(branch, stretch);
    }

    const Hardware& hardware_;
    std::vector<Stretch> all_;
    std::set<std::string> passed_;
};

bool is_ruled_out(const Scenario& scenario, const FaultKind& kind, const std::string& at,
                  const std::vector<std::string>& alike) {
    const auto here = [&](const std::string& part) {
        // One of many places ruled out leaves the others.
        if (!alike.empty()) return alike.size() == 1 && alike[0] == part;
        return at.substr(0, at.find('.')) == part;
    };
    return std::any_of(scenario.ruled_out.begin(), scenario.ruled_out.end(),
                       [&](const RuledOut& out) {
                           return (out.kind.empty() || out.kind == kind.name) &&
                                  (out.part.empty() || here(out.part));
                       });
}

} // namespace

double Candidate::size(double u) const {
    if (!sized()) return kUnset;
    const double wanted = kind->sizes.at(u, sound);
    for (const Field& field : fields_of(*kind))
        if (field.name == (kind->inserts.empty() ? kind->field : kind->size_field))
            return std::clamp(wanted, field.low, field.high);
    return wanted;
}

std::vector<Candidate> candidates_of(const Scenario& scenario) {
    Hardware hardware = scenario.hardware;
    if (const auto refusals = complete(hardware); !refusals.empty())
        throw InvalidHardware(refusals);
    const Stretches stretches(hardware);
    std::vector<Candidate> all(1);
    for (const FaultKind& kind : fault_kinds()) {
        if (kind.known) continue;
        const auto add = [&](const std::string& at, const std::vector<std::string>& alike,
                             const Values* values) {
            if (is_ruled_out(scenario, kind, at, alike)) return;
            Candidate c{&kind, at, alike, kUnset};
            if (values) {
                c.sound = (*values)[kind.field];
                if (!c.sized() && c.sound == kind.value) return; // as it is already
            }
            all.push_back(std::move(c));
        };
        if (!kind.inserts.empty()) {
            for (const Stretches::Stretch& s : stretches.all())
                add(s.at, s.parts, nullptr);
        } else if (kind.part == "fluid" || kind.part == "surroundings") {
            add(std::string(kind.part), {}, find_values(hardware, std::string(kind.part)));
        } else {
            for (const PartSpec& part : hardware.parts)
                if (kind.befalls(*part.kind) && (is_fitted(part) || kind.field == "fitted"))
                    add(part.name, {}, &part.values);
        }
    }
    return all;
}

Scenario with_fault(const Scenario& scenario, const Candidate& candidate, double u) {
    Scenario faulty = scenario;
    if (!candidate.kind) return faulty;
    std::string name = "fault";
    while (find(faulty.hardware, name))
        name += "_too";
    const Fault fault{name, candidate.kind, candidate.at, candidate.size(u), 0,
                      0,    Origin::fault,  false};
    if (const auto refusals = apply_fault(faulty, fault); !refusals.empty())
        throw InvalidHardware(refusals);
    // In time order, as a reader leaves them: this one wins over what the car had.
    std::stable_sort(faulty.changes.begin(), faulty.changes.end(),
                     [](const Change& a, const Change& b) { return a.at < b.at; });
    return faulty;
}

} // namespace pedalbench::study
