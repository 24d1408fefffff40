#include "reading.hpp"

#include <algorithm>
#include <cmath>

#include "parts/registry.hpp"
#include "words.hpp"

namespace pedalbench::runner {

std::string join(std::string_view path, std::string_view key) {
    if (path.empty()) return std::string(key);
    return (std::string(path) += '.') += key;
}

MapReader::MapReader(const Node& node, const Source& source, std::string path)
    : node_(node), source_(source), path_(std::move(path)), is_map_(node.kind == Node::Kind::map) {
    if (!is_map_)
        source_.findings.add(source_.at(node), path_, describe(node), "a map of keys and values");
}

const Node* MapReader::find(std::string_view key) {
    asked_.emplace_back(key);
    if (!is_map_) return nullptr;
    for (std::size_t i = 0; i < node_.keys.size(); ++i) {
        if (node_.keys[i].text != key) continue;
        node_.keys[i].used = true;
        return &node_.items[i];
    }
    return nullptr;
}

const Node* MapReader::need(std::string_view key, std::string_view allowed) {
    const Node* node = find(key);
    if (!node && is_map_) source_.findings.add(source_.at(node_), path(key), "nothing", allowed);
    return node;
}

void MapReader::finish() {
    for (const Node::Key& key : node_.keys) {
        if (key.used) continue;
        source_.findings.add(source_.at(key), path(key.text), "an unknown key", one_of(asked_),
                             nearest(key.text, asked_));
    }
}

std::optional<Text> read_text(const Node& node, const Source& source, std::string_view path,
                              std::string_view allowed) {
    if (node.kind == Node::Kind::text) return Text{node.text, source.at(node)};
    source.findings.add(source.at(node), path, describe(node), allowed);
    return {};
}

std::string optional_text(MapReader& map, std::string_view key) {
    const Node* node = map.find(key);
    if (!node) return {};
    const auto text = read_text(*node, map.source(), map.path(key), "a text");
    return text ? std::string(trim(text->text)) : std::string();
}

std::string allowed_text(const Field& field, const Unit* unit) {
    if (field.dimension == Dimension::choice) return one_of(split(field.choices, '|'));
    static const OutputUnits metric = OutputUnits::metric();
    if (!unit) unit = &metric.of(field.dimension);
    std::string text = dimension_with_article(field.dimension);
    if (datum_of(field) == Datum::absolute) text = "an absolute pressure";
    if (field.low < field.high)
        text += " from " + field_text(field, field.low, *unit, 5) + " to " +
                field_text(field, field.high, *unit, 5);
    return text;
}

Field limits(std::string_view name, Dimension dimension, double low, double high) {
    Field field;
    field.name = name;
    field.dimension = dimension;
    field.low = low;
    field.high = high;
    return field;
}

namespace {

/// For a bare number: the usual unit in which it would lie in the range.
std::string with_likely_unit(std::string_view text, const Field& field) {
    const auto x = whole_number(text);
    if (!x) return {};
    int tried = 0;
    for (const Unit& u : units()) {
        // The first two of a dimension are what people leave out; nobody leaves out a "cm".
        if (u.dimension != field.dimension || ++tried > 2) continue;
        const double si = u.to_si(*x);
        if (field.low < field.high && (si < field.low || si > field.high)) continue;
        std::string meant = (std::string(trim(text)) += ' ') += u.name;
        return datum_of(field) == Datum::absolute ? meant + " absolute" : meant;
    }
    return {};
}

std::string meant_choice(std::string_view text, const std::vector<std::string>& words) {
    constexpr std::string_view kTruth[][2] = {{"true", "yes"}, {"on", "yes"}, {"1", "yes"},
                                              {"false", "no"}, {"off", "no"}, {"0", "no"}};
    for (const auto& [said, meant] : kTruth)
        if (text == said && std::find(words.begin(), words.end(), meant) != words.end())
            return std::string(meant);
    return nearest(text, words);
}

} // namespace

std::optional<std::size_t> read_word(const Text& text, const std::vector<std::string>& words,
                                     std::string_view path, Findings& findings) {
    const auto it = std::find(words.begin(), words.end(), trim(text.text));
    if (it != words.end()) return static_cast<std::size_t>(it - words.begin());
    findings.add(text.at, path, text.text.empty() ? "nothing" : text.text, one_of(words),
                 meant_choice(trim(text.text), words));
    return {};
}

std::optional<double> read_value(const Text& text, const Field& field, std::string_view path,
                                 Findings& findings) {
    if (field.dimension == Dimension::choice) {
        const auto i = read_word(text, split(field.choices, '|'), path, findings);
        return i ? std::optional<double>(static_cast<double>(*i)) : std::nullopt;
    }
    Quantity q = read_quantity(text.text, field.dimension, datum_of(field));
    if (!q.problem.empty()) {
        if (!q.unit && q.suggestion.empty()) q.suggestion = with_likely_unit(text.text, field);
        const Unit* unit = q.unit && q.unit->dimension == field.dimension ? q.unit : nullptr;
        findings.add(text.at, path, q.problem, allowed_text(field, unit), q.suggestion);
        return {};
    }
    // A limit written in another unit than the table's may differ from it in the last bits.
    const double slack = 1e-12 * std::max(std::abs(field.low), std::abs(field.high));
    if (field.low < field.high && (q.value < field.low - slack || q.value > field.high + slack)) {
        findings.add(text.at, path, trim(text.text), allowed_text(field, q.unit));
        return {};
    }
    return q.value;
}

std::optional<double> read_value(const Node& node, const Field& field, const Source& source,
                                 std::string_view path) {
    const auto text = read_text(node, source, path, allowed_text(field));
    return text ? read_value(*text, field, path, source.findings) : std::nullopt;
}

const Field* size_field(const FaultKind& fault) {
    for (const Field& field : fields_of(fault))
        if (field.name == fault.size_field) return &field;
    return nullptr;
}

bool is_name(std::string_view name) {
    if (name.empty() || name[0] < 'a' || name[0] > 'z') return false;
    return std::all_of(name.begin(), name.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
    });
}

