#include "match_answers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;
using study::Candidate;
using study::Explanation;
using study::Match;

constexpr std::size_t kRuledOutShown = 8;
constexpr double kFarOff = 30; // standard errors: not a gauge's any more
constexpr const char* kMisfit =
    "Misfit: the sum over all readings of (found - read)^2 in standard errors, where the bounds of "
    "a reading lie two to either side. Over all sizes: that misfit averaged as likelihoods are, by "
    "which explanations are ranked; one that fits at a tenth of its sizes only stands back by 4.6. "
    "Within 4 of the first so, or of the lowest misfit, they are not told apart; one that misses a "
    "reading by more than 3 errors is ruled out. What is far off was run at sizes nearby only. "
    "Only faults of the list in docs/faults.md were looked for, one at a time, and two together "
    "where one is not enough.";

/// What a run answers to one reading of the complaint.
struct Answered {
    const Expectation& reading;
    Dimension dimension;
    double found;
};
Answered answered(const Scenario& complaint, const Match& match, const Explanation& e,
                  std::size_t i) {
    const std::size_t column = match.column[i];
    return {complaint.readings[i], match.columns[column].dimension, e.found[column]};
}

std::string found_words(const Expectation& r, Dimension d, double value, const OutputUnits& units) {
    if (std::isnan(value)) return "nothing";
    if (r.moment == Expectation::Moment::event_count) return counted(std::lround(value), "time");
    return units.found(d, value, 3);
}

std::string whole_words(const Explanation& e, const OutputUnits& units) {
    if (e.faults.empty()) return "the car as it is: no fault is needed";
    std::string text;
    for (std::size_t i = 0; i < e.faults.size(); ++i) {
        const std::string size = size_words(e, i, units);
        text += (i > 0 ? "; together with " : "") + fault_words(e.faults[i]) +
                (size.empty() ? "" : ": " + size);
    }
    return text;
}

/// "the pedal sinks: 6 mm read, 0.1 mm there".
std::string missed_words(const Scenario& complaint, const Match& match, const Explanation& e,
                         std::size_t reading, const OutputUnits& units) {
    const Answered a = answered(complaint, match, e, reading);
    return a.reading.text + ": " + bounds_words(a.reading, a.dimension, units) + " read, " +
           found_words(a.reading, a.dimension, a.found, units) + " there";
}

std::string readings_table(const Scenario& complaint, const Match& match,
                           const OutputUnits& units) {
    std::size_t name = 20, read = 22;
    for (std::size_t i = 0; i < complaint.readings.size(); ++i) {
        const auto [r, dimension, found] = answered(complaint, match, as_it_is(match), i);
        name = std::max(name, r.text.size());
        read = std::max(read, bounds_words(r, dimension, units).size());
    }
    name = std::min<std::size_t>(name, 44);
    const Explanation& sound = as_it_is(match);
    std::string out = fmt::format("  {:<{}}  {:<{}}  {}\n", "read on the car", name, "", read,
                                  "the car as it is");
    for (std::size_t i = 0; i < complaint.readings.size(); ++i) {
        const auto [r, dimension, found] = answered(complaint, match, sound, i);
        std::string here = found_words(r, dimension, found, units);
        if (std::abs(sound.off[i]) > study::farthest_of(sound.off.size())) here += "  differs";
        const bool fits = r.text.size() <= name;
        if (!fits) out += wrapped(r.text, kWidth, "  ");
        out += fmt::format("  {:<{}}  {:<{}}  {}\n", fits ? r.text : "", name,
                           bounds_words(r, dimension, units), read, here);
    }
    return out;
}

