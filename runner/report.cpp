#include "report.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "bleeding_report.hpp"
#include "reading.hpp"
#include "system/changes.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

/// One row of the table: the same number of decimals in all cells, four digits for the largest.
/// What is less than one of the last digit is nothing beside it: a pedal on its stop reads 0.00 mm,
/// although its spring presses the stop together by a few micrometres.
std::string row(const ChannelFigures& c, const OutputUnits& units, std::size_t name) {
    const Dimension d = c.channel.dimension;
    const double values[] = {units.number(d, c.settled), units.number(d, c.peak),
                             units.number(d, c.held), units.number(d, c.residual)};
    double largest = std::abs(units.number(d, c.lowest));
    for (const double v : values)
        if (std::abs(v) > largest) largest = std::abs(v);
    const int decimals =
        largest > 0 ? std::clamp(3 - static_cast<int>(std::floor(std::log10(largest))), 0, 6) : 0;
    std::string out = fmt::format("  {:<{}}", c.channel.path, name);
    const double last_digit = std::pow(10, -decimals);
    for (const double v : values)
        out += std::isnan(v)
                   ? fmt::format(" {:>10}", "-")
                   : fmt::format(" {:>10.{}f}", std::abs(v) < last_digit ? 0 : v, decimals);
    const std::string_view unit = units.of(d).name;
    return unit.empty() ? out + "\n" : out + "  " + std::string(unit) + "\n";
}

std::string figures(const Summary& s, const OutputUnits& units) {
    std::size_t name = 20;
    for (const ChannelFigures& c : s.channels)
        if (c.recorded) name = std::max(name, c.channel.path.size());
    name = std::min<std::size_t>(name, 40);
    std::string out = fmt::format("  {:<{}} {:>10} {:>10} {:>10} {:>10}  unit\n", "figure", name,
                                  "at rest", "peak", "held", "residual");
    for (const ChannelFigures& c : s.channels)
        if (c.recorded) out += row(c, units, name);
    return out;
}

std::string event_line(const Event& e, const OutputUnits& units) {
    std::string text = e.part.empty() ? e.text : e.part + ": " + e.text;
    std::string readings;
    for (const Reading& r : e.readings) {
        if (!readings.empty()) readings += ", ";
        readings += r.name + " " + units.found(r.dimension, r.value, 3);
    }
    if (!readings.empty()) text += " (" + readings + ")";
    return hanging(fmt::format("  {:>9.4f} s  ", e.time), text);
}

std::string happened(const Summary& s, const OutputUnits& units) {
    if (s.events.empty()) return "  nothing worth telling\n";
    // The first press matters most, and how it ended; in the middle of a long list only what had
    // not happened before is told, so that a burst or a lit lamp never drowns in repeats.
    constexpr std::size_t kFirst = 20, kLast = 8;
    const std::size_t n = s.events.size();
    const bool all = n <= kFirst + kLast + 1;
    std::set<std::string> told;
    std::size_t left_out = 0;
    std::string out;
    for (std::size_t i = 0; i < n; ++i) {
        const Event& e = s.events[i];
        const bool fresh = told.insert(e.part + ": " + e.text).second;
        if (!all && i >= kFirst && i < n - kLast && !fresh) {
            ++left_out;
            continue;
        }
        if (left_out > 0)
            out += fmt::format("             ... {} like the ones above, in events.csv\n",
                               std::exchange(left_out, 0));
        out += event_line(e, units);
    }
    return out;
}

std::string expectations(const Summary& s, const OutputUnits& units) {
    const auto good = std::count_if(s.expectations.begin(), s.expectations.end(),
                                    [](const ExpectationResult& e) { return e.held; });
    std::string out = fmt::format("Expectations: {} of {} hold\n", good, s.expectations.size());
    for (const ExpectationResult& e : s.expectations) {
        std::string text = e.text + ": ";
        if (std::isnan(e.found))
            text += e.remark.empty() ? "nothing found" : e.remark;
        else
            text += "found " + units.found(e.dimension, e.found) +
                    (e.remark.empty() ? "" : ", " + e.remark);
        if (const std::string wanted = wanted_text(e, units); !wanted.empty())
            text += "; wanted " + wanted;
        out += hanging(e.held ? "  holds  " : "  FAILED ", text);
    }
    return out;
}

std::string when_text(double from, double over) {
    std::string text = from > 0 ? "from " + show(from) + " s" : "from the start";
    return over > 0 ? text + ", over " + show(over) + " s" : text;
}

