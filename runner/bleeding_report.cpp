#include "bleeding_report.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;

/// How a line of the card was worked: "8 strokes", "20 s".
std::string work(const BleedStep& step) {
    return step.method() == BleedMethod::pedal ? counted(std::lround(step.how["strokes"]), "stroke")
                                               : show(step.how["time"]) + " s";
}

std::string method_word(BleedMethod method) {
    return split(bleed_fields()[0].choices, '|')[static_cast<std::size_t>(method)];
}

/// Largest first, and no more than a reader takes in.
std::vector<AirPlace> most_air(std::vector<AirPlace> places) {
    std::stable_sort(places.begin(), places.end(),
                     [](const AirPlace& a, const AirPlace& b) { return a.air > b.air; });
    return places;
}

} // namespace

std::string bleeding_report(const Scenario& scenario, const Summary& summary,
                            const OutputUnits& units) {
    const BleedingResult& b = summary.bleeding;
    // Less than a cubic millimetre is nothing in a jar.
    const auto volume = [&units](double si) {
        return std::abs(si) < 0.5e-9 ? 0 : units.number(Dimension::volume, si);
    };
    const std::string_view unit = units.of(Dimension::volume).name;
    std::string out = fmt::format(
        "  volumes in {}; air at 1 atm; left: at the screw when it was shut; reservoirs: level "
        "then\n  {:<20} {:<9}{:<11}{:>9} {:>8} {:>8} {:>8} {:>8}  reservoirs\n",
        unit, "wheel", "method", "work", "fluid out", "air out", "fl. back", "air back", "left");
    for (std::size_t i = 0; i < b.wheels.size(); ++i) {
        const BledWheel& w = b.wheels[i];
        std::string levels;
        for (const Reading& level : w.levels)
            levels += fmt::format("{}{:.1f}", levels.empty() ? "" : ", ", volume(level.value));
        out += fmt::format("  {:<20} {:<9}{:<11}{:>9.2f} {:>8.3f} {:>8.3f} {:>8.3f} {:>8.3f}  {}\n",
                           w.at, method_word(w.method), work(scenario.bleeding.steps[i]),
                           volume(w.fluid_out), volume(w.air_out), volume(w.fluid_back),
                           volume(w.air_back), volume(w.air_left), levels);
        if (w.ran_dry) out += "    a reservoir ran dry here and gave air\n";
        if (w.false_air > 0)
            out += fmt::format("    and {:.0f} {} of air past the threads into the hose, which "
                               "never were in the brake\n",
                               volume(w.false_air), unit);
    }
    out += fmt::format("  fluid used {:.1f} {}\n", volume(b.used), unit);
    if (!std::isnan(b.pedal_before))
        out += fmt::format("  pedal under {}: {} before, {} after\n",
                           units.text(Dimension::force, scenario.bleeding.test),
                           units.found(Dimension::length, b.pedal_before),
                           units.found(Dimension::length, b.pedal_after));
    out += "  air left, most first:\n";
    double shown = 0, all = 0;
    const std::vector<AirPlace> places = most_air(b.left);
    for (std::size_t i = 0; i < places.size(); ++i) {
        all += places[i].air;
        if (i >= 6) continue;
        shown += places[i].air;
        out += fmt::format("    {:<28} {:<10} {:>8.3f} {}\n", places[i].name, places[i].circuit,
                           volume(places[i].air), unit);
    }
    return out +
           fmt::format("    {:<39} {:>8.3f} {}\n", "everywhere else", volume(all - shown), unit);
}

nlohmann::ordered_json bleeding_json(const Scenario& scenario, const Summary& summary,
                                     const OutputUnits& units) {
    const BleedingResult& b = summary.bleeding;
    const auto value = [&units](Dimension d, double si) { return json_value(units, d, si); };
    const auto volume = [&value](double si) { return value(Dimension::volume, si); };
    Json j;
    j["unit"] = std::string(units.of(Dimension::volume).name);
    j["wheels"] = Json::array();
    for (std::size_t i = 0; i < b.wheels.size(); ++i) {
        const BledWheel& w = b.wheels[i];
        const BleedStep& step = scenario.bleeding.steps[i];
        Json line = {{"at", w.at},
                     {"bleeder", w.bleeder},
                     {"method", method_word(w.method)},
                     {"from_s", w.from},
                     {"to_s", w.to}};
        const bool pedal = w.method == BleedMethod::pedal;
        line["strokes"] = pedal ? Json(std::lround(step.how["strokes"])) : Json(nullptr);
        line["open_s"] =
            pedal ? Json(step.how["strokes"] * step.how["open"]) : Json(step.how["time"]);
        line["fluid_out"] = volume(w.fluid_out);
        line["air_out"] = volume(w.air_out);
        line["fluid_back"] = volume(w.fluid_back);
        line["air_back"] = volume(w.air_back);
        line["air_past_threads"] = volume(w.false_air);
        line["air_left"] = volume(w.air_left);
        line["reservoirs"] = Json::object();
        for (const Reading& level : w.levels)
            line["reservoirs"][level.name.substr(0, level.name.rfind('.'))] = volume(level.value);
        line["ran_dry"] = w.ran_dry;
        j["wheels"].push_back(std::move(line));
    }
    j["fluid_used"] = volume(b.used);
    j["pedal"] = {{"force", value(Dimension::force, scenario.bleeding.test)},
                  {"force_unit", std::string(units.of(Dimension::force).name)},
                  {"before", value(Dimension::length, b.pedal_before)},
                  {"after", value(Dimension::length, b.pedal_after)},
                  {"unit", std::string(units.of(Dimension::length).name)}};
    j["air_left"] = Json::array();
    for (const AirPlace& place : b.left)
        j["air_left"].push_back(
            {{"circuit", place.circuit}, {"place", place.name}, {"air", volume(place.air)}});
    return j;
}

} // namespace pedalbench::runner
