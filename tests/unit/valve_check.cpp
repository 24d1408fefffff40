// `valve` as a script sees it: what is refused in which words; and its sentences on made-up answers
// that follow by hand.
#include <doctest/doctest.h>

#include <chrono>
#include <csignal>
#include <thread>

#include <nlohmann/json.hpp>

#include "command.hpp"
#include "parts/registry.hpp"
#include "places.hpp"
#include "runner/reader.hpp"
#include "runner/valve_answers.hpp"
#include "runner/valve_sentences.hpp"

using namespace pedalbench;
using namespace pedalbench::test;
using namespace pedalbench::study;

namespace {

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}
bool has(const std::vector<std::string>& list, const std::string& sentence) {
    return std::find(list.begin(), list.end(), sentence) != list.end();
}

const std::string kMarten = source_folder() + "/scenarios/hardware/marten.yaml";

/// The text of the Marten with something in place of something else.
std::string marten(const std::string& what, const std::string& by) {
    std::ifstream in(kMarten, std::ios::binary);
    std::string text{std::istreambuf_iterator<char>(in), {}};
    const std::size_t at = text.find(what);
    REQUIRE(at != std::string::npos);
    return text.replace(at, what.size(), by);
}

/// Two cars alike with one hold-off valve; whatever a test is about is then changed.
runner::CheckedValve made_up() {
    runner::CheckedValve c;
    c.cars = {{{"old", "with the old valve", "car.yaml", "a car", 1},
               {"new", "with the new valve", "the same car", "", 2}}};
    c.check.valves = {"valve"};
    for (std::size_t i = 0; i < 2; ++i) {
        c.check.cars[i].parts.push_back({"valve", find_kind("hold_off_valve"), {}});
        c.check.places[i].brake = {"front", "rear"};
        c.check.places[i].hold_off = true;
        ValveAnswer& a = c.check.answer[i];
        a.range = {{{"shuts at", Dimension::pressure, 90e3, 91e3},
                    {"opens at", Dimension::pressure, 0.86e6, 0.86e6}}};
        for (HeldFoot& held : a.feel.held)
            held = {0.05, {2e6, 2e6}};
        a.feel.begins = {90, 80};
        a.feel.left = {5e3, 5e3};
        a.feel.drag = {1, 0};
        for (LockOrder& lock : a.lock) {
            lock.force = 200;
            lock.deceleration = 1;
            lock.axle[kFrontAxle] = {3, 120, {0.7e6, 1.3e6}, 1};
            lock.axle[kRearAxle] = {5, 140, {1e6, 1.6e6}, 1};
        }
        for (const double tank : kTanks)
            for (const bool held : {false, true})
                a.bled.push_back({tank, held, {{{20e-6, 2e-6}, {20e-6, 2e-6}}}});
    }
    c.check.plan.feet = {80, 200, 400};
    c.check.plan.slow.time = {0, 50};
    c.check.plan.slow.value = {0, 400};
    return c;
}

} // namespace

TEST_CASE("what is no change of a valve is refused and says what to give") {
    const Folder folder;
    const auto refused = [&](const std::vector<std::string>& words) {
        CHECK(run(folder, words) == 2);
        return folder.text("err");
    };
    CHECK(refused({"valve", kMarten}) ==
          "valve: found one car and no change to it, allowed a second car, or a change such as "
          "--with hold_off.plate_spring=\"100 N\"\n");
    CHECK(refused({"valve", kMarten, kMarten, "--with", "hold_off.open=1 MPa"}) ==
          "valve: found 2 cars and --with, allowed one car with it; --set changes both\n");
    CHECK(refused({"valve", kMarten, kMarten, kMarten}) ==
          "valve: found 3 files, allowed the old and the new car, or one car and --with\n");
    CHECK(refused({"valve", kMarten, kMarten}) ==
          kMarten + ": found the same car as " + kMarten +
              ", allowed another value of a valve, such as --with hold_off.plate_spring=\"100 "
              "N\"\n");
    CHECK(has(refused({"valve", kMarten, "--with", "hold_off.open=8.6 bar"}),
              "--with: found nothing that changes the car at its start, allowed another value"));
    CHECK(refused({"valve", kMarten, "--with", "front_left.piston=48 mm"}) ==
          "--with 1: front_left.piston: found a change of no valve, allowed a field of a hold-off, "
          "proportioning or residual valve; --set changes both cars, and `compare` takes any "
          "difference\n");
    CHECK(has(refused({"valve", kMarten, "--with", "hold_off.plate_sprung=100 N"}),
              "did you mean hold_off.plate_spring?"));
    CHECK(has(refused({"valve", kMarten, "--with", "hold_off.plate_spring=5000 N"}),
              "--with 1: hold_off.plate_spring: found 5000 N, allowed a force from 1 N to 3000 N"));
    CHECK(has(refused({"valve", kMarten, "--with", "hold_off.rod=wedged"}),
              "hold_off.rod: not free, which says nothing of a valve in service"));
    // A car alone is looked through as a scenario is, with what the command line changes on it.
    CHECK(has(refused({"valve", kMarten, "--with", "hold_off.plate_spring=2 N"}),
              "hold_off.plate_spring: opens the plate before the check has shut"));
    CHECK(refused({"valve", kMarten, "--with", "hold_off.open=1 MPa", "--with",
                   "hold_off.plate_spring=90 N"}) ==
          "--with 1: hold_off.open: has no effect, since it follows from hold_off.plate_spring, "
          "which is set beside it: leave one of the two out\n");
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}

