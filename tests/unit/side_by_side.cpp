// Runs side by side, on made-up results whose answers follow by hand: what differs, which event is
// which, what matters most, and the words for it.
#include <doctest/doctest.h>

#include <stdexcept>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "compare.hpp"
#include "parts/registry.hpp"
#include "runner/compare_answers.hpp"
#include "study/compare.hpp"
#include "study/setup.hpp"
#include "system/faults.hpp"

using namespace pedalbench;
using namespace pedalbench::study;
using pedalbench::test::near;
using Moment = Figure::Moment;

namespace {

ChannelFigures channel(const std::string& path, Dimension dimension, double peak, double held,
                       double residual) {
    ChannelFigures c;
    c.channel = {path, dimension};
    c.settled = 0;
    c.lowest = 0;
    c.peak = peak;
    c.held = held;
    c.residual = c.last = residual;
    c.recorded = true;
    return c;
}

/// A run of 10 s: 60 mm of travel, 4 MPa, one wheel free, the lamp dark.
Entry made_up(const std::string& name) {
    Entry run;
    run.name = name;
    for (const auto& [part, kind] :
         {std::pair{"pedal", "pedal"}, std::pair{"front", "disc_caliper"},
          std::pair{"other", "disc_caliper"}, std::pair{"valve", "hold_off_valve"}})
        run.scenario.hardware.parts.push_back({part, find_kind(kind), {}});
    run.scenario.accuracy = 1e3;
    run.summary.complete = true;
    run.summary.simulated = 10;
    run.summary.channels = {channel("pedal.travel", Dimension::length, 0.06, 0.058, 0),
                            channel("front.pressure", Dimension::pressure, 4e6, 3.9e6, 5e3),
                            channel("other.pressure", Dimension::pressure, 4e6, 3.9e6, 5e3),
                            channel("front.torque", Dimension::torque, 700, 690, 0.2)};
    run.summary.wheels = {{"front", 0.2}};
    run.summary.wheels[0].most = 0.3;
    run.summary.has_lamp = true;
    return run;
}

const ComparedFigure& figure(const Comparison& c, const std::string& name, Moment moment) {
    for (const ComparedFigure& f : c.figures)
        if (f.name == name && f.moment == moment) return f;
    FAIL(name);
    return c.figures.front();
}

const Fact& fact(const Comparison& c, Fact::Kind kind) {
    for (const Fact& f : c.facts)
        if (f.kind == kind) return f;
    FAIL("no such fact");
    return c.facts.front();
}

runner::Compared compared(const std::vector<Entry>& runs) {
    runner::Compared c;
    c.entries = runs;
    c.comparison = compare(runs);
    for (const Entry& run : runs)
        c.runs.push_back({run.name, "in " + run.name, run.name + ".yaml", "a title", 1});
    return c;
}

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

} // namespace

TEST_CASE("a share is what the error leaves of a difference, of the larger value") {
    CHECK(near(share_of(10, 8, 1), 0.1, 0, 1e-12));
    CHECK(near(share_of(8, 10, 1), 0.1, 0, 1e-12));
    CHECK(share_of(10, 9, 1) == 0);
    CHECK(near(share_of(-2, 3, 0), 5.0 / 3, 0, 1e-12));
    CHECK(share_of(0, 0, 0) == 0);
    CHECK(share_of(0, 7, 0) == 1);
    CHECK(share_of(kUnset, 7, 1) == 0);
}

