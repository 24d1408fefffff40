#include "summary_json.hpp"

#include <cmath>
#include <cstdint>

#include <nlohmann/json.hpp>

#include "bleeding_report.hpp"
#include "json_values.hpp"
#include "parts/part.hpp"
#include "reader.hpp"
#include "reading.hpp"
#include "report.hpp"
#include "spread_answers.hpp"
#include "system/changes.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;

class Writer {
  public:
    Writer(const Scenario& scenario, const Summary& summary, const OutputUnits& units,
           const study::Spread* spread)
        : scenario_(scenario), summary_(summary), units_(units), spread_(spread) {}

    Json all() const {
        const Summary& s = summary_;
        Json j;
        j["format"] = kFormat;
        j["title"] = s.title.empty() ? scenario_.title : s.title;
        j["complete"] = s.complete;
        j["error"] = s.error.empty() ? Json(nullptr) : Json(s.error);
        j["simulated_s"] = json_number(s.simulated);
        j["wall_s"] = json_number(s.wall);
        j["real_time_factor"] = json_number(s.wall > 0 ? s.simulated / s.wall : kUnset);
        // Steps are accepted ones.
        j["solver"] = {{"steps", s.solver.steps},
                       {"rejected", s.solver.rejected},
                       {"tried", s.solver.steps + s.solver.rejected},
                       {"events", s.solver.events},
                       {"rate_calls", s.solver.rate_calls},
                       {"jacobians", s.solver.jacobians},
                       {"states", s.solver.states}};
        j["ledger"] = {{"relative_error", json_number(s.ledger.relative_error)},
                       {"gas_relative_error", json_number(s.ledger.gas_relative_error)},
                       {"chambers_cm3", json_number(s.ledger.chambers * 1e6)},
                       {"reservoirs_cm3", json_number(s.ledger.reservoirs * 1e6)},
                       {"outside_cm3", json_number(s.ledger.outside * 1e6)},
                       {"gas_chambers_cm3", json_number(s.ledger.gas_chambers * 1e6)}};
        j["changes"] = Json::array();
        for (const Change& c : scenario_.changes)
            if (c.origin != Origin::fault && c.origin != Origin::procedure)
                j["changes"].push_back(change(c));
        j["faults"] = Json::array();
        for (const Fault& f : scenario_.faults)
            j["faults"].push_back(fault(f));
        j["channels"] = Json::object();
        for (const ChannelFigures& c : s.channels)
            j["channels"][c.channel.path] = figures(c);
        j["pedal"] = pedal();
        j["lamp"] = lamp();
        j["valves"] = valves();
        j["wheels"] = wheels();
        j["drag_limit"] = {{"value", value(Dimension::torque, kDragLimit)},
                           {"unit", json_unit(units_.of(Dimension::torque))},
                           {"source", "69 N at the hub bolts, service data"}};
        j["air"] = air();
        if (!s.bleeding.wheels.empty()) j["bleeding"] = bleeding_json(scenario_, s, units_);
        j["events"] = Json::array();
        for (const Event& e : s.events)
            j["events"].push_back(event(e));
        j["expectations"] = Json::array();
        for (const ExpectationResult& e : s.expectations)
            j["expectations"].push_back(expectation(e));
        if (!s.service.empty()) {
            j["service"] = Json::array();
            for (const ServiceLine& line : s.service)
                j["service"].push_back(service(line));
        }
        j["assumed"] = Json::array();
        for (const Assumed& a : s.assumed)
            j["assumed"].push_back(assumed(a));
        if (spread_) j["spread"] = spread_json(*spread_, units_);
        j["cautions"] = s.cautions;
        return j;
    }

  private:
    Json value(Dimension dimension, double si) const { return json_value(units_, dimension, si); }

