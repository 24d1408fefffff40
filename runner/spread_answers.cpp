#include "spread_answers.hpp"

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;
using study::Guess;
using study::Spread;
using study::SpreadFigure;
using Moment = study::Figure::Moment;

bool is_event(const SpreadFigure& f) {
    return f.figure.moment == Moment::first_time;
}

/// Four digits for the largest of the three, and as many decimals for the others.
std::string numbers(const SpreadFigure& f, const OutputUnits& units) {
    const Dimension d = f.figure.dimension;
    const double values[] = {units.number(d, f.figure.value), units.number(d, f.low),
                             units.number(d, f.high)};
    double largest = 0;
    for (const double v : values)
        largest = std::max(largest, std::abs(v));
    const int decimals =
        largest > 0 ? std::clamp(3 - static_cast<int>(std::floor(std::log10(largest))), 0, 6) : 0;
    std::string out;
    for (const double v : values)
        out += fmt::format(" {:>9.{}f}", v, decimals);
    return out + fmt::format(" {:<5}", units.of(d).name);
}

std::string figure_line(const SpreadFigure& f, const Spread& s, const OutputUnits& units) {
    constexpr std::size_t kName = 36;
    const std::string name =
        is_event(f) ? f.figure.name : f.figure.name + " " + moment_word(f.figure.moment);
    const std::string by =
        f.most_by < 0 ? "no single one" : s.guesses[static_cast<std::size_t>(f.most_by)].paths[0];
    const std::string rest = numbers(f, units) + " " + by + "\n";
    if (name.size() <= kName) return fmt::format("  {:<{}}{}", name, kName, rest);
    return fmt::format("  {}\n  {:<{}}{}", name, "", kName, rest);
}

std::string head(const Spread& s) {
    std::string text =
        fmt::format("Spread by judgement alone. {}, each within {:.0f} % either way and what its "
                    "field allows, the "
                    "same on all parts that share it. 90 % of {} with all of them moved at once (a "
                    "Sobol set) lie "
                    "between the two limits; what moves a figure most was found by moving each on "
                    "its own ({}). "
                    "Defaults on better ground, and what the file states, stand still.",
                    counted(static_cast<long>(s.guesses.size()), "assumed value"),
                    100 * study::kBand, counted(static_cast<long>(s.complete), "run"),
                    counted(static_cast<long>(s.alone), "more run", "more runs"));
    return wrapped(text, kWidth, "");
}

std::string lost(const Spread& s) {
    if (s.refused + s.failed + s.alone_failed == 0) return {};
    const std::string text = fmt::format("Left out: {} of the set's {} that a part refused, {} "
                                         "that could not go on, and {} of those "
                                         "with one value moved. The first: {}",
                                         s.refused, counted(static_cast<long>(s.points), "run"),
                                         s.failed, s.alone_failed, s.reason);
    return wrapped(text, kWidth, "  ");
}

/// The guesses named above with all their parts, their bands and what they stand on.
std::string named_guesses(const Spread& s, const OutputUnits& units) {
    std::string out;
    for (std::size_t g = 0; g < s.guesses.size(); ++g) {
        long most = 0;
        for (const SpreadFigure& f : s.figures)
            most += f.spreads && f.most_by == static_cast<int>(g);
        if (most == 0) continue;
        const Guess& guess = s.guesses[g];
        const Field& field = *guess.field;
        std::string also;
        for (std::size_t i = 1; i < guess.paths.size(); ++i)
            also +=
                (i == 1 ? "; also " : ", ") + guess.paths[i].substr(0, guess.paths[i].find('.'));
        out += wrapped(guess.paths[0] + ": " + field_text(field, guess.low, units) + " to " +
                           field_text(field, guess.high, units) + also + " (moves " +
                           counted(most, "figure") + " most)",
                       kWidth, "  ");
    }
    return out.empty() ? out : "  What moves them\n" + out;
}

Json figure_json(const SpreadFigure& f, const Spread& s, const OutputUnits& units) {
    const Dimension d = f.figure.dimension;
    Json j = {{"value", json_value(units, d, f.figure.value)},
              {"low", json_value(units, d, f.low)},
              {"high", json_value(units, d, f.high)},
              {"moved_most_by", nullptr}};
    if (f.most_by < 0) return j;
    j["moved_most_by"] = s.guesses[static_cast<std::size_t>(f.most_by)].paths;
    // A difference: the offset of a unit (degrees Celsius) drops out.
    j["moved_by"] = units.number(d, f.swing) - units.number(d, 0);
    return j;
}

} // namespace

const char* moment_word(Moment moment) {
    switch (moment) {
    case Moment::peak:
        return "peak";
    case Moment::lowest:
        return "lowest";
    case Moment::held:
        return "held";
    case Moment::residual:
        return "residual";
    case Moment::end:
        return "at the end";
    case Moment::first_time:
        return "first";
    }
    return "";
}

std::string spread_report(const Spread& s, const OutputUnits& units) {
    if (s.guesses.empty())
        return "Spread by judgement alone\n  Nothing is assumed on judgement alone: there is "
               "nothing "
               "to vary.\n";
    std::string out = head(s) + lost(s);
    if (s.complete == 0) return out + "  No run of the set was left: no spread can be told.\n";
    out += fmt::format("  {:<36} {:>9} {:>9} {:>9} {:<5} {}\n", "figure", "this run", "5 %", "95 %",
                       "unit", "moved most by");
    long still = 0;
    bool events = false;
    for (const SpreadFigure& f : s.figures) {
        if (f.spreads) {
            if (is_event(f) && !std::exchange(events, true)) out += "  when it first happened\n";
            out += figure_line(f, s, units);
        } else {
            still += !std::isnan(f.low);
        }
    }
    if (still > 0)
        out += fmt::format("  {} by no more than a run's own error\n",
                           counted(still, "figure moves", "figures move"));
    for (const SpreadFigure& f : s.figures)
        if (std::isnan(f.low) && is_event(f))
            out += wrapped("not in every run: " + f.figure.name, kWidth, "  ");
    return out + named_guesses(s, units);
}

Json spread_json(const Spread& s, const OutputUnits& units) {
    Json j = {{"band_share", study::kBand},
              {"low_share", 0.05},
              {"high_share", 0.95},
              {"points", s.points},
              {"complete", s.complete},
              {"refused", s.refused},
              {"failed", s.failed},
              {"runs_alone", s.alone},
              {"alone_lost", s.alone_failed},
              {"first_reason", s.reason.empty() ? Json(nullptr) : Json(s.reason)}};
    j["guesses"] = Json::array();
    for (const Guess& g : s.guesses) {
        const Dimension d = g.field->dimension;
        j["guesses"].push_back({{"paths", g.paths},
                                {"unit", json_unit(units.of(d))},
                                {"value", json_value(units, d, g.value)},
                                {"low", json_value(units, d, g.low)},
                                {"high", json_value(units, d, g.high)}});
    }
    j["channels"] = Json::object();
    j["events_s"] = Json::object();
    for (const SpreadFigure& f : s.figures) {
        if (is_event(f)) {
            j["events_s"][f.figure.name] = figure_json(f, s, units);
            continue;
        }
        Json& channel = j["channels"][f.figure.name];
        channel["unit"] = json_unit(units.of(f.figure.dimension));
        channel[moment_word(f.figure.moment)] = figure_json(f, s, units);
    }
    return j;
}

} // namespace pedalbench::runner
