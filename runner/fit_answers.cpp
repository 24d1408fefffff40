#include "fit_answers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "record/remarks.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;
using study::Confidence;
using study::FitResult;
using study::ReadColumn;
using study::Varied;
using Say = study::Confidence::Say;

constexpr double kHangTogether = 0.9; // correlation
constexpr double kFarOff = 30;        // errors: not a gauge's any more
constexpr const char* kOthers = ", the others as they fit best.";

/// How far a column is off, over its rows.
struct Off {
    std::size_t rows = 0;
    double rms = 0, largest = 0; // SI; the largest with its sign, shown less measured
    std::size_t at = 0;          // row of the largest
};
Off off_of(const ReadColumn& column, const std::vector<double>& shown) {
    Off off;
    for (std::size_t row = 0; row < column.value.size(); ++row) {
        if (std::isnan(column.value[row])) continue;
        const double d = shown[row] - column.value[row];
        if (off.rows == 0 || std::abs(d) > std::abs(off.largest)) off.largest = d, off.at = row;
        off.rms += d * d;
        ++off.rows;
    }
    off.rms = off.rows > 0 ? std::sqrt(off.rms / static_cast<double>(off.rows)) : kUnset;
    return off;
}

/// A difference has no zero of its own: of degrees only the size counts.
std::string difference_text(Dimension d, double si, const OutputUnits& units) {
    const Unit& unit = units.of(d);
    const double x = unit.from_si(si) - unit.from_si(0);
    return show(x, 3) + (unit.name.empty() ? "" : " " + std::string(unit.name));
}

const char* name_of(Say say) {
    switch (say) {
    case Say::determined:
        return "determined";
    case Say::at_least:
        return "at_least";
    case Say::at_most:
        return "at_most";
    case Say::moves_nothing:
        return "moves_nothing";
    case Say::at_bound:
        return "at_bound";
    case Say::anything:
        return "anything";
    case Say::no_freedom:
        return "no_freedom";
    }
    return "";
}

/// What the readings do not feel at its value stays as the car has it.
bool left_alone(const Confidence& c) {
    return !c.felt && !c.known();
}

std::string interval_text(const Varied& v, const Confidence& c, const OutputUnits& units) {
    switch (c.say) {
    case Say::determined: {
        const auto end = [&](double x, bool cut) {
            return units.text(v.dimension, x) + (cut ? " (bound)" : "");
        };
        return end(c.low, c.low_cut) + " to " + end(c.high, c.high_cut);
    }
    case Say::at_least:
        return "at least " + units.text(v.dimension, c.low);
    case Say::at_most:
        return "at most " + units.text(v.dimension, c.high);
    case Say::moves_nothing:
        return "not determined: no reading feels it";
    case Say::at_bound:
        return "at its bound";
    case Say::anything:
        return "not determined";
    case Say::no_freedom:
        return "none: no reading to spare";
    }
    return "";
}

std::string moved_table(const FitFile& file, const FitResult& r) {
    std::size_t name = 14;
    for (const Varied& v : file.fit.moved)
        name = std::max(name, v.path.size());
    std::string out = fmt::format("  {:<{}}  {:<16} {:<16} {}\n", "moved", name, "at the start",
                                  "fits best", "95 % interval");
    for (std::size_t i = 0; i < file.fit.moved.size(); ++i) {
        const Varied& v = file.fit.moved[i];
        out += fmt::format("  {:<{}}  {:<16} {:<16} {}\n", v.path, name,
                           file.units.text(v.dimension, v.nominal),
                           left_alone(r.quality.of[i]) ? "as at the start"
                                                       : file.units.text(v.dimension, r.found.x[i]),
                           interval_text(v, r.quality.of[i], file.units));
    }
    return out;
}

std::string columns_table(const FitFile& file, const FitResult& r) {
    std::string out = fmt::format("  {:<28} {:>6}  {:>16} {:>16}   {}\n", "readings of", "rows",
                                  "off at the start", "off as fitted", "most, and where");
    for (std::size_t c = 0; c < file.fit.columns.size(); ++c) {
        const ReadColumn& column = file.fit.columns[c];
        const Dimension d = column.channel.dimension;
        const Off before = off_of(column, r.before[c]), after = off_of(column, r.after[c]);
        const std::string line = fmt::format(
            "{:>6}  {:>16} {:>16}   {} at {}\n", after.rows,
            difference_text(d, before.rms, file.units), difference_text(d, after.rms, file.units),
            difference_text(d, after.largest, file.units),
            file.units.text(file.fit.over.dimension, file.fit.at[after.at]));
        const std::string& path = column.channel.path;
        out += path.size() <= 28 ? fmt::format("  {:<28} {}", path, line)
                                 : fmt::format("  {}\n  {:<28} {}", path, "", line);
    }
    return out + "  (off: root mean square of what is shown less what was read)\n";
}