/// What this run has that the hardware file has not.
std::string differences(const Scenario& scenario, const OutputUnits& units) {
    std::string changes, faults;
    for (const Change& c : scenario.changes) {
        const Values* values = find_values(scenario.hardware, c.part);
        if (c.origin == Origin::fault || c.origin == Origin::procedure || !values) continue;
        const Field& field = values->table()[values->find(c.field)];
        changes += hanging("  ", c.part + "." + c.field + " " + field_text(field, c.value, units) +
                                     " " + when_text(c.at, c.over) +
                                     (c.origin == Origin::command_line ? " (--set)" : ""));
    }
    for (const Fault& f : scenario.faults) {
        std::string text = f.name + ": " + std::string(f.kind->name) + " at " + f.at;
        const Field* size = size_field(*f.kind);
        if (size && !std::isnan(f.size)) text += ", " + field_text(*size, f.size, units);
        text += f.left_out ? ", left out (--without)" : ", " + when_text(f.from, f.over);
        if (f.origin == Origin::command_line) text += " (--set)";
        faults += hanging("  ", text);
    }
    return (changes.empty() ? "" : "\nChanged from the hardware file\n" + changes) +
           (faults.empty() ? "" : "\nFaults\n" + faults);
}

std::string wheels_at_end(const Summary& s, const OutputUnits& units) {
    const auto torque = [&units](double si) { return units.found(Dimension::torque, si, 3); };
    const std::string limit =
        "; service data allow 69 N at the hub bolts, about " + torque(kDragLimit);
    std::string out, earlier;
    double most = kUnset;
    for (const WheelEnd& wheel : s.wheels) {
        if (wheel.parked) {
            out += hanging("  wheel  ",
                           wheel.part + " is held by the parking brake" +
                               (std::isnan(wheel.torque) ? "" : ": " + torque(wheel.torque)));
            continue;
        }
        if (wheel.drags())
            out += hanging("  wheel  ", wheel.part + " drags: " + torque(wheel.torque) + limit);
        if (wheel.dragged())
            earlier +=
                hanging("  wheel  ", wheel.part + " dragged earlier: " + torque(wheel.most) +
                                         " at " + units.found(Dimension::time, wheel.most_at) +
                                         " with the foot off; not at the end");
        if (!(wheel.torque <= most)) most = wheel.torque;
    }
    if (!out.empty() || !earlier.empty() || s.wheels.empty()) return out + earlier;
    return hanging("  wheels ", !s.complete ? "not judged: the run did not come to its end"
                                : std::isnan(most)
                                    ? "not judged: the foot was not off for the last "
                                      "second"
                                    : "no wheel drags: at most " + torque(most) + limit);
}

std::string lamp_at_end(const Summary& s) {
    if (!s.has_lamp) return {};
    constexpr std::size_t kShown = 5;
    std::string text;
    const std::size_t n = s.lamp_lit.size(), first = n > kShown ? n - kShown : 0;
    if (first > 0) text = counted(static_cast<long>(first), "earlier time") + ", then ";
    for (std::size_t i = first; i < n; ++i) {
        const Lit& lit = s.lamp_lit[i];
        text += i == first ? "" : ", ";
        text += std::isnan(lit.to)
                    ? "lit at the end, since " + show(lit.from, 4) + " s"
                    : "lit from " + show(lit.from, 4) + " s to " + show(lit.to, 4) + " s";
    }
    return hanging("  lamp   ", n == 0 ? "never lit" : text);
}

/// Measurements against limits, one line each.
std::string service(const Summary& s, const OutputUnits& units) {
    const auto failed = std::count_if(s.service.begin(), s.service.end(),
                                      [](const ServiceLine& l) { return !l.pass; });
    std::string out =
        fmt::format("Service limits: {}\n",
                    failed == 0 ? "all kept"
                                : counted(static_cast<long>(failed), "LINE", "LINES") + " OUTSIDE");
    for (const ServiceLine& l : s.service) {
        std::string text = l.where + ", " + l.what + ": ";
        if (l.dimension == Dimension::choice) {
            text += l.measured_word + "; wanted " + l.limit_word;
        } else {
            const auto show_it = [&](double si) { return units.text(l.dimension, si, 4); };
            text += show_it(l.measured) + "; limit ";
            if (l.low && l.high)
                text += show_it(*l.low) + " to " + show_it(*l.high);
            else
                text += l.low ? "at least " + show_it(*l.low) : "at most " + show_it(*l.high);
            text += l.pass ? ", margin " + show_it(l.margin) : ", past it by " + show_it(-l.margin);
        }
        out += hanging(l.pass ? "  pass   " : "  FAILS  ", text + " (" + l.source + ")");
    }
    return out;
}

