#include "compare_answers.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "compare_notes.hpp"
#include "csv_sink.hpp"
#include "json_values.hpp"
#include "reader.hpp"
#include "reading.hpp"
#include "spread_answers.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;
using study::ComparedFigure;
using study::Fact;
using study::known;
using study::PairedEvent;
using study::YesNo;
using Moment = study::Figure::Moment;

constexpr double kSlight = 0.01; // of a share: figures that differ by less stand in one line

// ---------------------------------------------------------------- the report

/// A name in lines of at most `width` characters, broken at blanks; a word that is longer, after
/// `_`, `.` and `=`.
std::vector<std::string> head_lines(const std::string& name, std::size_t width) {
    std::vector<std::string> lines(1);
    const auto place = [&](const std::string& piece, bool word) {
        std::string& line = lines.back();
        const std::string blank = word && !line.empty() ? " " : "";
        if (line.size() + blank.size() + piece.size() <= width)
            line += blank + piece;
        else if (line.empty())
            line = piece.substr(0, width);
        else
            lines.push_back(piece.substr(0, width));
    };
    for (const std::string& word : split(name, ' ')) {
        if (word.size() <= width) {
            place(word, true);
            continue;
        }
        std::string piece;
        bool first = true;
        for (const char c : word) {
            piece += c;
            if (c != '_' && c != '.' && c != '=' && piece.size() < width) continue;
            place(piece, std::exchange(first, false));
            piece.clear();
        }
        if (!piece.empty()) place(piece, first);
    }
    return lines;
}

/// The names over columns of numbers, the last line of each on the last line of the head.
std::string head(const std::string& left, std::size_t left_width,
                 const std::vector<std::string>& names, std::size_t width,
                 const std::string& right) {
    std::vector<std::vector<std::string>> lines;
    std::size_t height = 1;
    for (const std::string& name : names) {
        lines.push_back(head_lines(name, width - 1));
        height = std::max(height, lines.back().size());
    }
    std::string out;
    for (std::size_t i = 0; i < height; ++i) {
        const bool last = i + 1 == height;
        std::string line = fmt::format("  {:<{}}", last ? left : "", left_width);
        for (const auto& name : lines) {
            const std::size_t first = height - name.size();
            line += fmt::format("{:>{}}", i >= first ? name[i - first] : "", width);
        }
        if (last) line += "  " + right;
        out += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
    }
    return out;
}

std::string figure_name(const ComparedFigure& f) {
    if (f.moment == Moment::end || f.moment == Moment::first_time) return f.name;
    return f.name + " " + moment_word(f.moment);
}

/// The figures that differ in `which`; of two runs the difference too.
std::string figure_table(const Compared& compared, const std::vector<std::size_t>& which) {
    constexpr std::size_t kName = 34;
    const OutputUnits& units = compared.units;
    std::vector<std::string> heads = compared.comparison.names;
    if (heads.size() == 2) heads.emplace_back("difference");
    const std::size_t width = std::min<std::size_t>(16, (kWidth - 2 - kName - 8) / heads.size());
    std::string out = head("figure", kName, heads, width, "unit");
    for (const auto& group : study::gathered(compared.comparison.figures, which)) {
        const ComparedFigure& f = compared.comparison.figures[group.front()];
        std::vector<double> values = f.value;
        // A difference: the offset of a unit (degrees Celsius) drops out.
        if (values.size() == 2)
            values.push_back(values[1] - values[0] + units.of(f.dimension).to_si(0));
        const std::string name = figure_name(f);
        std::string line;
        for (const std::string& number : numbers(values, f.dimension, units, 4, f.error))
            line += fmt::format("{:>{}}", number, width);
        if (f.value.size() == 2 && values[2] > units.of(f.dimension).to_si(0)) {
            const std::size_t at = line.find_last_of(' ') + 1;
            line.replace(at - 1, 1, "+");
        }
        line += "  " + std::string(units.of(f.dimension).name);
        out += name.size() <= kName ? fmt::format("  {:<{}}", name, kName)
                                    : fmt::format("  {}\n  {:<{}}", name, "", kName);
        out += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
        std::vector<std::string> others;
        for (std::size_t i = 1; i < group.size(); ++i)
            others.push_back(compared.comparison.figures[group[i]].name);
        if (!others.empty()) out += hanging("    also ", listed(others));
    }
    return out;
}

/// "pedal.force; front_left.pressure peak, held": channels with all their figures by name alone.
std::string names_of(const Compared& compared, const std::vector<std::size_t>& which) {
    const auto& figures = compared.comparison.figures;
    std::string text;
    long readings = 0; // too many to name
    for (std::size_t i = 0; i < which.size();) {
        if (figures[which[i]].moment == Moment::first_time) {
            ++readings;
            ++i;
            continue;
        }
        const std::string& name = figures[which[i]].name;
        std::string moments;
        std::size_t n = 0;
        for (; i < which.size() && figures[which[i]].name == name; ++i, ++n)
            moments += (n == 0 ? " " : ", ") + std::string(moment_word(figures[which[i]].moment));
        const auto all = static_cast<std::size_t>(
            std::count_if(figures.begin(), figures.end(),
                          [&name](const ComparedFigure& f) { return f.name == name; }));
        text += (text.empty() ? "" : "; ") + name + (n == all ? "" : moments);
    }
    if (readings > 0)
        text += (text.empty() ? "" : "; ") +
                counted(readings, "reading at an event", "readings at events");
    return text;
}