/// What is wrong with taking the answer for the truth, a sentence each.
std::vector<std::string> warnings_of(const FitFile& file, const FitResult& r) {
    std::vector<std::string> out;
    const auto& moved = file.fit.moved;
    const auto& q = r.quality;
    if (r.found.end == study::LeastSquares::End::stuck)
        out.push_back(fmt::format("The search still went down after {}: what fits best may be "
                                  "elsewhere. Begin nearer to it with --set.",
                                  counted(r.found.steps, "step")));
    for (const Varied& v : moved)
        for (const study::Target& t : v.targets)
            if (const double is = study::value_of(file.fit.scenario, t); is != v.nominal)
                out.push_back(fmt::format(
                    "{}.{} is {} in the scenario, but goes with {} here: the start is a car where "
                    "both are {}.",
                    t.part, t.field, file.units.text(v.dimension, is), v.path,
                    file.units.text(v.dimension, v.nominal)));
    for (std::size_t i = 0; i < moved.size(); ++i) {
        const std::string& path = moved[i].path;
        const auto& range = moved[i].distribution;
        const auto text = [&](double x) { return file.units.text(moved[i].dimension, x); };
        switch (q.of[i].say) {
        case Say::determined:
            if (q.of[i].low_cut || q.of[i].high_cut)
                out.push_back("The interval of " + path + " ends at a bound of its `between`, " +
                              text(q.of[i].low_cut ? range.low : range.high) +
                              ", and the truth may lie beyond. Make the bounds as wide as the "
                              "field can be.");
            break;
        case Say::at_least:
            out.push_back("Of " + path + " these readings tell only that it is at least " +
                          text(q.of[i].low) + ": from there to " + text(q.of[i].high) +
                          " they speak against nothing" + kOthers);
            break;
        case Say::at_most:
            out.push_back("Of " + path + " these readings tell only that it is at most " +
                          text(q.of[i].high) + ": from " + text(q.of[i].low) +
                          " to there they speak against nothing" + kOthers);
            break;
        case Say::moves_nothing:
            out.push_back("These readings cannot determine " + path +
                          ": none of them feels it, from " + text(q.of[i].low) + " to " +
                          text(q.of[i].high) + kOthers +
                          " Leave it out, or read something that it "
                          "moves.");
            break;
        case Say::anything:
            out.push_back("These readings cannot determine " + path + ": " +
                          (moved.size() > 1
                               ? "values far from this one explain them as well, with the other "
                                 "fields to match as far as their bounds let them"
                               : "anything from " + text(q.of[i].low) + " to " +
                                     text(q.of[i].high) + " explains them as well") +
                          ". Leave it out, or read something that it moves more.");
            break;
        case Say::no_freedom:
            break; // said once below
        case Say::at_bound:
            out.push_back(
                path + " went to its bound, " + text(r.found.x[i]) +
                ": the bound is wrong, the car differs in something else, or the search ended in "
                "the wrong valley: begin elsewhere with --set.");
            break;
        }
    }
    for (std::size_t i = 0; i < moved.size(); ++i)
        for (std::size_t j = i + 1; j < moved.size(); ++j) {
            const double c = q.correlation[i][j];
            const bool held = q.of[i].say == Say::at_bound || q.of[j].say == Say::at_bound;
            if (held || !(std::abs(c) >= kHangTogether)) continue;
            const double share = c * q.of[j].error / q.of[i].error * r.found.x[i] / r.found.x[j];
            out.push_back(fmt::format(
                "{} and {} hang together (correlation {:.3f}): with the first one per cent "
                "larger, the second fits best {} per cent {}.",
                moved[i].path, moved[j].path, c, show(std::abs(share), 2),
                share > 0 ? "larger" : "smaller"));
        }
    if (q.freedom <= 0)
        out.push_back(std::string("There are no more readings than fields that move: the run goes "
                                  "through them whether the car is right or not") +
                      (file.fit.errors_stated
                           ? ". The intervals rest on the stated errors alone."
                           : ", and nothing says how good they are. State an `error`, or read "
                             "more."));
    else if (file.fit.errors_stated && q.likelihood < 0.01)
        out.push_back(fmt::format(
            "The run misses the readings by {} times their stated errors, which by chance "
            "happens less than once in a hundred fits: the gauges are worse than stated, or the "
            "car "
            "differs in something that was not allowed to move. The intervals are too narrow then.",
            show(q.scatter, 2)));
    if (q.freedom > 0 && q.scatter > kFarOff)
        out.push_back("So far off are no gauges. Look first whether the units in the first line "
                      "of " +
                      file.measured +
                      " are those of the gauges, and whether each column is read by the channel "
                      "that it was measured at.");
    return out;
}

} // namespace

