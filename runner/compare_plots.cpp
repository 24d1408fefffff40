#include "compare_plots.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <functional>
#include <optional>
#include <set>
#include <stdexcept>

#include "plot_events.hpp"
#include "plot_kinds.hpp"
#include "plot_tools.hpp"
#include "point_labels.hpp"

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostRows = 16; // of events below a picture
constexpr double kVisible = 0.02;     // of a panel

/// Of the r-th run: colours that colour-blind readers can tell apart, dashes that still do in grey.
/// Later curves are thinner, so that one that lies on another does not hide it.
Pen run_pen(std::size_t r) {
    static constexpr std::array<const char*, 6> dashes = {"",           "(10,5)", "(3,4)",
                                                          "(14,4,3,4)", "(20,6)", "(8,3,2,3,2,3)"};
    Pen pen;
    pen.colour = palette(r);
    pen.width = std::max(1.8, 3.0 - 0.4 * static_cast<double>(r));
    pen.dash = dashes[r % dashes.size()];
    return pen;
}

/// gnuplot's point types: dot, square, diamond, pentagon; a triangle would look like an arrow.
constexpr std::array<int, 4> kPoints = {kDot, 5, 13, 15};

/// One channel in all runs, and those that look the same in every one of them.
struct Bundle {
    std::vector<std::string> paths;
    std::vector<const TraceColumn*> column; // one per run

    std::string names() const {
        std::string text;
        for (const std::string& path : paths)
            text += (text.empty() ? "" : ", ") + owner(path);
        return text;
    }
    /// How far the last values of the runs lie apart.
    double apart_at_end() const {
        double least = column.front()->value.back(), most = least;
        for (const TraceColumn* c : column) {
            least = std::min(least, c->value.back());
            most = std::max(most, c->value.back());
        }
        return most - least;
    }
};

std::string seconds(double time) {
    std::array<char, 32> text;
    std::snprintf(text.data(), text.size(), "%.3f", time);
    return std::isnan(time) ? "-" : text.data();
}

/// Rows of events that share one number, because their marks would touch in every run.
struct MarkedRows {
    std::vector<double> time; // of the first of them, one per run
    Happenings said;

    void add(const EventRow& row) {
        if (row.parts.empty()) said.add("", row.event->text);
        for (const std::string& part : row.parts)
            said.add(part, row.event->text);
    }
};

class Painter {
  public:
    Painter(const Compared& compared, const std::vector<TraceFile>& traces)
        : compared_(compared), traces_(traces) {
        const std::string& title = compared.runs.front().title;
        const bool common =
            std::all_of(compared.runs.begin(), compared.runs.end(),
                        [&title](const RunName& run) { return run.title == title; });
        if (common) subtitle_ = title;
        for (std::size_t r = 0; r < compared.runs.size(); ++r)
            key_.push_back({compared.runs[r].name, run_pen(r)});
        for (const TraceFile& trace : traces) {
            time_.low = std::min(time_.low, trace.columns.front().low);
            time_.high = std::max(time_.high, trace.columns.front().high);
        }
        mark_events();
    }

    std::vector<Picture> all() const {
        std::vector<Picture> list;
        const auto add = [&list](std::optional<Picture> picture) {
            if (picture) list.push_back(std::move(*picture));
        };
        add(over_time("pressures", "Line pressures", kLowPressure));
        add(loop("pedal_loop", "Pedal force against pedal travel", "pedal.travel", "pedal.force",
                 "pedal travel", "pedal force", false));
        add(over_time("pedal_over_time", "Pedal force and pedal travel over time", 0));
        for (const std::string& valve : valves())
            add(loop("valve_" + valve, valve + ": outlet pressure against inlet pressure",
                     valve + ".inlet.pressure", valve + ".outlet.pressure", "pressure at the inlet",
                     "pressure at the outlet", true));
        add(over_time("wheels", "Brake torque of the wheels, and running clearances", kLowTorque));
        for (const auto& [name, title] : kFurther)
            add(over_time(name, title, 0));
        return list;
    }