    Json figures(const ChannelFigures& c) const {
        const Dimension d = c.channel.dimension;
        return {{"unit", json_unit(units_.of(d))}, {"peak", value(d, c.peak)},
                {"held", value(d, c.held)},        {"residual", value(d, c.residual)},
                {"lowest", value(d, c.lowest)},    {"settled", value(d, c.settled)}};
    }
    Json reading(const Reading& r) const {
        return {{"name", r.name},
                {"unit", json_unit(units_.of(r.dimension))},
                {"value", value(r.dimension, r.value)}};
    }
    Json event(const Event& e) const {
        Json j = {{"time_s", json_number(e.time)},
                  {"part", e.part},
                  {"text", e.text},
                  {"readings", Json::array()}};
        for (const Reading& r : e.readings)
            j["readings"].push_back(reading(r));
        return j;
    }
    Json expectation(const ExpectationResult& e) const {
        Json j = {{"text", e.text},
                  {"held", e.held},
                  {"found", value(e.dimension, e.found)},
                  {"unit", json_unit(units_.of(e.dimension))},
                  {"wanted", wanted_text(e, units_)}};
        if (!e.remark.empty()) j["remark"] = e.remark;
        return j;
    }
    Json service(const ServiceLine& l) const {
        Json j = {{"what", l.what}, {"where", l.where}};
        if (l.dimension == Dimension::choice) {
            j["measured"] = l.measured_word;
            j["limit"] = l.limit_word;
            j["margin"] = j["unit"] = nullptr;
        } else {
            const auto bound = [&](const std::optional<double>& si) {
                return si ? value(l.dimension, *si) : Json(nullptr);
            };
            j["unit"] = json_unit(units_.of(l.dimension));
            j["measured"] = value(l.dimension, l.measured);
            j["limit"] = {{"low", bound(l.low)}, {"high", bound(l.high)}};
            j["margin"] = value(l.dimension, l.margin);
        }
        j["pass"] = l.pass;
        j["source"] = l.source;
        return j;
    }
    /// Adds a field's value under `key`, with its unit; null when it is unset.
    void put(Json& j, const char* key, const Field& field, double si) const {
        if (field.dimension == Dimension::choice) {
            j["unit"] = "1";
            j[key] = field_text(field, si, units_);
        } else {
            const bool absolute = datum_of(field) == Datum::absolute;
            j["unit"] = json_unit(units_.of(field.dimension)) + (absolute ? " absolute" : "");
            j[key] = value(field.dimension, si);
        }
    }
    Json change(const Change& c) const {
        Json j = {{"path", c.part + "." + c.field}};
        if (const Values* values = find_values(scenario_.hardware, c.part))
            put(j, "value", values->table()[values->find(c.field)], c.value);
        j["at_s"] = json_number(c.at);
        j["over_s"] = json_number(c.over);
        j["from_command_line"] = c.origin == Origin::command_line;
        return j;
    }
    Json fault(const Fault& f) const {
        Json j = {{"name", f.name}, {"kind", std::string(f.kind->name)}, {"at", f.at}};
        if (const Field* size = size_field(*f.kind))
            put(j, "size", *size, std::isnan(f.size) ? f.kind->value : f.size);
        else
            j["unit"] = j["size"] = nullptr;
        j["from_s"] = json_number(f.from);
        j["over_s"] = json_number(f.over);
        j["from_command_line"] = f.origin == Origin::command_line;
        j["left_out"] = f.left_out;
        return j;
    }
    Json lamp() const {
        Json spans = Json::array();
        for (const Lit& lit : summary_.lamp_lit)
            spans.push_back({{"from_s", json_number(lit.from)}, {"to_s", json_number(lit.to)}});
        return {{"fitted", summary_.has_lamp},
                {"lit_at_end", summary_.lamp_lit_at_end},
                {"lit", spans},
                {"on_s", summary_.lamp_on},
                {"off_s", summary_.lamp_off}};
    }
    Json assumed(const Assumed& a) const {
        Json j = {{"path", a.path}};
        put(j, "value", *a.field, a.value);
        j["mark"] = mark_word(a.field->mark);
        j["source"] = std::string(a.field->source);
        return j;
    }

    /// Recorded figures of one part by quantity; null when none of its channels was recorded.
    Json figures_of(const std::string& part) const {
        Json j;
        for (const ChannelFigures& c : summary_.channels)
            if (c.channel.path.starts_with(part + "."))
                j[c.channel.path.substr(part.size() + 1)] = figures(c);
        return j;
    }
    Json pedal() const {
        for (const PartSpec& part : scenario_.hardware.parts)
            if (part.kind->driven) return figures_of(part.name);
        return nullptr;
    }
    static bool is_valve(const PartKind& kind) { return kind.name.ends_with("_valve"); }
    static bool is_wheel(const PartKind& kind) {
        for (const QuantityInfo& q : kind.quantities)
            if (q.dimension == Dimension::torque) return true;
        return false;
    }
    Json valves() const {
        Json all = Json::object();
        for (const PartSpec& part : scenario_.hardware.parts) {
            if (!is_valve(*part.kind)) continue;
            Json j = {{"kind", std::string(part.kind->name)},
                      {"derived", Json::array()},
                      {"events", Json::array()}};
            for (const Reading& r : summary_.derived)
                if (r.name.starts_with(part.name + ".")) j["derived"].push_back(reading(r));
            for (const Event& e : summary_.events)
                if (e.part == part.name)
                    j["events"].push_back({{"time_s", json_number(e.time)}, {"text", e.text}});
            j["figures"] = figures_of(part.name);
            all[part.name] = std::move(j);
        }
        return all;
    }
    Json wheels() const {
        Json all = Json::object();
        for (const PartSpec& part : scenario_.hardware.parts)
            if (is_wheel(*part.kind)) all[part.name] = figures_of(part.name);
        for (const WheelEnd& wheel : summary_.wheels) {
            all[wheel.part]["drags"] =
                std::isnan(wheel.torque) ? Json(nullptr) : Json(wheel.drags());
            all[wheel.part]["parked"] = wheel.parked;
            if (!wheel.dragged()) continue;
            all[wheel.part]["dragged_at_s"] = json_number(wheel.most_at);
            all[wheel.part]["dragged_most"] = value(Dimension::torque, wheel.most);
        }
        return all;
    }
    Json air() const {
        Json j = {{"free_in_chambers_cm3", json_number(summary_.ledger.gas_chambers * 1e6)}};
        long drawn = 0;
        for (const Event& e : summary_.events)
            drawn += e.text.find("air") != std::string::npos;
        j["events_with_air"] = drawn;
        return j;
    }

    const Scenario& scenario_;
    const Summary& summary_;
    const OutputUnits& units_;
    const study::Spread* spread_;
};

} // namespace

std::string summary_json(const Scenario& scenario, const Summary& summary, const OutputUnits& units,
                         const study::Spread* spread) {
    // A text that is not UTF-8 cannot come from a file we accepted; replace rather than fail late.
    return Writer(scenario, summary, units, spread)
               .all()
               .dump(2, ' ', false, Json::error_handler_t::replace) +
           "\n";
}

} // namespace pedalbench::runner
