#include "match_plots.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "csv_sink.hpp"
#include "match_answers.hpp"
#include "plot_tools.hpp"

namespace pedalbench::runner {

namespace {

using study::Explanation;
using study::Match;

constexpr std::size_t kMostDrawn = 5; // explanations; more lie on each other
constexpr int kFirstOff = 7;          // column of readings.csv, then every second one
/// gnuplot's point types, open so that one that lies on another does not hide it: ring, square,
/// triangle, diamond, pentagon; a cross for the car as it is.
constexpr std::array<int, kMostDrawn> kPoints = {kRing, 4, 8, 12, 14};
constexpr int kCross = 2;

/// The car as it is, then the leaders.
std::vector<const Explanation*> drawn(const Match& match) {
    std::vector<const Explanation*> list = {&as_it_is(match)};
    for (const Explanation& e : match.leaders)
        if (!e.faults.empty() && list.size() <= kMostDrawn) list.push_back(&e);
    return list;
}

std::string name_of(const Explanation& e) {
    if (e.faults.empty()) return "the car as it is";
    std::string text;
    for (const study::Candidate& fault : e.faults)
        text += (text.empty() ? "" : " and ") + fault_words(fault);
    return text;
}

std::string cell(double x) {
    return std::isfinite(x) ? fmt::format("{}", x) : "";
}

} // namespace

std::string readings_csv(const Scenario& complaint, const Match& match, const OutputUnits& units) {
    const auto list = drawn(match);
    std::string out = "number,reading,from,to,unit";
    for (const Explanation* e : list)
        out += "," + csv_cell(name_of(*e)) + "," + csv_cell(name_of(*e) + " is off [errors]");
    out += "\n";
    for (std::size_t i = 0; i < complaint.readings.size(); ++i) {
        const Expectation& r = complaint.readings[i];
        const Dimension d = match.columns[match.column[i]].dimension;
        const auto value = [&](double si) { return cell(units.number(d, si)); };
        out += fmt::format("{},{},{},{},{}", i + 1, csv_cell(r.text), r.low ? value(*r.low) : "",
                           r.high ? value(*r.high) : "", csv_cell(std::string(units.of(d).name)));
        for (const Explanation* e : list)
            out += "," + value(e->found[match.column[i]]) + "," + cell(e->off[i]);
        out += "\n";
    }
    return out;
}

std::string draw_match(const std::filesystem::path& dir, const Scenario& complaint,
                       const Match& match, const OutputUnits& units) {
    const auto list = drawn(match);
    const auto n = static_cast<double>(complaint.readings.size());
    const double farthest = study::farthest_of(complaint.readings.size());
    Picture picture;
    picture.name = "readings";
    picture.title = "How far each reading is missed";
    picture.subtitle = complaint.title;
    Panel panel;
    panel.heading = fmt::format("between the dashed lines: within 2 standard errors; past {:.2g}, "
                                "dotted, ruled out",
                                farthest);
    panel.x = {"reading, numbered below", 0.5, n + 0.5, std::ceil(n / 20)};
    double most = farthest;
    for (std::size_t k = 0; k < list.size(); ++k) {
        const Pen points{k == 0 ? "#6b6b6b" : palette(k - 1), 2, "",
                         k == 0 ? kCross : kPoints[k - 1]};
        panel.curves.push_back({1, kFirstOff + 2 * static_cast<int>(k), points, "readings.csv", 1});
        picture.key.push_back({(k == 0 ? "" : fmt::format("{}. ", k)) + name_of(*list[k]), points});
        for (const double off : list[k]->off)
            if (std::isfinite(off)) most = std::max(most, std::abs(off));
    }
    // A wild miss would squeeze what is to be seen.
    const double edge = std::min(rounded_up(1.05 * most), 3 * rounded_up(farthest));
    if (most > edge)
        panel.heading += fmt::format("; what is off by more than {:.3g} is not shown", edge);
    panel.y = {"found less read [standard errors]", -edge, edge};
    for (const double level : {-farthest, -2.0, 2.0, farthest})
        panel.levels.push_back(
            {level, {"#8a8a8a", 1.4, std::abs(level) == 2 ? "(14,7)" : "(2,6)", 0}});
    panel.height = 240;
    picture.panels = {panel};
    picture.note_text = kNoteTime;
    for (std::size_t i = 0; i < complaint.readings.size(); ++i) {
        const Expectation& r = complaint.readings[i];
        const std::string read = bounds_words(r, match.columns[match.column[i]].dimension, units);
        add_note(picture, std::to_string(i + 1), r.text + ": " + read + " read");
    }
    return draw(dir, {picture}, 1);
}

} // namespace pedalbench::runner