  private:
    std::vector<const TraceColumn*> columns_of(const std::string& path) const {
        std::vector<const TraceColumn*> columns;
        for (const TraceFile& trace : traces_) {
            const TraceColumn* column = trace.find(path);
            if (!column || !(column->high >= column->low)) return {};
            columns.push_back(column);
        }
        return columns;
    }
    std::string file(std::size_t r) const {
        return "trace_" + std::to_string(compared_.runs[r].number) + ".csv";
    }
    std::vector<Curve> curves(const std::vector<const TraceColumn*>& y,
                              const std::vector<const TraceColumn*>& x = {}) const {
        std::vector<Curve> list;
        for (std::size_t r = 0; r < y.size(); ++r)
            list.push_back({x.empty() ? 1 : x[r]->number, y[r]->number, run_pen(r), file(r),
                            traces_[r].stride});
        return list;
    }

    /// Bundles of the channels of a kind, in the order of the first trace.
    std::vector<Bundle> bundles(const Kind& kind) const {
        std::vector<Bundle> list;
        const auto wanted = [&kind](const TraceColumn& c) { return kind_of(c) == kind; };
        double span = 0;
        for (const TraceColumn& c : traces_.front().columns)
            if (wanted(c)) span = std::max(span, c.high - std::min(c.low, 0.0));
        for (const TraceColumn& c : traces_.front().columns) {
            if (&c == &traces_.front().columns.front() || !wanted(c)) continue;
            const auto columns = columns_of(c.path);
            if (columns.empty()) continue;
            const auto same = std::find_if(list.begin(), list.end(), [&](const Bundle& b) {
                for (std::size_t r = 0; r < columns.size(); ++r)
                    if (!alike(*b.column[r], *columns[r], 0.004 * span, 0, 0.004 * span))
                        return false;
                return b.column.front()->unit == c.unit &&
                       state_words(b.paths.front()) == state_words(c.path);
            });
            if (same != list.end())
                same->paths.push_back(c.path);
            else
                list.push_back({{c.path}, columns});
        }
        return list;
    }

    /// Bundles of all that stands in that picture, kind by kind.
    std::vector<Bundle> bundles_of(const std::string& picture) const {
        std::vector<Kind> kinds;
        for (const TraceColumn& c : traces_.front().columns)
            if (kind_of(c).picture == picture &&
                std::find(kinds.begin(), kinds.end(), kind_of(c)) == kinds.end())
                kinds.push_back(kind_of(c));
        std::vector<Bundle> list;
        for (const Kind& kind : kinds)
            for (Bundle& bundle : bundles(kind))
                list.push_back(std::move(bundle));
        return list;
    }

    Panel panel_of(const Bundle& bundle) const {
        const TraceColumn& first = *bundle.column.front();
        Panel panel;
        panel.heading = bundle.names() + ": " + spaced(quantity(bundle.paths.front()));
        panel.x = {"", time_.low, time_.high};
        panel.curves = curves(bundle.column);
        const auto on_off = [](const TraceColumn* c) { return is_on_off(*c); };
        if (std::all_of(bundle.column.begin(), bundle.column.end(), on_off)) {
            panel.height = kStrip;
            panel.y = strip_axis(first.path);
            return panel;
        }
        panel.height = 130;
        double low = first.low, high = first.high;
        for (const TraceColumn* c : bundle.column) {
            low = std::min(low, c->low);
            high = std::max(high, c->high);
        }
        panel.y =
            close_axis(with_unit(kind_of(first).label, first.unit), low, high, least_span(first));
        return panel;
    }

