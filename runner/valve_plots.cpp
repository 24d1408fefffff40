#include "valve_plots.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <fmt/format.h>

#include "compare_plots.hpp"
#include "csv_sink.hpp"
#include "plot_tools.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

namespace {

using study::Driven;
using study::kFrontAxle;
using study::kRearAxle;
using study::kRoads;

int number_of(const Driven& run) {
    const int car = static_cast<int>(run.car);
    return run.kind == Driven::Kind::slow ? kSlowTrace + car
                                          : kRoadTrace + 2 * static_cast<int>(run.which) + car;
}

/// A kept trace into a file.
void replay(const Trace& trace, CsvSink& to) {
    to.begin(trace.channels);
    for (std::size_t i = 0; i < trace.rows.size(); ++i)
        to.row(trace.time[i], trace.rows[i]);
    for (const Event& event : trace.events)
        to.event(event);
}

/// The slow runs of some cars as a comparison shows them.
std::vector<Picture> slow_pictures(const std::filesystem::path& dir, const CheckedValve& c,
                                   const std::vector<std::size_t>& cars) {
    Compared compared;
    compared.units = c.units;
    for (const std::size_t car : cars) {
        const Driven& run = c.check.slow(car);
        compared.runs.push_back(c.cars[car]);
        compared.runs.back().number = number_of(run);
        compared.entries.push_back({c.cars[car].name, run.scenario, run.summary});
    }
    return compare_pictures(dir, compared);
}

void add_slow(std::vector<Picture>& list, const std::filesystem::path& dir, const CheckedValve& c) {
    const auto take = [&list](std::vector<Picture> from, const std::string& name) {
        for (Picture& picture : from)
            if (picture.name == name) list.push_back(std::move(picture));
    };
    for (std::size_t v = 0; v < c.check.valves.size(); ++v) {
        std::vector<std::size_t> with;
        for (std::size_t car = 0; car < c.cars.size(); ++car)
            if (!c.check.answer[car].range[v].empty() && c.check.slow(car).problem.empty())
                with.push_back(car);
        if (!with.empty()) take(slow_pictures(dir, c, with), "valve_" + c.check.valves[v]);
    }
    if (c.check.slow(0).problem.empty() && c.check.slow(1).problem.empty())
        take(slow_pictures(dir, c, {0, 1}), "pedal_loop");
}

constexpr const char* kRearDash = "(8,4)";
constexpr double kUnderWay = 0.97; // of the foot's way until the car stands: then nothing is used

/// How much of the road each axle uses under the rising foot. Past its lock an axle slides.
Picture lock_picture(const std::filesystem::path& dir, const CheckedValve& c) {
    Picture picture{"lock_order",
                    "How much of the road each axle uses under a rising foot",
                    c.cars[0].title,
                    {},
                    {},
                    {},
                    {}};
    for (std::size_t i = 0; i < kRoads.size(); ++i) {
        Panel panel;
        panel.height = 210;
        panel.heading = fmt::format("{}, which holds {}", kRoads[i].name, kRoads[i].adhesion);
        double most = 0; // of the foot while both cars are under way
        for (std::size_t car = 0; car < c.cars.size(); ++car) {
            const Driven& run = c.check.road(car, i);
            if (!run.problem.empty()) continue;
            const std::string file = fmt::format("trace_{}.csv", number_of(run));
            const TraceFile trace = read_trace_file(dir / file, kRows);
            const study::CarPlaces& places = c.check.places[car];
            const TraceColumn* foot = trace.find(places.pedal + ".force");
            const study::LockOrder& order = c.check.answer[car].lock[i];
            const double end = kUnderWay * c.units.number(Dimension::force, order.force);
            most = most > 0 ? std::min(most, end) : end;
            for (const auto axle : {kFrontAxle, kRearAxle}) {
                const TraceColumn* used = trace.find(
                    places.vehicle + (axle == kFrontAxle ? ".front_adhesion" : ".rear_adhesion"));
                const Pen pen{palette(car), car == 0 ? 2.6 : 1.8,
                              axle == kRearAxle ? kRearDash : "", 0};
                panel.curves.push_back({foot->number, used->number, pen, file, trace.stride});
                const study::AxleLock& lock = order.axle[axle];
                if (std::isnan(lock.time)) continue;
                const Pen dot{palette(car), 2, "", axle == kFrontAxle ? kDot : 5};
                panel.points.push_back({c.units.number(Dimension::force, lock.force),
                                        used->value[trace.row_at(lock.time)], dot, ""});
            }
        }
        for (const Point& point : panel.points)
            most = std::max(most, 1.02 * point.x);
        const std::string unit(c.units.of(Dimension::force).name);
        panel.x = {with_unit("force of the foot", unit), 0, most};
        panel.y = axis("brake force over load", 0, 1.1 * kRoads[i].adhesion);
        picture.panels.push_back(std::move(panel));
    }
    for (std::size_t car = 0; car < c.cars.size(); ++car)
        for (const auto axle : {kFrontAxle, kRearAxle})
            picture.key.push_back(
                {c.cars[car].name + (axle == kFrontAxle ? ", front" : ", rear"),
                 {palette(car), car == 0 ? 2.6 : 1.8, axle == kRearAxle ? kRearDash : "", 0}});
    picture.notes = {{"", "Dot: the front axle's first wheel locks; square: the rear's.", ""},
                     {"", "Past that it slides, and holds less.", ""}};
    return picture;
}

} // namespace

void write_valve_traces(const std::filesystem::path& dir, const CheckedValve& checked) {
    for (const Driven& run : checked.check.drives) {
        if (run.kind != Driven::Kind::slow && run.kind != Driven::Kind::road) continue;
        CsvSink file(dir, checked.units, number_of(run));
        replay(run.trace, file);
        if (!file.close()) throw CannotWrite("cannot write the traces in " + dir.string());
    }
}

bool write_valve_plots(const std::filesystem::path& dir, const CheckedValve& checked,
                       std::string& why_not) {
    try {
        std::vector<Picture> list;
        add_slow(list, dir, checked);
        list.push_back(lock_picture(dir, checked));
        why_not = draw(dir, list, 1);
    } catch (const std::exception& error) {
        why_not = error.what();
    }
    return why_not.empty();
}

} // namespace pedalbench::runner
