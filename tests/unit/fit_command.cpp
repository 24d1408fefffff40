// `fit` as a script sees it: files, the same bytes on one thread and two and when taken up again,
// and what is refused in which words.
#include <doctest/doctest.h>

#include <chrono>
#include <csignal>
#include <thread>

#include <nlohmann/json.hpp>

#include "command.hpp"
#include "compare.hpp"
#include "places.hpp"

using namespace pedalbench::test;
using nlohmann::json;

namespace {

const std::string kPress =
    "pedalbench: 1\nhardware: small.yaml\n"
    "foot: {force: [[0 s, 0 N], [0.2 s, 0 N], [1.2 s, 200 N], [1.4 s, 200 N]]}\n"
    "duration: 1.4 s\n";

/// A press on the smallest car, and three readings along the foot's force. The pedal has its ratio
/// in the file; the cylinder's pressure is (ratio (F - return) - springs - cups)/area.
void write_fit(const Folder& folder, const std::string& move, const std::string& csv,
               const std::string& columns = "{pressure: {channel: master.primary.pressure}}") {
    fs::copy_file(fs::path(source_folder()) / "tests/refusals/cars/small.yaml",
                  folder.path / "small.yaml", fs::copy_options::overwrite_existing);
    folder.write("press.yaml", kPress);
    folder.write("read.csv", csv);
    folder.write("fit.yaml", "pedalbench: 1\ntitle: a fit\nscenario: press.yaml\n"
                             "measured:\n  file: read.csv\n"
                             "  along: {column: force, channel: pedal.force}\n  columns: " +
                                 columns + "\nmove: " + move + "\n");
}

const std::string kRows = "force [N],pressure [bar]\n60,5\n120,13\n180,21\n";

std::vector<std::string> results(const Folder& folder, const std::string& out) {
    std::vector<std::string> texts;
    for (const char* name : {"summary.json", "report.txt", "fit.csv"}) {
        texts.push_back(folder.text(fs::path(out) / name));
        CHECK_MESSAGE(texts.back().size() > 10, out, " ", name);
    }
    return texts;
}

std::string refusal(const Folder& folder) {
    CHECK(run(folder, {"fit", "fit.yaml"}) == 2);
    return folder.text("err");
}

} // namespace

TEST_CASE(
    "a fit answers with the same bytes on one thread and two, and from the runs that it kept") {
    const Folder folder;
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}", kRows);
    REQUIRE(run(folder, {"fit", "fit.yaml", "--out", "one", "--plots", "none", "--threads", "1"}) ==
            0);
    const auto wanted = results(folder, "one");
    // Again, from the kept runs alone; then with none of them.
    REQUIRE(run(folder, {"fit", "fit.yaml", "--out", "two", "--plots", "none"}) == 0);
    CHECK(results(folder, "two") == wanted);
    fs::remove_all(folder.path / "known_runs");
    REQUIRE(run(folder, {"fit", "fit.yaml", "--out", "two", "--plots", "none", "--threads", "2"}) ==
            0);
    CHECK(results(folder, "two") == wanted);

    const json summary = json::parse(wanted[0]);
    CHECK(summary["converged"] == true);
    CHECK(summary["moved"][0]["determined"] == "determined");
    CHECK(summary["readings"][0]["off_as_fitted"] < summary["readings"][0]["off_at_the_start"]);
    // The command it names gives the pressures that it says.
    const double ratio = summary["moved"][0]["fitted"];
    CHECK(summary["command"].get<std::string>().find("--set pedal.ratio=") != std::string::npos);
    REQUIRE(run(folder, {"run", "press.yaml", "--set", "pedal.ratio=" + std::to_string(ratio),
                         "--out", "r", "--plots", "none"}) == 0);
    const std::string row = wanted[2].substr(wanted[2].rfind("\n180,") + 1);
    const auto comma = [&](int n) {
        std::size_t at = 0;
        while (n-- > 0)
            at = row.find(',', at) + 1;
        return std::stod(row.substr(at));
    };
    // 180 N at 1.1 s, from the trace of that run.
    const std::string trace = folder.text("r/trace.csv");
    const std::string head = trace.substr(0, trace.find('\n'));
    const auto line = trace.find("\n1.1,");
    REQUIRE(line != std::string::npos);
    int column = 0;
    for (std::size_t i = 0; i < head.find("master.primary.pressure"); ++i)
        column += head[i] == ',';
    REQUIRE(column > 0);
    std::size_t at = line + 1;
    for (int i = 0; i < column; ++i)
        at = trace.find(',', at) + 1;
    CHECK(near(std::stod(trace.substr(at)), comma(4), 0.02, 1e-3)); // bar
}

