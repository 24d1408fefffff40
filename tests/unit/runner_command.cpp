// The program as a script sees it: exit codes, streams and files. Needs the built command.
#include <doctest/doctest.h>

#include <chrono>
#include <csignal>
#include <thread>

#include "command.hpp"
#include "places.hpp"

using namespace pedalbench::test;

TEST_CASE("the command line is refused with 2 and a suggestion") {
    const Folder folder;
    CHECK(run(folder, {"--version"}) == 0);
    CHECK(folder.text("out").starts_with("pedalbench "));
    CHECK(run(folder, {"--help"}) == 0);
    CHECK(run(folder, {}) == 2);
    CHECK(run(folder, {"rnu", "x.yaml"}) == 2);
    CHECK(folder.text("err") == "command line: found rnu, allowed run, compare, valve, match, "
                                "sweep, merge, check, parts or list; "
                                "did you mean run?\n");
    CHECK(run(folder, {"run", "--otu", "x", "y.yaml"}) == 2);
    CHECK(folder.text("err") ==
          "command line: found --otu, an unknown option; did you mean --out?\n");
    CHECK(run(folder, {"run", "x.yaml", "--units", "imperial"}) == 2);
    CHECK(run(folder, {"run", "none.yaml"}) == 2);
    CHECK(folder.text("err") ==
          "none.yaml: found none.yaml, which cannot be read, allowed a readable file\n");
    CHECK(run(folder, {"parts", "disk_caliper"}) == 2);
    CHECK(folder.text("err").ends_with("did you mean disc_caliper?\n"));
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}

TEST_CASE("parts and list") {
    const Folder folder;
    CHECK(run(folder, {"parts"}) == 0);
    for (const char* piece :
         {"disc_caliper:", "fluid:", "surroundings:", "fault leak:", "must be given"})
        CHECK_MESSAGE(folder.text("out").find(piece) != std::string::npos, piece);
    CHECK(run(folder, {"parts", "hose"}) == 0);
    CHECK(folder.text("out").starts_with("hose: "));
    CHECK(run(folder, {"list", "nowhere"}) == 2);
    CHECK(run(folder, {"list"}) == 2);
    CHECK(folder.text("err") ==
          "list: found no folder named scenarios here, nor one installed with the program, allowed "
          "a folder to look in, such as: pedalbench list my_scenarios\n");
    write_scenario(folder, "2 s", "[]");
    CHECK(run(folder, {"list", "."}) == 0);
    CHECK(folder.text("out") == "./stop.yaml\n  a gentle press\n");
}

TEST_CASE("check looks at all files, cars too") {
    const Folder folder;
    write_scenario(folder, "2 s", "[]");
    CHECK(run(folder, {"check", "stop.yaml", "car.yaml"}) == 0);
    std::ofstream(folder.path / "bad.yaml") << "pedalbench: 2\n";
    CHECK(run(folder, {"check", "bad.yaml", "stop.yaml"}) == 2);
    CHECK(folder.text("err").starts_with("bad.yaml:1:13: "));
    CHECK(folder.text("out").starts_with("stop.yaml: can be run"));
    CHECK(run(folder, {"run", "car.yaml"}) == 2);
}

TEST_CASE("a run leaves its files, and 0 or 1 as its expectations hold") {
    const Folder folder;
    write_scenario(folder, "2 s",
                   "[{text: a, channel: pedal.force, moment: peak, about: 20 N, within: 1 %}]");
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none"}) == 0);
    for (const char* name : {"trace.csv", "events.csv", "summary.json", "report.txt"})
        CHECK_MESSAGE(fs::exists(folder.path / "runs/stop" / name), name);
    CHECK(folder.text("out").find("Expectations: 1 of 1 hold") != std::string::npos);
    CHECK(folder.text("out").find("not prove") != std::string::npos); // the caution
    CHECK_FALSE(fs::exists(folder.path / "runs/stop.incomplete"));
    fs::remove(folder.path / "stop.yaml");
    fs::remove(folder.path / "car.yaml");
    write_scenario(folder, "2 s", "[{text: a, channel: pedal.force, moment: peak, above: 1 kN}]");
    CHECK(run(folder, {"run", "stop.yaml", "--plots", "none", "--out", "there", "--units", "us"}) ==
          1);
    CHECK(folder.text("there/trace.csv").find("[lbf]") != std::string::npos);
}

