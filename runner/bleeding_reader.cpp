// What a mechanic's card says about bleeding: wheels in their order, and how each is done.
#include "parts/part.hpp"
#include "reading.hpp"
#include "system/bleeding.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

const Field kFrom = limits("from", Dimension::time, 0, 3600);
const Field kTest = limits("test", Dimension::force, 1, 1000);

/// All keys of the table that the map has.
void read_how(MapReader& map, Values& how) {
    const auto fields = bleed_fields();
    for (std::size_t i = 0; i < fields.size(); ++i)
        if (const Node* node = map.find(fields[i].name))
            if (const auto value =
                    read_value(*node, fields[i], map.source(), map.path(fields[i].name)))
                how.set(i, *value);
}

std::vector<std::string> wheels_to_bleed(const Hardware& hardware) {
    std::vector<std::string> names;
    for (const PartSpec& part : hardware.parts)
        if (part.kind->has(JointKind::heat) && !find_bleeder(hardware, part.name).empty())
            names.push_back(part.name);
    return names;
}

void read_step(const Node& node, const Source& source, const std::string& path, const Values& usual,
               Scenario& scenario) {
    BleedStep step;
    step.how = usual;
    std::optional<Text> at;
    const char* const allowed = "a wheel's brake or its screw";
    const std::size_t before = source.findings.size();
    if (node.kind == Node::Kind::map) {
        MapReader map(node, source, path);
        if (const Node* name = map.need("at", allowed))
            at = read_text(*name, source, map.path("at"), allowed);
        read_how(map, step.how);
        map.finish();
    } else {
        at = read_text(node, source, path, allowed);
    }
    if (!at) return;
    step.at = at->text;
    step.bleeder = find_bleeder(scenario.hardware, step.at);
    if (step.bleeder.empty()) {
        const auto names = wheels_to_bleed(scenario.hardware);
        source.findings.add(at->at, path, step.at,
                            names.empty() ? "a wheel with a bleed screw, of which this car has none"
                                          : one_of(names),
                            nearest(step.at, names));
        return;
    }
    if (source.findings.size() > before) return;
    if (!step.how.given("method")) {
        source.findings.add(at->at, join(path, "method"), "nothing",
                            "gravity, pedal, pressure or vacuum, here or for all wheels");
        return;
    }
    for (const Refusal& r : refuse_step(scenario.hardware, step))
        source.findings.refuse(at->at, join(path, r.field), r.reason);
    scenario.bleeding.steps.push_back(std::move(step));
}

} // namespace

void read_bleeding(const Node& node, const Source& source, Scenario& scenario, Places& places,
                   bool has_foot) {
    const std::size_t before = source.findings.size();
    MapReader map(node, source, "bleeding");
    const Node* wheels = map.need("wheels", "a list of wheels in the order of the work");
    if (const Node* from = map.find("from"))
        scenario.bleeding.from =
            read_value(*from, kFrom, source, map.path("from")).value_or(scenario.bleeding.from);
    if (const Node* test = map.find("test"))
        scenario.bleeding.test = read_value(*test, kTest, source, map.path("test")).value_or(0);
    Values usual(bleed_fields());
    read_how(map, usual);
    map.finish();
    if (has_foot)
        source.findings.add(source.at(node), "bleeding", "a foot as well",
                            "one of them: the helper's foot is written here, by pedal and test");
    if (!wheels) return;
    if (wheels->kind != Node::Kind::list || wheels->items.empty()) {
        source.findings.add(source.at(*wheels), "bleeding.wheels",
                            wheels->items.empty() && wheels->kind == Node::Kind::list
                                ? "no wheels"
                                : describe(*wheels),
                            "a list of wheels in the order of the work");
        return;
    }
    for (std::size_t i = 0; i < wheels->items.size(); ++i)
        read_step(wheels->items[i], source, "bleeding.wheels." + std::to_string(i + 1), usual,
                  scenario);
    if (source.findings.size() > before) return;
    const std::size_t written = scenario.changes.size();
    expand_bleeding(scenario);
    for (std::size_t i = written; i < scenario.changes.size(); ++i)
        places[change_key(scenario.changes[i])] = source.at(node);
}

} // namespace pedalbench::runner