TEST_CASE("figures differ by more than a run's own error, or not") {
    Entry a = made_up("a"), b = made_up("b");
    // The accuracy of a pressure is 1 kPa; of a travel that reaches 60 mm a thousandth, 0.06 mm.
    b.summary.channels[0].held = 0.05805;
    b.summary.channels[0].peak = 0.0602; // its error is 0.0602 mm now
    b.summary.channels[1].held = 3.9e6 + 900;
    b.summary.channels[1].residual = 150e3;
    const Comparison c = compare({a, b});
    CHECK_FALSE(figure(c, "pedal.travel", Moment::held).differs());
    const ComparedFigure& peak = figure(c, "pedal.travel", Moment::peak);
    CHECK(peak.value == std::vector<double>{0.06, 0.0602});
    CHECK(near(peak.error, 0.0602e-3, 0, 1e-12));
    CHECK(near(peak.share, (0.2 - 0.0602) / 60.2, 0, 1e-9));
    CHECK_FALSE(figure(c, "front.pressure", Moment::held).differs());
    CHECK(near(figure(c, "front.pressure", Moment::residual).share, 144.0 / 150, 0, 1e-12));
    CHECK_FALSE(c.same());
    // The coarser of two accuracies decides.
    b.scenario.accuracy = 200e3;
    CHECK_FALSE(figure(compare({a, b}), "front.pressure", Moment::residual).differs());
    CHECK_THROWS_AS(compare({a}), std::invalid_argument);
}

TEST_CASE("the lowest is a figure where it is neither at rest nor at the end") {
    Entry a = made_up("a"), b = made_up("b");
    b.summary.channels[1].lowest = -25e3;
    const Comparison c = compare({a, b});
    const ComparedFigure& lowest = figure(c, "front.pressure", Moment::lowest);
    CHECK(lowest.value == std::vector<double>{0, -25e3});
    CHECK(lowest.share == 0.96);
    for (const ComparedFigure& f : c.figures)
        CHECK_FALSE((f.moment == Moment::lowest && f.name != "front.pressure"));
}

TEST_CASE("a run beside itself has no difference at all and says so") {
    Entry a = made_up("a");
    a.summary.events = {{1, "front", "pads touch", {}}, {2, "front", "pads touch", {}}};
    a.summary.channels[0].held = kUnset; // what no run has is no difference
    Entry b = a;
    b.name = "b";
    const runner::Compared c = compared({a, b});
    CHECK(c.comparison.same());
    CHECK(c.comparison.differences.empty());
    CHECK(runner::sentences(c).empty());
    const std::string report = runner::compare_report(c);
    CHECK(has(report, "Set up differently\n  nothing\n"));
    CHECK(has(report, "none: no figure, no answer and no event differs"));
    CHECK(has(report, "2 events come at the same times"));
    CHECK(has(report, "12 figures within a run's own error: pedal.travel; front.pressure; "));
    CHECK_FALSE(has(report, "Figures that differ"));
    CHECK_FALSE(has(report, "Events side by side"));
}

TEST_CASE("events are paired by part and words, in the order in which they come") {
    Entry a = made_up("a"), b = made_up("b"); // the error of a time is 1 ms
    a.summary.events = {{1, "front", "x", {}}, {2, "front", "y", {}}, {3, "front", "x", {}}};
    b.summary.events = {{1.0002, "front", "x", {}},
                        {2, "other", "y", {}},
                        {3.5, "front", "x", {}},
                        {4, "front", "x", {}}};
    const Comparison c = compare({a, b});
    REQUIRE(c.events.size() == 5);
    const auto row = [&](std::size_t i) { return c.events[i].part + " " + c.events[i].text; };
    CHECK(row(0) == "front x");
    CHECK(c.events[0].event == std::vector<int>{0, 0});
    CHECK(c.events[0].same());
    CHECK(c.events[3].occurrence == 1);
    CHECK(c.events[4].occurrence == 2);
    CHECK(row(1) == "front y");
    CHECK(c.events[1].event == std::vector<int>{1, -1});
    CHECK_FALSE(c.events[1].everywhere());
    CHECK(row(2) == "other y"); // the same words of another part are another event
    CHECK(c.events[2].event == std::vector<int>{-1, 1});
    CHECK(row(3) == "front x");
    CHECK(c.events[3].event == std::vector<int>{2, 2});
    CHECK_FALSE(c.events[3].same());
    CHECK(c.events[4].event == std::vector<int>{-1, 3});
    CHECK(c.events[4].time[1] == 4);

    // "y" of front and of other: there or not. "x" comes in both, once more in one: no yes or no.
    REQUIRE(c.differences.size() == 2);
    CHECK(c.facts[c.differences[0].which[0]].part == "front");
    CHECK(c.facts[c.differences[1].which[0]].part == "other");
}

