#include "valve_answers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "parts/part.hpp"
#include "record/remarks.hpp"
#include "system/changes.hpp"
#include "valve_sentences.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using namespace study;
using Json = nlohmann::ordered_json;

constexpr int kFormat = 1;
constexpr std::array<const char*, kAxles> kAxleNames = {"front", "rear"};
constexpr std::array<const char*, kFeet> kFootNames = {"light", "ordinary", "firm"};

/// A table with a heading; `key` is its name for programs.
struct Section {
    std::string key, head;
    std::vector<ValveRow> rows;
};

/// Fills the rows of a section from both answers.
class Rows {
  public:
    Rows(std::vector<ValveRow>& to, const CheckedValve& c) : to_(to), c_(c) {}

    template <class Of>
    void add(const std::string& what, Dimension dimension, const Of& of) {
        const std::array<double, 2> value = {of(c_.check.answer[0]), of(c_.check.answer[1])};
        if (known(value[0]) || known(value[1])) to_.push_back({what, dimension, value, {}});
    }
    /// A number and a word behind it.
    template <class Of, class Words>
    void add(const std::string& what, Dimension dimension, const Of& of, const Words& words) {
        const std::size_t before = to_.size();
        add(what, dimension, of);
        if (to_.size() > before)
            to_.back().words = {words(c_.check.answer[0]), words(c_.check.answer[1])};
    }
    template <class Of>
    void add_words(const std::string& what, const Of& of) {
        ValveRow row;
        row.what = what;
        row.words = {of(c_.check.answer[0]), of(c_.check.answer[1])};
        if (!row.words[0].empty() || !row.words[1].empty()) to_.push_back(row);
    }

  private:
    std::vector<ValveRow>& to_;
    const CheckedValve& c_;
};

Section pedal(const CheckedValve& c) {
    Section section{"pedal", "Pedal feel", {}};
    Rows rows(section.rows, c);
    for (std::size_t x = 0; x < kAxles; ++x)
        rows.add(std::string(kAxleNames[x]) + " begins to brake under", Dimension::force,
                 [x](const ValveAnswer& a) { return a.feel.begins[x]; });
    for (std::size_t i = 0; i < kFeet; ++i) {
        const std::string foot =
            kFootNames[i] + (" foot, " + c.units.text(Dimension::force, c.check.plan.feet[i], 3)) +
            ": ";
        rows.add(foot + "travel", Dimension::length,
                 [i](const ValveAnswer& a) { return a.feel.held[i].travel; });
        for (std::size_t x = 0; x < kAxles; ++x)
            rows.add(foot + kAxleNames[x], Dimension::pressure,
                     [i, x](const ValveAnswer& a) { return a.feel.held[i].pressure[x]; });
    }
    rows.add("stiffness from ordinary to firm", Dimension::stiffness,
             [](const ValveAnswer& a) { return a.feel.stiffness; });
    for (std::size_t x = 0; x < kAxles; ++x) {
        rows.add(std::string("foot off: left in the ") + kAxleNames[x], Dimension::pressure,
                 [x](const ValveAnswer& a) { return a.feel.left[x]; });
        rows.add(std::string("foot off: drag of a ") + kAxleNames[x] + " wheel", Dimension::torque,
                 [x](const ValveAnswer& a) { return a.feel.drag[x]; });
    }
    return section;
}

std::string unlocked_words(const LockOrder& order) {
    if (!known(order.force)) return {};
    const auto count = [&order](const char* axle) {
        return std::count_if(order.unlocked.begin(), order.unlocked.end(),
                             [axle](const std::string& w) { return w.starts_with(axle); });
    };
    const long front = count("front"), rear = count("rear");
    if (front + rear == 0) return "none";
    if (front > 0 && rear > 0) return fmt::format("{} of 4", front + rear);
    return front == 2  ? "both front"
           : rear == 2 ? "both rear"
           : front > 0 ? "one front"
                       : "one rear";
}