TEST_CASE("what a fit refuses, in words") {
    const Folder folder;
    write_fit(folder, "{pedal.ratoi: {between: [2, 10]}}", kRows);
    CHECK(refusal(folder).find("did you mean pedal.ratio?") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {}}", kRows);
    CHECK(refusal(folder).find("fit.yaml:8:21: pedal.ratio.between: found nothing, allowed [the "
                               "least, the most] that it could be") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [5.5, 10]}}", kRows);
    CHECK(refusal(folder).find("bounds that hold what the car has") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}", "force [N],pressure [mm]\n60,5\n70,6\n");
    CHECK(
        refusal(folder).find("read.csv:1:1: pressure: found pressure [mm], allowed a pressure with "
                             "its unit, such as pressure [bar]") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,x\n70,5\n");
    CHECK(refusal(folder).find("read.csv:2:2: pressure: found x") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,5,1\n70,5,5\n");
    CHECK(refusal(folder).find("read.csv:2:1: found 3 cells, allowed 2") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,5\n70\n80,6\n");
    CHECK(refusal(folder).find("read.csv:3:1: found 1 cell, allowed 2") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N];pressure [bar]\n60;5\n70;6\n");
    CHECK(refusal(folder).find("read.csv:1:1: found semicolons between its names") !=
          std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}", kRows,
              "{pressure: {channel: master.primary.pressure, error: 0 bar}}");
    CHECK(refusal(folder).find("error: found 0 bar") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}", kRows,
              "{pressure: {channel: master.primary.pressure}, force: {channel: pedal.force}}");
    CHECK(refusal(folder).find("measured.columns.force.channel: found pedal.force, allowed another "
                               "channel than that of measured.along") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}", kRows,
              "{presure: {channel: master.primary.pressure}}");
    CHECK(refusal(folder).find("did you mean pressure?") != std::string::npos);
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar],pressure [bar]\n60,5,6\n70,6,7\n");
    CHECK(refusal(folder) == "read.csv:1:1: pressure: found two columns of that name, allowed a "
                             "name for each\n");
    folder.write("fit.yaml", "pedalbench: 1\nhardware: small.yaml\n");
    CHECK(refusal(folder) == "fit.yaml:1:1: hardware: found a scenario, allowed a fit; `pedalbench "
                             "run` runs scenarios\n");
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,5\n320,9\n");
    CHECK(refusal(folder).find("read.csv: force: found 1 row at 320 N, allowed 0 N to 200 N") !=
          std::string::npos);
    CHECK_FALSE(fs::exists(folder.path / "runs/fit"));
    CHECK(run(folder, {"check", "fit.yaml"}) == 0);
    CHECK(folder.text("out").find("can be fitted (2 rows of read.csv)") != std::string::npos);
}

TEST_CASE("a field kept beside those that it must follow is refused before any run") {
    const Folder folder;
    write_fit(folder, "{valve.knee: {between: [20 bar, 40 bar]}}", kRows,
              "{pressure: {channel: master.primary.pressure}}\nkeep: [valve.spring]");
    std::string car = folder.text("small.yaml");
    car.replace(car.find("circuits:"), 0,
                "  valve: {kind: proportioning_valve, knee: 30 bar, slope: 0.3}\n");
    car.replace(car.find("rear_pipe, rear]"), 0, "valve, ");
    folder.write("small.yaml", car);
    const std::string err = refusal(folder);
    CHECK(err.find("fit.yaml:8:7: keep: valve.spring: changed beside knee or slope") !=
          std::string::npos);
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}

