#include "system/changes.hpp"

#include <algorithm>
#include <stdexcept>

#include "parts/registry.hpp"

namespace pedalbench {
namespace {

constexpr int kSteps = 20; // of a gradual change

void complete(PartSpec& spec, const Surroundings& around, std::vector<Refusal>& refusals) {
    for (Refusal& r : spec.kind->complete(spec.values, around))
        refusals.push_back({spec.name + "." + r.field, r.reason});
}

} // namespace

const PartSpec* find_part(const Hardware& hardware, const std::string& name) {
    for (const PartSpec& part : hardware.parts)
        if (part.name == name) return &part;
    return nullptr;
}

const Values* find_values(const Hardware& hardware, const std::string& part) {
    if (part == "fluid") return &hardware.fluid;
    if (part == "surroundings") return &hardware.surroundings;
    const PartSpec* spec = find_part(hardware, part);
    return spec ? &spec->values : nullptr;
}

Values* find_values(Hardware& hardware, const std::string& part) {
    return const_cast<Values*>(find_values(static_cast<const Hardware&>(hardware), part));
}

std::vector<Refusal> complete(Hardware& hardware) {
    const Surroundings around = make_surroundings(hardware.fluid, hardware.surroundings);
    std::vector<Refusal> refusals;
    for (PartSpec& spec : hardware.parts)
        complete(spec, around, refusals);
    return refusals;
}

void apply(Hardware& hardware, const Change& change) {
    Values* values = find_values(hardware, change.part);
    if (!values) throw std::invalid_argument("there is no part named " + change.part);
    const std::size_t field = values->find(change.field);
    if (field == values->size())
        throw std::invalid_argument(change.part + " has no field named " + change.field);
    values->change(field, change.value);
    // What follows from a field of a part follows in that part; fluid and surroundings concern all.
    const Surroundings around = make_surroundings(hardware.fluid, hardware.surroundings);
    const bool of_all = change.part == "fluid" || change.part == "surroundings";
    std::vector<Refusal> refusals;
    for (PartSpec& spec : hardware.parts)
        if (of_all || spec.name == change.part) complete(spec, around, refusals);
    if (!refusals.empty())
        throw std::invalid_argument(refusals.front().field + ": " + refusals.front().reason);
}

std::vector<Change> in_steps(const Scenario& scenario) {
    std::vector<Change> sorted = scenario.changes, steps;
    const auto earlier = [](const Change& a, const Change& b) { return a.at < b.at; };
    std::stable_sort(sorted.begin(), sorted.end(), earlier);
    Hardware hardware = scenario.hardware;
    complete(hardware);
    for (const Change& change : sorted) {
        const Values* values = find_values(hardware, change.part);
        if (!values || values->find(change.field) == values->size())
            throw std::invalid_argument("no such field: " + change.part + "." + change.field);
        const double before = (*values)[change.field];
        const int n = change.over > 0 ? kSteps : 1;
        for (int k = 1; k <= n; ++k) {
            Change step = change;
            step.value = before + (change.value - before) * k / n;
            if (k == n) step.value = change.value;
            step.at = change.at + change.over * (k - (n > 1 ? 0 : 1)) / n;
            step.over = 0;
            steps.push_back(step);
        }
        apply(hardware, change);
    }
    std::stable_sort(steps.begin(), steps.end(), earlier);
    return steps;
}

} // namespace pedalbench