std::string command_with(const FitFile& file, const FitResult& r) {
    std::string out = "pedalbench run " + file.scenario;
    for (std::size_t i = 0; i < file.fit.moved.size(); ++i) {
        if (left_alone(r.quality.of[i])) continue;
        for (const study::Target& t : file.fit.moved[i].targets)
            out += fmt::format(" --set {}=\"{}\"",
                               t.change >= 0 ? file.fit.moved[i].path : t.part + "." + t.field,
                               file.units.text(file.fit.moved[i].dimension, r.found.x[i], 6));
    }
    return out;
}

std::string fit_report(const FitFile& file, const FitResult& r) {
    std::string out = wrapped(file.title, kWidth, "");
    out += wrapped(file.text, kWidth, "  ");
    out += "\n" + moved_table(file, r);
    out += "\n" + columns_table(file, r);
    if (r.quality.freedom > 0)
        out += wrapped(
            file.fit.errors_stated
                ? fmt::format("Misfit {} for {} and {} that move: off by {} times the stated "
                              "errors. The intervals rest on those errors.",
                              show(r.found.misfit, 4),
                              counted(static_cast<long>(r.found.residuals.size()), "reading"),
                              counted(static_cast<long>(r.found.x.size()), "field"),
                              show(r.quality.scatter, 2))
                : "No errors are stated, so the intervals rest on how the readings scatter about "
                  "the run.",
            kWidth, "  ");
    if (!file.fit.over.path.empty())
        out += wrapped("What " + file.along +
                           " says is taken as exact; where that is a gauge too, the "
                           "true intervals are wider.",
                       kWidth, "  ");
    const std::vector<std::string> warnings = warnings_of(file, r);
    if (!warnings.empty()) out += "\nMind\n";
    for (const std::string& w : warnings)
        out += hanging("  - ", w);
    out += "\nThe scenario with what was fitted\n" + wrapped(command_with(file, r), kWidth, "  ");
    if (std::ranges::any_of(r.quality.of,
                            [](const Confidence& c) { return c.say == Say::anything; }))
        out += wrapped("What is not determined stands in it with one of the values that fit; they "
                       "belong together.",
                       kWidth, "  ");
    out += "\nMind besides\n";
    out += hanging("  - ",
                   "A fit moves only what it is told to. That the run then shows what was read "
                   "does not prove that the car is so.");
    for (const std::string& caution : cautions_of(file.fit.scenario, file.fit.scenario.hardware))
        out += hanging("  - ", caution);
    return out;
}

