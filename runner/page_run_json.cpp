#include "page_run_json.hpp"

#include <bit>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <string>

#include <nlohmann/json.hpp>

#include "circuit/layout.hpp"
#include "json_values.hpp"
#include "record/course.hpp"
#include "report.hpp"
#include "system/changes.hpp"
#include "system/faults.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;

constexpr int kShownDigits = 3; // of a reading of an event, as in the report

/// Channels that change in the run.
std::vector<std::size_t> moving_of(const PageTrace& trace) {
    std::vector<std::size_t> moving;
    for (std::size_t c = 0; c < trace.channels().size(); ++c)
        for (std::size_t i = 1; i < trace.time().size(); ++i)
            if (trace.value(i, c) != trace.value(0, c)) {
                moving.push_back(c);
                break;
            }
    return moving;
}

/// Numbers as base64 (RFC 4648) of their bytes, the lowest first.
template <class T>
std::string base64(const std::vector<T>& numbers) {
    static_assert(std::endian::native == std::endian::little);
    constexpr char kLetters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::vector<unsigned char> bytes(numbers.size() * sizeof(T));
    if (!bytes.empty()) std::memcpy(bytes.data(), numbers.data(), bytes.size());
    std::string text;
    text.reserve(bytes.size() / 3 * 4 + 4);
    for (std::size_t i = 0; i < bytes.size(); i += 3) {
        const std::size_t left = bytes.size() - i;
        const std::uint32_t three = static_cast<std::uint32_t>(bytes[i]) << 16 |
                                    (left > 1 ? static_cast<std::uint32_t>(bytes[i + 1]) << 8 : 0) |
                                    (left > 2 ? bytes[i + 2] : 0);
        text += kLetters[three >> 18];
        text += kLetters[three >> 12 & 63];
        text += left > 1 ? kLetters[three >> 6 & 63] : '=';
        text += left > 2 ? kLetters[three & 63] : '=';
    }
    return text;
}

class Writer {
  public:
    Writer(const PageRun& run, const OutputUnits& units)
        : run_(run), scenario_(*run.scenario), summary_(*run.summary), trace_(*run.trace),
          units_(units), layout_(make_layout(scenario_.hardware)), course_(course_of(scenario_)) {}

    Json all(const std::vector<std::size_t>& rows) const {
        Json j;
        j["name"] = run_.name;
        j["title"] = scenario_.title;
        j["text"] = scenario_.text;
        j["car"] = scenario_.hardware.title;
        j["complete"] = summary_.complete;
        j["error"] = summary_.error;
        j["duration"] = json_number(summary_.simulated);
        j["faults"] = Json::array();
        for (const Fault& f : scenario_.faults)
            j["faults"].push_back(fault(f));
        j["parts"] = Json::array();
        for (const PartSpec& part : course_.hardware.parts)
            j["parts"].push_back(this->part(part));
        j["changes"] = changes();
        j["circuits"] = Json::array();
        for (const Circuit& circuit : scenario_.hardware.circuits)
            j["circuits"].push_back({{"outlet", circuit.outlet}, {"run", way(circuit.run)}});
        j["wheels"] = Json::array();
        for (const Wheel& wheel : scenario_.hardware.wheels)
            j["wheels"].push_back({{"name", wheel.name}, {"parts", wheel.parts}});
        j["events"] = Json::array();
        for (const Event& e : summary_.events)
            j["events"].push_back(event(e));
        j["lesson"] = Json::array();
        for (const LessonStep& step : run_.lesson)
            j["lesson"].push_back(lesson(step));
        j["expectations"] = Json::array();
        for (const ExpectationResult& e : summary_.expectations)
            j["expectations"].push_back({{"text", e.text}, {"held", e.held}});
        j["cautions"] = summary_.cautions;
        numbers(j, rows);
        return j;
    }

  private:
    Json fault(const Fault& f) const {
        return {{"name", f.name},
                {"kind", std::string(f.kind->name)},
                {"at", f.at},
                {"help", std::string(f.kind->help)},
                {"from", json_number(f.from)},
                {"left_out", f.left_out}};
    }