Section locks(const CheckedValve& c, std::size_t i) {
    const Road& road = kRoads[i];
    Section section{"lock_on_" + std::string(i == 0 ? "ice" : "dry_road"),
                    fmt::format("Lock order on {}, adhesion {}, from {} km/h", road.name,
                                show(road.adhesion),
                                show(find_unit("km/h")->from_si(road.speed), 3)),
                    {}};
    Rows rows(section.rows, c);
    rows.add_words("locks first", [i](const ValveAnswer& a) {
        return known(a.lock[i].force) ? first_words(a.lock[i].first()) : std::string();
    });
    rows.add("most deceleration before a wheel locks", Dimension::acceleration,
             [i](const ValveAnswer& a) { return a.lock[i].deceleration; });
    for (std::size_t x = 0; x < kAxles; ++x) {
        const std::string axle = kAxleNames[x];
        const auto at = [i, x](const auto& of) {
            return [i, x, of](const ValveAnswer& a) { return of(a.lock[i].axle[x]); };
        };
        rows.add(axle + " locks under", Dimension::force,
                 at([](const AxleLock& l) { return l.force; }));
        rows.add(axle + " locks with, in front", Dimension::pressure,
                 at([](const AxleLock& l) { return l.pressure[kFrontAxle]; }));
        rows.add(axle + " locks with, behind", Dimension::pressure,
                 at([](const AxleLock& l) { return l.pressure[kRearAxle]; }));
    }
    rows.add_words("wheels that never lock",
                   [i](const ValveAnswer& a) { return unlocked_words(a.lock[i]); });
    const bool all =
        c.check.answer[0].lock[i].unlocked.empty() && c.check.answer[1].lock[i].unlocked.empty();
    if (!all)
        rows.add("until the car stands the foot goes up to", Dimension::force,
                 [i](const ValveAnswer& a) { return a.lock[i].force; });
    return section;
}

Section bleeding(const CheckedValve& c) {
    Section section{"bleeding", fmt::format("Bleeding, each screw open for {} s", kBleedTime), {}};
    Rows rows(section.rows, c);
    const bool rods = c.check.places[0].hold_off || c.check.places[1].hold_off;
    for (const double tank : kTanks)
        for (const bool held : {false, true})
            for (std::size_t x = 0; x < kAxles; ++x) {
                const auto of = [tank, held, x](const ValveAnswer& a) {
                    for (const BledCar& b : a.bled)
                        if (b.tank == tank && b.held == held) return b.axle[x];
                    return BledAxle{};
                };
                const std::string how =
                    (tank > 0 ? "tank of " + c.units.text(Dimension::pressure, tank, 3)
                              : std::string("gravity")) +
                    (!rods  ? ""
                     : held ? ", rod held"
                            : ", rod free") +
                    ": " + kAxleNames[x];
                rows.add(
                    how, Dimension::volume, [of](const ValveAnswer& a) { return of(a).fluid; },
                    [of](const ValveAnswer& a) { return flow_words(of(a)); });
            }
    return section;
}

std::vector<Section> sections(const CheckedValve& c) {
    std::vector<Section> all = {pedal(c)};
    for (std::size_t i = 0; i < kRoads.size(); ++i)
        all.push_back(locks(c, i));
    all.push_back(bleeding(c));
    std::erase_if(all, [](const Section& s) { return s.rows.empty(); });
    return all;
}

// ---------------------------------------------------------------- for people

std::string with_unit(const std::string& what, Dimension dimension, const OutputUnits& units) {
    const std::string_view unit = units.of(dimension).name;
    return unit.empty() ? what : what + " [" + std::string(unit) + "]";
}

/// "-1.48 (-17 %)", "same".
std::string difference(const ValveRow& row, const OutputUnits& units) {
    if (known(row.value[0]) != known(row.value[1]))
        return known(row.value[0]) ? "only old" : "only new";
    if (!row.is_number()) return "";
    if (!row.differs()) return "same";
    const double was = units.number(row.dimension, row.value[0]),
                 less = units.number(row.dimension, row.value[1]) - was;
    std::string text = fmt::format("{:+.3g}", less);
    const double percent = 100 * less / std::abs(was);
    if (std::abs(percent) >= 0.5 && std::abs(percent) < 1000)
        text += fmt::format(" ({:+.0f} %)", percent);
    return text;
}

std::array<std::string, 2> cells(const ValveRow& row, const OutputUnits& units) {
    if (!row.is_number()) return row.words;
    const auto text = numbers({row.value[0], row.value[1]}, row.dimension, units, 3, 0);
    std::array<std::string, 2> all;
    for (std::size_t c = 0; c < 2; ++c)
        all[c] = text[c] + (row.words[c].empty() ? "" : ", " + row.words[c]);
    return all;
}

std::string table(const Section& section, const OutputUnits& units) {
    std::string out =
        fmt::format("\n{:<52} {:>12} {:>12}  {:>17}\n", section.head, "old", "new", "difference");
    for (const ValveRow& row : section.rows) {
        const auto cell = cells(row, units);
        const bool both = known(row.value[0]) == known(row.value[1]);
        const std::string other = both && row.words[0] != row.words[1] ? "CHANGED"
                                  : row.is_number()                    ? difference(row, units)
                                                                       : "same";
        out += fmt::format("  {:<50} {:>12} {:>12}  {:>17}\n",
                           row.is_number() ? with_unit(row.what, row.dimension, units) : row.what,
                           cell[0], cell[1], other);
    }
    return out;
}

