// `compare` as a script sees it: what is refused in which words, exit codes, files.
#include <doctest/doctest.h>

#include <chrono>
#include <csignal>
#include <thread>

#include "command.hpp"
#include "places.hpp"

using namespace pedalbench::test;

namespace {

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

const char* const kHole =
    "[{text: no fluid is lost, channel: hole.outside.fluid, moment: residual, below: 0.01 cm3}]\n"
    "faults: {hole: {kind: leak, at: front, size: 1 mm}}";

} // namespace

TEST_CASE("what cannot be compared is refused and says what to add") {
    const Folder folder;
    write_scenario(folder, "2 s", "[]");
    CHECK(run(folder, {"compare", "stop.yaml"}) == 2);
    CHECK(folder.text("err") ==
          "compare: found one file and no change to it, allowed a second file, or a change such as "
          "--with hold_off.open=\"0.6 MPa\" or --without all\n");
    CHECK(run(folder, {"compare", "stop.yaml", "stop.yaml", "--with", "front.friction=0.3"}) == 2);
    CHECK(folder.text("err") == "compare: found 2 files and --with, allowed one file with these; "
                                "--set changes every run\n");
    CHECK(run(folder, {"compare", "stop.yaml", "--without", "all"}) == 2);
    CHECK(folder.text("err") == "--without 1: found all, but this scenario has no faults, allowed "
                                "--with path=value, or a second file\n");
    CHECK(run(folder, {"compare", "stop.yaml", "--with", "front.frictoin=0.3"}) == 2);
    CHECK(folder.text("err").starts_with("--with 1: path: found front.frictoin, allowed "));
    CHECK(has(folder.text("err"), "did you mean front.friction?"));
    CHECK(run(folder, {"compare", "car.yaml", "stop.yaml"}) == 2);
    CHECK(folder.text("err").starts_with("car.yaml:1:1: foot: found a car without a foot"));
    std::vector<std::string> many(8, "stop.yaml");
    many.front() = "compare";
    CHECK(run(folder, many) == 2);
    CHECK(folder.text("err") == "compare: found 7 files, allowed up to 6 at a time\n");
    // The same mistake in every file is told once.
    CHECK(run(folder, {"compare", "stop.yaml", "./stop.yaml", "--set", "nonsense"}) == 2);
    CHECK(folder.text("err") ==
          "--set 1: found nonsense, allowed path=value, such as front_left.piston=48 mm\n");
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}

TEST_CASE("a change to what it was already changes nothing, and that is said") {
    const Folder folder;
    write_scenario(folder, "2 s", "[]");
    REQUIRE(run(folder,
                {"compare", "stop.yaml", "--with", "front.radius=100 mm", "--plots", "none"}) == 0);
    CHECK(has(folder.text("out"), "Set up differently\n  nothing\n"));
    CHECK(has(folder.text("out"), "none: no figure, no answer and no event differs"));
}

TEST_CASE("a fault that is not there is refused by name") {
    const Folder folder;
    write_scenario(folder, "2 s", kHole);
    CHECK(run(folder, {"compare", "stop.yaml", "--without", "hule"}) == 2);
    CHECK(folder.text("err") ==
          "--without 1: found hule, allowed hole or all; did you mean hole?\n");
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}

TEST_CASE("a file beside itself without its fault") {
    const Folder folder;
    write_scenario(folder, "2 s", kHole);
    // The expectation of the file as it is fails, and that is its run's exit code.
    CHECK(run(folder, {"compare", "stop.yaml", "--without", "hole"}) == 1);
    const std::string text = folder.text("out");
    CHECK(has(text, "fault hole, leak at front, 1 mm: only as it is"));
    CHECK(has(text, "* Fluid is lost as it is ("));
    CHECK(has(text, "); without hole none is."));
    CHECK(has(text, "An expectation that holds only without hole: \"no fluid is lost\""));
    CHECK(has(text, "! (as it is) This car stays where it is"));
    CHECK(has(text, "does not prove that a car is safe"));
    for (const char* name :
         {"report.txt", "comparison.json", "comparison.csv", "trace_1.csv", "trace_2.csv",
          "events_1.csv", "pressures.png", "pedal_loop.svg", "pedal_loop.pdf"})
        CHECK_MESSAGE(fs::exists(folder.path / "runs/compare_stop" / name), name);
    CHECK_FALSE(fs::exists(folder.path / "runs/compare_stop.incomplete"));

    // An older, larger result leaves nothing behind, and a run's folder can become a comparison's.
    std::ofstream(folder.path / "runs/compare_stop/trace_3.csv") << "old";
    std::ofstream(folder.path / "runs/compare_stop/mine.txt") << "not from a run";
    CHECK(run(folder, {"compare", "stop.yaml", "--without", "hole", "--plots", "none"}) == 1);
    CHECK_FALSE(fs::exists(folder.path / "runs/compare_stop/trace_3.csv"));
    CHECK_FALSE(fs::exists(folder.path / "runs/compare_stop/pressures.png"));
    CHECK(fs::exists(folder.path / "runs/compare_stop/mine.txt"));
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--without", "all", "--out",
                         "runs/compare_stop"}) == 0);
    CHECK_FALSE(fs::exists(folder.path / "runs/compare_stop/comparison.json"));
}