/// Why it does not explain the readings; empty where it does.
std::string misses_words(const Scenario& complaint, const Match& match, const Explanation& e,
                         const OutputUnits& units) {
    if (e.explains()) return {};
    if (std::abs(e.off[e.worst()]) <= study::farthest_of(e.off.size()))
        return "Misses too many of the " + counted(static_cast<long>(e.off.size()), "reading") +
               " a little";
    // A reading that another size would show does not speak against the fault by itself.
    const bool sized = e.faults.size() == 1 && e.faults[0].sized();
    if (sized && !e.never_shows(e.never()))
        return "No size fits all; this one misses " +
               missed_words(complaint, match, e, e.worst(), units);
    return std::string(sized ? "Misses at any size " : "Misses ") +
           missed_words(complaint, match, e, e.never(), units);
}

/// What the search comes to, a sentence each.
std::vector<std::string> verdict(const Scenario& complaint, const Match& match) {
    std::vector<std::string> out;
    const Explanation& sound = as_it_is(match);
    if (sound.explains())
        out.push_back(
            fmt::format("Nothing need be wrong: the car as it is misses the {} by no more than "
                        "they may be off (misfit {}; of sound cars chance gives as much to {:.0f} "
                        "in a hundred). A fault that fits better may do so by chance.",
                        counted(static_cast<long>(sound.off.size()), "reading"),
                        show(sound.misfit, 3), 100 * sound.likelihood()));
    const bool explained = match.explained();
    if (explained && match.tied == 1)
        out.push_back("One explanation fits every reading better than all others");
    else if (explained)
        out.push_back(fmt::format("{} fit; these readings cannot tell them apart",
                                  counted(static_cast<long>(match.tied), "explanation")));
    else
        out.push_back("Nothing explains every reading; nearest come");
    if (explained) return out;
    const Explanation& best = match.leaders[0];
    if (const double most = std::abs(best.off[best.worst()]); most > kFarOff)
        out.insert(out.end() - 1,
                   fmt::format("The nearest misses \"{}\" by {} standard errors, and no gauge is "
                               "off by that: either more is wrong than two faults of the list, or "
                               "it was not written down in the right unit, at the right place and "
                               "moment.",
                               complaint.readings[best.worst()].text, show(most, 2)));
    return out;
}

std::string leaders_words(const Scenario& complaint, const Match& match, const OutputUnits& units) {
    std::string out;
    for (const std::string& sentence : verdict(complaint, match))
        out += (out.empty() ? "" : "\n") + wrapped(sentence, kWidth, "");
    for (std::size_t i = 0; i < match.leaders.size(); ++i) {
        const Explanation& e = match.leaders[i];
        if (i == match.tied) out += "Next comes\n";
        std::string text = whole_words(e, units);
        if (const std::string no = misses_words(complaint, match, e, units); !no.empty())
            text += ". " + no;
        const std::string misfit = "misfit " + fmt::format("{:>6}, ", show(e.misfit, 3)),
                          sizes = e.near ? "at a size run nearby "
                                         : fmt::format("over all sizes {:>6}", show(e.averaged, 3));
        out += hanging(fmt::format("  {:>2}. {}{}  ", i + 1, misfit, sizes), text);
        for (const Candidate& fault : e.faults)
            out += wrapped(std::string(fault.kind->help), kWidth, "                      ");
    }
    return out;
}

/// "12.3 bar (10.1 to 14.2 bar)": of the size that fits best, and of all that fit.
std::string predicted_words(const study::NextReading& next, std::size_t leader,
                            const OutputUnits& units) {
    const auto words = [&](double x) { return units.found(next.what.dimension, x, 3); };
    const std::string least = words(next.least[leader]), most = words(next.most[leader]);
    const std::string best = words(next.predicted[leader]);
    return least == most ? best : best + " (" + least + " to " + most + ")";
}

/// To what end another reading is to be taken; empty where there is nothing to tell apart.
std::string next_heading(const Match& match) {
    if (match.leaders.size() < 2) return {};
    return match.tied > 1 ? "Read next, to tell them apart"
                          : "Read next, to make sure of the first";
}
constexpr const char* kNothingNext =
    "nothing that is read with this foot would; try another: a longer hold, a lighter press, a "
    "faster release";

