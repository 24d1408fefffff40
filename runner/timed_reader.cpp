// What happens over time besides the foot: changes of fields and faults. And the units of the
// answers.
#include <algorithm>
#include <stdexcept>
#include <utility>

#include "circuit/layout.hpp"
#include "parts/registry.hpp"
#include "reading.hpp"
#include "system/changes.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

// "Before the start" may be written as any time at or before zero.
const Field kAt = limits("at", Dimension::time, -3600, 3600);
const Field kOver = limits("over", Dimension::time, 0, 3600);

double time_or_zero(MapReader& map, std::string_view key, const Field& field) {
    const Node* node = map.find(key);
    if (!node) return 0;
    return read_value(*node, field, map.source(), map.path(key)).value_or(0);
}

/// Where the change of a field at a time was written.
std::string change_key(const Change& change) {
    return "change " + change.part + "." + change.field + " " + show(change.at, 17);
}

void read_change(const Node& node, const Source& source, const std::string& path,
                 Scenario& scenario, Places& places) {
    MapReader map(node, source, path);
    const Node* set = map.need("set", "part.field");
    const Node* to = map.need("to", "the new value");
    Change change;
    change.at = time_or_zero(map, "at", kAt);
    change.over = time_or_zero(map, "over", kOver);
    map.finish();
    if (!set || !to) return;
    const auto words = read_text(*set, source, map.path("set"), "part.field");
    if (!words) return;
    const auto place = find_place(scenario.hardware, *words, map.path("set"), source.findings);
    if (!place) return;
    const auto value = read_value(*to, place->field(), source, words->text);
    if (!value) return;
    change.part = place->owner;
    change.field = place->field().name;
    change.value = *value;
    if (!place->part && (change.at > 0 || change.over > 0))
        source.findings.add(source.at(node), words->text, "a change during the run",
                            "fluid and surroundings to change before the start only");
    else
        add_change(scenario, std::move(change), source.at(*to), places);
}

/// The row that a fault's size is checked against; null when it takes no size or stands nowhere
/// yet.
const Field* size_field(const Fault& fault, const Hardware& hardware) {
    if (!fault.kind || fault.kind->size_field.empty()) return nullptr;
    const PartKind* kind = nullptr;
    if (!fault.kind->inserts.empty()) {
        kind = find_kind(fault.kind->inserts);
    } else {
        const std::string name = fault.at.substr(0, fault.at.find('.'));
        for (const PartSpec& part : hardware.parts)
            if (part.name == name) kind = part.kind;
    }
    if (!kind) return nullptr;
    for (const Field& field : kind->fields)
        if (field.name == fault.kind->size_field) return &field;
    return nullptr;
}

bool befalls(const FaultKind& kind, const Hardware& hardware, const Text& at, std::string_view path,
             Findings& findings) {
    const std::string name = at.text.substr(0, at.text.find('.'));
    std::vector<std::string> names; // of the parts that it can befall
    std::string found = at.text.empty() ? "nothing" : at.text;
    for (const PartSpec& part : hardware.parts) {
        const bool fits = kind.part.empty() || part.kind->name == kind.part;
        if (fits) names.push_back(part.name);
        if (part.name != name) continue;
        if (fits) return true;
        (found += ", a ") += part.kind->name;
    }
    const std::string what = "a " + (kind.part.empty() ? "part" : std::string(kind.part));
    findings.add(at.at, path, found,
                 names.empty() ? what + ", of which this car has none"
                               : what + " of this car: " + one_of(names),
                 nearest(name, names));
    return false;
}

std::optional<Fault> read_fault(const std::string& name, const Node& node, const Source& source,
                                const Hardware& hardware) {
    MapReader map(node, source, join("faults", name));
    Fault fault;
    fault.name = name;
    std::vector<std::string> kinds;
    for (const FaultKind& kind : fault_kinds())
        kinds.emplace_back(kind.name);
    const Node* kind_node = map.need("kind", one_of(kinds));
    const Node* at_node = map.need("at", "the part that it befalls");
    const Node* size_node = map.find("size");
    fault.from = time_or_zero(map, "from", kAt);
    fault.over = time_or_zero(map, "over", kOver);
    map.finish();
    if (kind_node)
        if (const auto text = read_text(*kind_node, source, map.path("kind"), one_of(kinds)))
            if (const auto k = read_word(*text, kinds, map.path("kind"), source.findings))
                fault.kind = &fault_kinds()[*k];
    if (!fault.kind || !at_node) return {};
    const auto at = read_text(*at_node, source, map.path("at"), "the part that it befalls");
    if (!at || !befalls(*fault.kind, hardware, *at, map.path("at"), source.findings)) return {};
    fault.at = at->text;
    if (size_node) {
        const Field* field = size_field(fault, hardware);
        if (!field) {
            source.findings.add(source.at(*size_node), map.path("size"), describe(*size_node),
                                "no size for " + std::string(fault.kind->name));
            return {};
        }
        const auto size = read_value(*size_node, *field, source, map.path("size"));
        if (!size) return {};
        fault.size = *size;
    }
    return fault;
}

} // namespace

void add_change(Scenario& scenario, Change change, const Position& at, Places& places) {
    places[change_key(change)] = at;
    scenario.changes.push_back(std::move(change));
}

