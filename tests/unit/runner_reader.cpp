// What the reader makes of good files: values in SI, changes, faults, foot, expectations, --set.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "compare.hpp"
#include "runner/reader.hpp"

#include "parts/part.hpp"
#include "places.hpp"

using namespace pedalbench;
using namespace pedalbench::runner;
using pedalbench::test::near;
namespace fs = std::filesystem;

namespace {

/// A folder of its own, gone at the end.
struct Folder {
    fs::path path;
    Folder() {
        std::string name = (fs::temp_directory_path() / "pedalbench_reader_XXXXXX").string();
        path = mkdtemp(name.data());
    }
    ~Folder() { fs::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;

    std::string write(const std::string& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
        return (path / name).string();
    }
};

const std::string kCar = R"(
  parts:
    pedal: {kind: pedal, ratio: 5}
    master: {kind: tandem_master, bore: 20 mm, primary_stroke: 16 mm, secondary_stroke: 14 mm}
    switch: {kind: pressure_switch}
    pipe: {kind: line, length: 1 m}
    front: {kind: disc_caliper, piston: 2 in, radius: 100 mm}
    other: {kind: disc_caliper, piston: 2 in, radius: 100 mm}
    rear: {kind: drum_brake, cylinder: 19 mm}
  circuits:
    primary: [switch, pipe, [front], [other]]
    secondary: [switch, rear]
)";

Loaded good(const std::string& file, const std::vector<std::string>& sets = {},
            const std::vector<std::string>& without = {}) {
    Findings findings;
    auto loaded = read_scenario(file, sets, findings, without);
    for (const std::string& line : findings.lines())
        MESSAGE(line);
    REQUIRE(loaded.has_value());
    return std::move(*loaded);
}

const Values& values_of(const Scenario& scenario, const std::string& part) {
    for (const PartSpec& p : scenario.hardware.parts)
        if (p.name == part) return p.values;
    throw std::out_of_range(part);
}

} // namespace

TEST_CASE("a scenario with its hardware inside") {
    const Folder folder;
    const std::string file = folder.write("a.yaml", R"(pedalbench: 1
title: a title
text: some words
hardware:
  fluid: {free_air: 1 %}
  surroundings: {pressure: 950 mbar absolute, temperature: 68 F})" +
                                                        kCar + R"(
foot: {force: [[0 s, 0 N], [500 ms, 40 kgf], [2 s, 0 N]]}
start: after a stop
accuracy: 20 mbar
units: {preset: us, length: mm}
changes:
  - {set: front.friction, to: 0.3, at: 2 s, over: 1 s}
  - {set: rear.clearance, to: 0.2 mm}
faults:
  hole: {kind: leak, at: front, size: 1 mm, from: 1 s}
record: [pedal.travel, front.pressure]
expectations:
  - {text: a, channel: front.pressure, moment: peak, about: 20 bar, within: 10 %}
  - {text: b, channel: pedal.travel, moment: 1.5 s, above: 1 in}
  - {text: c, event: lamp lit, times: 0}
  - {text: d, event: lamp lit}
  - {text: e, event: lamp lit, between: [1 s, 2 s]}
  - {text: f, event: pistons meet, before: lamp lit}
)");
    const Loaded loaded = good(file);
    const Scenario& s = loaded.scenario;
    CHECK(s.title == "a title");
    CHECK_FALSE(loaded.hardware_only);
    CHECK(near(s.hardware.fluid["free_air"], 0.01, 0, 1e-15));
    CHECK(near(s.hardware.surroundings["pressure"], 95000, 0, 1e-15));
    CHECK(near(s.hardware.surroundings["temperature"], 293.15, 0, 1e-14));
    CHECK(near(values_of(s, "front")["piston"], 0.0508, 0, 1e-14));
    CHECK(s.after_a_stop);
    CHECK(near(s.accuracy, 2000, 0, 1e-15));
    CHECK(near(s.duration, 3.5, 0, 1e-15)); // long enough for residuals
    CHECK(s.foot.kind == FootInput::Kind::force);
    CHECK(near(s.foot.time.at(1), 0.5, 0, 0));
    CHECK(near(s.foot.value.at(1), 392.266, 0, 1e-14));
    CHECK(loaded.units.of(Dimension::pressure).name == "psi");
    CHECK(loaded.units.of(Dimension::length).name == "mm");

    REQUIRE(s.hardware.circuits.size() == 2);
    CHECK(s.hardware.circuits[0].outlet == "primary");
    CHECK(s.hardware.circuits[0].run.parts == std::vector<std::string>{"switch", "pipe"});
    CHECK(s.hardware.circuits[0].run.branches.size() == 2);

    REQUIRE(s.changes.size() == 3); // by time
    CHECK(s.changes[0].part == "rear");
    CHECK(s.changes[1].part == "hole");
    CHECK(s.changes[1].field == "hole");
    CHECK(near(s.changes[1].value, 1e-3, 0, 1e-15));
    CHECK(s.changes[2].field == "friction");
    CHECK(near(s.changes[2].over, 1, 0, 0));

    using Moment = Expectation::Moment;
    REQUIRE(s.expectations.size() == 6);
    CHECK(near(*s.expectations[0].low, 18e5, 0, 1e-14));
    CHECK(near(*s.expectations[0].high, 22e5, 0, 1e-14));
    CHECK(s.expectations[1].moment == Moment::at_time);
    CHECK(near(s.expectations[1].time, 1.5, 0, 0));
    CHECK(s.expectations[2].moment == Moment::event_count);
    CHECK(*s.expectations[2].high == 0);
    CHECK(*s.expectations[3].low == 1);
    CHECK_FALSE(s.expectations[3].high.has_value());
    CHECK(s.expectations[4].moment == Moment::event_time);
    CHECK(*s.expectations[4].high == 2);
    CHECK(s.expectations[5].before == "lamp lit");
}

