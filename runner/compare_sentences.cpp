#include "compare_sentences.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include <fmt/format.h>

#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::ComparedFigure;
using study::Difference;
using study::Fact;
using study::known;
using study::PairedEvent;
using study::YesNo;
using Kind = Fact::Kind;
using Moment = study::Figure::Moment;

std::string capital(std::string text) {
    if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
        text[0] = static_cast<char>(text[0] - 'a' + 'A');
    return text;
}

std::vector<std::size_t> runs_with(const std::vector<YesNo>& answers, YesNo wanted) {
    std::vector<std::size_t> runs;
    for (std::size_t r = 0; r < answers.size(); ++r)
        if (answers[r] == wanted) runs.push_back(r);
    return runs;
}

/// "rod travel" for "rod_travel"; where the name alone would not tell, what it is of.
std::string in_words(std::string quantity) {
    static constexpr std::pair<const char*, const char*> kWords[] = {
        {"held_back", "pressure held back"},
        {"difference", "pressure difference"},
        {"input", "input force"},
        {"output", "output force"},
        {"vacuum_left", "vacuum left"},
        {"run_out", "run-out force"}};
    for (const auto& [name, words] : kWords)
        if (quantity == name) return words;
    std::replace(quantity.begin(), quantity.end(), '_', ' ');
    return quantity;
}

class Teller {
  public:
    explicit Teller(const Compared& compared) : c_(compared) {}

    std::string fact(const Difference& d) const {
        const Fact& first = first_of(d);
        const bool many = d.which.size() > 1;
        const std::string parts = listed(parts_of(d));
        const std::string wheels = (many ? "Wheels " : "Wheel ") + parts;
        const std::string them = many ? "they" : "it";
        switch (first.kind) {
        case Kind::drags:
            return wheels + (many ? " drag" : " drags") + " after the stop " + yes(d, "") + "; " +
                   no(d, "", them + (many ? " turn" : " turns") + " freely") + ".";
        case Kind::dragged:
            return wheels + (many ? " drag" : " drags") + " for a while with the foot off " +
                   yes(d, "at most ") + "; " +
                   no(d, "at most ", them + (many ? " do" : " does") + " not") + ".";
        case Kind::lit_at_end:
            return "The warning lamp is lit at the end " + yes(d, "since ") + "; " +
                   no(d, "", "it is dark") + ".";
        case Kind::lit:
            return "The warning lamp comes on " + yes(d, "first at ") + "; " +
                   no(d, "", "it stays dark") + ".";
        case Kind::fluid_lost:
            return "Fluid is lost " + yes(d, "") + "; " + nothing(d, "none is") + ".";
        case Kind::air_drawn:
            return "Air is drawn in " + yes(d, "") + "; " + nothing(d, "none is") + ".";
        case Kind::service:
            return capital(first.text) + " at " + parts + " keeps its limit " + yes(d, "") + "; " +
                   no(d, "", "it does not") + ".";
        case Kind::expectation:
        case Kind::event:
            return {}; // told together
        }
        return {};
    }

    /// Events that come, or expectations that hold, in the same runs and not in the same others.
    std::string together(const std::vector<const Difference*>& group) const {
        constexpr std::size_t kShown = 6;
        const Fact& first = first_of(*group.front());
        const bool events = first.kind == Kind::event;
        const std::vector<std::size_t> in = runs_with(first.yes, YesNo::yes),
                                       not_in = runs_with(first.yes, YesNo::no);
        std::string text = (events             ? "Only "
                            : group.size() > 1 ? "Expectations that hold only "
                                               : "An expectation that holds only ") +
                           places(in);
        if (in.size() + not_in.size() < c_.runs.size()) text += ", not " + places(not_in);
        text += ": ";
        for (std::size_t i = 0; i < std::min(kShown, group.size()); ++i)
            text += (i == 0 ? "" : "; ") +
                    (events ? event(*group[i], in.front()) : expectation(first_of(*group[i])));
        if (group.size() > kShown) text += fmt::format("; and {} more", group.size() - kShown);
        return text + ".";
    }