TEST_CASE("expectations of the changed run are a finding, not a failure") {
    const Folder folder;
    write_scenario(folder, "2 s",
                   "[{text: a, channel: pedal.force, moment: peak, about: 20 N, within: 1 %},"
                   " {text: b, channel: front.torque, moment: peak, below: 1 N m}]");
    const int as_it_is = run(folder, {"run", "stop.yaml", "--plots", "none"});
    REQUIRE(as_it_is == 0);
    CHECK(run(folder,
              {"compare", "stop.yaml", "--with", "front.clearance=0.02 mm", "--with",
               "front.friction=0.8", "--plots", "none", "--units", "us", "--out", "there"}) == 0);
    CHECK(has(folder.text("out"), "front.friction: 0.4 as it is, 0.8 with "));
    CHECK(has(folder.text("there/trace_2.csv"), "[lbf]"));
    // --set is in both: nothing differs by it.
    CHECK(run(folder, {"compare", "stop.yaml", "stop.yaml", "--set", "front.friction=0.8",
                       "--plots", "none"}) == 0);
    CHECK(has(folder.text("out"), "none: no figure, no answer and no event differs"));
    CHECK(has(folder.text("out"), "  stop 1  a gentle press (stop.yaml)\n  stop 2  "));
    CHECK(fs::exists(folder.path / "runs/compare_stop_stop/comparison.json"));
}

TEST_CASE("one that is refused is named, and the rest is compared") {
    const Folder folder;
    write_scenario(folder, "2 s", "[]");
    std::ofstream(folder.path / "bad.yaml") << "pedalbench: 2\n";
    CHECK(run(folder, {"compare", "bad.yaml", "stop.yaml"}) == 2);
    CHECK_FALSE(fs::exists(folder.path / "runs"));
    CHECK(run(folder, {"compare", "bad.yaml", "stop.yaml", "./stop.yaml", "--plots", "none"}) == 2);
    CHECK(folder.text("err").starts_with("bad.yaml:1:13: "));
    CHECK(has(folder.text("out"), "LEFT OUT: bad: refused, see the messages"));
    CHECK(has(folder.text("out"), "none: no figure, no answer and no event differs"));
}

TEST_CASE("4 when nothing can be written, 130 when interrupted, and the older result stays") {
    const Folder folder;
    write_scenario(folder, "3000 s", "[]");
    std::ofstream(folder.path / "file") << "x";
    const std::vector<std::string> words = {"compare", "stop.yaml", "--with", "front.friction=0.3",
                                            "--plots", "none"};
    std::vector<std::string> more = words;
    more.insert(more.end(), {"--out", "file/below"});
    CHECK(run(folder, more) == 4);
    more = words;
    more.insert(more.end(), {"--set", "duration=1 s"});
    REQUIRE(run(folder, more) == 0);
    const std::string before = folder.text("runs/compare_stop/comparison.json");
    const pid_t child = start(folder, words);
    for (int i = 0;
         i < 2000 && !fs::exists(folder.path / "runs/compare_stop.incomplete/trace_1.csv"); ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
    kill(child, SIGINT);
    CHECK(finish(child) == 130);
    CHECK(has(folder.text("err"), "Nothing is compared: interrupted"));
    CHECK(folder.text("runs/compare_stop/comparison.json") == before);
}
