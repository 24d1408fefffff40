#include "plots.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "plot_events.hpp"
#include "plot_tools.hpp"
#include "point_labels.hpp"
#include "trace_file.hpp"

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostCurves = 14; // colours, then the same ones dashed

bool ends_with(const std::string& text, const char* end) {
    return text.ends_with(end);
}

Axis time_axis(const TraceFile& trace, bool labelled) {
    const TraceColumn& time = trace.columns.front();
    return {labelled ? with_unit("time", time.unit) : "", time.low, time.high};
}

/// Columns that share one curve because no eye could tell them apart.
struct Bundle {
    std::vector<const TraceColumn*> columns;

    std::string names() const {
        std::string text;
        for (const TraceColumn* column : columns)
            text += (text.empty() ? "" : ", ") + owner(column->path);
        return text;
    }
};

/// Bundles the columns whose path passes `wanted`. Values below `low` are compared more finely.
template <class Wanted>
std::vector<Bundle> bundles(const TraceFile& trace, double low, Wanted wanted) {
    std::vector<const TraceColumn*> columns;
    double span = 0;
    for (std::size_t i = 1; i < trace.columns.size(); ++i) {
        const TraceColumn& column = trace.columns[i];
        if (!wanted(column.path) || !(column.high >= column.low)) continue;
        columns.push_back(&column);
        span = std::max(span, column.high - std::min(column.low, 0.0));
    }
    std::vector<Bundle> found;
    for (const TraceColumn* column : columns) {
        const auto same = std::find_if(found.begin(), found.end(), [&](const Bundle& bundle) {
            return alike(*bundle.columns.front(), *column, 0.004 * span, low,
                         std::min(0.004 * span, low > 0 ? 0.04 * low : 0.004 * span));
        });
        if (same != found.end())
            same->columns.push_back(column);
        else if (found.size() < kMostCurves)
            found.push_back({{column}});
    }
    return found;
}

std::vector<Curve> curves_of(const std::vector<Bundle>& list) {
    std::vector<Curve> curves;
    for (std::size_t i = 0; i < list.size(); ++i)
        curves.push_back({1, list[i].columns.front()->number, pen(i)});
    return curves;
}

std::vector<KeyEntry> key_of(const std::vector<Bundle>& list) {
    std::vector<KeyEntry> key;
    for (std::size_t i = 0; i < list.size(); ++i)
        key.push_back({list[i].names(), pen(i)});
    return key;
}

Axis range_of(const std::vector<Bundle>& list, const std::string& label) {
    double low = 0, high = 0;
    for (const Bundle& bundle : list)
        for (const TraceColumn* column : bundle.columns) {
            low = std::min(low, column->low);
            high = std::max(high, column->high);
        }
    return axis(label, low, high);
}

/// A second panel that shows what the first one cannot: the values below `low`.
void add_close_up(Picture& picture, double low) {
    Panel& whole = picture.panels.back();
    if (whole.y.high < 4 * low) return;
    Panel close = whole;
    close.heading = "the same, near zero";
    close.height = 140;
    close.y.high = low;
    close.y.low = std::max(close.y.low, -0.4 * low);
    whole.x.label.clear();
    picture.panels.push_back(close);
}

std::optional<Picture> pressures(const TraceFile& trace, const Summary& summary,
                                 const OutputUnits& units) {
    const double low = rounded_up(units.number(Dimension::pressure, kLowPressure));
    const std::vector<Bundle> list =
        bundles(trace, low, [](const std::string& p) { return ends_with(p, ".pressure"); });
    if (list.empty()) return {};
    const std::string& unit = list.front().columns.front()->unit;

    Picture picture{"pressures", "Line pressures", summary.title, key_of(list), {}, {}, {}};
    Panel panel;
    panel.x = time_axis(trace, true);
    panel.y = range_of(list, with_unit("pressure", unit));
    panel.curves = curves_of(list);
    picture.panels = {panel};
    add_close_up(picture, low);
    add_events(picture, summary.events, units);
    return picture;
}

