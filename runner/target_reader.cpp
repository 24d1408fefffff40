#include "target_reader.hpp"

#include <algorithm>
#include <filesystem>
#include <stdexcept>

#include "reader.hpp"

namespace pedalbench::runner {

bool TargetReader::read_scenario_of(const Node& node) {
    const auto path = read_text(node, source_, "scenario", "a path");
    if (!path) return false;
    namespace fs = std::filesystem;
    file_ = (fs::path(source_.file).parent_path() / path->text).lexically_normal().generic_string();
    auto loaded = read_scenario(file_, request_.sets, source_.findings, request_.without);
    if (!loaded) return false;
    car_alone_ = loaded->hardware_only;
    units_ = loaded->units;
    title_ = loaded->scenario.title;
    try {
        scenario_ = study::started(loaded->scenario);
    } catch (const std::invalid_argument& e) {
        source_.findings.refuse({file_}, "", e.what());
        return false;
    }
    return true;
}

/// A field of the car as it starts, or the size of a fault that comes later.
std::optional<TargetReader::Place> TargetReader::find(const Text& path,
                                                      std::string_view wanted_as) {
    for (const Fault& fault : scenario_.faults) {
        const bool inserted = !fault.kind->inserts.empty();
        const std::string part = inserted ? fault.name : fault.at,
                          field(inserted ? fault.kind->size_field : fault.kind->field);
        // The field of an inserted leak is its size too, whatever it is called.
        if (path.text != fault.name + ".size" && !(inserted && path.text == join(part, field)))
            continue;
        const Field* size = size_field(*fault.kind);
        if (!size || fault.left_out) {
            source_.findings.add(path.at, wanted_as, path.text,
                                 fault.left_out ? "a fault that is not left out"
                                                : "a fault with a size, unlike " +
                                                      std::string(fault.kind->name));
            return {};
        }
        Place place{{part, field}, size};
        for (std::size_t i = 0; i < scenario_.changes.size(); ++i) {
            const Change& c = scenario_.changes[i];
            if (c.origin == Origin::fault && c.part == place.target.part &&
                c.field == place.target.field)
                place.target.change = static_cast<std::ptrdiff_t>(i);
        }
        return place;
    }
    const auto found = find_place(scenario_.hardware, path, wanted_as, source_.findings);
    if (!found) return {};
    return Place{{found->owner, std::string(found->field().name)}, &found->field()};
}

/// No target twice: which of the two would win?
void TargetReader::claim(const study::Target& target, const Text& path,
                         std::string_view wanted_as) {
    const std::string name = join(target.part, target.field);
    if (std::find(claimed_.begin(), claimed_.end(), name) != claimed_.end())
        source_.findings.add(path.at, wanted_as, path.text + " a second time", "each field once");
    claimed_.push_back(name);
}

std::vector<study::Kept> TargetReader::read_keep(const Node& node) {
    std::vector<study::Kept> kept;
    if (node.kind != Node::Kind::list) {
        source_.findings.add(source_.at(node), "keep", describe(node), "a list of part.field");
        return kept;
    }
    for (const Node& item : node.items) {
        const auto path = read_text(item, source_, "keep", "part.field");
        const auto place = path ? find(*path, "keep") : std::nullopt;
        if (!place) continue;
        claim(place->target, *path, "keep");
        kept.push_back({place->target, study::value_of(scenario_, place->target)});
    }
    return kept;
}

std::vector<study::Varied> TargetReader::read_varied(const Node& node, std::string_view wanted_as,
                                                     const Rest& rest) {
    std::vector<study::Varied> varied;
    if (node.kind != Node::Kind::map || node.items.empty()) {
        source_.findings.add(source_.at(node), wanted_as, describe(node),
                             "a map of part.field and its values");
        return varied;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i) {
        const Text path{node.keys[i].text, source_.at(node.keys[i])};
        const auto place = find(path, wanted_as);
        if (!place) continue;
        claim(place->target, path, wanted_as);
        study::Varied v;
        v.path = path.text;
        v.targets = {place->target};
        v.dimension = place->field->dimension;
        v.nominal = study::value_of(scenario_, place->target);
        MapReader map(node.items[i], source_, v.path);
        if (map.is_map()) {
            if (const Node* also = map.find("also")) read_also(*also, *place->field, v);
            rest(map, node.items[i], *place->field, v);
            map.finish();
        }
        varied.push_back(std::move(v));
    }
    return varied;
}

void TargetReader::read_also(const Node& node, const Field& field, study::Varied& v) {
    const std::string as = v.path + ".also";
    if (node.kind != Node::Kind::list) {
        source_.findings.add(source_.at(node), as, describe(node), "a list of part.field");
        return;
    }
    for (const Node& item : node.items) {
        const auto path = read_text(item, source_, as, "part.field");
        const auto place = path ? find(*path, as) : std::nullopt;
        if (!place) continue;
        if (place->field->dimension != field.dimension) {
            source_.findings.add(path->at, as, dimension_with_article(place->field->dimension),
                                 dimension_with_article(field.dimension) + ", as " + v.path +
                                     " is");
            continue;
        }
        claim(place->target, *path, as);
        v.targets.push_back(place->target);
    }
}

} // namespace pedalbench::runner
