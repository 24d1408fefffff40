// Every recorded channel stands in a picture, and where it can be seen.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "parts/registry.hpp"
#include "runner/plot_kinds.hpp"
#include "runner/plots.hpp"
#include "runner/units.hpp"

using namespace pedalbench;
using namespace pedalbench::runner;
namespace fs = std::filesystem;

namespace {

TraceColumn column(const std::string& path, const std::string& unit, std::vector<double> value) {
    TraceColumn c{path, unit, 2, 0, 0, value};
    c.low = *std::min_element(value.begin(), value.end());
    c.high = *std::max_element(value.begin(), value.end());
    return c;
}

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

} // namespace

TEST_CASE("every quantity of every part has a picture, in both sets of units") {
    std::set<std::string> pictures = {"pressures", "pedal_over_time", "wheels"};
    for (const auto& [name, title] : kFurther)
        pictures.insert(name);
    std::set<std::string> used;
    int channels = 0;
    for (const OutputUnits& units : {OutputUnits::metric(), OutputUnits::us()})
        for (const PartKind* kind : part_kinds())
            for (const QuantityInfo& q : kind->quantities) {
                CAPTURE(kind->name);
                CAPTURE(q.name);
                const TraceColumn c = column(std::string("some.") + std::string(q.name),
                                             std::string(units.of(q.dimension).name), {0.0, 0.5});
                const Kind its = kind_of(c);
                CHECK(pictures.contains(its.picture));
                CHECK(its.picture != "others"); // none of ours is left over
                CHECK_FALSE(its.label.empty());
                // The label, with its unit, has room beside a panel.
                CHECK(its.label.size() + c.unit.size() + 3 <= letters_in(160, kTextSize));
                used.insert(its.picture);
                ++channels;
            }
    CHECK(channels > 100);
    CHECK(used.size() >= 8);
}

TEST_CASE("kinds go by dimension and by the words of the trade") {
    const auto kind = [](const char* path, const char* unit) {
        const Kind k = kind_of(column(path, unit, {0, 0.5}));
        return k.picture + "/" + k.label;
    };
    CHECK(kind("pedal.force", "N") == "pedal_over_time/pedal force");
    CHECK(kind("pedal.rod_force", "N") == "forces/force");
    CHECK(kind("pedal.travel", "in") == "pedal_over_time/pedal travel");
    CHECK(kind("master.primary_travel", "mm") == "travels/travel");
    CHECK(kind("front_left.clearance", "mm") == "wheels/clearance");
    CHECK(kind("car.distance", "m") == "road/distance");
    CHECK(kind("master.primary.pressure", "psi") == "pressures/pressure");
    CHECK(kind("booster.vacuum_left", "bar") == "pressures/difference");
    CHECK(kind("master.primary_reservoir.fluid", "cm3") == "fluid_and_air/fluid");
    CHECK(kind("bleeder.outside.air", "cm3") == "fluid_and_air/air at 1 atm");
    CHECK(kind("bleeder.air_back", "cm3") == "fluid_and_air/air at 1 atm");
    CHECK(kind("bleeder.flow", "cm3/s") == "fluid_and_air/flow");
    CHECK(kind("lamp.glow", "1") == "contacts_and_lamps/glow");
    CHECK(kind("car.front_adhesion", "1") == "road/adhesion");
    CHECK(kind("some.spring_rate", "N/mm") == "others/spring rate");
}

TEST_CASE("what is on or off is a strip with its words") {
    CHECK(is_on_off(column("lamp.lit", "1", {0, 1, 0})));
    CHECK_FALSE(is_on_off(column("lamp.glow", "1", {0, 0.3, 1})));
    CHECK_FALSE(is_on_off(column("car.front_adhesion", "1", {0, 1})));
    CHECK_FALSE(is_on_off(column("a.pressure", "bar", {0, 1})));
    CHECK(strip_axis("lamp.lit").words == std::vector<std::string>{"dark", "lit"});
    CHECK(strip_axis("pedal.stop_lamps").words == std::vector<std::string>{"dark", "lit"});
    CHECK(strip_axis("switch.contact").words == std::vector<std::string>{"open", "closed"});
    CHECK(strip_axis("some.thing").words == std::vector<std::string>{"off", "on"});
}