TEST_CASE("fields that go together but start apart are told") {
    const Folder folder;
    write_fit(folder,
              "{front_pipe.length: {between: [0.5 m, 3 m], also: [rear_pipe.length]},"
              " pedal.ratio: {between: [2, 10]}}",
              kRows);
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none"}) == 0);
    const json warnings = json::parse(folder.text("runs/fit/summary.json"))["warnings"];
    CHECK(warnings[0] == "rear_pipe.length is 2000 mm in the scenario, but goes with "
                         "front_pipe.length here: the start is a car where both are 1000 mm.");
}

TEST_CASE(
    "a field that no reading feels stays as the car has it, and is no part of the last command") {
    const Folder folder;
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}, front.friction: {between: [0.2, 0.6]}}",
              kRows);
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none"}) == 0);
    const std::string report = folder.text("runs/fit/report.txt");
    CHECK(report.find("as at the start  not determined: no reading feels it") != std::string::npos);
    const json summary = json::parse(folder.text("runs/fit/summary.json"));
    CHECK(summary["moved"][1]["determined"] == "moves_nothing");
    CHECK(summary["moved"][1]["fitted"].is_null());
    CHECK(summary["warnings"][0].get<std::string>().find(
              "none of them feels it, from 0.2 to 0.6, the others as they fit best.") !=
          std::string::npos);
    const std::string command = summary["command"];
    CHECK(command.find("pedal.ratio") != std::string::npos);
    CHECK(command.find("friction") == std::string::npos);
}

TEST_CASE("as many fields as readings: no interval, and the words say why") {
    const Folder folder;
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,\n120,13\n");
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none"}) == 0);
    CHECK(folder.text("runs/fit/report.txt").find("none: no reading to spare") !=
          std::string::npos);
    const json summary = json::parse(folder.text("runs/fit/summary.json"));
    CHECK(summary["moved"][0]["determined"] == "no_freedom");
    CHECK(summary["moved"][0]["low"].is_null());
    REQUIRE(summary["warnings"].size() == 1);
    CHECK(summary["warnings"][0].get<std::string>().find("State an `error`, or read more.") !=
          std::string::npos);
}

TEST_CASE("a gauge in other units is thought of where the run misses by far") {
    const Folder folder;
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}}",
              "force [N],pressure [bar]\n60,50\n120,130\n180,21\n",
              "{pressure: {channel: master.primary.pressure, error: 0.1 bar}}");
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none"}) == 0);
    CHECK(folder.text("runs/fit/report.txt").find("Look first whether the units in") !=
          std::string::npos);
}

TEST_CASE("Ctrl-C keeps the runs that were made, and the same command goes on") {
    const Folder folder;
    write_fit(folder, "{pedal.ratio: {between: [2, 10]}, fluid.free_air: {between: [0, 0.05]}}",
              kRows);
    const pid_t child = start(folder, {"fit", "fit.yaml", "--plots", "none", "--threads", "1"});
    // As soon as one run is kept.
    const auto kept = [&] {
        std::error_code error;
        for (const auto& e : fs::directory_iterator(folder.path / "runs/known_runs", error))
            if (fs::file_size(e.path()) > 0) return true;
        return false;
    };
    for (int i = 0; i < 3000 && !kept(); ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(10));
    kill(child, SIGINT);
    CHECK(finish(child) == 130);
    CHECK(folder.text("err").find("the same command goes on") != std::string::npos);
    CHECK_FALSE(fs::exists(folder.path / "runs/fit/summary.json"));
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none"}) == 0);
    const auto taken_up = results(folder, "runs/fit");
    REQUIRE(run(folder, {"fit", "fit.yaml", "--plots", "none", "--out", "new/fit"}) == 0);
    CHECK(results(folder, "new/fit") == taken_up);
}