std::string next_words(const Match& match, const OutputUnits& units) {
    std::string out = next_heading(match);
    if (out.empty()) return {};
    out += "\n";
    if (match.next.empty()) return out + hanging("  ", kNothingNext);
    for (const study::NextReading& next : match.next) {
        out += hanging("  ", reading_words(next.what.what));
        for (std::size_t i = 0; i < next.predicted.size(); ++i)
            out +=
                hanging(fmt::format("      if {:>2}.  ", i + 1), predicted_words(next, i, units));
    }
    return out;
}

bool leads(const Match& match, const Explanation& e) {
    return std::any_of(match.leaders.begin(), match.leaders.end(), [&e](const Explanation& l) {
        return l.misfit == e.misfit && l.off == e.off;
    });
}

std::string ruled_out_words(const Scenario& complaint, const Match& match,
                            const OutputUnits& units) {
    std::string out;
    std::size_t shown = 0, more = 0;
    for (const Explanation& e : match.singles) {
        if (leads(match, e) || e.explains()) continue;
        if (shown++ >= kRuledOutShown) {
            ++more;
            continue;
        }
        out +=
            hanging("  ", whole_words(e, units) + ". " + misses_words(complaint, match, e, units));
    }
    if (more > 0) out += fmt::format("  and {} more, all of them in summary.json\n", more);
    return out;
}

/// Kinds of fault, and the place where those of another place were looked at.
std::string names(const Match& match, const std::vector<Candidate>& candidates) {
    std::string text;
    std::vector<std::string> kinds;
    for (const Candidate& c : candidates) {
        const bool elsewhere = std::ranges::any_of(match.singles, [&c](const Explanation& e) {
            return !e.faults.empty() && e.faults[0].kind == c.kind;
        });
        std::string kind = elsewhere ? fault_words(c) : std::string(c.kind->name);
        if (std::find(kinds.begin(), kinds.end(), kind) != kinds.end()) continue;
        text += (kinds.empty() ? "" : ", ") + kind;
        kinds.push_back(std::move(kind));
    }
    return text;
}

std::vector<std::string> beforehand(const Scenario& complaint) {
    std::vector<std::string> out;
    for (const RuledOut& r : complaint.ruled_out)
        out.push_back(r.kind + (r.kind.empty() || r.part.empty() ? "" : " at ") + r.part);
    return out;
}

Json explanation_json(const Scenario& complaint, const Match& match, const Explanation& e,
                      const OutputUnits& units) {
    Json faults = Json::array();
    for (std::size_t i = 0; i < e.faults.size(); ++i) {
        const Candidate& fault = e.faults[i];
        Json one = {{"kind", fault.kind->name}, {"at", fault.at}};
        if (!fault.alike.empty()) one["anywhere_in"] = fault.alike;
        if (const Field* field = size_field(*fault.kind); field && !std::isnan(e.size[i])) {
            one["size"] = field_text(*field, e.size[i], units);
            if (!std::isnan(e.low)) {
                one["size_low"] = field_text(*field, std::min(e.low, e.high), units);
                one["size_high"] = field_text(*field, std::max(e.low, e.high), units);
            }
        }
        faults.push_back(std::move(one));
    }
    Json off = Json::array();
    for (std::size_t i = 0; i < e.off.size(); ++i) {
        const Answered a = answered(complaint, match, e, i);
        off.push_back({{"text", a.reading.text},
                       {"found", json_value(units, a.dimension, a.found)},
                       {"in_words", found_words(a.reading, a.dimension, a.found, units)},
                       {"unit", json_unit(units.of(a.dimension))},
                       {"off_by_standard_errors", e.off[i]}});
    }
    Json help = Json::array();
    for (const Candidate& fault : e.faults)
        help.push_back(fault.kind->help);
    return {{"text", whole_words(e, units)},
            {"help", help},
            {"misses", misses_words(complaint, match, e, units)},
            {"faults", faults},
            {"misfit", e.misfit},
            {"averaged", e.averaged},
            {"explains", e.explains()},
            {"likelihood", json_number(e.likelihood())},
            {"looked_at_closely", !e.near},
            {"leads", leads(match, e)},
            {"readings", off}};
}

} // namespace

