#include "system/faults.hpp"

#include <cmath>

#include "parts/registry.hpp"

namespace pedalbench {
namespace {

/// Puts `name` into a run behind (or, for an inlet, before) the part `at`.
bool insert(Run& run, const std::string& at, bool before, const std::string& name) {
    for (std::size_t i = 0; i < run.parts.size(); ++i)
        if (run.parts[i] == at) {
            run.parts.insert(run.parts.begin() + static_cast<std::ptrdiff_t>(i) + (before ? 0 : 1),
                             name);
            return true;
        }
    for (Run& branch : run.branches)
        if (insert(branch, at, before, name)) return true;
    return false;
}

bool insert(Hardware& hardware, const std::string& at, const std::string& name) {
    const std::size_t dot = at.find('.');
    const std::string part = at.substr(0, dot),
                      port = dot == std::string::npos ? "" : at.substr(dot + 1);
    for (Circuit& circuit : hardware.circuits) {
        const bool outlet = find_kind("tandem_master") && port == circuit.outlet;
        if (outlet) {
            circuit.run.parts.insert(circuit.run.parts.begin(), name);
            return true;
        }
        if (insert(circuit.run, part, port == "inlet", name)) return true;
    }
    return false;
}

} // namespace

double Sizes::at(double u, double sound) const {
    switch (scale) {
    case Scale::none:
        return kUnset;
    case Scale::linear:
        return mild + u * (worst - mild);
    case Scale::logarithmic:
        return mild * std::pow(worst / mild, u);
    case Scale::times:
        return sound * mild * std::pow(worst / mild, u);
    }
    return kUnset;
}

const FaultKind* find_fault(std::string_view name) {
    for (const FaultKind& kind : fault_kinds())
        if (kind.name == name) return &kind;
    return nullptr;
}

std::span<const Field> fields_of(const FaultKind& kind) {
    const std::string_view owner = kind.inserts.empty() ? kind.part : kind.inserts;
    if (owner == "fluid") return fluid_fields();
    if (owner == "surroundings") return surroundings_fields();
    const PartKind* part = find_kind(owner);
    return part ? part->fields : std::span<const Field>{};
}

bool comes_later(const FaultKind& kind) {
    if (kind.part == "fluid" || kind.part == "surroundings") return false;
    const std::string_view name = kind.inserts.empty() ? kind.field : kind.size_field;
    for (const Field& field : fields_of(kind))
        if (field.name == name) return !field.at_start;
    return true;
}

std::vector<Refusal> apply_fault(Scenario& scenario, const Fault& fault) {
    const FaultKind& kind = *fault.kind;
    const bool sized = fault.size == fault.size;
    if (!sized && !kind.size_field.empty() && kind.value != kind.value)
        return {{"size", "needed: " + std::string(kind.help)}};
    if (!sized && kind.size_field.empty() && kind.value != kind.value)
        return {{"kind", "has neither a size nor a value"}};
    if (sized && kind.size_field.empty())
        return {{"size", "this kind of fault has none: leave it out"}};

    if (!comes_later(kind) && (fault.from > 0 || fault.over > 0))
        return {{fault.from > 0 ? "from" : "over",
                 "this kind of fault is there from the start: leave it out"}};

    Change change;
    change.at = fault.from;
    change.over = fault.over;
    if (!kind.inserts.empty()) {
        PartSpec spec;
        spec.name = fault.name;
        spec.kind = find_kind(kind.inserts);
        spec.values = Values(spec.kind->fields);
        for (const PartSpec& other : scenario.hardware.parts)
            if (other.name == fault.name) return {{"", "a part of this name exists already"}};
        if (!insert(scenario.hardware, fault.at, fault.name))
            return {{"at", "no circuit passes " + fault.at}};
        scenario.hardware.parts.push_back(std::move(spec));
        change.part = fault.name;
        change.field = kind.size_field;
    } else {
        change.part = fault.at;
        change.field = kind.field;
        if (kind.part == "fluid" || kind.part == "surroundings")
            if (fault.at != kind.part)
                return {{"at", "this fault befalls the " + std::string(kind.part)}};
        for (const PartSpec& spec : scenario.hardware.parts)
            if (spec.name == fault.at && !kind.befalls(*spec.kind))
                return {{"at", fault.at + " is a " + std::string(spec.kind->name) +
                                   "; this fault befalls a " + std::string(kind.part)}};
    }
    change.value = sized ? fault.size : kind.value;
    scenario.changes.push_back(change);
    return {};
}

} // namespace pedalbench
