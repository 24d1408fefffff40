// ctest: quick 120
// `sweep` and `merge` as a script sees them: the same bytes however the work was shared out, taken
// up again or interrupted, and what a study says of a valve whose numbers are known by hand.
#include "study_folder.hpp"

#include <chrono>
#include <cmath>
#include <csignal>
#include <sstream>
#include <thread>

#include <nlohmann/json.hpp>

#include "compare.hpp"
#include "places.hpp"
#include "runner/progress.hpp"

#ifdef PEDALBENCH_HDF5
#include <hdf5.h>
#endif

using namespace pedalbench::test;
using nlohmann::json;

TEST_CASE("full pressure of a 10/115/500 psi valve is 4.7 times as sensitive to the inlet area as "
          "opening pressure") {
    // Opening: p_o = (F + A2 p_s)/A1, so d ln p_o/d ln A1 = -1. Full: p_f = F/(A1 - A2), so
    // d ln p_f/d ln A1 = -A1/(A1 - A2); from the pressures A2/A1 = (500 - 115)/(500 - 10) = 0.7857:
    // -4.667. The area grows with the square of the diameter that varies.
    const double ratio = 490.0 / 105;
    CHECK(near(ratio, 4.7, 0.05, 0));
    const Folder folder;
    write_valve(folder, "{indices: 256}");
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "r", "--plots", "none"}) == 0);
    const json summary = json::parse(folder.text("r/summary.json"));
    const auto moved = [&](std::size_t answer, const std::string& path) {
        for (const json& by : summary["answers"][answer]["moved_by"])
            if (by["path"] == path) return by;
        FAIL("no ", path);
        return json();
    };
    const json opens = moved(0, "hold_off.plate_diameter"),
               full = moved(1, "hold_off.plate_diameter");
    // Over +-0.02 mm of 14 mm, 0.29 % of area, the slope of full is curved by (0.0029 x 4.67)^2.
    CHECK(near(opens["per_cent"], -2, 0, 1e-3));
    CHECK(near(full["per_cent"], -2 * ratio, 0, 1e-3));
    CHECK(near(full["per_cent"].get<double>() / opens["per_cent"].get<double>(), 4.7, 0.05, 0));
    // The spring: d ln p_f/d ln F = 1, d ln p_o/d ln F = F/(F + A2 p_s) = 107.14/115.
    CHECK(near(moved(1, "hold_off.plate_spring")["per_cent"], 1, 0, 1e-6));
    CHECK(near(moved(0, "hold_off.plate_spring")["per_cent"], 500 * (1 - 385.0 / 490) / 115, 0,
               1e-6));
    CHECK(near(summary["answers"][0]["as_it_is"], 115, 0, 1e-9));
    CHECK(near(summary["answers"][1]["as_it_is"], 500, 0, 1e-9));
    // Linear in both to a hair: variances add up. Diameter: even within 0.143 %, deviation
    // 0.143/sqrt 3; spring: 1/3 % cut at three deviations, which takes 1.3 % off it.
    const double by_diameter = 2 * ratio * (0.02 / 14) / std::sqrt(3.0),
                 by_spring = 0.01 / 3 * 0.9866;
    const double all = by_diameter * by_diameter + by_spring * by_spring;
    CHECK(near(full["first"]["value"], by_diameter * by_diameter / all, 0.02, 0));
    CHECK(near(full["total"]["value"], by_diameter * by_diameter / all, 0.02, 0));
    CHECK(near(summary["answers"][1]["deviation"], 500 * std::sqrt(all), 0, 0.02));
    std::string line;
    for (std::istringstream report(folder.text("r/report.txt")); std::getline(report, line);)
        CHECK_MESSAGE(line.size() <= 100, line);
    CHECK(summary["points"]["rows"] == 5 + 256 * 4);
    CHECK(summary["answers"][1]["values"] == 512); // of a and b alone
}