/// A valve's figures by its fields and in the slow run.
std::string range(const CheckedValve& c, std::size_t valve) {
    const auto& a = c.check.answer[0].range[valve];
    const auto& b = c.check.answer[1].range[valve];
    std::string out = fmt::format("\n{:<42} {:>9} {:>9} {:>9} {:>9}  {:>16}\n",
                                  "Range of " + c.check.valves[valve], "old", "in run", "new",
                                  "in run", "difference");
    const ValveRange& rows = a.empty() ? b : a;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const ValveFigure none{rows[i].what, rows[i].dimension};
        const ValveFigure &was = a.empty() ? none : a[i], &is = b.empty() ? none : b[i];
        const auto text =
            numbers({was.stated, was.found, is.stated, is.found}, none.dimension, c.units, 3, 0);
        const ValveRow row{none.what, none.dimension, {was.found, is.found}, {}};
        out += fmt::format("  {:<40} {:>9} {:>9} {:>9} {:>9}  {:>16}\n",
                           with_unit(none.what, none.dimension, c.units), text[0], text[1], text[2],
                           text[3], difference(row, c.units));
    }
    return out;
}

/// "hold_off.plate_spring: 122 N old, 100 N new", of what a user may write.
std::vector<std::string> changed_lines(const CheckedValve& c) {
    std::vector<std::string> lines;
    for (const std::string& name : c.check.valves) {
        const PartSpec *a = find_part(c.check.cars[0], name), *b = find_part(c.check.cars[1], name);
        if (!a || !b) {
            lines.push_back(name + ": only in the " + (a ? "old" : "new") + " car");
            continue;
        }
        for (std::size_t i = 0; i < a->values.size(); ++i) {
            const Field& field = a->values.table()[i];
            const double x = a->values.at(i), y = b->values.at(i);
            if (x == y || (!known(x) && !known(y))) continue;
            const auto text = [&](double v) {
                return field_text(field, v, c.units.of(field.dimension), 4);
            };
            lines.push_back(name + "." + std::string(field.name) + ": " + text(x) + " old, " +
                            text(y) + " new");
        }
    }
    return lines;
}

std::string joined(const std::array<double, kFeet>& values, Dimension dimension,
                   const OutputUnits& units) {
    std::vector<std::string> words;
    for (const double v : values)
        words.push_back(units.text(dimension, v));
    return listed(words);
}

/// How the numbers came about, in a few lines.
std::string how(const CheckedValve& c) {
    const FootPlan& plan = c.check.plan;
    const auto text = [&](Dimension d, double si) { return c.units.text(d, si, 3); };
    std::string out = "\nHow it was driven\n";
    out +=
        hanging("  ", "Range: a foot so slow that every line is at rest, up to " +
                          text(Dimension::force, plan.slow.value.empty()
                                                     ? kUnset
                                                     : *std::max_element(plan.slow.value.begin(),
                                                                         plan.slow.value.end())) +
                          " and back in " + show(plan.slow.time.back(), 3) +
                          " s. Beside what the run shows stands what the fields state.");
    for (std::size_t v = 0; v < c.check.valves.size(); ++v)
        if (c.check.kind(v)->name == "proportioning_valve") {
            out += hanging("  ", "Where a proportioning valve gives back from depends on how far "
                                 "the foot went: here to the end of that range.");
            break;
        }
    const auto& shown = c.check.places[0].brake;
    out += hanging("  ", "Pressures and torques are those of " + shown[kFrontAxle] + " and " +
                             shown[kRearAxle] + ".");
    out += hanging("  ", "Feet: the least of a row of forces that give the old car " +
                             joined(kFootPressure, Dimension::pressure, c.units) +
                             " in the cylinder. A wheel begins to brake at " +
                             text(Dimension::torque, kBegins) + ", under the slow foot.");
    out += hanging("  ", "Roads: a foot that rises steadily, alike in both cars; it comes to what "
                         "the old car needs to use all of the road in " +
                             show(kRoads[0].time) + " s on ice and " + show(kRoads[1].time) +
                             " s on the dry road. Straight and level, without a driver who steers, "
                             "with the load of the file.");
    out += hanging("  ", "Bleeding: a screw opened by half a turn. It flows, drips (less than " +
                             text(Dimension::flow, 1e-6) + "), or has stopped (less than " +
                             text(Dimension::flow, kStopped) +
                             "). Tanks of 12-15 psi and 20-30 "
                             "psi are in use (US Army TB 9-2320-335-13&P).");
    return out;
}

std::vector<std::string> cautions(const CheckedValve& c) {
    std::vector<std::string> all;
    for (const Driven& run : c.check.drives)
        for (const std::string& caution : cautions_of(run.scenario, run.scenario.hardware))
            if (std::find(all.begin(), all.end(), caution) == all.end()) all.push_back(caution);
    all.insert(all.begin() + std::min<std::ptrdiff_t>(2, std::ssize(all)),
               "A valve of another range changes which axle locks first. Rear wheels that lock "
               "first turn the car round; front wheels that lock no longer steer. Load, tyres, "
               "linings and wear move that order too: this check drives one car, new, on two "
               "straight roads.");
    return all;
}