    /// A pipe cut into segments is drawn as one, from the first one's inlet to the last one's
    /// outlet.
    Json part(const PartSpec& spec) const {
        const PartKind& kind = *spec.kind;
        Json j = {{"name", spec.name},
                  {"kind", std::string(kind.name)},
                  {"like", std::string(kind.like.empty() ? kind.name : kind.like)},
                  {"summary", std::string(kind.summary)}};
        const Instance* first = nullptr;
        const Instance* last = nullptr;
        for (const Instance& i : layout_.instances) {
            if (scenario_.hardware.parts[static_cast<std::size_t>(i.spec)].name != spec.name)
                continue;
            if (!first) first = &i;
            last = &i;
        }
        j["ports"] = Json::object();
        for (std::size_t port = 0; port < kind.ports.size(); ++port)
            j["ports"][std::string(kind.ports[port].name)] =
                first ? (port == 1 ? last : first)->node[port] : -1;
        j["fields"] = Json::object(); // at the start
        for (std::size_t i = 0; i < spec.values.size(); ++i)
            if (std::isfinite(spec.values.at(i)))
                j["fields"][std::string(spec.values.table()[i].name)] = field(spec.values, i);
        return j;
    }

    /// SI; a choice as its word.
    static Json field(const Values& values, std::size_t i) {
        const Field& f = values.table()[i];
        if (f.dimension != Dimension::choice) return json_number(values.at(i));
        return field_text(f, values.at(i), OutputUnits::metric());
    }

    /// What becomes of the fields during the run, derived ones too.
    Json changes() const {
        Json all = Json::array();
        Hardware now = course_.hardware;
        for (std::size_t c = course_.first; c < course_.changes.size(); ++c) {
            const Change& change = course_.changes[c];
            for (const PartSpec& spec : now.parts) {
                if (spec.name != change.part) continue;
                const Values before = spec.values;
                apply(now, change);
                for (std::size_t i = 0; i < before.size(); ++i)
                    if (spec.values.at(i) != before.at(i) && std::isfinite(spec.values.at(i)))
                        all.push_back({{"time", change.at},
                                       {"part", change.part},
                                       {"field", std::string(before.table()[i].name)},
                                       {"value", field(spec.values, i)}});
            }
        }
        return all;
    }

    static Json way(const Run& run) {
        Json j = {{"parts", run.parts}, {"branches", Json::array()}};
        for (const Run& branch : run.branches)
            j["branches"].push_back(way(branch));
        return j;
    }

    Json event(const Event& e) const {
        std::string readings;
        for (const Reading& r : e.readings)
            readings += (readings.empty() ? "" : ", ") + r.name + " " +
                        units_.found(r.dimension, r.value, kShownDigits);
        return {{"time", json_number(e.time)},
                {"part", e.part},
                {"text", e.text},
                {"readings", readings}};
    }

    /// A step at an event that does not come has no time.
    Json lesson(const LessonStep& step) const {
        double time = step.time;
        for (const Event& e : summary_.events)
            if (std::isnan(time) && (e.part + ": " + e.text).find(step.event) != std::string::npos)
                time = e.time;
        return {{"time", json_number(time)}, {"at_event", !step.event.empty()},
                {"part", step.part},         {"say", step.say},
                {"ask", step.ask},           {"answer", step.answer}};
    }

    /// The node whose pressure and free air a channel shows; -1 for every other quantity.
    int node_of(const std::string& path) const {
        const std::size_t dot = path.rfind('.');
        const std::string quantity = path.substr(dot + 1), place = path.substr(0, dot);
        if (quantity != "pressure" && quantity != "free_air") return -1;
        for (const Instance& i : layout_.instances) {
            const PartKind& kind = kind_of(scenario_.hardware, i);
            for (std::size_t port = 0; port < i.node.size(); ++port) {
                const PortKind p = kind.ports[port].kind;
                if (p != PortKind::line && p != PortKind::sensing) continue;
                if (place == i.name + "." + std::string(kind.ports[port].name)) return i.node[port];
            }
            if (place != i.name) continue;
            for (std::size_t port = 0; port < i.node.size(); ++port)
                if (kind.ports[port].kind == PortKind::line) return i.node[port];
        }
        return -1;
    }