TEST_CASE("opening pressure in a run moves with the inlet area as by hand") {
    const Folder folder;
    write_valve(folder, "{grid: 1}");
    folder.write("valve.yaml",
                 "pedalbench: 1\nhardware: marten.yaml\n"
                 "foot: {force: [[0 s, 0 N], [0.5 s, 30 N], [8 s, 110 N]]}\nduration: 8 s\n"
                 "changes:\n  - {set: hold_off.shut, to: 10 psi}\n"
                 "  - {set: hold_off.open, to: 115 psi}\n  - {set: hold_off.full, to: 500 psi}\n");
    folder.write("study.yaml",
                 "pedalbench: 1\ntitle: a valve\nscenario: valve.yaml\n"
                 "vary:\n  hold_off.plate_diameter: {within: 0.7 mm}\n"
                 "keep: [hold_off.outlet_area, hold_off.plate_spring]\n"
                 "points: {grid: 1}\nunits: {preset: us}\nanswers:\n"
                 "  - {text: opens, event: 'hold_off: plate opens', reading: inlet.pressure}\n"
                 "  - {text: behind, event: 'hold_off: plate opens', reading: outlet.pressure}\n"
                 "  - {text: opens by its areas, figure: hold_off.open}\n");
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "r", "--plots", "none"}) == 0);
    const json summary = json::parse(folder.text("r/summary.json"));
    const auto at = [&](std::size_t a, const char* end) {
        return summary["answers"][a]["moved_by"][0][end].get<double>();
    };
    // (F + A2 p_out)/A1 with the outlet pressure of that run; F and A2 as they were made, 107.14 A1
    // and 0.7857 A1 of the nominal diameter. The plate's guard is a force of 5 mN.
    for (const auto& [end, d] : {std::pair("at_low", 13.3), std::pair("at_high", 14.7)}) {
        CAPTURE(end);
        const double wanted = (500 * 105.0 / 490 + 385.0 / 490 * at(1, end)) * (14 / d) * (14 / d);
        CHECK(near(at(0, end), wanted, 0.05, 1e-3));
        CHECK(near(at(2, end), 115 * (14 / d) * (14 / d), 0, 1e-9));
    }
}