TEST_CASE("two cars may differ in valves, wherever they stand, and in nothing else") {
    const Folder folder;
    folder.write("piston.yaml", marten("piston: 51 mm", "piston: 48 mm"));
    CHECK(run(folder, {"valve", kMarten, "piston.yaml"}) == 2);
    CHECK(folder.text("err") ==
          "piston.yaml: found another car than " + kMarten +
              ": front_left.piston, allowed two that differ in hold-off, proportioning or residual "
              "valves alone; `compare` takes any difference\n");
    folder.write("pipes.yaml", marten("[rear_residual, switch, rear_pipe, rear_hose,",
                                      "[rear_residual, switch, rear_hose, rear_pipe,"));
    CHECK(run(folder, {"valve", kMarten, "pipes.yaml"}) == 2);
    CHECK(has(folder.text("err"), ": circuits, allowed two that differ"));

    // What says front and rear must be there, and words that name the fix.
    fs::copy_file(fs::path(source_folder()) / "tests/refusals/cars/small.yaml",
                  folder.path / "small.yaml");
    CHECK(run(folder, {"valve", "small.yaml", "--with", "switch.trip=1 MPa"}) == 2);
    CHECK(folder.text("err") ==
          "small.yaml: wheels: not said which brake sits on a front and "
          "which on a rear wheel: add a part of kind vehicle and `wheels:`\n");

    // Valves that are moved, or left out, are a change of valves: seen without a run.
    const auto change = [&](const std::string& file) {
        runner::Findings findings;
        const auto a = runner::read_scenario(kMarten, {}, findings),
                   b = runner::read_scenario((folder.path / file).string(), {}, findings);
        REQUIRE_MESSAGE(findings.empty(), findings.lines().front());
        return valve_change(a->scenario, b->scenario);
    };
    std::string none = marten("front_pipe, hold_off,", "front_pipe,");
    const std::size_t line = none.find("  hold_off:");
    none.erase(line, none.find('\n', line) + 1 - line);
    folder.write("none.yaml", none);
    CHECK(change("none.yaml").valves == std::vector<std::string>{"hold_off"});
    CHECK(change("none.yaml").others.empty());
    folder.write("later.yaml", marten("front_pipe, hold_off,", "hold_off, front_pipe,"));
    CHECK(change("later.yaml").others.empty());
}

TEST_CASE("130 when interrupted, 4 when nothing can be written; nothing is left behind") {
    const Folder folder;
    folder.write("file", "x");
    const std::vector<std::string> words = {"valve",   kMarten, "--with", "hold_off.open=1 MPa",
                                            "--plots", "none"};
    std::vector<std::string> more = words;
    more.insert(more.end(), {"--out", "file/below"});
    CHECK(run(folder, more) == 4);
    const pid_t child = start(folder, words);
    for (int i = 0; i < 4000 && !fs::exists(folder.path / "runs/valve_marten.incomplete"); ++i)
        std::this_thread::sleep_for(std::chrono::milliseconds(5));
    std::this_thread::sleep_for(std::chrono::milliseconds(100));
    kill(child, SIGINT);
    CHECK(finish(child) == 130);
    CHECK(has(folder.text("err"), "Interrupted; nothing is kept."));
    CHECK_FALSE(fs::exists(folder.path / "runs/valve_marten"));
    CHECK_FALSE(fs::exists(folder.path / "runs/valve_marten.incomplete"));
}

TEST_CASE("two valves alike: sentences that say so") {
    const auto said = valve_sentences(made_up());
    CHECK(has(said, "On ice the front axle locks first with either valve, under 120 N of foot."));
    CHECK(has(said, "valve: the slow run shows the same range with either valve."));
    CHECK(has(said,
              "Bleeding is as before: each screw flows, drips or stops as with the old valve."));
    CHECK(said.size() == 4); // two roads
}