std::optional<FieldPlace> find_place(Hardware& hardware, const Text& path,
                                     std::string_view wanted_as, Findings& findings,
                                     const std::vector<std::string>& others) {
    const std::string whole(trim(path.text));
    const std::size_t dot = whole.find('.');
    const std::string owner = whole.substr(0, dot);
    const std::string name = dot == std::string::npos ? "" : whole.substr(dot + 1);

    FieldPlace place;
    place.owner = owner;
    std::vector<std::string> owners;
    for (PartSpec& part : hardware.parts) {
        owners.push_back(part.name);
        if (part.name == owner) place.part = &part, place.values = &part.values;
    }
    owners.insert(owners.end(), {"fluid", "surroundings"});
    if (owner == "fluid") place.values = &hardware.fluid;
    if (owner == "surroundings") place.values = &hardware.surroundings;

    const std::string found = whole.empty() ? "nothing" : whole;
    if (!place.values) {
        std::vector<std::string> known = owners;
        known.insert(known.end(), others.begin(), others.end());
        std::string meant = nearest(owner, known);
        const bool is_owner = std::find(owners.begin(), owners.end(), meant) != owners.end();
        if (!meant.empty() && is_owner && !name.empty()) meant += "." + name;
        std::string allowed = "part.field of a part in this car";
        if (!others.empty()) allowed += ", " + one_of(others);
        findings.add(path.at, wanted_as, found, allowed, meant);
        return {};
    }
    place.index = place.values->find(name);
    if (place.index == place.values->size()) {
        std::vector<std::string> fields;
        for (const Field& f : place.values->table())
            fields.emplace_back(f.name);
        std::string meant = name.empty() ? "" : nearest(name, fields);
        if (!meant.empty()) meant = join(owner, meant);
        findings.add(path.at, wanted_as, found, owner + "." + one_of(fields), meant);
        return {};
    }
    return place;
}

} // namespace pedalbench::runner
