#include "study/setup.hpp"

#include <algorithm>
#include <cmath>

#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

bool same(double a, double b) {
    return a == b || (std::isnan(a) && std::isnan(b));
}

bool same(const Change& a, const Change& b) {
    return a.part == b.part && a.field == b.field && a.value == b.value && a.at == b.at &&
           a.over == b.over;
}

bool same(const FootInput& a, const FootInput& b) {
    return a.kind == b.kind && a.measured == b.measured && a.time == b.time && a.value == b.value;
}

bool same(const std::optional<Fault>& a, const std::optional<Fault>& b) {
    if (!a || !b) return !a && !b;
    return a->kind == b->kind && a->at == b->at && same(a->size, b->size) && a->from == b->from &&
           a->over == b->over && a->left_out == b->left_out;
}

std::vector<Change> later(const Scenario& scenario) {
    std::vector<Change> changes;
    for (const Change& c : scenario.changes)
        if ((c.at > 0 || c.over > 0) && c.origin != Origin::fault) changes.push_back(c);
    return changes;
}

bool by_fault(const std::vector<const Scenario*>& scenarios, const std::string& part) {
    return std::any_of(scenarios.begin(), scenarios.end(), [&part](const Scenario* s) {
        return std::any_of(s->faults.begin(), s->faults.end(),
                           [&part](const Fault& f) { return f.name == part; });
    });
}

/// Adds the fields of one table that are not the same; those that follow
/// from others in every car are left out.
void add_fields(Setup& setup, const std::string& part, const std::vector<const Values*>& values) {
    const Values& first = *values.front();
    for (std::size_t i = 0; i < first.size(); ++i) {
        SetupField row{part + "." + std::string(first.table()[i].name), &first.table()[i], {}};
        bool differs = false, said = false;
        for (const Values* v : values) {
            row.value.push_back(v->at(i));
            differs = differs || !same(v->at(i), first.at(i));
            said = said || !v->derived(i);
        }
        // The foot says this one.
        if (differs && said && row.field->name != "driven_by") setup.fields.push_back(row);
    }
}

void compare_cars(Setup& setup, const std::vector<const Scenario*>& scenarios) {
    std::vector<Hardware> cars;
    std::vector<std::string> names;
    for (const Scenario* s : scenarios) {
        cars.push_back(car_at_start(*s));
        for (const PartSpec& part : cars.back().parts)
            if (std::find(names.begin(), names.end(), part.name) == names.end())
                names.push_back(part.name);
    }
    const auto fields_of = [&](const std::string& name) {
        std::vector<const Values*> values;
        for (const Hardware& car : cars)
            values.push_back(find_values(car, name));
        add_fields(setup, name, values);
    };
    if (!cars.front().fluid.table().empty()) fields_of("fluid");
    if (!cars.front().surroundings.table().empty()) fields_of("surroundings");
    for (const std::string& name : names) {
        const PartSpec* first = find_part(cars.front(), name);
        const bool alike = std::all_of(cars.begin(), cars.end(), [&](const Hardware& car) {
            const PartSpec* part = find_part(car, name);
            return first && part && part->kind == first->kind;
        });
        if (alike)
            fields_of(name);
        else if (!by_fault(scenarios, name)) // a part that a fault inserts bears its name
            setup.parts.push_back(name);
    }
}

void compare_faults(Setup& setup, const std::vector<const Scenario*>& scenarios) {
    std::vector<SetupFault> all;
    for (std::size_t i = 0; i < scenarios.size(); ++i)
        for (const Fault& fault : scenarios[i]->faults) {
            auto row = std::find_if(all.begin(), all.end(),
                                    [&](const SetupFault& f) { return f.name == fault.name; });
            if (row == all.end())
                row = all.insert(row,
                                 {fault.name, std::vector<std::optional<Fault>>(scenarios.size())});
            row->in[i] = fault;
        }
    for (SetupFault& fault : all)
        if (std::any_of(fault.in.begin(), fault.in.end(),
                        [&](const auto& f) { return !same(f, fault.in.front()); }))
            setup.faults.push_back(std::move(fault));
}

} // namespace

Hardware car_at_start(const Scenario& scenario) {
    Hardware hardware = scenario.hardware;
    complete(hardware);
    for (const Change& change : scenario.changes) {
        if (change.at > 0 || change.over > 0 || change.origin == Origin::fault) continue;
        Values& values = *find_values(hardware, change.part);
        values.change(values.find(change.field), change.value);
    }
    complete(hardware); // all at once: one change alone might not work without the others
    return hardware;
}

Setup setup_of(const std::vector<const Scenario*>& scenarios) {
    Setup setup;
    compare_cars(setup, scenarios);
    compare_faults(setup, scenarios);
    const Scenario& first = *scenarios.front();
    const std::vector<Change> changes = later(first);
    for (const Scenario* s : scenarios) {
        const std::vector<Change> others = later(*s);
        setup.foot = setup.foot || !same(s->foot, first.foot);
        setup.duration = setup.duration || s->duration != first.duration;
        setup.start = setup.start || s->after_a_stop != first.after_a_stop;
        setup.later =
            setup.later || !std::equal(changes.begin(), changes.end(), others.begin(), others.end(),
                                       [](const Change& a, const Change& b) { return same(a, b); });
    }
    return setup;
}

} // namespace pedalbench::study