    std::string figure(const Difference& d) const {
        const ComparedFigure& f = c_.comparison.figures[d.which.front()];
        std::string text;
        switch (f.moment) {
        case Moment::first_time:
            text = "When \"" + event_name(d) + "\" first comes, ";
            break;
        case Moment::peak:
            text = "At its most, ";
            break;
        case Moment::lowest:
            text = "At its least, ";
            break;
        case Moment::held:
            text = "Under the held foot, ";
            break;
        case Moment::residual:
            text = "With the foot off at the end, ";
            break;
        default:
            text = "At the end, ";
        }
        text += subject(d) + " is ";
        const std::vector<std::string> value = numbers(f.value, f.dimension, c_.units, 3, f.error);
        const std::string unit = unit_of(f.dimension);
        for (std::size_t r = 0; r < value.size(); ++r)
            text += (r == 0 ? "" : ", ") + value[r] + unit + " " + c_.runs[r].where;
        if (value.size() == 2) {
            const double less =
                c_.units.number(f.dimension, f.value[0]) - c_.units.number(f.dimension, f.value[1]);
            const std::size_t point = value[0].find('.');
            const int decimals =
                point == std::string::npos ? 0 : static_cast<int>(value[0].size() - point - 1);
            text += fmt::format(": {:.{}f}{} {}", std::abs(less), decimals, unit,
                                less > 0 ? "less" : "more");
        }
        return text + ".";
    }

  private:
    /// "front_left and front_right: inner pad touches the disc (0.612 s)".
    std::string event(const Difference& d, std::size_t run) const {
        const std::string who = listed(parts_of(d));
        return (who.empty() ? "" : who + ": ") + first_of(d).text + " (" +
               c_.units.text(Dimension::time, first_of(d).value[run]) + ")";
    }
    /// "the front drags" (15.2 N m as it is, 1.2 N m without dripping).
    std::string expectation(const Fact& fact) const {
        std::string found;
        for (std::size_t r = 0; r < fact.value.size(); ++r) {
            if (fact.yes[r] == YesNo::unknown) continue;
            found += (found.empty() ? "" : ", ") +
                     (known(fact.value[r]) ? c_.units.found(fact.dimension, fact.value[r], 3)
                                           : std::string("nothing found")) +
                     " " + c_.runs[r].where;
        }
        return "\"" + fact.text + "\" (" + found + ")";
    }

    const Fact& first_of(const Difference& d) const { return c_.comparison.facts[d.which.front()]; }
    std::vector<std::string> parts_of(const Difference& d) const {
        std::vector<std::string> parts;
        for (const std::size_t i : d.which)
            if (const std::string& part = c_.comparison.facts[i].part; !part.empty())
                parts.push_back(part);
        return parts;
    }
    std::string unit_of(Dimension dimension) const {
        const std::string_view unit = c_.units.of(dimension).name;
        if (unit == "in") return " inches"; // "3 in in ordinary_stop" would puzzle
        return unit.empty() ? "" : " " + std::string(unit);
    }
    std::string places(const std::vector<std::size_t>& runs) const {
        std::vector<std::string> words;
        for (const std::size_t r : runs)
            words.push_back(c_.runs[r].where);
        return listed(words);
    }

    /// The value or the values of several parts, " (15.2 N m)"; nothing where there is none.
    std::string values(const Difference& d, std::size_t run, const std::string& before) const {
        std::vector<std::string> words;
        for (const std::size_t i : d.which) {
            const Fact& fact = c_.comparison.facts[i];
            if (!known(fact.value[run]) || fact.dimension == Dimension::choice) continue;
            const std::string word = c_.units.found(fact.dimension, fact.value[run], 3);
            if (std::find(words.begin(), words.end(), word) == words.end()) words.push_back(word);
        }
        return words.empty() ? "" : " (" + before + listed(words) + ")";
    }
    /// "as it is (15.2 N m) and in other (14 N m)".
    std::string yes(const Difference& d, const std::string& before) const {
        std::vector<std::string> words;
        for (const std::size_t r : runs_with(first_of(d).yes, YesNo::yes))
            words.push_back(c_.runs[r].where + values(d, r, before));
        return listed(words);
    }
    /// "without dripping it turns freely (0.2 N m)".
    std::string no(const Difference& d, const std::string& before, const std::string& what) const {
        const std::vector<std::size_t> in = runs_with(first_of(d).yes, YesNo::no);
        if (in.size() == 1) return c_.runs[in[0]].where + " " + what + values(d, in[0], before);
        std::vector<std::string> words;
        for (const std::size_t r : in)
            words.push_back(c_.runs[r].where + values(d, r, before));
        return listed(words) + " " + what;
    }
    std::string nothing(const Difference& d, const std::string& what) const {
        return places(runs_with(first_of(d).yes, YesNo::no)) + " " + what;
    }