TEST_CASE("the same bytes for any number of threads and shards, and taken up again") {
    const Folder folder;
    write_valve(folder, "{latin_hypercube: 2000, seed: 5}");
    const auto made = [&](const std::string& out, std::vector<std::string> more) {
        more.insert(more.begin(), {"sweep", "study.yaml", "--out", out, "--plots", "none"});
        REQUIRE(run(folder, more) == 0);
        return results(folder, out);
    };
    const auto wanted = made("one", {"--threads", "1"});
    CHECK(lines(wanted[0]) == 1 + 5 + 2000);
    CHECK(made("two", {"--threads", "2"}) == wanted);
    CHECK(made("five", {"--threads", "5"}) == wanted);
    CHECK(folder.text("err").empty()); // the bar is for a terminal
    CHECK_FALSE(fs::exists(folder.path / "five.points"));

    for (const std::string n : {"2", "4"}) {
        const std::string out = "shards" + n;
        for (int k = std::stoi(n); k >= 1; --k) {
            CHECK(run(folder, {"merge", "study.yaml", "--out", out}) == 3); // not yet
            REQUIRE(run(folder, {"sweep", "study.yaml", "--out", out, "--shard",
                                 std::to_string(k) + "/" + n}) == 0);
        }
        REQUIRE(run(folder, {"merge", "study.yaml", "--out", out, "--plots", "none"}) == 0);
        CHECK(results(folder, out) == wanted);
        CHECK_FALSE(fs::exists(folder.path / (out + ".points")));
    }

    // Broken off in the middle of a line: that row is made again.
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "cut", "--shard", "1/1"}) == 0);
    fs::path block;
    for (const auto& entry : fs::directory_iterator(folder.path / "cut.points"))
        block = entry.path();
    fs::resize_file(block, fs::file_size(block) / 3);
    REQUIRE(run(folder, {"merge", "study.yaml", "--out", "cut"}) == 3);
    CHECK(folder.text("err").find("block 1 of 1 has 6") != std::string::npos);
    CHECK(made("cut", {}) == wanted);
    CHECK(folder.text("out").starts_with("Going on: 6"));

    // Begun in three blocks, gone on with in two: what is there is taken over.
    for (const char* k : {"1/3", "2/3"})
        REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "three", "--shard", k}) == 0);
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "three", "--shard", "1/2"}) == 0);
    CHECK(folder.text("out").starts_with("Block 1 of 2 is whole")); // all 1003 were there
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "three", "--shard", "2/2"}) == 0);
    CHECK(folder.text("out").starts_with("Going on: 334 of 1002 rows"));
    REQUIRE(run(folder, {"merge", "study.yaml", "--out", "three", "--plots", "none"}) == 0);
    CHECK(results(folder, "three") == wanted);
    CHECK_FALSE(fs::exists(folder.path / "three.points"));

    // What was made of other input is not gone on with.
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "cut", "--shard", "1/2"}) == 0);
    write_valve(folder, "{latin_hypercube: 2000, seed: 6}");
    const auto other = made("cut", {});
    CHECK(folder.text("out").starts_with("Started anew: 1003 rows in cut.points"));
    CHECK(other[0] != wanted[0]);
    // The other study's rows are left alone: it goes on with them.
    write_valve(folder, "{latin_hypercube: 2000, seed: 5}");
    CHECK(made("cut", {}) == wanted);
    CHECK(folder.text("out").starts_with("Going on: 1003"));

    CHECK(run(folder, {"sweep", "study.yaml", "--shard", "3/2"}) == 2);
    CHECK(run(folder, {"sweep", "study.yaml", "--shard", "0/2"}) == 2);
    CHECK(run(folder, {"sweep", "study.yaml", "--shard", "half"}) == 2);
    CHECK(folder.text("err") == "command line: --shard: found half, allowed the number of a block "
                                "and how many there are, such as 2/8\n");
}

TEST_CASE("the same bytes with 2 and 4 processes of MPI, refused variants and all") {
    if (mpi_command_path().empty()) return;
    const Folder folder;
    write_valve(folder, "{sobol: 500}");
    write_runs(folder, 6);
    for (const std::string study : {"study", "runs"}) {
        CAPTURE(study);
        REQUIRE(run(folder, {"sweep", study + ".yaml", "--out", study, "--plots", "none"}) == 0);
        const auto wanted = results(folder, study);
        if (study == "runs") CHECK(wanted[0].find("refused: ") != std::string::npos);
        for (const std::string n : {"2", "4"}) {
            const std::string out = study + n;
            const pid_t child =
                start(folder,
                      {"--oversubscribe", "--allow-run-as-root", "-n", n, mpi_command_path(),
                       "sweep", study + ".yaml", "--out", out, "--plots", "none"},
                      "mpirun");
            REQUIRE(finish(child) == 0);
            CHECK(results(folder, out) == wanted);
        }
    }
    // Refused input is told once, and nobody waits.
    const pid_t child = start(folder,
                              {"--oversubscribe", "--allow-run-as-root", "-n", "2",
                               mpi_command_path(), "sweep", "none.yaml"},
                              "mpirun");
    CHECK(finish(child) == 2);
    const std::string said = folder.text("err");
    CHECK(said.find("none.yaml: found") != std::string::npos);
    CHECK(said.find("none.yaml: found") == said.rfind("none.yaml: found"));
    // Without mpirun the same program is one process.
    CHECK(finish(start(folder, {"sweep", "study.yaml", "--out", "alone", "--plots", "none"},
                       mpi_command_path())) == 0);
    CHECK(results(folder, "alone") == results(folder, "study"));
}