const Explanation& as_it_is(const Match& match) {
    return *std::find_if(match.singles.begin(), match.singles.end(),
                         [](const Explanation& e) { return e.faults.empty(); });
}

std::string bounds_words(const Expectation& r, Dimension d, const OutputUnits& units) {
    const auto text = [&](double si) { return units.text(d, si, 4); };
    if (r.moment == Expectation::Moment::event_count) {
        if (r.low && r.high && *r.low == *r.high) return counted(std::lround(*r.low), "time");
        if (r.low && !r.high) return *r.low == 1 ? "yes" : show(*r.low) + " times or more";
        if (r.low && r.high) return show(*r.low) + " to " + show(*r.high) + " times";
        return r.high ? "at most " + counted(std::lround(*r.high), "time") : "";
    }
    if (r.low && r.high) return text(*r.low) + " to " + text(*r.high);
    if (r.low) return "at least " + text(*r.low);
    return r.high ? "at most " + text(*r.high) : "";
}

std::string size_words(const Explanation& e, std::size_t fault, const OutputUnits& units) {
    const Field* field = size_field(*e.faults[fault].kind);
    if (!field || std::isnan(e.size[fault])) return {};
    const auto text = [&](double si) {
        return field_text(*field, si, units.of(field->dimension), 3);
    };
    std::string out = text(e.size[fault]), more;
    double worst = e.size[fault];
    if (e.faults.size() == 1 && !std::isnan(e.low) && text(e.low) != text(e.high)) {
        more =
            text(std::min(e.low, e.high)) + " to " + text(std::max(e.low, e.high)) + " fit as well";
        worst = e.high;
    }
    const double end = e.faults[fault].size(1);
    const bool nothing_worse = end == field->low || end == field->high; // blocked, say
    if (text(worst) == text(end) && !nothing_worse)
        more += (more.empty() ? "" : "; ") + std::string("worse is not looked for");
    return more.empty() ? out : out + " (" + more + ")";
}

std::string fault_words(const Candidate& fault) {
    if (!fault.kind) return "the car as it is";
    std::string out(fault.kind->name);
    if (fault.alike.size() < 2)
        return out + " at " + (fault.alike.empty() ? fault.at : fault.alike[0]);
    out += " anywhere among ";
    for (std::size_t i = 0; i < fault.alike.size(); ++i)
        out += (i == 0 ? "" : i + 1 == fault.alike.size() ? " and " : ", ") + fault.alike[i];
    return out;
}

std::string reading_words(const Expectation& what) {
    using Moment = Expectation::Moment;
    std::string out = what.channel;
    switch (what.moment) {
    case Moment::peak:
        out += ", the most";
        break;
    case Moment::lowest:
        out += ", the least";
        break;
    case Moment::held:
        out += " in the hold";
        break;
    case Moment::residual:
        out += " at the end, with the foot off";
        break;
    case Moment::at_time:
        out += " at " + show(what.time) + " s";
        break;
    case Moment::event_time:
        out = "when it happens: " + out;
        break;
    case Moment::event_count:
        out = "how often: " + out;
        break;
    }
    if (what.since) out += " less that at " + show(*what.since) + " s";
    return out;
}