TEST_CASE("a changed order of locking is told first, with what it means for the car") {
    runner::CheckedValve c = made_up();
    LockOrder& order = c.check.answer[1].lock[0];
    order.axle[kRearAxle].time = 2;
    order.axle[kRearAxle].force = 100;
    order.deceleration = 0.5;
    CHECK(order.first() == LockOrder::First::rear);
    auto said = valve_sentences(c);
    CHECK(said.front() ==
          "The lock order changes. On ice the rear axle locks first, under 100 N of foot and after "
          "at most 0.5 m/s2: the car turns round. With the old valve the front axle locks first, "
          "under 120 N of foot and after at most 1 m/s2.");
    order.axle = {};
    CHECK(order.first() == LockOrder::First::none);
    said = valve_sentences(c);
    CHECK(said.front() ==
          "The lock order changes. On ice no wheel locks up to 200 N of foot. With the old valve "
          "the front axle locks first, under 120 N of foot and after at most 1 m/s2.");
    c.check.answer[0].lock[0] = order;
    CHECK(valve_sentences(c).front() ==
          "On ice no wheel locks with either valve, up to 200 N of foot.");
    order = c.check.answer[0].lock[1];
    order.axle[kRearAxle].time = order.axle[kFrontAxle].time;
    CHECK(order.first() == LockOrder::First::together);
}

TEST_CASE("a range that moves, a figure that never comes, a screw that no longer stops") {
    runner::CheckedValve c = made_up();
    ValveAnswer& is = c.check.answer[1];
    is.range[0][1] = {"opens at", Dimension::pressure, 0.6e6, kUnset};
    is.feel.begins = {70, 80};
    is.feel.held[1] = {0.055, {3e6, 2e6}};
    is.feel.left[kFrontAxle] = 80e3;
    is.feel.drag[kFrontAxle] = 12;
    c.check.answer[0].bled[2].axle[kFrontAxle] = {0.9e-6, 0}; // 15 psi, the rod free
    is.bled[4].axle[kFrontAxle] = {0.9e-6, 0};                // 30 psi, the rod free
    c.check.answer[0].bled[4].axle[kFrontAxle] = {0.9e-6, 0};
    const auto said = valve_sentences(c);
    for (const char* sentence :
         {"valve: opens at 8.6 bar no more.",
          "Under a slow foot the front begins to brake under 70 N instead of 90 N.",
          "The front now begins to brake before the rear: on ice it is alone at first, and there "
          "it may lock.",
          "Under an ordinary foot (200 N) the pedal stands at 55 mm instead of 50 mm and the front "
          "has 30 bar instead of 20 bar.",
          "With the foot off the front keeps 0.8 bar instead of 0.05 bar and drags with 12 N m "
          "instead of 1 N m a wheel.",
          "Bled with a tank of 1.03 bar, the front flows with the new valve; with the old one it "
          "stops.",
          "With either valve the front gives a few drops and stops, bled with a tank of 2.07 "
          "bar."})
        CHECK_MESSAGE(has(said, sentence), sentence);
    CHECK(std::any_of(said.begin(), said.end(), [](const std::string& s) {
        return s.starts_with("valve, new: what its fields state never came in the slow run (opens "
                             "at).");
    }));
}

TEST_CASE("report and JSON have the same numbers, in the units that are asked for") {
    runner::CheckedValve c = made_up();
    c.check.answer[1].range[0][1] = {"opens at", Dimension::pressure, 0.7e6, 0.7e6};
    const std::string text = runner::valve_report(c);
    CHECK(has(text, "  opens at [bar]                                8.60      8.60      7.00      "
                    "7.00      -1.6 (-19 %)\n"));
    CHECK(has(text,
              "  tank of 2.07 bar, rod held: rear [cm3]              20.0, flows  20.0, flows "
              "              same\n"));
    CHECK(has(text, "A valve of another range changes which axle locks first."));
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = text.find('\n', at);
        CHECK_MESSAGE(end - at <= 100, text.substr(at, end - at));
        at = end + 1;
    }
    c.units = runner::OutputUnits::us();
    const auto j = nlohmann::json::parse(runner::valve_json(c));
    CHECK(j["format"] == 1);
    CHECK(j["complete"] == true);
    const auto& opens = j["valves"][0]["range"][1];
    CHECK(opens["what"] == "opens at");
    CHECK(opens["unit"] == "psi");
    CHECK(opens["in_run"][1].get<double>() * kPsi > 0.699e6);
    CHECK(opens["in_run"][1].get<double>() * kPsi < 0.701e6);
    CHECK(j["lock_on_ice"][0]["words"] == std::vector<std::string>{"front", "front"});
    CHECK(j["bleeding"].size() == 12);
    // A run that did not come to its end is told, and what it would have answered is null.
    c.check.drives.resize(1);
    c.check.drives[0].kind = Driven::Kind::road;
    c.check.drives[0].car = 1;
    c.check.drives[0].problem = "too many events";
    c.check.answer[1].lock[0] = {};
    CHECK(has(runner::valve_report(c),
              "  LEFT OUT: new car, on ice: the run could not go on, too many events\n"));
    const auto lost = nlohmann::json::parse(runner::valve_json(c));
    CHECK(lost["complete"] == false);
    CHECK(lost["lock_on_ice"][2]["values"][1].is_null());
}