std::string figures(const Compared& compared) {
    const auto& all = compared.comparison.figures;
    std::vector<std::size_t> differ, slight, same;
    for (std::size_t i = 0; i < all.size(); ++i) {
        if (!all[i].everywhere()) continue;
        (!all[i].differs() ? same : all[i].share < kSlight ? slight : differ).push_back(i);
    }
    std::string out;
    if (!differ.empty()) out += "\nFigures that differ\n" + figure_table(compared, differ);
    if (!slight.empty())
        out += hanging("  by less than 1 %: ", counted(static_cast<long>(slight.size()), "figure") +
                                                   ": " + names_of(compared, slight));
    out += "\nWhat is the same\n";
    if (!same.empty())
        out += hanging("  ", counted(static_cast<long>(same.size()), "figure") +
                                 " within a run's own error: " + names_of(compared, same));
    if (const auto lines = alike(compared); !lines.empty()) {
        std::string text;
        for (const std::string& line : lines)
            text += (text.empty() ? "" : "; ") + line;
        out += hanging("  ", text);
    }
    return out;
}

std::string event_line(const EventRow& row, bool shift) {
    std::string line = "  ";
    for (const double t : row.event->time)
        line += known(t) ? fmt::format("{:>12.4f}", t) : fmt::format("{:>12}", "-");
    if (shift) {
        const bool both = row.event->everywhere();
        const double later = row.event->time[1] - row.event->time[0];
        line += !both               ? fmt::format("{:>12}", "")
                : row.event->same() ? fmt::format("{:>12}", "same")
                                    : fmt::format("{:>+12.4f}", later);
    }
    return hanging(line + "  ", row.words());
}

std::string events(const Compared& compared) {
    // Later only what had not happened before is told, and how it ended.
    constexpr std::size_t kFirst = 24, kLast = 8;
    const std::vector<EventRow> rows = event_rows(compared.comparison);
    if (rows.empty()) return {};
    if (std::all_of(rows.begin(), rows.end(),
                    [](const EventRow& row) { return row.event->same(); }))
        return "  " +
               counted(static_cast<long>(compared.comparison.events.size()), "event comes",
                       "events come") +
               " at the same times\n";
    const bool shift = compared.runs.size() == 2;
    std::vector<std::string> names = compared.comparison.names;
    std::string out = "\nEvents side by side [s]\n";
    // The columns are those of event_line().
    std::vector<std::string> heads = names;
    if (shift) heads.emplace_back("later by");
    out += head("", 0, heads, 12, "what happens");
    std::size_t left_out = 0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        const study::PairedEvent& event = *rows[i].event;
        const bool late = i + kLast >= rows.size() && event.everywhere();
        if (rows.size() > kFirst + kLast + 1 && i >= kFirst && event.occurrence > 0 && !late) {
            ++left_out;
            continue;
        }
        if (left_out > 0)
            out += fmt::format("  ... {} more, in comparison.json\n", left_out), left_out = 0;
        out += event_line(rows[i], shift);
    }
    if (left_out > 0) out += fmt::format("  ... {} more, in comparison.json\n", left_out);
    return out;
}

/// The cautions of all runs; those that not every run has say whose they are.
std::string cautions(const Compared& compared) {
    std::vector<std::string> all;
    for (const study::Entry& run : compared.entries)
        for (const std::string& caution : run.summary.cautions)
            if (std::find(all.begin(), all.end(), caution) == all.end()) all.push_back(caution);
    std::string out = "\nCaution\n";
    for (const std::string& caution : all) {
        std::vector<std::string> whose;
        for (std::size_t r = 0; r < compared.entries.size(); ++r) {
            const auto& own = compared.entries[r].summary.cautions;
            if (std::find(own.begin(), own.end(), caution) != own.end())
                whose.push_back(compared.runs[r].where);
        }
        out += hanging("  ! ", whose.size() == compared.entries.size()
                                   ? caution
                                   : "(" + listed(whose) + ") " + caution);
    }
    return out;
}

// ---------------------------------------------------------------- for programs

Json numbers_json(const std::vector<double>& si, Dimension dimension, const OutputUnits& units) {
    Json list = Json::array();
    for (const double v : si)
        list.push_back(json_value(units, dimension, v));
    return list;
}

const char* kind_word(Fact::Kind kind) {
    switch (kind) {
    case Fact::Kind::drags:
        return "wheel drags";
    case Fact::Kind::lit_at_end:
        return "lamp lit at the end";
    case Fact::Kind::lit:
        return "lamp lit";
    case Fact::Kind::fluid_lost:
        return "fluid lost";
    case Fact::Kind::air_drawn:
        return "air drawn in";
    case Fact::Kind::dragged:
        return "wheel dragged earlier";
    case Fact::Kind::service:
        return "limit kept";
    case Fact::Kind::expectation:
        return "expectation holds";
    case Fact::Kind::event:
        return "event comes";
    }
    return "";
}