std::string account(const Summary& s, const OutputUnits& units) {
    const auto volume = [&units](double si) { return units.found(Dimension::volume, si, 4); };
    std::string out = hanging(
        "  fluid  ",
        fmt::format("accounted for within {:.1e} of the total, gas within {:.1e}; {} in the "
                    "lines, {} in the reservoirs, {} outside",
                    s.ledger.relative_error, s.ledger.gas_relative_error, volume(s.ledger.chambers),
                    volume(s.ledger.reservoirs), volume(s.ledger.outside)));
    out += hanging("  run    ",
                   fmt::format("{} s in {} s of work: {} tried, {} accepted and {} rejected; {}",
                               show(s.simulated, 4), show(s.wall, 2),
                               counted(s.solver.steps + s.solver.rejected, "step"), s.solver.steps,
                               s.solver.rejected, counted(s.solver.events, "event")));
    return out;
}

/// The same default of the same field, on however many parts, is one line.
std::string assumptions(const Summary& s, const OutputUnits& units) {
    constexpr std::size_t kShown = 10;
    struct Group {
        const Assumed* first;
        std::string parts;
    };
    std::vector<Group> groups;
    for (const Assumed& a : s.assumed) {
        const std::string part = a.path.substr(0, a.path.find('.'));
        const auto same = std::find_if(groups.begin(), groups.end(), [&a](const Group& g) {
            return g.first->field == a.field && g.first->value == a.value;
        });
        if (same == groups.end())
            groups.push_back({&a, part});
        else
            same->parts += ", " + part;
    }
    std::string out = "Assumed, since the file does not say: weakest ground first (judgement, "
                      "practice, published), then\nwidest allowed range for its size. Not a rank "
                      "of what it does to the answers; --spread tells that.\n";
    for (std::size_t i = 0; i < std::min(kShown, groups.size()); ++i) {
        const Assumed& a = *groups[i].first;
        out += hanging(
            fmt::format("  {:<20} {:<14} ", a.field->name, field_text(*a.field, a.value, units)),
            mark_word(a.field->mark) + ": " + std::string(a.field->source) + "; at " +
                groups[i].parts);
    }
    if (groups.size() > kShown)
        out += fmt::format("  and {} more, all of them in summary.json\n", groups.size() - kShown);
    return out;
}

} // namespace

std::string mark_word(Mark mark) {
    switch (mark) {
    case Mark::published:
        return "published";
    case Mark::practice:
        return "practice";
    case Mark::judgement:
        return "judgement";
    case Mark::given:
        return "given";
    }
    return {};
}

std::string wanted_text(const ExpectationResult& e, const OutputUnits& units) {
    const auto text = [&](double si) { return units.text(e.dimension, si); };
    if (e.low && e.high && *e.low == *e.high) return "exactly " + text(*e.low);
    if (e.low && e.high) return text(*e.low) + " to " + text(*e.high);
    if (e.low) return "at least " + text(*e.low);
    if (e.high) return "at most " + text(*e.high);
    return {};
}

std::string report(const Scenario& scenario, const Summary& s, const OutputUnits& units,
                   const std::string& more) {
    std::string out = wrapped(scenario.title, kWidth, "");
    out += wrapped(scenario.text, kWidth, "  ");
    if (!s.complete)
        out += "\n" + hanging("INCOMPLETE: ", s.error.empty() ? "the run was stopped at " +
                                                                    show(s.simulated, 5) + " s"
                                                              : s.error);
    out += differences(scenario, units);
    out += "\n" + figures(s, units);
    if (const std::string end = wheels_at_end(s, units) + lamp_at_end(s); !end.empty())
        out += "\nAt the end\n" + end;
    if (!s.bleeding.wheels.empty()) out += "\nBleeding\n" + bleeding_report(scenario, s, units);
    if (!s.service.empty()) out += "\n" + service(s, units);
    out += "\nWhat happened\n" + happened(s, units);
    if (!s.expectations.empty()) out += "\n" + expectations(s, units);
    if (!s.derived.empty()) {
        out += "\nDerived from the hardware\n";
        for (const Reading& r : s.derived)
            out += fmt::format("  {:<40} {}\n", r.name, units.text(r.dimension, r.value));
    }
    out += "\nAccount\n" + account(s, units);
    if (!s.assumed.empty()) out += "\n" + assumptions(s, units);
    if (!more.empty()) out += "\n" + more;
    out += "\nCaution\n";
    for (const std::string& caution : s.cautions)
        out += hanging("  ! ", caution);
    return out;
}

} // namespace pedalbench::runner