std::string fit_json(const FitFile& file, const FitResult& r) {
    Json j;
    j["format"] = 1;
    j["title"] = file.title;
    j["scenario"] = file.scenario;
    j["measured"] = file.measured;
    j["converged"] = r.found.end == study::LeastSquares::End::converged;
    j["steps"] = r.found.steps;
    j["misfit"] = json_number(r.found.misfit);
    j["freedom"] = r.quality.freedom;
    j["scatter"] = json_number(r.quality.scatter);
    j["likelihood"] = json_number(r.quality.likelihood);
    j["errors_stated"] = file.fit.errors_stated;
    j["moved"] = Json::array();
    for (std::size_t i = 0; i < file.fit.moved.size(); ++i) {
        const Varied& v = file.fit.moved[i];
        const Confidence& c = r.quality.of[i];
        const auto value = [&](double x) { return json_value(file.units, v.dimension, x); };
        const bool low_known = c.known() || c.say == Say::at_least,
                   high_known = c.known() || c.say == Say::at_most;
        j["moved"].push_back({{"path", v.path},
                              {"unit", json_unit(file.units.of(v.dimension))},
                              {"at_the_start", value(v.nominal)},
                              {"fitted", left_alone(c) ? Json(nullptr) : value(r.found.x[i])},
                              {"low", low_known ? value(c.low) : Json(nullptr)},
                              {"low_is_bound", low_known && c.low_cut},
                              {"high", high_known ? value(c.high) : Json(nullptr)},
                              {"high_is_bound", high_known && c.high_cut},
                              {"determined", name_of(c.say)}});
    }
    j["correlation"] = Json::array();
    for (const auto& row : r.quality.correlation) {
        Json numbers = Json::array();
        for (const double x : row)
            numbers.push_back(json_number(x));
        j["correlation"].push_back(numbers);
    }
    j["readings"] = Json::array();
    for (std::size_t c = 0; c < file.fit.columns.size(); ++c) {
        const ReadColumn& column = file.fit.columns[c];
        const Unit& unit = file.units.of(column.channel.dimension);
        const auto difference = [&](double si) {
            return json_number(unit.from_si(si) - unit.from_si(0));
        };
        const Off before = off_of(column, r.before[c]), after = off_of(column, r.after[c]);
        j["readings"].push_back({{"column", column.text},
                                 {"channel", column.channel.path},
                                 {"unit", json_unit(unit)},
                                 {"rows", after.rows},
                                 {"off_at_the_start", difference(before.rms)},
                                 {"off_as_fitted", difference(after.rms)},
                                 {"most", difference(after.largest)},
                                 {"most_in_row", after.at + 1}});
    }
    j["warnings"] = warnings_of(file, r);
    j["command"] = command_with(file, r);
    j["cautions"] = cautions_of(file.fit.scenario, file.fit.scenario.hardware);
    return j.dump(2) + "\n";
}

std::string fit_csv(const FitFile& file, const FitResult& r) {
    const auto head = [&](const std::string& name, Dimension d) {
        return fmt::format("{} [{}]", name, json_unit(file.units.of(d)));
    };
    std::string out = head(file.along, file.fit.over.dimension);
    for (const ReadColumn& c : file.fit.columns)
        for (const char* what : {"", " error", " at the start", " as fitted", " off"})
            out +=
                "," + head(c.text + what, what == std::string_view(" off") ? Dimension::number
                                                                           : c.channel.dimension);
    out += "\n";
    const auto cell = [](double x) { return std::isnan(x) ? std::string() : fmt::format("{}", x); };
    for (std::size_t row = 0; row < file.fit.at.size(); ++row) {
        out += cell(file.units.number(file.fit.over.dimension, file.fit.at[row]));
        for (std::size_t c = 0; c < file.fit.columns.size(); ++c) {
            const ReadColumn& column = file.fit.columns[c];
            const Dimension d = column.channel.dimension;
            const bool read = !std::isnan(column.value[row]);
            const Unit& unit = file.units.of(d);
            out += "," + (read ? cell(unit.from_si(column.value[row])) : "");
            out += "," + (read ? cell(unit.from_si(column.error[row]) - unit.from_si(0)) : "");
            out += "," + cell(unit.from_si(r.before[c][row]));
            out += "," + cell(unit.from_si(r.after[c][row]));
            out += "," + cell((r.after[c][row] - column.value[row]) / column.error[row]);
        }
        out += "\n";
    }
    return out;
}

std::string beyond_words(const FitFile& file, const FitResult& r) {
    const Dimension d = file.fit.over.dimension;
    double low = kUnset, high = kUnset;
    for (const std::size_t row : r.beyond) {
        low = std::fmin(low, file.fit.at[row]);
        high = std::fmax(high, file.fit.at[row]);
    }
    return fmt::format("{}: {}: found {} at {}{}, allowed {} to {}, what the run comes to; let the "
                       "foot in {} press, and release, as it did for the readings",
                       file.measured, file.along,
                       counted(static_cast<long>(r.beyond.size()), "row"), file.units.text(d, low),
                       high > low ? " to " + file.units.text(d, high) : "",
                       file.units.text(d, r.low), file.units.text(d, r.high), file.scenario);
}

} // namespace pedalbench::runner