TEST_CASE("an event of a part that the other car has not got says nothing") {
    Entry a = made_up("a"), b = made_up("b");
    b.scenario.hardware.parts.pop_back(); // no valve
    a.summary.events = {{1, "valve", "check shuts", {}}};
    CHECK(compare({a, b}).differences.empty());
    b.scenario = a.scenario;
    CHECK(compare({a, b}).differences.size() == 1);
}

TEST_CASE("a changed yes or no matters most, then the pedal, then the largest share") {
    Entry a = made_up("a"), b = made_up("b");
    a.summary.wheels.push_back({"other", 0.1});
    b.summary.wheels.push_back({"other", 15.3});
    b.summary.wheels[0].torque = 15.2;
    b.summary.channels[3].residual = 15.2;
    b.summary.channels[3].peak = 701;
    b.summary.lamp_lit = {{2, 3}};
    b.summary.lamp_on = {2};
    b.summary.events = {{2, "lamp", "lamp lit", {}}};
    b.summary.channels[0].held = 0.05;                                       // 14 %
    b.summary.channels[1].residual = b.summary.channels[2].residual = 150e3; // 96 %
    ExpectationResult e;
    e.text = "no drag";
    e.held = true;
    e.found = 0.2;
    e.dimension = Dimension::torque;
    a.summary.expectations = {e};
    e.held = false;
    e.found = 15.2;
    b.summary.expectations = {e};

    const runner::Compared c = compared({a, b});
    const auto& d = c.comparison.differences;
    REQUIRE(d.size() == 6);
    CHECK((d[0].fact && c.comparison.facts[d[0].which[0]].kind == Fact::Kind::drags));
    CHECK(d[0].which.size() == 2); // both wheels in one
    CHECK((d[1].fact && c.comparison.facts[d[1].which[0]].kind == Fact::Kind::lit));
    CHECK((d[2].fact && c.comparison.facts[d[2].which[0]].kind == Fact::Kind::expectation));
    CHECK((!d[3].fact && c.comparison.figures[d[3].which[0]].name == "pedal.travel"));
    CHECK((!d[4].fact && d[4].which.size() == 2)); // both pressures in one
    // The residual torque has been told by the wheel that drags. Its peak differs by 1 N m, the
    // error is 0.701 N m: it differs, but by too little for a sentence.
    CHECK((!d[5].fact && c.comparison.figures[d[5].which[0]].name == "front.torque"));
    const auto said = runner::sentences(c);
    REQUIRE(said.size() == 5);
    CHECK(said[0] ==
          "Wheels front and other drag after the stop in b (15.2 N m and 15.3 N m); in a "
          "they turn freely (0.2 N m and 0.1 N m).");
    CHECK(said[1] == "The warning lamp comes on in b (first at 2 s); in a it stays dark.");
    CHECK(said[2] == "An expectation that holds only in a: \"no drag\" (0.2 N m in a, 15.2 N m in "
                     "b).");
    CHECK(said[3] ==
          "Under the held foot, the travel of pedal is 58.0 mm in a, 50.0 mm in b: 8.0 mm "
          "less.");
    CHECK(said[4] == "With the foot off at the end, the pressure at front and other is 0.05 bar in "
                     "a, 1.50 bar in b: 1.45 bar more.");
}

TEST_CASE("what a valve reads when it opens is a figure, its time is not") {
    Entry a = made_up("a"), b = made_up("b");
    const auto opens = [](double t, double p) {
        return Event{t, "valve", "plate opens", {{"inlet.pressure", Dimension::pressure, p}}};
    };
    a.summary.events = {opens(2, 8.6e5), opens(3, 1e5)};
    b.summary.events = {opens(1, 6e5), opens(3, 2e5)}; // the second time is not looked at
    const runner::Compared c = compared({a, b});
    const ComparedFigure& f =
        figure(c.comparison, "valve: plate opens, inlet.pressure", Moment::first_time);
    CHECK(f.error == 1e3);
    CHECK(near(f.share, (2.6e5 - 1e3) / 8.6e5, 0, 1e-12));
    CHECK(runner::sentences(c) ==
          std::vector<std::string>{"When \"valve: plate opens\" first comes, the inlet pressure is "
                                   "8.60 bar in a, 6.00 bar in b: 2.60 bar less."});
    CHECK(
        has(runner::compare_report(c), "\n        2.0000      1.0000     -1.0000  valve: plate "));
}

