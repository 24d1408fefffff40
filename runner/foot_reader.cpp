// What the foot does: corner points typed into the scenario, or a measured trace beside it.
#include <cmath>

#include "measured_file.hpp"
#include "reading.hpp"

namespace pedalbench::runner {

namespace {

const Field kTime = limits("time", Dimension::time, 0, 3600);
// A strong leg gives about 2 kN; more is a slip of the pen.
const Field kForce = limits("force", Dimension::force, 0, 3000);
const Field kTravel = limits("travel", Dimension::length, 0, 0.3);

void add_point(FootInput& foot, double time, double value, const Text& at, std::string_view path,
               Findings& findings) {
    if (!foot.time.empty() && time <= foot.time.back()) {
        findings.add(at.at, path, at.text, "times that rise from point to point");
        return;
    }
    foot.time.push_back(time);
    foot.value.push_back(value);
}

void read_rows(const MeasuredFile& csv, const MeasuredFile::Column& time,
               const MeasuredFile::Column& value, const Field& field, FootInput& foot,
               Findings& findings) {
    const std::size_t before = findings.size();
    // Offsets of a load cell around zero are no press of the pedal, but they are measurements.
    Field loose = field;
    loose.low = -0.05 * field.high;
    for (std::size_t row = 0; row < csv.rows(); ++row) {
        const auto t = csv.cell(row, time, kTime, findings);
        const auto v = csv.cell(row, value, loose, findings);
        if (t && v)
            add_point(foot, *t, std::max(0.0, *v), {std::string(csv.text(row)), csv.at(row, time)},
                      "time", findings);
        if (findings.size() > before + 20) return;
    }
    if (foot.time.size() < 2 && findings.size() == before)
        findings.add({csv.file(), 1, 1}, "", "fewer than two rows of numbers", "a trace over time");
}

void read_trace(const Node& node, const Source& source, FootInput& foot) {
    MapReader map(node, source, "foot.trace");
    const Node* file_node = map.need("file", "the path of a CSV file");
    const Node* time_node = map.need("time", "the name of a column");
    const Node* force_node = map.find("force");
    const Node* travel_node = map.find("travel");
    map.finish();
    if (!map.is_map()) return;
    if ((force_node != nullptr) == (travel_node != nullptr)) {
        source.findings.add(source.at(node), "foot.trace",
                            force_node ? "both force and travel" : "neither force nor travel",
                            "the name of a column under one of them");
        return;
    }
    if (!file_node || !time_node) return;
    const Node& value_node = force_node ? *force_node : *travel_node;
    const std::string value_path = join("foot.trace", force_node ? "force" : "travel");
    const auto file = read_text(*file_node, source, "foot.trace.file", "a path");
    const auto time_name = read_text(*time_node, source, "foot.trace.time", "a column's name");
    const auto value_name = read_text(value_node, source, value_path, "a column's name");
    if (!file || !time_name || !value_name) return;

    const auto csv = MeasuredFile::open(*file, source, "foot.trace.file");
    if (!csv) return;
    const Field& field = force_node ? kForce : kTravel;
    const auto time = csv->column(*time_name, Dimension::time, "foot.trace.time", source.findings);
    const auto value = csv->column(*value_name, field.dimension, value_path, source.findings);
    if (!time || !value) return;
    foot.kind = force_node ? FootInput::Kind::force : FootInput::Kind::travel;
    foot.measured = true;
    read_rows(*csv, *time, *value, field, foot, source.findings);
}

} // namespace

void read_foot(const Node& node, const Source& source, FootInput& foot) {
    MapReader map(node, source, "foot");
    const Node* force = map.find("force");
    const Node* travel = map.find("travel");
    const Node* trace = map.find("trace");
    map.finish();
    if (!map.is_map()) return;
    if ((force != nullptr) + (travel != nullptr) + (trace != nullptr) != 1) {
        const bool none = !force && !travel && !trace;
        source.findings.add(source.at(node), "foot", none ? "nothing" : "more than one input",
                            "one of force, travel or trace");
        return;
    }
    if (trace) return read_trace(*trace, source, foot);

    foot.kind = force ? FootInput::Kind::force : FootInput::Kind::travel;
    const Node& points = force ? *force : *travel;
    const Field& field = force ? kForce : kTravel;
    const std::string path = join("foot", field.name);
    if (points.kind != Node::Kind::list || points.items.empty()) {
        source.findings.add(source.at(points), path,
                            points.items.empty() ? "no points" : describe(points),
                            "a list of [time, value] pairs");
        return;
    }
    for (const Node& point : points.items) {
        if (point.kind != Node::Kind::list || point.items.size() != 2) {
            source.findings.add(source.at(point), path,
                                point.kind == Node::Kind::list
                                    ? "a list of " + std::to_string(point.items.size())
                                    : describe(point),
                                "a pair [time, value]");
            continue;
        }
        const auto t = read_value(point.items[0], kTime, source, path);
        const auto v = read_value(point.items[1], field, source, path);
        if (t && v)
            add_point(foot, *t, *v, {point.items[0].text, source.at(point.items[0])}, path,
                      source.findings);
    }
}

} // namespace pedalbench::runner
