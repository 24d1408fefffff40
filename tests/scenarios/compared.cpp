// Lessons beside their own car in order: the sentences name what the formulas of the lesson give.
#include "scenario.hpp"

#include "places.hpp"
#include "runner/compare_answers.hpp"
#include "study/beside.hpp"
#include "study/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario without(const std::string& name, const std::string& fault,
                 const std::vector<std::string>& sets = {}) {
    runner::Findings findings;
    auto loaded = runner::read_scenario(source_folder() + "/scenarios/lessons/" + name + ".yaml",
                                        sets, findings, {fault});
    REQUIRE(loaded.has_value());
    return std::move(loaded->scenario);
}

/// Runs them side by side as the command does.
runner::Compared beside(std::vector<Scenario> scenarios, const std::vector<std::string>& names) {
    study::record_alike(scenarios);
    std::vector<Sink> unheard(scenarios.size());
    std::vector<Sink*> sinks;
    for (Sink& sink : unheard)
        sinks.push_back(&sink);
    study::Threads two(2);
    const std::vector<study::Ran> ran = study::run_beside(scenarios, sinks, two);
    runner::Compared compared;
    std::vector<const Scenario*> all;
    for (std::size_t i = 0; i < ran.size(); ++i) {
        REQUIRE_MESSAGE(ran[i].end == study::Outcome::End::complete, ran[i].reason);
        compared.runs.push_back({names[i], names[i], "", "", static_cast<int>(i) + 1});
        compared.entries.push_back({names[i], scenarios[i], ran[i].summary});
        all.push_back(&scenarios[i]);
    }
    compared.comparison = study::compare(compared.entries);
    compared.setup = study::setup_of(all);
    return compared;
}

double field(const Scenario& scenario, const std::string& path) {
    const std::size_t dot = path.find('.');
    const Hardware hardware = hardware_at(scenario);
    return (*find_values(hardware, path.substr(0, dot)))[path.substr(dot + 1)];
}

/// The number in front of a unit, the first one after `words`.
double number_after(const std::string& text, const std::string& words) {
    const std::size_t at = text.find(words);
    REQUIRE_MESSAGE(at != std::string::npos, text);
    return std::stod(text.substr(at + words.size()));
}

} // namespace

TEST_CASE("a residual valve in the disc circuit beside the same without it: the drag") {
    const std::string name = "residual_in_disc_circuit";
    const runner::Compared c =
        beside({load(name), without(name, "wrong_valve")}, {"as it is", "without wrong_valve"});
    const auto said = runner::sentences(c);
    REQUIRE(said.size() >= 2);
    MESSAGE(said[0]);
    // 2 mu r (p A_c - k (1 - branch) (g - u(p))), as in the lesson's own comment.
    const Scenario& s = c.entries[0].scenario;
    const double p = c.entries[0].summary.of("front_left.pressure").residual,
                 g = c.entries[1].summary.of("front_left.clearance").residual,
                 area = circle(field(s, "front_left.piston")),
                 shift = field(s, "front_left.seal_shift") *
                         (1 - std::exp(-p / field(s, "front_left.seal_shift_pressure"))),
                 seal = field(s, "front_left.seal_stiffness") *
                        (1 - field(s, "front_left.seal_branch")) * (g - shift),
                 drag = 2 * field(s, "front_left.friction") * field(s, "front_left.radius") *
                        (p * area - seal);
    CHECK(said[0].starts_with("Wheels front_left and front_right drag after the stop as it is ("));
    CHECK(said[0].find("; without wrong_valve they turn freely (") != std::string::npos);
    CHECK(near(number_after(said[0], "as it is ("), drag, 0, 0.25));
    CHECK(number_after(said[0], "turn freely (") < kDragLimit);
    // The rear is another circuit.
    for (const std::string& sentence : said)
        CHECK(sentence.find("rear_left and rear_right drag") == std::string::npos);
    REQUIRE(c.setup.faults.size() == 1);
    CHECK(c.setup.fields.empty());
    CHECK_FALSE(c.setup.foot);
}