    /// One panel for each bundle of channels that stand in that picture; where the runs end apart
    /// below `near_zero` [SI], one more that shows it.
    std::optional<Picture> over_time(const std::string& name, const std::string& title,
                                     double near_zero) const {
        Picture picture{name, title, subtitle_, key_, {}, {}, {}};
        std::vector<Bundle> list = bundles_of(name);
        // Where there is much, what looks the same in all runs only takes room.
        std::string same, no_room;
        const auto no_difference = [this](const Bundle& b) { return apart(b) <= kVisible; };
        const auto add_names = [](std::string& to, const Bundle& bundle) {
            for (const std::string& path : bundle.paths)
                to += (to.empty() ? "" : ", ") + path;
        };
        if (list.size() > 2 && !std::all_of(list.begin(), list.end(), no_difference)) {
            for (const Bundle& bundle : list)
                if (no_difference(bundle)) add_names(same, bundle);
            std::erase_if(list, no_difference);
        }
        std::vector<std::string> drawn; // in each panel, the first path
        for (const Bundle& bundle : list) {
            Panel panel = panel_of(bundle);
            picture.panels.push_back(panel);
            drawn.push_back(bundle.paths.front());
            const std::string what = kind_of(*bundle.column.front()).label;
            const bool torque = what == "brake torque";
            if (near_zero <= 0 || (!torque && what != "pressure")) continue;
            const Dimension d = torque ? Dimension::torque : Dimension::pressure;
            const double low = rounded_up(compared_.units.number(d, near_zero));
            if (panel.y.high < 4 * low || bundle.apart_at_end() < 0.02 * low) continue;
            panel.heading += ", near zero";
            panel.y.high = low;
            panel.y.low = std::max(panel.y.low, -0.4 * low);
            picture.panels.push_back(panel);
            drawn.push_back(bundle.paths.front());
        }
        if (picture.panels.empty()) return {};
        for (;;) { // until a page holds it
            picture.panels.back().x.label = with_unit("time", traces_.front().columns.front().unit);
            picture.marks.clear();
            picture.notes.clear();
            add_events(picture);
            if (!same.empty()) add_note(picture, "", "No difference to be seen: " + same);
            if (!no_room.empty())
                add_note(picture, "", "No room here, so only in the traces: " + no_room);
            if (picture.notes.size() <= room_for_notes(picture) || list.size() == 1) return picture;
            // What differs least goes first.
            picture.panels.back().x.label.clear();
            const auto least = std::min_element(
                list.begin(), list.end(),
                [this](const Bundle& a, const Bundle& b) { return apart(a) < apart(b); });
            for (std::size_t i = drawn.size(); i-- > 0;)
                if (drawn[i] == least->paths.front()) {
                    picture.panels.erase(picture.panels.begin() + static_cast<std::ptrdiff_t>(i));
                    drawn.erase(drawn.begin() + static_cast<std::ptrdiff_t>(i));
                }
            add_names(no_room, *least);
            list.erase(least);
        }
    }

    /// How far the runs lie apart at most, while both last, as a share of what the panel shows.
    double apart(const Bundle& bundle) const {
        double most = 0;
        const std::vector<double>& time = traces_.front().columns.front().value;
        for (std::size_t r = 1; r < traces_.size(); ++r)
            for (std::size_t i = 0; i < time.size(); ++i) {
                if (time[i] > traces_[r].columns.front().value.back()) break;
                const double other = bundle.column[r]->value[traces_[r].row_at(time[i])];
                most = std::fmax(most, std::abs(bundle.column.front()->value[i] - other));
            }
        const Axis y = panel_of(bundle).y;
        return most / (y.high - y.low);
    }

    std::vector<std::string> valves() const {
        std::vector<std::string> names;
        for (const TraceColumn& inlet : traces_.front().columns) {
            if (!inlet.path.ends_with(".inlet.pressure")) continue;
            const std::string valve = owner(owner(inlet.path));
            if (std::any_of(compared_.entries.begin(), compared_.entries.end(),
                            [&valve](const study::Entry& e) { return is_valve(valve, e.summary); }))
                names.push_back(valve);
        }
        return names;
    }