TEST_CASE("--without leaves a fault out, and the answers say so") {
    const Folder folder;
    write_scenario(folder, "2 s", "[]\nfaults: {hole: {kind: leak, at: front, size: 1 mm}}");
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none"}) == 0);
    CHECK(folder.text("out").find("hole: leak at front, 1 mm, from the start") !=
          std::string::npos);
    CHECK(folder.text("out").find("fluid was lost at hole") != std::string::npos);
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--without", "hole", "--set",
                         "front.friction=0.3"}) == 0);
    const std::string text = folder.text("out");
    CHECK(text.find("hole: leak at front, 1 mm, left out (--without)") != std::string::npos);
    CHECK(text.find("front.friction 0.3 from the start (--set)") != std::string::npos);
    CHECK(text.find("stays where it is") == std::string::npos);
    CHECK(run(folder, {"run", "stop.yaml", "--without", "hule"}) == 2);
    CHECK(folder.text("err") ==
          "--without 1: found hule, allowed hole or all; did you mean hole?\n");
}

TEST_CASE("4 when nothing can be written, 130 when interrupted, and the older result stays") {
    const Folder folder;
    write_scenario(folder, "3000 s", "[]");
    std::ofstream(folder.path / "file") << "x";
    CHECK(run(folder, {"run", "stop.yaml", "--plots", "none", "--out", "file/below"}) == 4);

    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--set", "duration=1 s"}) == 0);
    const std::string before = folder.text("runs/stop/summary.json");
    const pid_t child = start(folder, {"run", "stop.yaml", "--plots", "none"});
    // It is under way as soon as its folder holds a trace.
    for (int i = 0; i < 2000 && !fs::exists(folder.path / "runs/stop.incomplete/trace.csv"); ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    kill(child, SIGINT);
    CHECK(finish(child) == 130);
    CHECK(folder.text("runs/stop/summary.json") == before);
    CHECK(folder.text("runs/stop.incomplete/summary.json").find("\"complete\": false") !=
          std::string::npos);
    CHECK(folder.text("out").find("was left alone") != std::string::npos);
}

TEST_CASE("a failed line of service is loud and leaves the exit code to the expectations") {
    const Folder folder;
    write_scenario(folder, "2 s",
                   "[]\nmeasurements: {pedal: {free_play: 12 mm}, front: {lining: 4 mm}}");
    CHECK(run(folder, {"run", "stop.yaml", "--plots", "none"}) == 0);
    const std::string text = folder.text("out");
    for (const char* piece : {"Service limits: 1 LINE OUTSIDE", "FAILS  pedal, free play: 12 mm",
                              "past it by 4 mm", "pass   front, lining left: 4 mm",
                              "! Outside the limits of service: free play at pedal."})
        CHECK_MESSAGE(text.find(piece) != std::string::npos, piece);
    const std::string summary = folder.text("runs/stop/summary.json");
    CHECK(summary.find("\"service\": [") != std::string::npos);
    CHECK(summary.find("\"pass\": false") != std::string::npos);
}

TEST_CASE("--spread stands in report and summary, and can be interrupted") {
    const Folder folder;
    write_scenario(folder, "1.7 s", "[]");
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--spread=8", "--threads", "2"}) ==
            0);
    CHECK(folder.text("out").find("Spread by judgement alone") != std::string::npos);
    CHECK(folder.text("out").find("pedal.travel peak") != std::string::npos);
    CHECK(folder.text("err").empty()); // progress is for a terminal
    const std::string summary = folder.text("runs/stop/summary.json");
    for (const char* piece : {"\"spread\"", "\"moved_most_by\"", "\"guesses\""})
        CHECK_MESSAGE(summary.find(piece) != std::string::npos, piece);
    CHECK(run(folder, {"run", "stop.yaml", "--spread=7"}) == 2);
    CHECK(run(folder, {"run", "stop.yaml", "--spread", "--threads", "0"}) == 2);

    const pid_t child = start(folder, {"run", "stop.yaml", "--plots", "none", "--spread=4096"});
    // The study is under way when the run itself has been over for a while.
    std::this_thread::sleep_for(std::chrono::seconds(2));
    kill(child, SIGINT);
    CHECK(finish(child) == 130);
    CHECK(folder.text("runs/stop/summary.json") == summary);
    CHECK(folder.text("runs/stop.incomplete/summary.json").find("\"spread\"") == std::string::npos);
}