void read_changes(const Node& node, const Source& source, Scenario& scenario, Places& places) {
    if (node.kind != Node::Kind::list) {
        source.findings.add(source.at(node), "changes", describe(node), "a list");
        return;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i)
        read_change(node.items[i], source, "changes." + std::to_string(i + 1), scenario, places);
}

std::vector<Fault> read_faults(const Node& node, const Source& source, const Hardware& hardware,
                               Places& places) {
    std::vector<Fault> faults;
    if (node.kind != Node::Kind::map) {
        source.findings.add(source.at(node), "faults", describe(node), "a map of named faults");
        return faults;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i) {
        const std::string& name = node.keys[i].text;
        const Position at = source.at(node.keys[i]);
        const std::string path = join("faults", name);
        const bool taken = std::any_of(hardware.parts.begin(), hardware.parts.end(),
                                       [&](const PartSpec& p) { return p.name == name; });
        if (!is_name(name) || taken || name == "fluid" || name == "surroundings") {
            source.findings.add(at, path,
                                is_name(name) ? "a name already taken in this car" : "this name",
                                "another name, of lower-case letters, digits and _");
            continue;
        }
        places[name] = at;
        if (auto fault = read_fault(name, node.items[i], source, hardware))
            faults.push_back(std::move(*fault));
    }
    return faults;
}

bool set_of_fault(const Text& path, const Text& value, const Hardware& hardware,
                  std::vector<Fault>& faults, Findings& findings) {
    const std::size_t dot = path.text.find('.');
    for (Fault& fault : faults) {
        if (path.text.substr(0, dot) != fault.name) continue;
        const std::string key = dot == std::string::npos ? "" : path.text.substr(dot + 1);
        const Field* size = size_field(fault, hardware);
        const Field* field = key == "from"   ? &kAt
                             : key == "over" ? &kOver
                             : key == "size" ? size
                                             : nullptr;
        if (!field) {
            findings.add(path.at, "path", path.text,
                         fault.name + (size ? ".size, .from or .over" : ".from or .over"));
        } else if (const auto x = read_value(value, *field, path.text, findings)) {
            (key == "from" ? fault.from : key == "over" ? fault.over : fault.size) = *x;
        }
        return true;
    }
    return false;
}

bool apply_faults(const std::vector<Fault>& faults, Scenario& scenario, Places& places,
                  Findings& findings) {
    const std::size_t before = findings.size();
    const std::size_t parts = scenario.hardware.parts.size();
    for (const Fault& fault : faults) {
        const Position at = places[fault.name];
        const std::size_t changes = scenario.changes.size();
        for (const Refusal& refusal : apply_fault(scenario, fault)) {
            const std::string path = join("faults", fault.name);
            findings.refuse(at, refusal.field.empty() ? path : join(path, refusal.field),
                            refusal.reason);
        }
        for (std::size_t i = changes; i < scenario.changes.size(); ++i)
            places[change_key(scenario.changes[i])] = at;
    }
    if (findings.size() == before) complete_parts(scenario.hardware, parts, places, findings);
    return findings.size() == before;
}

void rehearse(const Scenario& scenario, const Places& places, Findings& findings) {
    Hardware car = scenario.hardware;
    int states = -1; // of the circuit at the start; they must stay what they are
    for (const Change& change : scenario.changes) {
        const auto at = places.find(change_key(change));
        const Position where = at == places.end() ? Position{} : at->second;
        const std::string path = join(change.part, change.field);
        try {
            if (states < 0 && change.at > 0) states = make_layout(car).states;
            apply(car, change);
            const Values& values = *find_values(car, change.part);
            const std::size_t field = values.find(change.field);
            if (values.at(field) != change.value)
                findings.refuse(
                    where, path,
                    "has no effect, since it follows from other fields of this part: set those");
            if (change.over > 0 && values.table()[field].dimension == Dimension::choice)
                findings.refuse(where, path, "cannot change little by little: leave out over");
            if (change.at > 0) {
                const int before = std::exchange(states, make_layout(car).states);
                if (states != before)
                    findings.refuse(
                        where, path,
                        "divides the circuit in another way: change it before the start");
            }
        } catch (const std::invalid_argument& e) {
            findings.refuse(where, "", e.what());
            return;
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings.refuse(where, r.field, r.reason);
            return;
        }
    }
}

void read_output_units(const Node& node, const Source& source, OutputUnits& output) {
    MapReader map(node, source, "units");
    if (const Node* preset = map.find("preset"))
        if (const auto text = read_text(*preset, source, "units.preset", "metric or us"))
            if (const auto i = read_word(*text, {"metric", "us"}, "units.preset", source.findings))
                output = *i == 0 ? OutputUnits::metric() : OutputUnits::us();
    for (int d = 0; d < static_cast<int>(Dimension::choice); ++d) {
        const auto dimension = static_cast<Dimension>(d);
        const Node* one = map.find(dimension_name(dimension));
        if (!one) continue;
        std::vector<std::string> names;
        for (const Unit& u : units())
            if (u.dimension == dimension && !u.name.empty()) names.emplace_back(u.name);
        const std::string path = map.path(dimension_name(dimension));
        if (const auto text = read_text(*one, source, path, one_of(names)))
            if (const auto i = read_word(*text, names, path, source.findings))
                output.set(*find_unit(names[*i]));
    }
    map.finish();
}

} // namespace pedalbench::runner