#ifdef PEDALBENCH_HDF5
TEST_CASE("points.h5 has the columns of points.csv with their units, and no clock in its bytes") {
    const Folder folder;
    write_valve(folder, "{sobol: 20000}"); // more than a chunk
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "a", "--plots", "none"}) == 0);
    const hid_t file = H5Fopen((folder.path / "a/points.h5").c_str(), H5F_ACC_RDONLY, H5P_DEFAULT);
    REQUIRE(file >= 0);
    const auto column = [&](const char* name) {
        const hid_t set = H5Dopen2(file, name, H5P_DEFAULT);
        REQUIRE_MESSAGE(set >= 0, name);
        std::vector<double> values(20005);
        const hid_t space = H5Dget_space(set);
        CHECK(H5Sget_simple_extent_npoints(space) == 20005);
        CHECK(H5Dread(set, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()) >= 0);
        H5Sclose(space);
        H5Dclose(set);
        return values;
    };
    const auto full = column("answers/full"), spring = column("varied/hold_off.plate_spring"),
               row = column("row");
    const hid_t set = H5Dopen2(file, "answers/full", H5P_DEFAULT);
    const hid_t unit = H5Aopen(set, "units", H5P_DEFAULT), type = H5Aget_type(unit);
    std::string text(H5Tget_size(type), ' ');
    H5Aread(unit, type, text.data());
    CHECK(text == "psi");
    H5Aclose(unit);
    H5Tclose(type);
    H5Dclose(set);
    H5Fclose(file);

    std::istringstream csv(folder.text("a/points.csv"));
    std::string line;
    std::getline(csv, line);
    for (std::size_t i = 0; std::getline(csv, line); ++i) {
        std::vector<std::string> cells(1);
        for (const char c : line)
            c == ',' ? cells.emplace_back() : cells.back() += c;
        const bool same = row[i] == std::stod(cells[0]) && spring[i] == std::stod(cells[3]) &&
                          full[i] == std::stod(cells[5]);
        REQUIRE_MESSAGE(same, line);
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(1100)); // its times count seconds
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "b", "--plots", "none"}) == 0);
    CHECK(folder.text("b/points.h5") == folder.text("a/points.h5"));
}
#endif

TEST_CASE("one variant that is refused is a row with its reason and stops nothing") {
    const Folder folder;
    write_runs(folder, 6);
    REQUIRE(run(folder, {"sweep", "runs.yaml", "--out", "one", "--threads", "1"}) == 0);
    const auto wanted = results(folder, "one");
    const std::string& points = wanted[0];
    std::string text;
    CHECK(lines(points) == 1 + 5 + 6);
    CHECK(points.starts_with("row,what,hole.size [mm],master.secondary_spring [N],"
                             "held in front [bar],lost [cm3],\"pad, outer, touches [bar]\","
                             "spring [N],remark\n"));
    CHECK(points.find("\n3,master.secondary_spring low,0.2,5,,,,,refused: master.") !=
          std::string::npos);
    const json summary = json::parse(wanted[1]);
    CHECK(summary["points"]["refused"].get<int>() >= 1);
    CHECK(summary["points"]["failed"] == 0);
    CHECK(summary["points"]["complete"].get<int>() + summary["points"]["refused"].get<int>() == 11);
    CHECK(summary["points"]["first_lost"] == 3);
    CHECK(folder.text("out").find("Lost: ") != std::string::npos);
    CHECK(folder.text("out").find("not prove that a car is safe") != std::string::npos);
    // The car as it is answers as `run` does.
    REQUIRE(run(folder, {"run", "press.yaml", "--out", "run", "--plots", "none"}) == 0);
    const json alone = json::parse(folder.text("run/summary.json"))["channels"]["front.pressure"];
    CHECK(summary["answers"][0]["unit"] == alone["unit"]);
    CHECK(near(summary["answers"][0]["as_it_is"], alone["held"], 0, 1e-12));
    CHECK(summary["answers"][2]["without"] == 0); // the pads did touch, at the pressure told
    CHECK(summary["answers"][2]["mean"] > 0.1);
    for (std::istringstream report(wanted[2]); std::getline(report, text);)
        CHECK_MESSAGE(text.size() <= 100, text);
    // A larger hole loses more; the size is that of the leak that comes at 1 s.
    for (const json& by : summary["answers"][1]["moved_by"])
        if (by["path"] == "hole.size") CHECK(by["at_high"] > by["at_low"]);
    for (const char* picture : {"one/answer_1.png", "one/answer_2.svg", "one/answer_2.pdf"})
        CHECK(fs::exists(folder.path / picture));
    REQUIRE(run(folder, {"sweep", "runs.yaml", "--out", "two", "--threads", "2"}) == 0);
    CHECK(results(folder, "two") == wanted);
}