TEST_CASE("one sentence for a channel: what is left before what is held, peaks last") {
    Entry a = made_up("a"), b = made_up("b");
    // Shares of about 0.5, 0.5, 0.9: the peak is the largest, but a gauge does not stand there.
    b.summary.channels[1].residual = 10e3; // (5 - 1)/10 = 0.4
    b.summary.channels[1].peak = 40e6;
    b.summary.channels[3].held = 345;
    b.summary.channels[3].peak = 350;
    const runner::Compared c = compared({a, b});
    const auto said = runner::sentences(c);
    REQUIRE(said.size() == 2);
    CHECK(said[0].starts_with("Under the held foot, the torque of front is 690 N m in a, 345 N m"));
    CHECK(said[1].starts_with("With the foot off at the end, the pressure at front is 0.05 bar"));
}

TEST_CASE("the other way round the signs are mirrored and nothing else") {
    Entry a = made_up("a"), b = made_up("b");
    b.summary.channels[0].held = 0.05;
    b.summary.events = {{2, "valve", "check shuts", {}}};
    const Comparison forth = compare({a, b}), back = compare({b, a});
    REQUIRE(forth.figures.size() == back.figures.size());
    for (std::size_t i = 0; i < forth.figures.size(); ++i) {
        CHECK(forth.figures[i].name == back.figures[i].name);
        CHECK(forth.figures[i].value[0] == back.figures[i].value[1]);
        CHECK(forth.figures[i].value[1] == back.figures[i].value[0]);
        CHECK(forth.figures[i].share == back.figures[i].share);
    }
    const auto said = runner::sentences(compared({a, b})),
               mirrored = runner::sentences(compared({b, a}));
    CHECK(said == std::vector<std::string>{
                      "Only in b: valve: check shuts (2 s).",
                      "Under the held foot, the travel of pedal is 58.0 mm in a, 50.0 mm in b: 8.0 "
                      "mm less."});
    CHECK(mirrored == std::vector<std::string>{
                          "Only in b: valve: check shuts (2 s).",
                          "Under the held foot, the travel of pedal is 50.0 mm in b, 58.0 mm in a: "
                          "8.0 mm more."});
    CHECK(has(runner::compare_report(compared({a, b})), " -8.00  mm\n"));
    CHECK(has(runner::compare_report(compared({b, a})), " +8.00  mm\n"));
}

TEST_CASE("three runs: the first is what the others are compared with") {
    Entry a = made_up("a"), b = made_up("b"), d = made_up("d");
    d.summary.wheels[0].torque = 9;
    d.summary.events = {{2, "valve", "check shuts", {}}};
    b.summary.events = {{3, "valve", "check shuts", {}}};
    const runner::Compared c = compared({a, b, d});
    const auto said = runner::sentences(c);
    REQUIRE(said.size() == 2);
    CHECK(said[0] ==
          "Wheel front drags after the stop in d (9 N m); in a (0.2 N m) and in b (0.2 N "
          "m) it turns freely.");
    CHECK(said[1] == "Only in b and in d: valve: check shuts (3 s).");
    CHECK(has(runner::compare_report(c), "             -      3.0000      2.0000  valve: check"));
}

TEST_CASE("what cannot be compared is named, and makes no difference") {
    Entry a = made_up("a"), b = made_up("b");
    a.summary.channels.push_back(channel("booster.output", Dimension::force, 1, 1, 1));
    for (ChannelFigures& c : b.summary.channels)
        c.held = kUnset;
    b.summary.wheels[0].torque = kUnset;
    const runner::Compared c = compared({a, b});
    CHECK(c.comparison.lone.size() == 1);
    CHECK(c.comparison.differences.empty());
    CHECK(fact(c.comparison, Fact::Kind::drags).yes ==
          std::vector<YesNo>{YesNo::no, YesNo::unknown});
    const std::string report = runner::compare_report(c);
    CHECK(has(report, "Not in every car: 1 channel in a, booster.output"));
    CHECK(has(report, "Not compared in b: held figures: the foot was never constant for 0.2 s"));
    CHECK_FALSE(has(report, "no wheel drags"));
}