TEST_CASE("the command line wins over the file") {
    const Folder folder;
    const std::string file = folder.write("a.yaml", "pedalbench: 1\nhardware:" + kCar + R"(
foot: {travel: [[0 s, 0 mm], [1 s, 40 mm]]}
changes: [{set: front.friction, to: 0.3}]
faults: {hole: {kind: leak, at: front, size: 1 mm}}
)");
    const Loaded loaded =
        good(file, {"front.friction=0.5", "duration=9 s", "accuracy=1 psi", "hole.size=2 mm",
                    "hole.from=3 s", "fluid.free_air=3 %", "master.bore=22 mm"});
    const Scenario& s = loaded.scenario;
    CHECK(near(s.duration, 9, 0, 0));
    CHECK(near(s.accuracy, 6894.757293168, 1e-8, 0));
    CHECK(near(values_of(s, "master")["bore"], 0.022, 0, 1e-14));
    CHECK(near(s.hardware.fluid["free_air"], 0.03, 0, 1e-14));
    double friction = 0;
    for (const Change& c : s.changes) {
        if (c.part == "front") friction = c.value; // the last one before the start counts
        if (c.part == "hole") CHECK(near(c.value, 2e-3, 0, 1e-14));
        if (c.part == "hole") CHECK(near(c.at, 3, 0, 0));
    }
    CHECK(near(friction, 0.5, 0, 0));
    // The pedal learns from the foot input that it is moved and not pushed.
    CHECK(values_of(s, "pedal")["driven_by"] == 1);
}

TEST_CASE("a fault that is left out changes nothing, and its channels are still there") {
    const Folder folder;
    const std::string file = folder.write("a.yaml", "pedalbench: 1\nhardware:" + kCar + R"(
foot: {force: [[0 s, 0 N], [1 s, 40 N]]}
faults:
  hole: {kind: leak, at: front, size: 1 mm, from: 1 s}
  slack: {kind: shoes_misadjusted, at: rear, size: 2 mm}
record: [hole.outside.fluid]
expectations:
  - {text: it is told, event: "hole: hole becomes"}
)");
    const Scenario whole = good(file).scenario;
    REQUIRE(whole.faults.size() == 2);
    REQUIRE(whole.changes.size() == 2);
    for (const Change& c : whole.changes)
        CHECK(c.origin == Origin::fault);
    const Scenario less = good(file, {"rear.clearance=0.5 mm"}, {"slack"}).scenario;
    CHECK(less.faults[1].left_out);
    REQUIRE(less.changes.size() == 2);
    CHECK(less.changes[0].origin == Origin::command_line); // no quarrel with a fault that is not
    CHECK(less.changes[1].part == "hole");
    const Scenario none = good(file, {}, {"all"}).scenario;
    CHECK(none.changes.empty());
    CHECK(none.hardware.parts.back().name == "hole");
    CHECK(near(none.hardware.parts.back().values["hole"], 0, 0, 0));
    CHECK(good(file, {"hole.size=2 mm"}).scenario.faults[0].origin == Origin::command_line);
    // A base value for a fault that comes later is no second say.
    CHECK(good(file, {"slack.from=2 s", "rear.clearance=0.5 mm"}).scenario.changes.size() == 3);
}

TEST_CASE("a measured trace is a CSV file beside the scenario") {
    const Folder folder;
    folder.write("press.csv",
                 "note,time [ms],pedal_force [lbf]\r\nx,0,-0.5\r\ny,1,10\r\nz,2,20\r\n");
    folder.write("car.yaml", "pedalbench: 1\ntitle: a car\n" + kCar.substr(1));
    const std::string file = folder.write(
        "a.yaml", "pedalbench: 1\nhardware: car.yaml\nfoot: {trace: {file: press.csv, time: time, "
                  "force: pedal_force}}\n");
    // An indented car is no map of its own, so write it flat.
    std::string flat;
    for (std::size_t i = 1; i < kCar.size(); ++i) {
        flat += kCar[i];
        if (kCar[i] == '\n' && kCar.compare(i + 1, 2, "  ") == 0) i += 2;
    }
    folder.write("car.yaml", "pedalbench: 1\ntitle: a car\n" + flat.substr(2));
    const Scenario s = good(file).scenario;
    CHECK(s.title == "a car");
    CHECK(s.foot.measured);
    REQUIRE(s.foot.time.size() == 3);
    CHECK(near(s.foot.time[2], 0.002, 0, 1e-15));
    CHECK(s.foot.value[0] == 0); // an offset of the load cell is no pull
    CHECK(near(s.foot.value[2], 88.96443230521, 1e-10, 0));
}

TEST_CASE("a car alone can be read, too") {
    const Loaded loaded =
        good(test::source_folder() + "/tests/refusals/cars/small.yaml", {"front.piston=48 mm"});
    CHECK(loaded.hardware_only);
    CHECK(near(values_of(loaded.scenario, "front")["piston"], 0.048, 0, 1e-14));
}