std::vector<std::string> left_out(const CheckedValve& c) {
    std::vector<std::string> lines;
    for (const Driven& run : c.check.drives) {
        if (run.problem.empty()) continue;
        std::string what = run.car == 0 ? "old car, " : "new car, ";
        switch (run.kind) {
        case Driven::Kind::slow:
            what += "the slow foot";
            break;
        case Driven::Kind::steps:
            what += "the three feet";
            break;
        case Driven::Kind::road:
            what += std::string("on ") + kRoads[run.which].name;
            break;
        case Driven::Kind::bleeding:
            what += "bled by " + tank_words(kTanks[run.which], c.units) +
                    (run.held ? ", rod held" : "");
            break;
        }
        lines.push_back(what + ": the run could not go on, " + run.problem);
    }
    return lines;
}

// ---------------------------------------------------------------- for programs

Json pair(const std::array<double, 2>& si, Dimension dimension, const OutputUnits& units) {
    return {json_value(units, dimension, si[0]), json_value(units, dimension, si[1])};
}

Json row_json(const ValveRow& row, const OutputUnits& units) {
    Json j = {{"what", trim(row.what)}};
    if (row.is_number()) {
        j["unit"] = json_unit(units.of(row.dimension));
        j["values"] = pair(row.value, row.dimension, units);
    }
    if (!row.words[0].empty() || !row.words[1].empty()) j["words"] = row.words;
    j["differs"] = row.differs();
    return j;
}

Json ranges_json(const CheckedValve& c) {
    Json valves = Json::array();
    for (std::size_t v = 0; v < c.check.valves.size(); ++v) {
        const auto& a = c.check.answer[0].range[v];
        const auto& b = c.check.answer[1].range[v];
        const ValveRange& rows = a.empty() ? b : a;
        Json figures = Json::array();
        for (std::size_t i = 0; i < rows.size(); ++i) {
            const auto both = [&](double ValveFigure::*of) {
                return std::array<double, 2>{a.empty() ? kUnset : a[i].*of,
                                             b.empty() ? kUnset : b[i].*of};
            };
            figures.push_back(
                {{"what", rows[i].what},
                 {"unit", json_unit(c.units.of(rows[i].dimension))},
                 {"stated", pair(both(&ValveFigure::stated), rows[i].dimension, c.units)},
                 {"in_run", pair(both(&ValveFigure::found), rows[i].dimension, c.units)}});
        }
        valves.push_back({{"valve", c.check.valves[v]},
                          {"kind", std::string(c.check.kind(v)->name)},
                          {"in_old_car", !a.empty()},
                          {"in_new_car", !b.empty()},
                          {"range", figures}});
    }
    return valves;
}

} // namespace

std::string valve_report(const CheckedValve& c) {
    std::string out = "A changed valve\n";
    for (const RunName& car : c.cars)
        out += hanging(fmt::format("  {}  ", car.name),
                       car.title.empty() ? car.file : car.title + " (" + car.file + ")");
    for (const std::string& line : left_out(c))
        out += hanging("  LEFT OUT: ", line);
    out += "\nWhat is changed\n";
    for (const std::string& line : changed_lines(c))
        out += hanging("  ", line);
    out += "\nWhat that changes for the car\n";
    for (const std::string& sentence : valve_sentences(c))
        out += hanging("  * ", sentence);
    for (std::size_t v = 0; v < c.check.valves.size(); ++v)
        out += range(c, v);
    for (const Section& section : sections(c))
        out += table(section, c.units);
    out += how(c);
    out += "\nCaution\n";
    for (const std::string& caution : cautions(c))
        out += hanging("  ! ", caution);
    return out;
}

std::string valve_json(const CheckedValve& c) {
    Json cars = Json::array();
    for (const RunName& car : c.cars)
        cars.push_back({{"name", car.name}, {"file", car.file}, {"title", car.title}});
    Json j = {{"format", kFormat},
              {"complete", left_out(c).empty()},
              {"cars", cars},
              {"left_out", left_out(c)},
              {"changed", changed_lines(c)},
              {"sentences", valve_sentences(c)},
              {"valves", ranges_json(c)}};
    for (const Section& section : sections(c)) {
        Json rows = Json::array();
        for (const ValveRow& row : section.rows)
            rows.push_back(row_json(row, c.units));
        j[section.key] = rows;
    }
    j["cautions"] = cautions(c);
    return j.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

} // namespace pedalbench::runner