TEST_CASE("the report keeps to 100 columns and to the cautions, and says whose they are") {
    Entry a = made_up("a_very_long_name_of_a_scenario_about_discs"), b = made_up("b");
    for (int i = 0; i < 60; ++i) {
        a.summary.events.push_back({0.1 * i, "front", "comes", {}});
        b.summary.events.push_back({0.1 * i + 0.05, "front", "comes", {}});
    }
    a.summary.channels.push_back(
        channel("a_valve_with_a_long_name.outlet.pressure", Dimension::pressure, 1e6, 1e6, 1e6));
    b.summary.channels.push_back(
        channel("a_valve_with_a_long_name.outlet.pressure", Dimension::pressure, 2e6, 2e6, 2e6));
    a.summary.cautions = {"A model.", "Stays where it is."};
    b.summary.cautions = {"A model."};
    const runner::Compared c = compared({a, b});
    const std::string report = runner::compare_report(c);
    std::size_t start = 0;
    for (std::size_t end; (end = report.find('\n', start)) != std::string::npos; start = end + 1)
        CHECK_MESSAGE(end - start <= 100, report.substr(start, end - start));
    CHECK(has(report, "  ! A model.\n"));
    CHECK(has(report, "  ! (in a_very_long_name_of_a_scenario_about_discs) Stays where it is.\n"));
    CHECK(has(report, "  ... 28 more, in comparison.json\n"));

    const auto json = nlohmann::json::parse(runner::compare_json(c));
    CHECK(json["events"].size() == 60);
    CHECK(json["same"] == false);
    CHECK(json["figures"][0]["values"][0] == 60);
    CHECK(json["runs"][1]["name"] == "b");
    const std::string csv = runner::compare_csv(c);
    CHECK(csv.starts_with("figure,moment,unit,a_very_long_name_of_a_scenario_about_discs,b,"
                          "differs\npedal.travel,peak,mm,60,60,no\n"));
}

TEST_CASE("what is set up differently is told once, by its cause") {
    Entry a = made_up("a");
    Scenario with;
    const PartKind* hose = find_kind("hose");
    with.hardware.fluid = Values(fluid_fields());
    with.hardware.surroundings = Values(surroundings_fields());
    with.hardware.parts = {{"hose", hose, Values(hose->fields)}};
    with.hardware.parts[0].values.set("length", 0.3);
    with.foot.time = {0, 1};
    with.foot.value = {0, 100};
    with.duration = 2;
    Scenario other = with;
    CHECK(setup_of({&with, &other}).none());
    other.changes = {{"hose", "length", 0.4, 0, 0, Origin::command_line},
                     {"hose", "bore_back", 1e-4, 0, 0, Origin::fault},
                     {"hose", "length", 0.5, 1, 0, Origin::scenario}};
    other.faults = {{"flap", find_fault("hose_flap"), "hose", 1e-4, 0, 0, Origin::scenario, false}};
    other.foot.value = {0, 200};
    const Setup setup = setup_of({&with, &other});
    REQUIRE(setup.fields.size() == 1); // neither what the fault sets nor what follows
    CHECK(setup.fields[0].path == "hose.length");
    CHECK(setup.fields[0].value == std::vector<double>{0.3, 0.4});
    REQUIRE(setup.faults.size() == 1);
    CHECK_FALSE(setup.faults[0].in[0].has_value());
    CHECK(setup.faults[0].in[1].has_value());
    CHECK(setup.foot);
    CHECK(setup.later);
    CHECK_FALSE(setup.duration);
    CHECK_FALSE(setup.start);
    CHECK(setup.parts.empty());
}