    std::optional<Picture> loop(const std::string& name, const std::string& title,
                                const std::string& x_path, const std::string& y_path,
                                const std::string& x_label, const std::string& y_label,
                                bool valve) const {
        const auto x = columns_of(x_path), y = columns_of(y_path);
        if (x.empty() || y.empty()) return {};
        Panel panel = loop_panel(*x[0], *y[0], x_label, y_label);
        for (std::size_t r = 1; r < x.size(); ++r) {
            const Panel other = loop_panel(*x[r], *y[r], x_label, y_label);
            panel.x.low = std::min(panel.x.low, other.x.low);
            panel.x.high = std::max(panel.x.high, other.x.high);
            panel.y.low = std::min(panel.y.low, other.y.low);
            panel.y.high = std::max(panel.y.high, other.y.high);
        }
        Picture picture{name, title, subtitle_, key_, {}, {}, {}};
        if (valve) {
            panel.x.low = panel.y.low = std::min(panel.x.low, panel.y.low);
            panel.x.high = panel.y.high = std::max(panel.x.high, panel.y.high);
            panel.diagonal = true;
            picture.key.push_back({"outlet as high as inlet", {"#6b6b6b", 1.5, "2", 0}});
            mark_valve(owner(owner(x_path)), x, y, panel, picture);
        }
        panel.curves = curves(y, x);
        for (std::size_t r = 0; r < x.size(); ++r) {
            const auto more = way(panel, x[r]->value, y[r]->value, palette(r));
            panel.arrows.insert(panel.arrows.end(), more.begin(), more.end());
        }
        std::vector<Trail> trails;
        for (std::size_t r = 0; r < x.size(); ++r)
            trails.push_back({&x[r]->value, &y[r]->value});
        place_labels(panel, trails);
        picture.panels = {panel};
        return picture;
    }

    /// Events of a valve where they befell it, in the colour and shape of the run.
    void mark_valve(const std::string& valve, const std::vector<const TraceColumn*>& x,
                    const std::vector<const TraceColumn*>& y, Panel& panel,
                    Picture& picture) const {
        std::vector<std::string> words;
        std::set<std::pair<std::size_t, std::string>> marked; // the first of each kind in each run
        for (std::size_t r = 0; r < x.size(); ++r) {
            Pen pen{palette(r), 2, "", kPoints[r % kPoints.size()]};
            pen.size = std::max(0.7, 1.5 - 0.4 * static_cast<double>(r)); // shows on those before
            const std::size_t before = marked.size();
            for (const Event& event : compared_.entries[r].summary.events) {
                if (event.part != valve || event.time <= 0 || !marked.emplace(r, event.text).second)
                    continue;
                const auto known = std::find(words.begin(), words.end(), event.text);
                const std::string number = std::to_string(known - words.begin() + 1);
                if (known == words.end()) words.push_back(event.text);
                const std::size_t row = traces_[r].row_at(event.time);
                add_dot(panel, {x[r]->value[row], y[r]->value[row], pen, number});
            }
            if (marked.size() > before)
                picture.key.push_back({compared_.runs[r].name + ": numbered below", pen});
        }
        for (std::size_t i = 0; i < words.size(); ++i)
            picture.notes.push_back({std::to_string(i + 1), "", valve + ": " + words[i]});
        picture.note_text = kNoteTime;
    }

    // ------------------------------------------------------------ events over time

    bool touches(double a, double b) const {
        const double touch = 4 * (time_.high - time_.low) / kPanelWidth;
        return (std::isnan(a) && std::isnan(b)) || std::abs(a - b) <= touch;
    }