    std::string help_of(const std::string& path) const {
        const std::size_t dot = path.find('.');
        const std::string name = path.substr(0, dot), quantity = path.substr(dot + 1);
        for (const PartSpec& spec : scenario_.hardware.parts) {
            if (spec.name != name) continue;
            for (const QuantityInfo& q : spec.kind->quantities)
                if (q.name == quantity) return std::string(q.help);
        }
        if (path.ends_with(".free_air")) return "free air there, counted at 1 atm";
        if (path.ends_with(".fluid")) return "fluid that is there";
        return "gauge pressure";
    }

    Json channel(std::size_t c) const {
        const Channel& channel = trace_.channels()[c];
        const Unit& unit = units_.of(channel.dimension);
        const std::size_t dot = channel.path.find('.');
        Json j = {{"path", channel.path},
                  {"part", channel.path.substr(0, dot)},
                  {"quantity", channel.path.substr(dot + 1)},
                  {"help", help_of(channel.path)},
                  {"unit", std::string(unit.name)},
                  {"dimension", std::string(dimension_name(channel.dimension))},
                  // SI = slope x number + zero
                  {"slope", unit.to_si(1) - unit.to_si(0)},
                  {"zero", unit.to_si(0)},
                  {"node", node_of(channel.path)},
                  {"recorded", static_cast<bool>(trace_.recorded(c))}};
        for (const ChannelFigures& f : summary_.channels) {
            if (f.channel.path != channel.path) continue;
            const auto value = [&](double si) { return json_value(units_, channel.dimension, si); };
            j["peak"] = value(f.peak);
            j["lowest"] = value(f.lowest);
            j["held"] = value(f.held);
            j["residual"] = value(f.residual);
        }
        return j;
    }

    /// Time as doubles, since both sides of an event are neighbours; channels as floats, one after
    /// another, in the units of the answers. One that never changes is a single number.
    void numbers(Json& j, const std::vector<std::size_t>& rows) const {
        const std::size_t n = trace_.time().size();
        const std::vector<std::size_t> moving = moving_of(trace_);
        j["rows_of"] = n;
        std::vector<double> time;
        for (const std::size_t row : rows)
            time.push_back(units_.number(Dimension::time, trace_.time()[row]));
        j["time_unit"] = json_unit(units_.of(Dimension::time));
        j["time"] = base64(time);

        std::vector<float> values;
        j["channels"] = Json::array();
        for (std::size_t c = 0, next = 0; c < trace_.channels().size(); ++c) {
            const Dimension d = trace_.channels()[c].dimension;
            const auto number = [&](std::size_t row) {
                return static_cast<float>(
                    units_.number(d, static_cast<double>(trace_.value(row, c))));
            };
            Json described = channel(c);
            if (next < moving.size() && moving[next] == c) {
                described["column"] = next++;
                for (const std::size_t row : rows)
                    values.push_back(number(row));
            } else {
                described["value"] = json_number(static_cast<double>(number(0)));
            }
            j["channels"].push_back(std::move(described));
        }
        j["values"] = base64(values);
    }

    const PageRun& run_;
    const Scenario& scenario_;
    const Summary& summary_;
    const PageTrace& trace_;
    const OutputUnits& units_;
    const Layout layout_;
    const Course course_;
};

} // namespace

std::vector<std::vector<std::size_t>> page_rows(const std::vector<PageRun>& runs,
                                                std::size_t bytes) {
    std::vector<std::vector<std::size_t>> rows;
    std::vector<double> times;
    for (const PageRun& run : runs) {
        const std::size_t per_row = (4 * moving_of(*run.trace).size() + 8) * 4 / 3;
        // Each run gets the moments of all of them.
        rows.push_back(run.trace->rows(bytes / runs.size() / runs.size() / per_row));
        for (const std::size_t row : rows.back())
            times.push_back(run.trace->time()[row]);
    }
    if (runs.size() > 1)
        for (std::size_t i = 0; i < runs.size(); ++i)
            rows[i] = runs[i].trace->rows_with(std::move(rows[i]), times);
    return rows;
}

nlohmann::ordered_json page_run_json(const PageRun& run, const OutputUnits& units,
                                     const std::vector<std::size_t>& rows) {
    return Writer(run, units).all(rows);
}

} // namespace pedalbench::runner
