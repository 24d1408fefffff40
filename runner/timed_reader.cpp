// What changes over time besides the foot, and the rehearsal of all changes. And the units of the
// answers.
#include <algorithm>
#include <stdexcept>
#include <utility>

#include "circuit/model.hpp"
#include "parts/registry.hpp"
#include "reading.hpp"
#include "system/changes.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

void read_change(const Node& node, const Source& source, const std::string& path,
                 Scenario& scenario, Places& places) {
    MapReader map(node, source, path);
    const Node* set = map.need("set", "part.field");
    const Node* to = map.need("to", "the new value");
    Change change;
    change.at = read_when(map, "at");
    change.over = read_when(map, "over");
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

/// A change before the one at `index` that the same hand made at the same moment, and whose field
/// now follows from that one: an opening pressure beside the spring that gives it.
const Change* overruled(const std::vector<Change>& changes, std::size_t index,
                        const Values& values) {
    const Change& last = changes[index];
    for (std::size_t i = 0; i < index; ++i) {
        const Change& c = changes[i];
        if (c.part != last.part || c.at != last.at || c.origin != last.origin) continue;
        const auto again = [&c](const Change& other) {
            return other.part == c.part && other.field == c.field && other.at == c.at;
        };
        if (std::none_of(changes.begin() + static_cast<long>(i) + 1,
                         changes.begin() + static_cast<long>(index) + 1, again) &&
            values.at(values.find(c.field)) != c.value)
            return &c;
    }
    return nullptr;
}

} // namespace

double read_when(MapReader& map, std::string_view key) {
    const Node* node = map.find(key);
    const Field& field = key == "over" ? kOver : kWhen;
    return node ? read_value(*node, field, map.source(), map.path(key)).value_or(0) : 0;
}

std::string change_key(const Change& change) {
    return "change " + change.part + "." + change.field + " " + show(change.at, 17);
}

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

void rehearse(const Scenario& scenario, const Places& places, Findings& findings) {
    Hardware car = scenario.hardware;
    const auto place_of = [&places](const std::string& key) {
        const auto at = places.find(key);
        return at == places.end() ? Position{} : at->second;
    };
    try {
        const Model assembled(car);
    } catch (const InvalidHardware& e) {
        for (const Refusal& r : e.refusals())
            findings.refuse(place_of(places.count(r.field) ? r.field : "circuits"), r.field,
                            r.reason);
        return;
    }
    int states = -1; // of the circuit at the start; they must stay what they are
    for (std::size_t i = 0; i < scenario.changes.size(); ++i) {
        const Change& change = scenario.changes[i];
        const Position where = place_of(change_key(change));
        const std::string path = join(change.part, change.field);
        if (change.at > scenario.duration) {
            const OutputUnits units = OutputUnits::metric();
            findings.refuse(where, path,
                            "changes at " + units.text(Dimension::time, change.at) +
                                ", after the end of the run at " +
                                units.text(Dimension::time, scenario.duration) +
                                ": earlier, or a longer duration");
            return;
        }
        try {
            if (states < 0 && change.at > 0) states = make_layout(car).states;
            apply(car, change);
            if (change.at <= 0) static_cast<void>(Model(car));
            const Values& values = *find_values(car, change.part);
            const std::size_t field = values.find(change.field);
            if (values.at(field) != change.value)
                findings.refuse(
                    where, path,
                    "has no effect, since it follows from other fields of this part: set those");
            else if (const Change* first = overruled(scenario.changes, i, values)) {
                findings.refuse(place_of(change_key(*first)), join(first->part, first->field),
                                "has no effect, since it follows from " + path +
                                    ", which is set beside it: leave one of the two out");
                return;
            }
            if (values.table()[field].at_start && (change.at > 0 || change.over > 0))
                findings.refuse(where, path,
                                "says how a run begins: change it before the start only");
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