    /// Where there is no room for all: in each stretch of the run what had not happened before, and
    /// of that what differs; then by time, neighbours together.
    void mark_events() {
        std::vector<EventRow> rows = event_rows(compared_.comparison);
        std::vector<Turn> turns;
        for (const EventRow& row : rows) {
            const study::PairedEvent& e = *row.event;
            const int rank = e.occurrence > 0 ? 3 : !e.everywhere() ? 0 : !e.same() ? 1 : 2;
            double earliest = time_.high;
            for (const double t : e.time)
                earliest = std::fmin(earliest, t);
            turns.push_back({earliest, rank, static_cast<std::size_t>(rank == 3)});
        }
        const std::vector<std::size_t> order = in_turn(turns, time_);
        std::vector<bool> shown(rows.size(), false);
        for (std::size_t k = 0; k < std::min(kMostRows, order.size()); ++k)
            shown[order[k]] = true;
        for (std::size_t i = 0; i < rows.size(); ++i) {
            if (!shown[i]) continue;
            const std::vector<double>& time = rows[i].event->time;
            const auto near =
                std::find_if(marked_.begin(), marked_.end(), [&](const MarkedRows& m) {
                    for (std::size_t r = 0; r < time.size(); ++r)
                        if (std::isnan(m.time[r]) != std::isnan(time[r]) ||
                            !touches(m.time[r], time[r]))
                            return false;
                    return true;
                });
            if (near != marked_.end()) {
                near->add(rows[i]);
                continue;
            }
            marked_.push_back({time, {}});
            marked_.back().add(rows[i]);
        }
        left_out_ = rows.size() > kMostRows;
    }

    void add_events(Picture& picture) const {
        for (std::size_t k = 0; k < marked_.size(); ++k) {
            const std::vector<double>& time = marked_[k].time;
            const std::string number = std::to_string(k + 1);
            const bool together = std::all_of(time.begin(), time.end(),
                                              [&](double t) { return touches(t, time.front()); });
            if (together) {
                picture.marks.push_back({time.front(), number});
                continue;
            }
            for (std::size_t r = 0; r < time.size(); ++r)
                if (!std::isnan(time[r]))
                    picture.marks.push_back(
                        {time[r], number, {palette(r), 1.2, run_pen(r).dash, 0}});
        }
        std::stable_sort(picture.marks.begin(), picture.marks.end(),
                         [](const EventMark& a, const EventMark& b) { return a.x < b.x; });
        // A line without its number would only puzzle.
        const std::vector<int> rows = mark_rows(picture.marks, time_);
        std::vector<EventMark> kept;
        for (std::size_t i = 0; i < rows.size(); ++i)
            if (rows[i] >= 0) kept.push_back(picture.marks[i]);
        picture.marks = std::move(kept);

        picture.note_text = kNoteTime;
        for (std::size_t k = 0; k < marked_.size(); ++k) {
            std::string times;
            for (const double t : marked_[k].time)
                times += (times.empty() ? "" : " / ") + seconds(t);
            add_note(picture, std::to_string(k + 1), times + " s  " + marked_[k].said.words());
        }
        if (marked_.empty()) return;
        picture.notes.push_back({"", "Times in the order of the key; - : not in that run.", ""});
        if (left_out_)
            picture.notes.push_back({"", "The others are in events_1.csv and so on.", ""});
    }

    const Compared& compared_;
    const std::vector<TraceFile>& traces_;
    std::string subtitle_;
    std::vector<KeyEntry> key_;
    Axis time_{"", 0, 0};
    std::vector<MarkedRows> marked_;
    bool left_out_ = false;
};

} // namespace

std::vector<Picture> compare_pictures(const std::filesystem::path& dir, const Compared& compared) {
    std::vector<TraceFile> traces;
    for (const RunName& run : compared.runs)
        traces.push_back(
            read_trace_file(dir / ("trace_" + std::to_string(run.number) + ".csv"), kRows));
    return Painter(compared, traces).all();
}

bool write_compare_plots(const std::filesystem::path& dir, const Compared& compared,
                         std::string& why_not) {
    try {
        const std::vector<Picture> list = compare_pictures(dir, compared);
        if (list.empty())
            throw std::runtime_error("the runs have no channel in common that a plot could show");
        why_not = draw(dir, list, 1);
    } catch (const std::exception& error) {
        why_not = error.what();
    }
    return why_not.empty();
}

} // namespace pedalbench::runner