std::string match_report(const Scenario& complaint, const Match& match, const OutputUnits& units,
                         const std::vector<std::string>& cautions) {
    std::string out = wrapped(complaint.title, kWidth, "");
    out += wrapped(complaint.text, kWidth, "  ");
    out += "\n" + readings_table(complaint, match, units);
    out += "\n" + leaders_words(complaint, match, units);
    if (const std::string next = next_words(match, units); !next.empty()) out += "\n" + next;
    if (const std::string no = ruled_out_words(complaint, match, units); !no.empty())
        out += "\nRuled out by what was read, nearest first\n" + no;
    if (!complaint.ruled_out.empty()) {
        std::string text;
        for (const std::string& words : beforehand(complaint))
            text += (text.empty() ? "" : ", ") + words;
        out += "\nRuled out beforehand\n" + wrapped(text, kWidth, "  ");
    }
    if (!match.unseen.empty())
        out += "\nNot shown by these readings, so neither found nor ruled out\n" +
               wrapped(names(match, match.unseen), kWidth, "  ");
    if (!match.impossible.empty())
        out += "\nCannot be in this car\n" + wrapped(names(match, match.impossible), kWidth, "  ");
    out += "\n" + wrapped(kMisfit, kWidth, "");
    out += "\nCaution\n";
    for (const std::string& caution : cautions)
        out += hanging("  ! ", caution);
    return out;
}

nlohmann::ordered_json match_values(const Scenario& complaint, const Match& match,
                                    const OutputUnits& units) {
    const auto list = [&](const std::vector<Explanation>& explanations) {
        Json all = Json::array();
        for (const Explanation& e : explanations)
            all.push_back(explanation_json(complaint, match, e, units));
        return all;
    };
    const auto places = [](const std::vector<Candidate>& candidates) {
        Json all = Json::array();
        for (const Candidate& c : candidates)
            if (c.kind) all.push_back({{"kind", c.kind->name}, {"at", c.at}});
        return all;
    };
    Json next = Json::array();
    for (const study::NextReading& n : match.next) {
        const auto values = [&](const std::vector<double>& found) {
            Json all = Json::array();
            for (const double x : found)
                all.push_back(json_value(units, n.what.dimension, x));
            return all;
        };
        Json words = Json::array();
        for (std::size_t i = 0; i < n.predicted.size(); ++i)
            words.push_back(predicted_words(n, i, units));
        next.push_back({{"reading", reading_words(n.what.what)},
                        {"unit", json_unit(units.of(n.what.dimension))},
                        {"predicted", values(n.predicted)},
                        {"predicted_least", values(n.least)},
                        {"predicted_most", values(n.most)},
                        {"in_words", words},
                        {"pairs_told_apart", n.told_apart}});
    }
    Json readings = Json::array();
    const Explanation& sound = as_it_is(match);
    for (std::size_t i = 0; i < complaint.readings.size(); ++i) {
        const auto [r, dimension, found] = answered(complaint, match, sound, i);
        const bool timed = r.moment == Expectation::Moment::at_time;
        readings.push_back(
            {{"text", r.text},
             {"channel", r.channel},
             {"time", timed ? json_value(units, Dimension::time, r.time) : Json(nullptr)},
             {"since", r.since ? json_value(units, Dimension::time, *r.since) : Json(nullptr)},
             {"read", bounds_words(r, dimension, units)},
             {"low", r.low ? json_value(units, dimension, *r.low) : Json(nullptr)},
             {"high", r.high ? json_value(units, dimension, *r.high) : Json(nullptr)},
             {"unit", json_unit(units.of(dimension))}});
    }
    return {
        {"format", 1},
        {"title", complaint.title},
        {"complete", !match.stopped},
        {"verdict", verdict(complaint, match)},
        {"explained", match.explained()},
        {"tied", match.tied},
        {"readings", readings},
        {"farthest", study::farthest_of(complaint.readings.size())},
        {"as_it_is", explanation_json(complaint, match, sound, units)},
        {"leaders", list(match.leaders)},
        {"read_next", next},
        {"read_next_in_words",
         {{"why", next_heading(match)}, {"nothing", match.leaders.size() > 1 ? kNothingNext : ""}}},
        {"singles", list(match.singles)},
        {"pairs", list(match.pairs)},
        {"ruled_out_beforehand", beforehand(complaint)},
        {"not_shown", places(match.unseen)},
        {"impossible", places(match.impossible)},
        {"misfit_means", kMisfit}};
}

std::string match_json(const Scenario& complaint, const Match& match, const OutputUnits& units) {
    return match_values(complaint, match, units).dump(2) + "\n";
}

} // namespace pedalbench::runner