Json fact_json(const Fact& fact, const OutputUnits& units) {
    Json answers = Json::array();
    for (const YesNo a : fact.yes)
        answers.push_back(a == YesNo::unknown ? Json(nullptr) : Json(a == YesNo::yes));
    return {{"what", kind_word(fact.kind)},
            {"part", fact.part},
            {"text", fact.text},
            {"answers", answers},
            {"unit", json_unit(units.of(fact.dimension))},
            {"values", numbers_json(fact.value, fact.dimension, units)},
            {"differs", fact.differs()}};
}

Json figure_json(const ComparedFigure& f, const OutputUnits& units) {
    return {{"figure", f.name},
            {"moment", moment_word(f.moment)},
            {"unit", json_unit(units.of(f.dimension))},
            {"values", numbers_json(f.value, f.dimension, units)},
            {"share", json_number(f.share)},
            {"differs", f.differs()}};
}

Json event_json(const PairedEvent& e) {
    Json times = Json::array();
    for (const double t : e.time)
        times.push_back(json_number(t));
    return {{"part", e.part}, {"text", e.text}, {"times_s", times}, {"same", e.same()}};
}

void put(std::string& out, double x) {
    char text[64];
    if (!std::isfinite(x)) return; // an empty cell: there is no value
    const auto end = std::to_chars(text, text + sizeof text, x);
    out.append(text, end.ptr);
}

} // namespace

std::string compare_report(const Compared& compared) {
    std::string out = "Compared\n";
    std::size_t width = 0;
    for (const RunName& run : compared.runs)
        width = std::max(width, run.name.size());
    for (std::size_t r = 0; r < compared.runs.size(); ++r) {
        const RunName& run = compared.runs[r];
        const bool again = r > 0 && compared.runs[r - 1].file == run.file;
        out += hanging(fmt::format("  {:<{}}  ", run.name, width),
                       again ? "the same file" : run.title + " (" + run.file + ")");
    }
    for (const std::string& line : compared.left_out)
        out += hanging("  LEFT OUT: ", line);

    out += "\nSet up differently\n";
    const std::vector<std::string> setup = setup_lines(compared);
    for (const std::string& line : setup)
        out += hanging("  ", line);
    if (setup.empty()) out += "  nothing\n";

    out += "\nDifferences that matter\n";
    const std::vector<std::string> said = sentences(compared);
    for (const std::string& sentence : said)
        out += hanging("  * ", sentence);
    if (said.empty())
        out += compared.comparison.same()
                   ? "  none: no figure, no answer and no event differs\n"
                   : "  none: what differs is in the table or in the times of events\n";
    out += figures(compared);
    const std::string side_by_side = events(compared);
    out += side_by_side;
    if (const auto lines = not_comparable(compared); !lines.empty()) {
        out += "\nWhat cannot be compared\n";
        for (const std::string& line : lines)
            out += hanging("  ", line);
    }
    return out + cautions(compared);
}

std::string compare_json(const Compared& compared) {
    const study::Comparison& c = compared.comparison;
    Json j = {{"format", kFormat}, {"runs", Json::array()}};
    for (std::size_t r = 0; r < compared.runs.size(); ++r) {
        const RunName& run = compared.runs[r];
        j["runs"].push_back({{"name", run.name},
                             {"file", run.file},
                             {"title", run.title},
                             {"trace", fmt::format("trace_{}.csv", run.number)},
                             {"cautions", compared.entries[r].summary.cautions}});
    }
    j["left_out"] = compared.left_out;
    j["set_up_differently"] = setup_lines(compared);
    j["same"] = c.same();
    j["sentences"] = sentences(compared);
    j["answers"] = Json::array();
    for (const Fact& fact : c.facts)
        j["answers"].push_back(fact_json(fact, compared.units));
    j["figures"] = Json::array();
    for (const ComparedFigure& f : c.figures)
        j["figures"].push_back(figure_json(f, compared.units));
    j["events"] = Json::array();
    for (const PairedEvent& e : c.events)
        j["events"].push_back(event_json(e));
    j["not_comparable"] = not_comparable(compared);
    return j.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string compare_csv(const Compared& compared) {
    std::string out = "figure,moment,unit";
    for (const RunName& run : compared.runs)
        out += "," + csv_cell(run.name);
    out += ",differs\n";
    for (const ComparedFigure& f : compared.comparison.figures) {
        const Unit& u = compared.units.of(f.dimension);
        out += csv_cell(f.name) + "," + moment_word(f.moment) + "," +
               (u.name.empty() ? "1" : std::string(u.name));
        for (const double v : f.value) {
            out += ',';
            put(out, u.from_si(v));
        }
        out += f.differs() ? ",yes\n" : ",no\n";
    }
    return out;
}

} // namespace pedalbench::runner