TEST_CASE("what a full reservoir loses can be seen, and zero stays where it is near") {
    const Axis full = close_axis("fluid", 73, 78);
    CHECK(full.low > 70);
    CHECK(full.low < 73);
    CHECK(full.high > 78);
    CHECK(full.high < 81);
    CHECK(close_axis("fluid", 1, 10).low == 0);
    CHECK(close_axis("travel", -3, 10).low < -3);
    const Axis still = close_axis("fluid", 80, 80 + 1e-9); // noise is not drawn as if it were much
    CHECK(still.high - still.low > 1);
    // Two microns that a seat gives are nothing to look at.
    const TraceColumn rod = column("hold_off.rod_travel", "mm", {-0.0022, -0.0014});
    CHECK(std::abs(least_span(rod) - 0.05) < 1e-12);
    const Axis seat = close_axis("travel", rod.low, rod.high, least_span(rod));
    CHECK(seat.high - seat.low >= 0.05);
    CHECK(seat.low < -0.0022);
    CHECK(seat.high > 0);
    CHECK(least_span(column("lamp.glow", "1", {0, 1})) == 0);
}

TEST_CASE("channels share a panel while each of them can be seen") {
    const TraceColumn primary = column("master.primary_travel", "mm", {0, 14});
    const TraceColumn secondary = column("master.secondary_travel", "mm", {0, 4});
    const TraceColumn rod = column("hold_off.rod_travel", "mm", {0, 1.5});
    const TraceColumn lift = column("hold_off.plate_lift", "mm", {-0.1, 0.6});
    const TraceColumn still = column("some.travel", "mm", {0, 0});
    const auto panels = shared_panels({&rod, &primary, &lift, &secondary, &still});
    REQUIRE(panels.size() == 2);
    CHECK(panels[0] == std::vector<const TraceColumn*>{&primary, &secondary, &still});
    CHECK(panels[1] == std::vector<const TraceColumn*>{&rod, &lift});
    // Nor does one that only trembles where it stands need a panel of its own.
    const TraceColumn trembles = column("some.travel", "mm", {5, 5 + 1e-6});
    CHECK(shared_panels({&trembles, &primary}).size() == 1);
    // Two reservoirs, each of which loses little, lie apart.
    const TraceColumn one = column("master.primary_reservoir.fluid", "cm3", {78, 75});
    const TraceColumn two = column("master.secondary_reservoir.fluid", "cm3", {110, 107});
    CHECK(shared_panels({&one, &two}).size() == 2);
}

TEST_CASE("a run of which contacts, a reservoir and travels are recorded is drawn whole") {
    const fs::path folder = fs::temp_directory_path() / "pedalbench_plot_kinds";
    fs::remove_all(folder);
    fs::create_directories(folder);
    {
        std::ofstream out(folder / "trace.csv");
        out << "time [s],lamp.lit [1],switch.contact [1],lamp.glow [1],"
               "master.primary_reservoir.fluid [cm3],pipe_with_a_very_long_name_indeed_that_no_"
               "line_of_a_picture_could_hold.flow [cm3/s]\n";
        for (int i = 0; i < 100; ++i)
            out << 0.1 * i << ',' << (i / 20) % 2 << ',' << (i / 30) % 2 << ',' << 0.01 * i << ','
                << 78 - 0.1 * i << ',' << i << '\n';
    }
    std::string why;
    REQUIRE_MESSAGE(write_plots(folder, Summary{}, OutputUnits::metric(), why), why);
    CHECK(fs::file_size(folder / "contacts_and_lamps.svg") > 1000);
    CHECK(fs::file_size(folder / "fluid_and_air.pdf") > 1000);
    const std::string svg = text_of(folder / "contacts_and_lamps.svg");
    for (const char* words :
         {"dark", "lit", "open", "closed", "lamp.lit", "switch.contact", "glow"})
        CHECK_MESSAGE(svg.find(words) != std::string::npos, words);
    const std::string script = text_of(folder / "plots.gp");
    for (int i = 2; i <= 6; ++i) {
        CAPTURE(i);
        CHECK(script.find("using 1:" + std::to_string(i) + " ") != std::string::npos);
    }
    fs::remove_all(folder);
}
