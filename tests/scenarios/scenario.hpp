// What the tests of the scenarios share: load a file, run it, look at fields, readings and events
// in SI.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "parts/registry.hpp"
#include "places.hpp"
#include "record/record.hpp"
#include "runner/reader.hpp"
#include "system/changes.hpp"
#include "unit/compare.hpp"

namespace pedalbench::test {

/// scenarios/lessons/NAME.yaml (or "checks/NAME"), with `sets` as on the command line.
inline Scenario load(const std::string& name, const std::vector<std::string>& sets = {}) {
    const std::string folder = name.find('/') == std::string::npos ? "lessons/" : "";
    runner::Findings findings;
    auto loaded = runner::read_scenario(source_folder() + "/scenarios/" + folder + name + ".yaml",
                                        sets, findings);
    std::string refused;
    for (const std::string& line : findings.lines())
        refused += line + "\n";
    REQUIRE_MESSAGE(loaded.has_value(), refused);
    return std::move(loaded->scenario);
}

/// The same file without its faults: what a fault inserts stays in the circuit at size zero.
inline Scenario intact(Scenario scenario) {
    scenario.changes.clear();
    return scenario;
}

/// The same car whose hoses and pads do not creep, for laws that compare two moments.
inline Scenario without_creep(Scenario scenario) {
    for (PartSpec& spec : scenario.hardware.parts)
        for (const char* creep : {"creep", "pad_creep"})
            if (spec.values.find(creep) < spec.values.size()) spec.values.set(creep, 0);
    return scenario;
}

/// The foot's input from pairs of time [s] and force [N] or travel [m] at the pad.
inline FootInput foot(FootInput::Kind kind, const std::vector<std::pair<double, double>>& points) {
    FootInput input;
    input.kind = kind;
    for (const auto& [t, v] : points) {
        input.time.push_back(t);
        input.value.push_back(v);
    }
    return input;
}
inline FootInput force(const std::vector<std::pair<double, double>>& points) {
    return foot(FootInput::Kind::force, points);
}
inline FootInput travel(const std::vector<std::pair<double, double>>& points) {
    return foot(FootInput::Kind::travel, points);
}

/// Complete hardware as it stands just after the changes due at t, derived fields included.
inline Hardware hardware_at(const Scenario& scenario, double t = 0) {
    Hardware hardware = scenario.hardware;
    complete(hardware);
    for (const Change& change : scenario.changes)
        if (change.at + change.over <= t) apply(hardware, change);
    return hardware;
}

/// A finished run: every channel of every row, events, figures; and the fields it was made from.
struct Played {
    Scenario scenario;
    Hardware hardware; // complete, with what was changed before the start
    Trace trace;
    Summary summary;
    std::map<std::string, std::size_t> column;

    /// "master.bore" in SI; derived ones too.
    double field(const std::string& path) const {
        const std::size_t dot = path.find('.');
        const Values* values = find_values(hardware, path.substr(0, dot));
        REQUIRE_MESSAGE(values != nullptr, path);
        return (*values)[path.substr(dot + 1)];
    }
    double held(const std::string& channel) const { return summary.of(channel).held; }
    double residual(const std::string& channel) const { return summary.of(channel).residual; }
    double peak(const std::string& channel) const { return summary.of(channel).peak; }
    double lowest(const std::string& channel) const { return summary.of(channel).lowest; }
    double at(const std::string& channel, double t) const {
        const auto after = std::lower_bound(trace.time.begin(), trace.time.end(), t);
        const auto k = static_cast<std::size_t>(after - trace.time.begin());
        const std::size_t c = index(channel);
        if (k == 0 || k == trace.time.size()) return trace.rows[k ? k - 1 : 0][c];
        const double share = (t - trace.time[k - 1]) / (trace.time[k] - trace.time[k - 1]);
        return trace.rows[k - 1][c] + share * (trace.rows[k][c] - trace.rows[k - 1][c]);
    }
    std::size_t index(const std::string& channel) const {
        const auto found = column.find(channel);
        REQUIRE_MESSAGE(found != column.end(), "no channel " << channel);
        return found->second;
    }
    std::vector<double> of(const std::string& channel) const { return trace.of(channel); }

