#include "plots.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <stdexcept>

#include "plot_events.hpp"
#include "plot_kinds.hpp"
#include "plot_tools.hpp"
#include "point_labels.hpp"
#include "trace_file.hpp"

namespace pedalbench::runner {

namespace {

/// What the pictures of a run are made from.
struct Run {
    const TraceFile& trace;
    const Summary& summary;
    const OutputUnits& units;
};

void add_events(Picture& picture, const Run& run) {
    runner::add_events(picture, run.summary.events, recorded_parts(run.trace), run.units);
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
    std::string paths() const {
        std::string text;
        for (const TraceColumn* column : columns)
            text += (text.empty() ? "" : ", ") + column->path;
        return text;
    }
};

/// Bundles what is alike. Values below `low` are compared more finely.
std::vector<Bundle> bundles(const std::vector<const TraceColumn*>& columns, double low) {
    double span = 0;
    for (const TraceColumn* column : columns)
        span = std::max(span, column->high - std::min(column->low, 0.0));
    std::vector<Bundle> found;
    for (const TraceColumn* column : columns) {
        const auto same = std::find_if(found.begin(), found.end(), [&](const Bundle& bundle) {
            return alike(*bundle.columns.front(), *column, 0.004 * span, low,
                         std::min(0.004 * span, low > 0 ? 0.04 * low : 0.004 * span));
        });
        if (same != found.end())
            same->columns.push_back(column);
        else
            found.push_back({{column}});
    }
    return found;
}

/// The recorded channels that stand in that picture, with that label or, where it is empty, any.
std::vector<const TraceColumn*> columns_of(const TraceFile& trace, const std::string& picture,
                                           const std::string& label = "") {
    std::vector<const TraceColumn*> columns;
    for (std::size_t i = 1; i < trace.columns.size(); ++i) {
        const TraceColumn& column = trace.columns[i];
        const Kind kind = kind_of(column);
        if (kind.picture == picture && (label.empty() || kind.label == label) &&
            column.high >= column.low)
            columns.push_back(&column);
    }
    return columns;
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

/// One panel below the others.
void add_panel(Picture& picture, const TraceFile& trace, Panel panel) {
    if (!picture.panels.empty()) picture.panels.back().x.label.clear();
    panel.x = time_axis(trace, true);
    picture.panels.push_back(std::move(panel));
}

/// Panels for these channels: strips for what is on or off, then those that share their label and
/// unit, and a size, beside each other. A panel with one curve has its name above it.
void add_panels(Picture& picture, const TraceFile& trace,
                const std::vector<const TraceColumn*>& columns) {
    std::map<std::vector<std::string>, std::vector<const TraceColumn*>> strips; // by their words
    std::vector<std::pair<Kind, std::vector<const TraceColumn*>>> groups;
    for (const TraceColumn* column : columns) {
        if (is_on_off(*column)) {
            strips[state_words(column->path)].push_back(column);
            continue;
        }
        const Kind kind{column->unit, kind_of(*column).label};
        const auto same = std::find_if(groups.begin(), groups.end(),
                                       [&kind](const auto& g) { return g.first == kind; });
        if (same == groups.end())
            groups.push_back({kind, {column}});
        else
            same->second.push_back(column);
    }
    for (const auto& [words, list] : strips)
        for (const Bundle& bundle : bundles(list, 0)) {
            Panel panel;
            panel.height = kStrip;
            panel.heading = bundle.paths();
            panel.y = strip_axis(bundle.columns.front()->path);
            panel.curves = curves_of({bundle});
            add_panel(picture, trace, panel);
        }
    std::vector<std::vector<Bundle>> lists;
    for (const auto& group : groups)
        for (const std::vector<const TraceColumn*>& shared : shared_panels(group.second))
            lists.push_back(bundles(shared, 0));
    for (const std::vector<Bundle>& list : lists) {
        const TraceColumn& first = *list.front().columns.front();
        Panel panel;
        panel.height = lists.size() <= 3 ? 160 : 125; // a page must hold them
        double low = first.low, high = first.high;
        for (const Bundle& bundle : list) {
            for (const TraceColumn* column : bundle.columns) {
                low = std::min(low, column->low);
                high = std::max(high, column->high);
            }
            const Pen its = list.size() > 1 ? pen(picture.key.size()) : pen(0);
            panel.curves.push_back({1, bundle.columns.front()->number, its});
            if (list.size() > 1)
                picture.key.push_back({bundle.paths(), its});
            else
                panel.heading = bundle.paths();
        }
        const std::string label = kind_of(first).label;
        if (spaced(panel.heading) == label) panel.heading.clear(); // it would say it twice
        panel.y = close_axis(with_unit(label, first.unit), low, high, least_span(first));
        add_panel(picture, trace, panel);
    }
}

std::optional<Picture> pressures(const Run& run) {
    Picture picture{"pressures", "Line pressures", run.summary.title, {}, {}, {}, {}};
    const double low = rounded_up(run.units.number(Dimension::pressure, kLowPressure));
    const std::vector<Bundle> list = bundles(columns_of(run.trace, "pressures", "pressure"), low);
    if (!list.empty()) {
        Panel panel;
        panel.y = range_of(list, with_unit("pressure", list.front().columns.front()->unit));
        panel.curves = curves_of(list);
        picture.key = key_of(list);
        add_panel(picture, run.trace, panel);
        add_close_up(picture, low);
    }
    add_panels(picture, run.trace, columns_of(run.trace, "pressures", "difference"));
    if (picture.panels.empty()) return {};
    add_events(picture, run);
    return picture;
}

std::optional<Picture> pedal_loop(const Run& run) {
    const TraceColumn* travel = run.trace.find("pedal.travel");
    const TraceColumn* force = run.trace.find("pedal.force");
    if (!travel || !force) return {};
    Panel panel = loop_panel(*travel, *force, "pedal travel", "pedal force");
    panel.arrows = way(panel, travel->value, force->value, palette(0));
    // The ring is wide enough to show around the dot where the loop ends as it began.
    const Pen start{palette(1), 2, "", kRing, 2.4}, end{palette(1), 2, "", kDot, 1.1};
    panel.points = {{travel->value.front(), force->value.front(), start, ""},
                    {travel->value.back(), force->value.back(), end, ""}};
    return Picture{"pedal_loop",
                   "Pedal force against pedal travel",
                   run.summary.title,
                   {{"along the arrows", pen(0)}, {"start", start}, {"end", end}},
                   {panel},
                   {},
                   {}};
}

Picture valve_loop(const Run& run, const std::string& valve, const TraceColumn& inlet,
                   const TraceColumn& outlet) {
    Panel panel = loop_panel(inlet, outlet, "pressure at the inlet", "pressure at the outlet");
    panel.x.low = panel.y.low = std::min(panel.x.low, panel.y.low);
    panel.x.high = panel.y.high = std::max(panel.x.high, panel.y.high);
    panel.diagonal = true;
    Picture picture{
        "valve_" + valve,
        valve + ": outlet pressure against inlet pressure",
        run.summary.title,
        {{"along the arrows", pen(0)}, {"outlet as high as inlet", {"#6b6b6b", 1.5, "2", 0}}},
        {},
        {},
        {}};
    // Events that befell the valve, each with a dot where it befell it; a number stands there once.
    const Pen mark{palette(1), 2, "", kDot};
    Story story(run.units);
    for (const Event& event : run.summary.events) {
        if (event.part != valve) continue;
        const std::string number = std::to_string(story.number({event.time, {&event}}));
        const std::size_t row = run.trace.row_at(event.time);
        add_dot(panel, {inlet.value[row], outlet.value[row], mark, number});
    }
    picture.notes = story.notes();
    if (!picture.notes.empty()) picture.key.push_back({"numbered below", mark});
    panel.arrows = way(panel, inlet.value, outlet.value, palette(0));
    place_labels(panel, {{&inlet.value, &outlet.value}});
    picture.panels = {panel};
    return picture;
}

std::optional<Picture> wheels(const Run& run) {
    Picture picture{"wheels", "", run.summary.title, {}, {}, {}, {}};
    const double low = rounded_up(run.units.number(Dimension::torque, kLowTorque));
    std::vector<std::string> names; // one colour per wheel in all panels
    for (const std::string label : {"brake torque", "clearance"}) {
        const bool torque = label == "brake torque";
        const std::vector<Bundle> list =
            bundles(columns_of(run.trace, "wheels", label), torque ? low : 0);
        if (list.empty()) continue;
        Panel panel;
        panel.height = 160;
        panel.y = range_of(list, with_unit(label, list.front().columns.front()->unit));
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
        add_panel(picture, run.trace, panel);
        if (torque) add_close_up(picture, low);
        picture.title += torque                  ? "Brake torque of the wheels"
                         : picture.title.empty() ? "Running clearances"
                                                 : ", and running clearances";
    }
    if (picture.panels.empty()) return {};
    add_events(picture, run);
    return picture;
}

/// What is recorded of one kind, over time.
std::optional<Picture> over_time(const Run& run, const std::string& name,
                                 const std::string& title) {
    Picture picture{name, title, run.summary.title, {}, {}, {}, {}};
    add_panels(picture, run.trace, columns_of(run.trace, name));
    if (picture.panels.empty()) return {};
    add_events(picture, run);
    return picture;
}

std::vector<Picture> pictures(const Run& run) {
    std::vector<Picture> list;
    const auto add = [&list](std::optional<Picture> picture) {
        if (picture) list.push_back(std::move(*picture));
    };
    add(pressures(run));
    add(pedal_loop(run));
    add(over_time(run, "pedal_over_time", "Pedal force and pedal travel over time"));
    for (const TraceColumn& inlet : run.trace.columns) {
        if (!inlet.path.ends_with(".inlet.pressure")) continue;
        const std::string valve = owner(owner(inlet.path));
        if (!is_valve(valve, run.summary)) continue;
        if (const TraceColumn* outlet = run.trace.find(valve + ".outlet.pressure"))
            list.push_back(valve_loop(run, valve, inlet, *outlet));
    }
    add(wheels(run));
    for (const auto& [name, title] : kFurther)
        add(over_time(run, name, title));
    if (!run.summary.complete)
        for (Picture& picture : list)
            picture.subtitle = "INCOMPLETE RUN. " + picture.subtitle;
    return list;
}

} // namespace

bool write_plots(const std::filesystem::path& dir, const Summary& summary, const OutputUnits& units,
                 std::string& why_not) {
    try {
        const TraceFile trace = read_trace_file(dir / "trace.csv", kRows);
        const std::vector<Picture> list = pictures({trace, summary, units});
        if (list.empty()) throw std::runtime_error("nothing was recorded that a plot could show");
        why_not = draw(dir, list, trace.stride);
    } catch (const std::exception& error) {
        why_not = error.what();
    }
    return why_not.empty();
}

} // namespace pedalbench::runner