    /// "front_left and front_right: pads touch".
    std::string event_name(const Difference& d) const {
        std::vector<std::string> parts;
        std::string text;
        for (const std::size_t i : d.which) {
            const std::string& name = c_.comparison.figures[i].name;
            const std::size_t colon = name.find(": ");
            parts.push_back(name.substr(0, colon));
            text = name.substr(colon, name.rfind(", ") - colon);
        }
        return listed(parts) + text;
    }
    /// "the pressure at front_left and front_right".
    std::string subject(const Difference& d) const {
        std::vector<std::string> owners;
        std::string quantity;
        Dimension dimension{};
        for (const std::size_t i : d.which) {
            const ComparedFigure& f = c_.comparison.figures[i];
            if (f.moment == Moment::first_time) {
                // "the inlet pressure": the sentence has named event and part.
                std::string reading = f.name.substr(f.name.rfind(", ") + 2);
                std::replace(reading.begin(), reading.end(), '.', ' ');
                return "the " + in_words(reading);
            }
            const std::size_t dot = f.name.rfind('.');
            if (dot == std::string::npos) return "the " + f.name;
            quantity = f.name.substr(dot + 1);
            dimension = f.dimension;
            owners.push_back(f.name.substr(0, dot));
        }
        quantity = in_words(quantity);
        const bool at = dimension == Dimension::pressure || dimension == Dimension::flow;
        return "the " + quantity + (at ? " at " : " of ") + listed(owners);
    }

    const Compared& c_;
};

} // namespace

std::vector<std::string> numbers(const std::vector<double>& si, Dimension dimension,
                                 const OutputUnits& units, int digits, double error) {
    double largest = 0;
    for (const double v : si)
        if (known(v)) largest = std::max(largest, std::abs(units.number(dimension, v)));
    int decimals =
        largest > 0
            ? std::clamp(digits - 1 - static_cast<int>(std::floor(std::log10(largest))), 0, 6)
            : 0;
    const double grain = units.number(dimension, error) - units.number(dimension, 0);
    if (grain > 0)
        decimals = std::clamp(static_cast<int>(std::ceil(-std::log10(grain))), 0, decimals);
    std::vector<std::string> text;
    for (const double v : si) {
        const double x = units.number(dimension, v);
        const double shown = std::abs(x) < 0.5 * std::pow(10, -decimals) ? 0 : x; // never "-0.0"
        text.push_back(known(v) ? fmt::format("{:.{}f}", shown, decimals) : "-");
    }
    return text;
}

std::string EventRow::words() const {
    std::string who;
    for (const std::string& part : parts)
        who += (who.empty() ? "" : ", ") + part;
    return who.empty() ? event->text : who + ": " + event->text;
}

std::vector<EventRow> event_rows(const study::Comparison& comparison) {
    const auto near = [](const PairedEvent& a, const PairedEvent& b) {
        if (a.text != b.text || a.part == b.part) return false;
        for (std::size_t r = 0; r < a.time.size(); ++r) {
            if (known(a.time[r]) != known(b.time[r])) return false;
            if (std::abs(a.time[r] - b.time[r]) > a.error) return false;
        }
        return true;
    };
    std::vector<EventRow> rows;
    for (const PairedEvent& event : comparison.events) {
        if (event.of_setup()) continue;
        const auto same = std::find_if(rows.begin(), rows.end(), [&](const EventRow& row) {
            return near(*row.event, event) &&
                   std::find(row.parts.begin(), row.parts.end(), event.part) == row.parts.end();
        });
        if (same != rows.end())
            same->parts.push_back(event.part);
        else
            rows.push_back({event.part.empty() ? std::vector<std::string>{}
                                               : std::vector<std::string>{event.part},
                            &event});
    }
    return rows;
}

std::vector<std::string> sentences(const Compared& compared) {
    const Teller teller(compared);
    const study::Comparison& c = compared.comparison;
    std::vector<std::string> said;
    std::vector<const Difference*> listed, figures;
    for (const Difference& d : c.differences)
        if (!d.fact)
            figures.push_back(&d);
        else if (c.facts[d.which.front()].kind >= Kind::event) // and expectations
            listed.push_back(&d);
        else
            said.push_back(teller.fact(d));
    while (!listed.empty()) {
        const Fact& first = c.facts[listed.front()->which.front()];
        const auto alike = [&](const Difference* d) {
            const Fact& fact = c.facts[d->which.front()];
            return fact.kind == first.kind && fact.yes == first.yes;
        };
        std::vector<const Difference*> group;
        std::copy_if(listed.begin(), listed.end(), std::back_inserter(group), alike);
        std::erase_if(listed, alike);
        said.push_back(teller.together(group));
    }
    std::size_t told = 0;
    for (const Difference* d : figures)
        if (c.figures[d->which.front()].share >= kTold && told++ < kMostTold)
            said.push_back(teller.figure(*d));
    return said;
}

} // namespace pedalbench::runner
