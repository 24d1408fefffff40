// What a workshop measured and the limits it goes by, under `measurements:` and `limits:`.
#include <algorithm>
#include <cmath>

#include "parts/part.hpp"
#include "reading.hpp"
#include "record/service.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

const Field kStation = limits("thickness", Dimension::length, 1e-3, 0.1);
constexpr std::string_view kTwice = "is measured already, under measurements: take one of them out";
constexpr std::size_t kFewest = 2, kMost = 64; // stations: one alone cannot vary

class ServiceReader {
  public:
    ServiceReader(const Source& source, Scenario& scenario, Places& places)
        : source_(source), findings_(source.findings), scenario_(scenario), places_(places) {}

    void measurements(const Node& node) {
        each(node, "measurements", [this](MapReader& map, const PartKind& kind, Service& service) {
            read(map, service.measured);
            if (has_disc(kind)) stations(map, service);
            if (const Node* rim = has_rim(kind) ? map.find("rim") : nullptr) {
                places_[map.path("rim")] = source_.at(*rim);
                if (const auto text = read_text(*rim, source_, map.path("rim"), "a type of rim"))
                    service.rim = std::string(trim(text->text));
            }
        });
    }
    void limits(const Node& node) {
        each(node, "limits", [this](MapReader& map, const PartKind& kind, Service& service) {
            read(map, service.limits);
            if (has_rim(kind)) rims(map, service);
        });
    }

    /// Measured fields of a part go into the car, unless something else says them too.
    void state_fields() {
        for (const Service& service : scenario_.service) {
            PartSpec& part = *part_of(service.part);
            for (const Stated& stated : stated_by(service, part.values)) {
                const std::string path = join(part.name, stated.field);
                const std::string key = stated.field == "run_out" ? "run_out" : "thickness";
                const Position at = place("measurements." + part.name + "." + key);
                const std::size_t i = part.values.find(stated.field);
                const Field& field = part.values.table()[i];
                if (part.values.given(i)) {
                    findings_.refuse(places_[path], path, kTwice);
                } else if (stated.value < field.low || stated.value > field.high) {
                    findings_.add(at, path, field_text(field, stated.value, metric_),
                                  allowed_text(field));
                } else {
                    part.values.set(i, stated.value);
                    places_[path] = at;
                    stated_.push_back(path);
                }
            }
        }
    }

    const std::vector<std::string>& stated() const { return stated_; }

  private:
    PartSpec* part_of(const std::string& name) {
        for (PartSpec& part : scenario_.hardware.parts)
            if (part.name == name) return &part;
        return nullptr;
    }
    Position place(const std::string& path) const {
        const auto it = places_.find(path);
        return it == places_.end() ? Position{source_.file} : it->second;
    }

    /// The entry of a part, made when it is first named.
    Service& service_of(const PartSpec& part) {
        for (Service& service : scenario_.service)
            if (service.part == part.name) return service;
        Service service;
        service.part = part.name;
        service.measured = Values(measured_fields(*part.kind));
        service.limits = Values(limit_fields(*part.kind));
        return scenario_.service.emplace_back(std::move(service));
    }

    template <class Read>
    void each(const Node& node, const std::string& key, Read one) {
        if (node.kind != Node::Kind::map) {
            findings_.add(source_.at(node), key, describe(node), "a map by names of parts");
            return;
        }
        std::vector<std::string> names;
        for (const PartSpec& part : scenario_.hardware.parts)
            if (!measured_fields(*part.kind).empty()) names.push_back(part.name);
        for (std::size_t i = 0; i < node.items.size(); ++i) {
            const std::string& name = node.keys[i].text;
            node.keys[i].used = true;
            const std::string path = join(key, name);
            if (std::find(names.begin(), names.end(), name) == names.end()) {
                findings_.add(source_.at(node.keys[i]), path,
                              part_of(name) ? "a part on which nothing is measured"
                                            : "no part of this car",
                              one_of(names), nearest(name, names));
                continue;
            }
            const PartSpec& part = *part_of(name);
            places_[path] = source_.at(node.keys[i]);
            MapReader map(node.items[i], source_, path);
            one(map, *part.kind, service_of(part));
            map.finish();
        }
    }

    void read(MapReader& map, Values& values) {
        for (std::size_t i = 0; i < values.size(); ++i) {
            const Field& field = values.table()[i];
            const Node* node = map.find(field.name);
            if (!node) continue;
            const std::string path = map.path(field.name);
            places_[path] = source_.at(*node);
            if (const auto value = read_value(*node, field, source_, path)) values.set(i, *value);
        }
    }

    void stations(MapReader& map, Service& service) {
        const Node* node = map.find("thickness");
        if (!node) return;
        const std::string path = map.path("thickness");
        places_[path] = source_.at(*node);
        if (node->kind != Node::Kind::list || node->items.size() < kFewest ||
            node->items.size() > kMost) {
            findings_.add(source_.at(*node), path,
                          node->kind == Node::Kind::list
                              ? counted(static_cast<long>(node->items.size()), "station")
                              : describe(*node),
                          "a list of thicknesses at 2 to 64 stations round the disc");
            return;
        }
        for (const Node& item : node->items)
            if (const auto value = read_value(item, kStation, source_, path))
                service.thickness.push_back(*value);
    }

    void rims(MapReader& map, Service& service) {
        const Node* node = map.find("rims");
        if (!node) return;
        if (node->kind != Node::Kind::list || node->items.empty()) {
            findings_.add(source_.at(*node), map.path("rims"), describe(*node),
                          "a list of types that fit");
            return;
        }
        for (const Node& item : node->items)
            if (const auto text = read_text(item, source_, map.path("rims"), "a type of rim"))
                service.rims.emplace_back(trim(text->text));
    }

    const Source& source_;
    Findings& findings_;
    Scenario& scenario_;
    Places& places_;
    std::vector<std::string> stated_;
    const OutputUnits metric_ = OutputUnits::metric();
};

} // namespace

std::vector<std::string> read_service(const Node* measurements, const Node* limits_node,
                                      const Source& source, Scenario& scenario, Places& places) {
    const std::size_t before = source.findings.size();
    ServiceReader reader(source, scenario, places);
    if (measurements) reader.measurements(*measurements);
    if (limits_node) reader.limits(*limits_node);
    if (source.findings.size() == before) reader.state_fields();
    return reader.stated();
}

void refuse_measured_twice(const std::vector<std::string>& measured, const Scenario& scenario,
                           const Places& places, Findings& findings) {
    for (const Change& change : scenario.changes) {
        const std::string path = join(change.part, change.field);
        if (change.at > 0 || std::find(measured.begin(), measured.end(), path) == measured.end())
            continue;
        const auto at = places.find(change_key(change));
        findings.refuse(at == places.end() ? Position{} : at->second, path, kTwice);
    }
}

void refuse_unjudged(const Scenario& scenario, const Places& places, Findings& findings) {
    for (const ServiceLine& line : judge_service(scenario)) {
        if (line.missing.empty()) continue;
        const std::string path = "measurements." + line.where + "." + line.field;
        auto at = places.find(path);
        if (at == places.end()) at = places.find("measurements." + line.where);
        findings.refuse(at == places.end() ? Position{} : at->second, path, line.missing);
    }
}

} // namespace pedalbench::runner
