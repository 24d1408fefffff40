// Faults: what is wrong with the car, by the names that the user gave; and what the command line
// has to say about them.
#include <algorithm>

#include "parts/part.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

/// What a fault fits must have its place in the circuit from the start.
std::string not_fitted(const FaultKind& kind) {
    if (kind.field != "fitted") return "";
    return "; write one with fitted: no into its hardware and circuit, where it might stand";
}

bool befalls(const FaultKind& kind, const Hardware& hardware, const Text& at, std::string_view path,
             Findings& findings) {
    const std::string name = at.text.substr(0, at.text.find('.'));
    std::vector<std::string> names; // of the parts that it can befall
    std::string found = at.text.empty() ? "nothing" : at.text;
    if (kind.part == "fluid" || kind.part == "surroundings") {
        if (at.text == kind.part) return true;
        findings.add(at.at, path, found, std::string(kind.part));
        return false;
    }
    for (const PartSpec& part : hardware.parts) {
        // What is put into a circuit stands at a part that fluid passes.
        const bool fits =
            kind.inserts.empty() ? kind.befalls(*part.kind) : !part.kind->ports.empty();
        if (fits) names.push_back(part.name);
        if (part.name != name) continue;
        if (fits) return true;
        (found += ", a ") += part.kind->name;
    }
    const std::string what = "a " + (kind.part.empty() ? "part" : std::string(kind.part));
    findings.add(at.at, path, found,
                 names.empty() ? what + ", of which this car has none" + not_fitted(kind)
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
    fault.from = read_when(map, "from");
    fault.over = read_when(map, "over");
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
        const Field* field = size_field(*fault.kind);
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

/// Refuses a change by a fault whose field something else sets from the start on, too. Where
/// several things do, the last of them is named: the others had no say already.
void refuse_second_say(const Change& change, const Fault& fault, const Position& at,
                       const Scenario& scenario, std::size_t changes, const Places& places,
                       Findings& findings) {
    if (change.at > 0) return;
    for (std::size_t i = changes; i-- > 0;) {
        const Change& other = scenario.changes[i];
        if (other.part != change.part || other.field != change.field || other.at > 0) continue;
        const auto place = places.find(change_key(other));
        const Position where = place == places.end() ? Position{} : place->second;
        const std::string name = fault.name, path = join(change.part, change.field);
        const std::string of_fault =
            "two values, this one and that of fault " + name + " (" + text_of(at) + ")";
        const std::string size = fault.kind->size_field.empty() ? "" : name + ".size instead, or ";
        if (other.origin == Origin::command_line)
            findings.add(where, path, of_fault, "one: " + size + "--without " + name);
        else if (other.origin == Origin::scenario)
            findings.add(where, path, of_fault,
                         "one: this change or the fault, or the fault later, with from");
        else
            findings.add(at, path, "two values, this one and another (" + text_of(where) + ")",
                         "one fault that sets it from the start");
        return;
    }
}

} // namespace

void leave_out(const std::vector<std::string>& without, const Node* node,
               std::vector<Fault>& faults, Findings& findings) {
    std::vector<std::string> names;
    if (node)
        for (const Node::Key& key : node->keys)
            names.push_back(key.text);
    std::vector<std::string> allowed = names;
    allowed.emplace_back("all");
    for (std::size_t i = 0; i < without.size(); ++i) {
        const std::string& word = without[i];
        if (std::find(allowed.begin(), allowed.end(), word) == allowed.end())
            findings.add({"--without", static_cast<int>(i) + 1, 0}, "",
                         word.empty() ? "nothing" : word,
                         names.empty() ? "all; this scenario has no faults" : one_of(allowed),
                         nearest(word, allowed));
        for (Fault& fault : faults)
            if (word == "all" || word == fault.name) fault.left_out = true;
    }
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

bool set_of_fault(const Text& path, const Text& value, std::vector<Fault>& faults,
                  Findings& findings) {
    const std::size_t dot = path.text.find('.');
    for (Fault& fault : faults) {
        if (path.text.substr(0, dot) != fault.name) continue;
        const std::string key = dot == std::string::npos ? "" : path.text.substr(dot + 1);
        const Field* size = size_field(*fault.kind);
        const Field* field = key == "from"   ? &kWhen
                             : key == "over" ? &kOver
                             : key == "size" ? size
                                             : nullptr;
        if (!field) {
            findings.add(path.at, "path", path.text,
                         fault.name + (size ? ".size, .from or .over" : ".from or .over"));
        } else if (const auto x = read_value(value, *field, path.text, findings)) {
            (key == "from" ? fault.from : key == "over" ? fault.over : fault.size) = *x;
            fault.origin = Origin::command_line;
            if (fault.left_out)
                findings.add(path.at, "path", path.text + ", of a fault that --without leaves out",
                             "one of the two");
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
        // What the fault inserts stays, at size zero, so that its channels can still be recorded.
        if (fault.left_out) scenario.changes.resize(changes);
        for (std::size_t i = changes; i < scenario.changes.size(); ++i) {
            Change& change = scenario.changes[i];
            change.origin = Origin::fault;
            refuse_second_say(change, fault, at, scenario, changes, places, findings);
            places[change_key(change)] = at;
        }
        scenario.faults.push_back(fault);
    }
    if (findings.size() == before) complete_parts(scenario.hardware, parts, places, findings);
    return findings.size() == before;
}

void read_ruled_out(const Node& node, const Source& source, Scenario& scenario) {
    const std::string wanted =
        "a list of kinds of fault, of parts, or of both as in `leak at front_pipe`";
    if (node.kind != Node::Kind::list) {
        source.findings.add(source.at(node), "ruled_out", describe(node), wanted);
        return;
    }
    std::vector<std::string> kinds, parts{"fluid", "surroundings"};
    for (const FaultKind& kind : fault_kinds())
        kinds.emplace_back(kind.name);
    for (const PartSpec& part : scenario.hardware.parts)
        parts.push_back(part.name);
    const auto among = [](const std::vector<std::string>& names, const std::string& name) {
        return std::find(names.begin(), names.end(), name) != names.end();
    };
    for (const Node& item : node.items) {
        const auto text = read_text(item, source, "ruled_out", wanted);
        if (!text) continue;
        constexpr std::string_view kAt = " at ";
        const std::size_t at = text->text.find(kAt);
        const std::string first(trim(text->text.substr(0, at)));
        const std::string second(
            at == std::string::npos ? "" : trim(text->text.substr(at + kAt.size())));
        RuledOut out;
        if (at != std::string::npos || among(kinds, first))
            out = {first, second};
        else
            out.part = first;
        if (!out.kind.empty() && !among(kinds, out.kind))
            source.findings.add(text->at, "ruled_out", out.kind, "a kind of fault",
                                nearest(out.kind, kinds));
        else if (!out.part.empty() && !among(parts, out.part)) {
            std::vector<std::string> names = parts;
            if (out.kind.empty()) names.insert(names.end(), kinds.begin(), kinds.end());
            source.findings.add(text->at, "ruled_out", out.part,
                                out.kind.empty() ? "a kind of fault or a part" : "a part",
                                nearest(out.part, names));
        } else
            scenario.ruled_out.push_back(std::move(out));
    }
}

} // namespace pedalbench::runner
