// Parts, fluid and surroundings. What a part may be told stands in its field table and nowhere
// else.
#include <cmath>

#include "parts/registry.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

void read_fields(MapReader& map, Values& values, const std::string& owner, Places& places) {
    const Source& source = map.source();
    const auto table = values.table();
    for (std::size_t i = 0; i < table.size(); ++i) {
        const Field& field = table[i];
        const std::string path = join(owner, field.name);
        if (const Node* node = map.find(field.name)) {
            places[path] = source.at(*node);
            if (const auto value = read_value(*node, field, source, path)) values.set(i, *value);
        }
    }
}

/// Fields without a default must be given. Derived ones are not marked so, and wait for complete().
void refuse_missing(const Values& values, const std::string& owner, const Position& at,
                    const Places& places, Findings& findings) {
    const auto table = values.table();
    for (std::size_t i = 0; i < table.size(); ++i) {
        const Field& field = table[i];
        const std::string path = join(owner, field.name);
        if (field.mark != Mark::given || !std::isnan(values.at(i)) || places.contains(path))
            continue;
        findings.add(at, path, "nothing", allowed_text(field));
    }
}

void read_part(const std::string& name, const Position& at, const Node& node, const Source& source,
               Hardware& hardware, Places& places) {
    if (!is_name(name)) {
        source.findings.add(at, name, "this name",
                            "a name of lower-case letters, digits and _ that begins with a letter");
        return;
    }
    if (name == "fluid" || name == "surroundings") {
        source.findings.add(at, name, "a name that the car itself uses", "another name");
        return;
    }
    MapReader map(node, source, name);
    std::vector<std::string> kinds;
    for (const PartKind* kind : part_kinds())
        kinds.emplace_back(kind->name);
    const Node* kind_node = map.need("kind", one_of(kinds));
    if (!kind_node) return;
    const auto kind_text = read_text(*kind_node, source, join(name, "kind"), one_of(kinds));
    if (!kind_text) return;
    const auto k = read_word(*kind_text, kinds, join(name, "kind"), source.findings);
    if (!k) return;

    PartSpec part{name, part_kinds()[*k], Values(part_kinds()[*k]->fields)};
    places[name] = at;
    read_fields(map, part.values, name, places);
    refuse_missing(part.values, name, at, places, source.findings);
    map.finish();
    hardware.parts.push_back(std::move(part));
}

void read_values(MapReader& map, std::string_view key, Values& values, Places& places) {
    const Node* node = map.find(key);
    if (!node) return;
    const std::string owner(key);
    places[owner] = map.source().at(*node);
    MapReader inner(*node, map.source(), owner);
    read_fields(inner, values, owner, places);
    refuse_missing(values, owner, places[owner], places, map.source().findings);
    inner.finish();
}

} // namespace

bool read_hardware(MapReader& map, Hardware& hardware, Places& places) {
    const Source& source = map.source();
    const std::size_t before = source.findings.size();
    hardware.fluid = Values(fluid_fields());
    hardware.surroundings = Values(surroundings_fields());
    read_values(map, "fluid", hardware.fluid, places);
    read_values(map, "surroundings", hardware.surroundings, places);
    const Node* parts = map.need("parts", "a map of named parts");
    if (parts && parts->kind == Node::Kind::map) {
        for (std::size_t i = 0; i < parts->items.size(); ++i)
            read_part(parts->keys[i].text, source.at(parts->keys[i]), parts->items[i], source,
                      hardware, places);
    } else if (parts) {
        source.findings.add(source.at(*parts), map.path("parts"), describe(*parts),
                            "a map of named parts");
    }
    const bool parts_read = source.findings.size() == before;
    if (const Node* circuits =
            map.need("circuits", "a map from outlets of the master cylinder to lists")) {
        places["circuits"] = source.at(*circuits);
        // With a part missing for another reason, its name in a circuit is not a second mistake.
        if (parts_read) read_circuits(*circuits, source, hardware);
    }
    const Node* wheels = map.find("wheels");
    if (wheels) places["wheels"] = source.at(*wheels);
    if (parts_read && parts) read_wheels(wheels, source, source.at(*parts), hardware);
    return source.findings.size() == before;
}

void complete_parts(Hardware& hardware, std::size_t first, const Places& places,
                    Findings& findings) {
    const Surroundings around = make_surroundings(hardware.fluid, hardware.surroundings);
    const auto place = [&places](const std::string& path) {
        const auto it = places.find(path);
        return it == places.end() ? Position{} : it->second;
    };
    for (std::size_t i = first; i < hardware.parts.size(); ++i) {
        PartSpec& part = hardware.parts[i];
        if (!part.kind->complete) continue;
        for (const Refusal& refusal : part.kind->complete(part.values, around)) {
            const std::string path = join(part.name, refusal.field);
            const Position field_at = place(path);
            findings.refuse(field_at.file.empty() ? place(part.name) : field_at, path,
                            refusal.reason);
        }
    }
}

} // namespace pedalbench::runner