std::optional<Picture> pedal_loop(const TraceFile& trace, const Summary& summary) {
    const TraceColumn* travel = trace.find("pedal.travel");
    const TraceColumn* force = trace.find("pedal.force");
    if (!travel || !force) return {};
    Panel panel = loop_panel(*travel, *force, "pedal travel", "pedal force");
    panel.arrows = way(panel, travel->value, force->value, palette(0));
    Pen start{palette(1), 2, "", kRing}, end{palette(1), 2, "", kDot};
    panel.points = {{travel->value.front(), force->value.front(), start, ""},
                    {travel->value.back(), force->value.back(), end, ""}};
    return Picture{"pedal_loop",
                   "Pedal force against pedal travel",
                   summary.title,
                   {{"along the arrows", pen(0)}, {"start", start}, {"end", end}},
                   {panel},
                   {},
                   {}};
}

Picture valve_loop(const TraceFile& trace, const std::string& valve, const TraceColumn& inlet,
                   const TraceColumn& outlet, const Summary& summary, const OutputUnits& units) {
    Panel panel = loop_panel(inlet, outlet, "pressure at the inlet", "pressure at the outlet");
    panel.x.low = panel.y.low = std::min(panel.x.low, panel.y.low);
    panel.x.high = panel.y.high = std::max(panel.x.high, panel.y.high);
    panel.diagonal = true;
    Picture picture{
        "valve_" + valve,
        valve + ": outlet pressure against inlet pressure",
        summary.title,
        {{"along the arrows", pen(0)}, {"outlet as high as inlet", {"#6b6b6b", 1.5, "2", 0}}},
        {},
        {},
        {}};
    // Events that befell the valve, where they befell it; neighbours share a label.
    const Pen mark{palette(1), 2, "", kDot};
    Story story;
    for (const Event& event : summary.events) {
        if (event.part != valve) continue;
        const std::string number = std::to_string(story.number({event.time, {&event}}));
        const std::size_t row = trace.row_at(event.time);
        const double x = inlet.value[row], y = outlet.value[row];
        const double near = 0.03 * (panel.x.high - panel.x.low);
        const auto same =
            std::find_if(panel.points.begin(), panel.points.end(), [&](const Point& p) {
                return std::abs(p.x - x) < near && std::abs(p.y - y) < near;
            });
        if (same == panel.points.end())
            panel.points.push_back({x, y, mark, number});
        else if ((", " + same->text + ",").find(" " + number + ",") == std::string::npos)
            same->text += ", " + number;
    }
    picture.notes = story.notes(units);
    if (!picture.notes.empty()) picture.key.push_back({"numbered below", mark});
    panel.arrows = way(panel, inlet.value, outlet.value, palette(0));
    place_labels(panel, {{&inlet.value, &outlet.value}});
    picture.panels = {panel};
    return picture;
}

std::optional<Picture> pedal_over_time(const TraceFile& trace, const Summary& summary,
                                       const OutputUnits& units) {
    Picture picture{
        "pedal_over_time", "Pedal force and pedal travel over time", summary.title, {}, {}, {}, {}};
    std::size_t colour = 0;
    for (const auto& [path, label] :
         {std::pair{"pedal.force", "pedal force"}, std::pair{"pedal.travel", "pedal travel"}}) {
        const TraceColumn* column = trace.find(path);
        if (!column) continue;
        Panel panel;
        panel.height = 160;
        panel.x = time_axis(trace, false);
        panel.y = axis(with_unit(label, column->unit), column->low, column->high);
        panel.curves = {{1, column->number, pen(colour++)}};
        picture.panels.push_back(panel);
    }
    if (picture.panels.empty()) return {};
    picture.panels.back().x = time_axis(trace, true);
    add_events(picture, summary.events, units);
    return picture;
}