    /// Smallest value of a channel in [from, to] and its time, by the rows.
    std::pair<double, double> lowest_between(const std::string& channel, double from,
                                             double to) const {
        return extreme(channel, from, to, -1);
    }
    std::pair<double, double> highest_between(const std::string& channel, double from,
                                              double to) const {
        return extreme(channel, from, to, 1);
    }

    /// Time of the first event at or after `from` whose "part: text" holds the words; NaN if none.
    double when(const std::string& words, double from = 0) const {
        for (const Event& event : summary.events)
            if (event.time >= from && matches(event, words)) return event.time;
        return kUnset;
    }
    double last_time_of(const std::string& words) const {
        double t = kUnset;
        for (const Event& event : summary.events)
            if (matches(event, words)) t = event.time;
        return t;
    }
    long count(const std::string& words, double from = 0) const {
        return std::count_if(summary.events.begin(), summary.events.end(), [&](const Event& event) {
            return event.time >= from && matches(event, words);
        });
    }
    const Event* event(const std::string& words, double from = 0) const {
        for (const Event& event : summary.events)
            if (event.time >= from && matches(event, words)) return &event;
        return nullptr;
    }

  private:
    static bool matches(const Event& event, const std::string& words) {
        return (event.part + ": " + event.text).find(words) != std::string::npos;
    }
    std::pair<double, double> extreme(const std::string& channel, double from, double to,
                                      int sign) const {
        const std::size_t c = index(channel);
        double best = -HUGE_VAL, when = kUnset;
        for (std::size_t i = 0; i < trace.time.size(); ++i)
            if (trace.time[i] >= from && trace.time[i] <= to && sign * trace.rows[i][c] > best) {
                best = sign * trace.rows[i][c];
                when = trace.time[i];
            }
        return {sign * best, when};
    }
};

/// Runs to the end; the test stops here if it does not get there or a ledger does not close.
inline Played play(const Scenario& scenario, const RunOptions& options = {}) {
    Played played;
    played.scenario = scenario;
    played.hardware = hardware_at(scenario);
    played.scenario.record.clear();
    for (const Channel& channel : channels_of(scenario)) {
        played.column[channel.path] = played.scenario.record.size();
        played.scenario.record.push_back(channel.path);
    }
    played.summary = simulate(played.scenario, played.trace, options);
    REQUIRE_MESSAGE(played.summary.complete, played.summary.error);
    CHECK(played.summary.ledger.relative_error <= 1e-11);
    CHECK(played.summary.ledger.gas_relative_error <= 1e-11);
    return played;
}

/// All that the file itself expects, one CHECK each with its text.
inline void check_own_expectations(const Played& played) {
    CHECK_FALSE(played.summary.expectations.empty());
    for (const ExpectationResult& e : played.summary.expectations)
        CHECK_MESSAGE(e.held, e.text << ": found " << e.found << ' ' << e.remark);
}

inline double circle(double diameter) {
    return 0.25 * M_PI * diameter * diameter;
}

/// The master cylinder's area [m2], the friction of one piston's cups under a pressure [N], and its
/// springs as they stand at a time [N].
inline double master_area(const Played& run) {
    return circle(run.field("master.bore"));
}
inline double cup_friction(const Played& run, double p) {
    return run.field("master.cup_friction") +
           run.field("master.cup_friction_rise") * p * master_area(run);
}
inline double primary_spring(const Played& run, double t) {
    return run.field("master.primary_spring") +
           run.field("master.primary_rate") *
               (run.at("master.primary_travel", t) - run.at("master.secondary_travel", t));
}
inline double secondary_spring(const Played& run, double t) {
    return run.field("master.secondary_spring") +
           run.field("master.secondary_rate") * run.at("master.secondary_travel", t);
}

} // namespace pedalbench::test
