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
            begin(master + "." + circuit.outlet);
            walk(circuit.run, all_.size() - 1, 0);
        }
        for (Stretch& stretch : all_) // an outlet where nothing else stands
            if (stretch.spots[0].alike.empty()) stretch.spots[0].alike = {stretch.at};
    }
    struct Stretch {
        std::string at;
        std::vector<std::string> parts;
        std::vector<Candidate::Spot> spots; // each pipe ends at one of its own
    };
    const std::vector<Stretch>& all() const { return all_; }

  private:
    void begin(const std::string& at) { all_.push_back({at, {}, {{at, {}}}}); }

    void walk(const Run& run, std::size_t stretch, std::size_t spot) {
        for (const std::string& name : run.parts) {
            const PartSpec* part = find(hardware_, name);
            if (!part || part->kind->name == "leak" || part->kind->name == "air_pocket") continue;
            if (parts_the_line(*part)) {
                begin(name);
                stretch = all_.size() - 1;
                spot = 0;
            } else if (passed_.insert(name).second) {
                // A switch stands in two circuits; at its name a leak is put into the first.
                Stretch& here = all_[stretch];
                here.parts.push_back(name);
                if (part->kind->through) {
                    here.spots.push_back({name, {}});
                    spot = here.spots.size() - 1;
                }
                here.spots[spot].alike.push_back(name);
            }
        }
        for (const Run& branch : run.branches)
            walk(branch, stretch, spot);
    }

    const Hardware& hardware_;
    std::vector<Stretch> all_;
    std::set<std::string> passed_;
};

bool is_ruled_out(const Scenario& scenario, const FaultKind& kind, std::string_view at) {
    const std::string_view part = at.substr(0, at.find('.'));
    return std::any_of(scenario.ruled_out.begin(), scenario.ruled_out.end(),
                       [&](const RuledOut& out) {
                           return (out.kind.empty() || out.kind == kind.name) &&
                                  (out.part.empty() || out.part == part);
                       });
}

/// Leaves of the places those that are not ruled out; false if none is left.
bool leave(const Scenario& scenario, Candidate& c) {
    const auto out = [&](const std::string& at) { return is_ruled_out(scenario, *c.kind, at); };
    if (c.alike.empty() && c.spots.empty()) return !out(c.at);
    std::erase_if(c.alike, out);
    for (Candidate::Spot& spot : c.spots)
        std::erase_if(spot.alike, out);
    std::erase_if(c.spots, [](const Candidate::Spot& spot) { return spot.alike.empty(); });
    return !c.alike.empty() || !c.spots.empty();
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
        const auto add = [&](Candidate c, const Values* values) {
            if (!leave(scenario, c)) return;
            if (values) {
                c.sound = (*values)[kind.field];
                if (!c.sized() && c.sound == kind.value) return; // as it is already
            }
            all.push_back(std::move(c));
        };
        if (!kind.inserts.empty()) {
            const bool drifts = kind.inserts == "air_pocket";
            for (const Stretches::Stretch& s : stretches.all())
                add({&kind, s.at, s.parts, drifts ? s.spots : std::vector<Candidate::Spot>{},
                     kUnset},
                    nullptr);
        } else if (kind.part == "fluid" || kind.part == "surroundings") {
            add({&kind, std::string(kind.part), {}, {}, kUnset},
                find_values(hardware, std::string(kind.part)));
        } else {
            for (const PartSpec& part : hardware.parts)
                if (kind.befalls(*part.kind) && (is_fitted(part) || kind.field == "fitted"))
                    add({&kind, part.name, {}, {}, kUnset}, &part.values);
        }
    }
    return all;
}

std::vector<Candidate> at_its_spots(const Candidate& candidate) {
    if (candidate.spots.empty()) return {candidate};
    std::vector<Candidate> all;
    for (const Candidate::Spot& spot : candidate.spots) {
        all.push_back(candidate);
        all.back().at = spot.at;
        all.back().alike = spot.alike;
        all.back().spots.clear();
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