TEST_CASE("Ctrl-C keeps what is finished, and the same command goes on to the same bytes") {
    const Folder folder;
    write_runs(folder, 24);
    REQUIRE(run(folder, {"sweep", "runs.yaml", "--out", "whole", "--plots", "none"}) == 0);
    const auto wanted = results(folder, "whole");

    const std::vector<std::string> words = {"sweep",   "runs.yaml", "--out",     "cut",
                                            "--plots", "none",      "--threads", "1"};
    const pid_t child = start(folder, words);
    const auto rows = [&] {
        std::error_code error;
        for (const auto& entry : fs::directory_iterator(folder.path / "cut.points", error))
            return lines(folder.text(entry.path()));
        return std::size_t{0};
    };
    for (int i = 0; i < 20000 && rows() < 3; ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(1));
    kill(child, SIGINT);
    REQUIRE(finish(child) == 130);
    CHECK(folder.text("out").find("are kept in cut.points") != std::string::npos);
    CHECK_FALSE(fs::exists(folder.path / "cut"));
    const std::size_t kept = rows();
    CHECK(kept >= 3);
    CHECK(kept < 29);
    REQUIRE(run(folder, words) == 0);
    CHECK(folder.text("out").starts_with("Going on: " + std::to_string(kept) + " of 29 rows"));
    CHECK(results(folder, "cut") == wanted);
}

TEST_CASE("how far a study has come, and how long it still takes") {
    using pedalbench::runner::progress_line;
    CHECK(progress_line("sweep", 0, 0, 100, 0, 0) == "sweep [--------------------] 0 of 100");
    // 20 in 10 s, 40 there already: 40 more take 20 s.
    CHECK(progress_line("sweep", 40, 20, 100, 2, 10) ==
          "sweep [############--------] 60 of 100, 2 lost, 20 s left");
    CHECK(progress_line("x", 0, 1, 101, 0, 75) ==
          "x [--------------------] 1 of 101, 2 h 5 min left");
    CHECK(progress_line("x", 0, 2, 4, 0, 100) ==
          "x [##########----------] 2 of 4, 1 min 40 s left");
}

TEST_CASE("a study is checked, listed, and not run as a scenario") {
    const Folder folder;
    write_valve(folder, "{sobol: 8}");
    CHECK(run(folder, {"check", "study.yaml"}) == 0);
    CHECK(folder.text("out") == "study.yaml: can be swept (13 rows)\n");
    CHECK(run(folder, {"list", "."}) == 0);
    CHECK(folder.text("out").find("./study.yaml   (for sweep)\n  a valve\n") != std::string::npos);
    CHECK(run(folder, {"run", "study.yaml"}) == 2);
    CHECK(folder.text("err") == "study.yaml:1:1: vary: found a study, allowed a scenario or a car; "
                                "`pedalbench sweep` runs studies\n");
    CHECK(run(folder, {"sweep", "valve.yaml"}) == 2);
    CHECK(folder.text("err") == "valve.yaml:1:1: hardware: found a scenario, allowed a study; "
                                "`pedalbench run` runs scenarios\n");
}