std::optional<Picture> wheels(const TraceFile& trace, const Summary& summary,
                              const OutputUnits& units) {
    Picture picture{"wheels", "", summary.title, {}, {}, {}, {}};
    const double low = rounded_up(units.number(Dimension::torque, kLowTorque));
    std::vector<std::string> names; // one colour per wheel in all panels
    for (const std::string word : {"torque", "clearance"}) {
        const bool torque = word == "torque";
        const std::vector<Bundle> list =
            bundles(trace, torque ? low : 0,
                    [&word](const std::string& path) { return quantity(path) == word; });
        if (list.empty()) continue;
        Panel panel;
        panel.height = 160;
        panel.x = time_axis(trace, true);
        panel.y = range_of(list, with_unit(torque ? "brake torque" : "clearance",
                                           list.front().columns.front()->unit));
        for (const Bundle& bundle : list) {
            const std::string name = bundle.names();
            const auto known = std::find(names.begin(), names.end(), name);
            const std::size_t i = static_cast<std::size_t>(known - names.begin());
            if (known == names.end()) {
                names.push_back(name);
                picture.key.push_back({name, pen(i)});
            }
            panel.curves.push_back({1, bundle.columns.front()->number, pen(i)});
        }
        if (!picture.panels.empty()) picture.panels.back().x.label.clear();
        picture.panels.push_back(panel);
        if (torque) add_close_up(picture, low);
        picture.title += torque                  ? "Brake torque of the wheels"
                         : picture.title.empty() ? "Running clearances"
                                                 : ", and running clearances";
    }
    if (picture.panels.empty()) return {};
    add_events(picture, summary.events, units);
    return picture;
}

/// Panels over time, one for each word that quantities end in; a key where a panel holds several.
std::optional<Picture> over_time(const TraceFile& trace, const Summary& summary,
                                 const OutputUnits& units, const std::string& name,
                                 const std::string& title, const std::vector<std::string>& words) {
    Picture picture{name, title, summary.title, {}, {}, {}, {}};
    for (const std::string& word : words) {
        std::string unit; // wheels turn at a speed too, in another unit
        const std::vector<Bundle> list = bundles(trace, 0, [&](const std::string& path) {
            if (!ends_with(path, word.c_str())) return false;
            const std::string& its = trace.find(path)->unit;
            if (unit.empty()) unit = its;
            return its == unit;
        });
        if (list.empty()) continue;
        Panel panel;
        panel.height = 160;
        panel.x = time_axis(trace, true);
        panel.y = range_of(list, with_unit(word, unit));
        panel.curves = curves_of(list);
        if (!picture.panels.empty()) picture.panels.back().x.label.clear();
        if (list.size() > 1)
            for (std::size_t i = 0; i < list.size(); ++i)
                picture.key.push_back({list[i].columns.front()->path, panel.curves[i].pen});
        picture.panels.push_back(panel);
    }
    if (picture.panels.empty()) return {};
    add_events(picture, summary.events, units);
    return picture;
}

std::vector<Picture> pictures(const TraceFile& trace, const Summary& summary,
                              const OutputUnits& units) {
    std::vector<Picture> list;
    const auto add = [&list](std::optional<Picture> picture) {
        if (picture) list.push_back(std::move(*picture));
    };
    add(pressures(trace, summary, units));
    add(pedal_loop(trace, summary));
    add(pedal_over_time(trace, summary, units));
    for (const TraceColumn& inlet : trace.columns) {
        if (!ends_with(inlet.path, ".inlet.pressure")) continue;
        const std::string valve = owner(owner(inlet.path));
        if (!is_valve(valve, summary)) continue;
        if (const TraceColumn* outlet = trace.find(valve + ".outlet.pressure"))
            list.push_back(valve_loop(trace, valve, inlet, *outlet, summary, units));
    }
    add(wheels(trace, summary, units));
    add(over_time(trace, summary, units, "road", "The car on the road",
                  {"speed", "deceleration", "adhesion"}));
    add(over_time(trace, summary, units, "warmth", "Temperatures", {"temperature"}));
    if (!summary.complete)
        for (Picture& picture : list)
            picture.subtitle = "INCOMPLETE RUN. " + picture.subtitle;
    return list;
}

} // namespace

bool write_plots(const std::filesystem::path& dir, const Summary& summary, const OutputUnits& units,
                 std::string& why_not) {
    try {
        const TraceFile trace = read_trace_file(dir / "trace.csv", kRows);
        const std::vector<Picture> list = pictures(trace, summary, units);
        if (list.empty()) throw std::runtime_error("nothing was recorded that a plot could show");
        why_not = draw(dir, list, trace.stride);
    } catch (const std::exception& error) {
        why_not = error.what();
    }
    return why_not.empty();
}

} // namespace pedalbench::runner
