// CSV, summary and report: shape and words, on made-up results.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "compare.hpp"
#include "parts/registry.hpp"
#include "runner/csv_sink.hpp"
#include "runner/report.hpp"
#include "runner/result_folder.hpp"
#include "runner/summary_json.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::runner;
using pedalbench::test::near;
namespace fs = std::filesystem;

namespace {

struct Folder {
    fs::path path;
    Folder() {
        std::string name = (fs::temp_directory_path() / "pedalbench_answers_XXXXXX").string();
        path = mkdtemp(name.data());
    }
    ~Folder() { fs::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    std::string text(const std::string& name) const {
        std::ifstream in(path / name, std::ios::binary);
        return {std::istreambuf_iterator<char>(in), {}};
    }
};

Scenario made_up_scenario() {
    Scenario s;
    s.title = "A title";
    s.text = "What it shows.";
    for (const char* name : {"pedal", "residual_valve", "disc_caliper"}) {
        const PartKind* kind = find_kind(name);
        s.hardware.parts.push_back({name, kind, Values(kind->fields)});
    }
    const PartKind* hose = find_kind("hose");
    s.hardware.parts.push_back({"hose", hose, Values(hose->fields)});
    s.changes = {{"disc_caliper", "friction", 0.3, 0, 0, Origin::command_line},
                 {"hose", "length", 0.5, 2, 0.5, Origin::scenario},
                 {"hose", "bore_back", 1e-4, 1, 0, Origin::fault}};
    s.faults = {{"flap", find_fault("hose_flap"), "hose", 1e-4, 1, 0, Origin::scenario, false},
                {"gone", find_fault("residual_valve_missing"), "residual_valve", kUnset, 0, 0,
                 Origin::scenario, true}};
    return s;
}

Summary made_up_summary() {
    Summary s;
    s.title = "A title";
    s.complete = true;
    s.simulated = 5;
    s.wall = 0.01;
    s.solver.steps = 400;
    s.solver.rejected = 7;
    s.ledger.chambers = 16.387064e-6; // 1 in3
    s.ledger.relative_error = 1e-15;
    ChannelFigures c;
    c.channel = {"disc_caliper.pressure", Dimension::pressure};
    c.recorded = true;
    c.settled = -1e-3;
    c.peak = 4.2e6;
    c.lowest = -2;
    c.held = 4.1e6;
    s.channels = {c};
    for (int i = 0; i < 60; ++i)
        s.events.push_back({0.01 * i,
                            "residual_valve",
                            "shuts and holds the line",
                            {{"inlet.pressure", Dimension::pressure, 8e4}}});
    ExpectationResult good, bad;
    good.text = "a thing that holds";
    good.held = true;
    good.dimension = Dimension::pressure;
    good.found = 4.2e6;
    good.low = 3e6;
    good.high = 5e6;
    bad.text = "a thing that does not";
    bad.dimension = Dimension::pressure;
    bad.high = 1e4;
    bad.remark = "the foot was not off for the last second";
    s.expectations = {good, bad};
    const PartKind* kind = find_kind("disc_caliper");
    for (const Field& field : kind->fields)
        s.assumed.push_back({"disc_caliper." + std::string(field.name), &field, field.fallback});
    const Field& friction = kind->fields[Values(kind->fields).find("friction")];
    s.assumed.push_back({"other.friction", &friction, friction.fallback});
    s.wheels = {{"disc_caliper", 15.2}, {"other", 0.3}};
    s.has_lamp = true;
    s.lamp_lit = {{0.5, 1.25}, {3, kUnset}};
    s.lamp_lit_at_end = true;
    s.cautions = {std::string(30, 'x') + " a caution of many words" + std::string(100, ' ') +
                  "to the end"};
    return s;
}

} // namespace

TEST_CASE("trace.csv and events.csv") {
    const Folder folder;
    CsvSink sink(folder.path, OutputUnits::us());
    sink.begin({{"front.pressure", Dimension::pressure}, {"switch.contact", Dimension::number}});
    const double t = 0.1, after = std::nextafter(t, 1.0), psi = 6894.757293168361;
    const double first[] = {115 * psi, 0}, second[] = {kUnset, 1};
    sink.row(t, first);
    sink.row(after, second);
    sink.event(
        {0.5, "hold_off", "opens, at last", {{"inlet.pressure", Dimension::pressure, 115 * psi}}});
    CHECK(sink.close());
    CHECK_FALSE(sink.failed());
    CHECK(folder.text("trace.csv") ==
          "time [s],front.pressure [psi],switch.contact [1]\n0.1,115,0\n"
          "0.10000000000000002,,1\n");
    CHECK(folder.text("events.csv") == "time [s],part,event,readings\n"
                                       "0.5,hold_off,\"opens, at last\",inlet.pressure 115 psi\n");
}

TEST_CASE("a sink that cannot write says so") {
    CsvSink sink("/nonexistent/folder", OutputUnits::metric());
    CHECK(sink.failed());
    CHECK_FALSE(sink.close());
}

TEST_CASE("summary.json has its keys, and null where there is no value") {
    const auto json = nlohmann::json::parse(
        summary_json(made_up_scenario(), made_up_summary(), OutputUnits::metric()));
    for (const char* key :
         {"format", "title", "complete", "simulated_s", "wall_s", "real_time_factor", "solver",
          "ledger", "channels", "pedal", "lamp", "valves", "wheels", "air", "events",
          "expectations", "assumed", "cautions"})
        CHECK_MESSAGE(json.contains(key), key);
    for (const char* key : {"steps", "rejected", "events", "rate_calls", "jacobians"})
        CHECK_MESSAGE(json["solver"].contains(key), key);
    for (const char* key :
         {"relative_error", "gas_relative_error", "chambers_cm3", "reservoirs_cm3", "outside_cm3"})
        CHECK_MESSAGE(json["ledger"].contains(key), key);
    const auto& channel = json["channels"]["disc_caliper.pressure"];
    CHECK(channel["unit"] == "bar");
    CHECK(near(channel["peak"].get<double>(), 42, 0, 1e-14));
    CHECK(channel["residual"].is_null());
    CHECK(json["wheels"]["disc_caliper"]["pressure"]["unit"] == "bar");
    CHECK(json["valves"]["residual_valve"]["events"].size() == 60);
    CHECK(json["expectations"][0]["held"] == true);
    CHECK(json["expectations"][0]["wanted"] == "30 bar to 50 bar");
    CHECK(json["expectations"][1]["found"].is_null());
    CHECK(json["events"].size() == 60);
    CHECK(json["solver"]["steps"] == 400); // accepted
    CHECK(json["solver"]["tried"] == 407);
    REQUIRE(json["changes"].size() == 2); // those of faults are told with the faults
    CHECK(json["changes"][0]["path"] == "disc_caliper.friction");
    CHECK(json["changes"][0]["from_command_line"] == true);
    CHECK(json["changes"][1]["unit"] == "mm");
    CHECK(near(json["changes"][1]["value"].get<double>(), 500, 0, 1e-14));
    CHECK(near(json["changes"][1]["at_s"].get<double>(), 2, 0, 0));
    CHECK(near(json["changes"][1]["over_s"].get<double>(), 0.5, 0, 0));
    CHECK(json["changes"][1]["from_command_line"] == false);
    REQUIRE(json["faults"].size() == 2);
    CHECK(json["faults"][0]["name"] == "flap");
    CHECK(json["faults"][0]["kind"] == "hose_flap");
    CHECK(json["faults"][0]["at"] == "hose");
    CHECK(near(json["faults"][0]["size"].get<double>(), 0.1, 0, 1e-14));
    CHECK(json["faults"][0]["unit"] == "mm");
    CHECK(near(json["faults"][0]["from_s"].get<double>(), 1, 0, 0));
    CHECK(json["faults"][1]["size"].is_null());
    CHECK(json["faults"][1]["left_out"] == true);
    CHECK(json["wheels"]["disc_caliper"]["drags"] == true);
    CHECK(json["wheels"]["other"]["drags"] == false);
    CHECK(json["drag_limit"]["unit"] == "N m");
    CHECK(json["lamp"]["lit"][0]["to_s"] == 1.25);
    CHECK(json["lamp"]["lit"][1]["to_s"].is_null());
}

TEST_CASE("the report fits 100 columns and holds what matters") {
    const std::string text = report(made_up_scenario(), made_up_summary(), OutputUnits::metric());
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);)
        CHECK_MESSAGE(line.size() <= 100, line);
    for (const char* piece :
         {"A title",
          "What it shows.",
          "disc_caliper.pressure",
          "42.00",
          "41.00",
          "... 32 like the ones above",
          "Expectations: 1 of 2 hold",
          "holds  a thing that holds: found 42 bar; wanted 30 bar to 50 bar",
          "FAILED a thing that does not: the foot was not off for the last "
          "second; wanted at most 0.1 bar",
          "judgement",
          "Caution",
          "to the end",
          "disc_caliper.friction 0.3 from the start (--set)",
          "hose.length 500 mm from 2 s, over 0.5 s\n",
          "flap: hose_flap at hose, 0.1 mm, from 1 s\n",
          "gone: residual_valve_missing at residual_valve, left out (--without)",
          "disc_caliper drags: 15.2 N m; service data allow 69 N at the hub "
          "bolts, about 4 N m",
          "lit from 0.5 s to 1.25 s, lit at the end, since 3 s",
          "407 steps tried, 400 accepted and 7 rejected",
          "at disc_caliper, other"})
        CHECK_MESSAGE(text.find(piece) != std::string::npos, piece);
    // A pressure of a thousandth of a pascal at rest is nothing.
    CHECK(text.find("-0.00 ") == std::string::npos);
    CHECK(text.find("hose.bore_back") == std::string::npos); // told as the fault that it is
    CHECK(text.find("16.39 cm3 in the lines") != std::string::npos);
    CHECK(report(made_up_scenario(), made_up_summary(), OutputUnits::us())
              .find("1 in3 in the lines") != std::string::npos);
    Summary quiet = made_up_summary();
    quiet.wheels = {{"disc_caliper", 0.3}, {"other", 3.9}};
    quiet.lamp_lit.clear();
    const std::string sound = report(made_up_scenario(), quiet, OutputUnits::metric());
    CHECK(sound.find("no wheel drags: at most 3.9 N m; service data") != std::string::npos);
    CHECK(sound.find("never lit") != std::string::npos);
    quiet.wheels = {{"disc_caliper", 0.3, false, 95.3, 899.5}, {"other", 0.2, false, 3.9, 899.5}};
    const std::string free_now = report(made_up_scenario(), quiet, OutputUnits::metric());
    CHECK(free_now.find("disc_caliper dragged earlier: 95.3 N m at 899.5 s") != std::string::npos);
    CHECK(free_now.find("other dragged") == std::string::npos);
    CHECK(free_now.find("no wheel drags") == std::string::npos);
    quiet.wheels = {{"disc_caliper", kUnset}};
    quiet.has_lamp = false;
    const std::string pressed = report(made_up_scenario(), quiet, OutputUnits::metric());
    CHECK(pressed.find("not judged") != std::string::npos);
    CHECK(pressed.find("lamp") == std::string::npos);
    Summary stopped = made_up_summary();
    stopped.complete = false;
    stopped.error = "no progress";
    CHECK(report(made_up_scenario(), stopped, OutputUnits::us()).find("INCOMPLETE: no progress") !=
          std::string::npos);
}