TEST_CASE("a residual valve in the disc circuit beside the same without it: the first stroke") {
    // After a stop, where nothing but the pistons stands ready: a plain seal, hoses that do not
    // swell, hardly any air, a hold-off valve whose rod still rests.
    std::vector<std::string> sets = {"left_hose.swelling=0", "right_hose.swelling=0",
                                     "fluid.free_air=0.02 %", "hold_off.shut=300 kPa"};
    for (const std::string wheel : {"front_left", "front_right"})
        for (const char* set : {".seal_shift=0 mm", ".seal_branch=0", ".seal_grip=400 N"})
            sets.push_back(wheel + set);
    const std::string name = "residual_in_disc_circuit";
    std::vector<Scenario> scenarios = {load(name, sets), without(name, "wrong_valve", sets)};
    for (Scenario& s : scenarios)
        s.after_a_stop = true;
    const runner::Compared c = beside(scenarios, {"as it is", "without wrong_valve"});
    const Scenario& s = c.entries[0].scenario;
    const auto settled = [&](std::size_t run, const std::string& path) {
        return c.entries[run].summary.of(path).settled;
    };
    // What is ready is as far as the pressure has brought the pistons, at most to the disc:
    // R (sum of A_c) min(p A_c/k, g)/A.
    const double area = circle(field(s, "front_left.piston")),
                 p = settled(0, "front_left.pressure") - settled(1, "front_left.pressure"),
                 ready = std::min(p * area / field(s, "front_left.seal_stiffness"),
                                  settled(1, "front_left.clearance"));
    REQUIRE(ready > 0.1e-3);
    const double shorter =
        field(s, "pedal.ratio") * 2 * area * ready / circle(field(s, "master.bore"));
    std::string stroke;
    for (const std::string& sentence : runner::sentences(c))
        if (sentence.starts_with("Under the held foot, the travel of pedal is ")) stroke = sentence;
    MESSAGE(stroke << " By the formula " << shorter * 1e3 << " mm.");
    REQUIRE(stroke.ends_with(" mm more."));
    CHECK(near(number_after(stroke, " without wrong_valve: "), shorter * 1e3, 0, 0.1));
}

TEST_CASE("another plate spring: the pressures that a gauge shows come before the plate's lift") {
    Scenario other = load("gentle_pedal_on_hold_off", {"hold_off.plate_spring=80 N"});
    const runner::Compared c =
        beside({load("gentle_pedal_on_hold_off"), std::move(other)}, {"as it is", "other"});
    std::size_t opens = 0, lift = 0, i = 0;
    for (const std::string& sentence : runner::sentences(c)) {
        ++i;
        if (sentence.find("\"hold_off: plate opens\" first comes") != std::string::npos) opens = i;
        if (sentence.find("the plate lift of hold_off") != std::string::npos) lift = i;
    }
    REQUIRE(opens > 0);
    REQUIRE(lift > 0);
    CHECK(opens < lift);
    // What was changed, and what was stated before and follows now.
    std::vector<std::string> changed;
    for (const study::SetupField& f : c.setup.fields)
        changed.push_back(f.path);
    CHECK(changed ==
          std::vector<std::string>{"hold_off.open", "hold_off.full", "hold_off.plate_spring"});
}

TEST_CASE("a lesson beside itself has no difference at all") {
    // The same run in another thread: the same bits.
    for (const char* name : {"ordinary_stop", "warning_lamp", "hard_stop_diagonal"}) {
        CAPTURE(name);
        const runner::Compared c = beside({load(name), load(name)}, {"one", "two"});
        CHECK(c.comparison.same());
        CHECK(c.setup.none());
        CHECK(runner::sentences(c).empty());
        CHECK(c.comparison.figures.size() > 20);
    }
}

TEST_CASE("the order of two cars mirrors the signs, and another car is told as one") {
    const Scenario marten = load("ordinary_stop"), pika = load("hard_stop_diagonal");
    const runner::Compared forth = beside({marten, pika}, {"marten", "pika"}),
                           back = beside({pika, marten}, {"pika", "marten"});
    CHECK_FALSE(forth.comparison.lone.empty());
    CHECK(forth.comparison.lone.size() == back.comparison.lone.size());
    CHECK_FALSE(forth.setup.parts.empty());
    CHECK(forth.setup.foot);
    REQUIRE(forth.comparison.figures.size() == back.comparison.figures.size());
    for (const study::ComparedFigure& f : forth.comparison.figures)
        for (const study::ComparedFigure& b : back.comparison.figures) {
            if (f.name != b.name || f.moment != b.moment) continue;
            CHECK((f.value[0] == b.value[1] || std::isnan(f.value[0])));
            CHECK(f.share == b.share);
        }
    CHECK(forth.comparison.events.size() == back.comparison.events.size());
    CHECK(forth.comparison.differences.size() == back.comparison.differences.size());
}