TEST_CASE("next to nothing is shown as nothing") {
    Summary s = made_up_summary();
    ChannelFigures travel;
    travel.channel = {"pedal.travel", Dimension::length};
    travel.recorded = true;
    travel.settled = travel.lowest = travel.residual = -6e-6; // a spring on its stop
    travel.peak = 82e-3;
    travel.held = 20e-6;
    s.channels.push_back(travel);
    s.events = {{1,
                 "pedal",
                 "is back",
                 {{"travel", Dimension::length, -5.2e-8},
                  {"force", Dimension::force, -0.4},
                  {"pressure", Dimension::pressure, -0.3}}}};
    const std::string text = report(made_up_scenario(), s, OutputUnits::metric());
    CHECK(text.find("pedal.travel                0.00      82.00       0.02       0.00  mm") !=
          std::string::npos);
    CHECK(text.find("is back (travel 0 mm, force -0.4 N, pressure 0 bar)") != std::string::npos);
}

TEST_CASE("an old result gives way to a complete one only, and strangers stay") {
    const Folder folder;
    const fs::path out = folder.path / "out";
    const auto text = [&](const char* name) { return folder.text(std::string("out/") + name); };
    {
        ResultFolder first(out);
        first.write("summary.json", "old");
        first.write("plots.gp", "set output 'pressures.svg'");
        first.write("pressures.svg", "old");
        first.write("pressures.pdf", "old");
        first.publish();
    }
    CHECK(text("summary.json") == "old");
    CHECK_FALSE(fs::exists(folder.path / "out.incomplete"));
    std::ofstream(out / "notes.txt") << "mine";
    std::ofstream(out / "mine.svg") << "mine";
    {
        ResultFolder broken(out);
        broken.write("summary.json", "broken");
        CHECK_THROWS_AS(ResultFolder{out}, CannotWrite); // one run at a time
    }
    CHECK(text("summary.json") == "old");
    CHECK(folder.text("out.incomplete/summary.json") == "broken");
    {
        ResultFolder second(out);
        CHECK_FALSE(fs::exists(second.writing() / "summary.json"));
        second.write("trace.csv", "new");
        second.write("summary.json", "new");
        second.publish();
    }
    CHECK(text("summary.json") == "new");
    CHECK_FALSE(fs::exists(out / "plots.gp"));
    CHECK_FALSE(fs::exists(out / "pressures.svg"));
    CHECK_FALSE(fs::exists(out / "pressures.pdf"));
    CHECK(text("notes.txt") == "mine");
    CHECK(text("mine.svg") == "mine");
    std::ofstream(folder.path / "file") << "x";
    CHECK_THROWS_AS(ResultFolder{folder.path / "file"}, CannotWrite);
    CHECK_THROWS_AS(ResultFolder{folder.path / "file" / "below"}, CannotWrite);
}
