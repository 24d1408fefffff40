// ctest: physics,slow 900
// The worked complaints: readings as a workshop would note them, and the fault that stood behind
// them when they were written down.
#include "scenarios/scenario.hpp"

#include "study/match.hpp"

using namespace pedalbench;
using namespace pedalbench::study;
using namespace pedalbench::test;

namespace {

struct Worked {
    const char *file, *kind, *at;
    double size; // SI; unset: none
};

Match search(const Scenario& s, RunStore& store) {
    Threads two(2);
    OutcomeSink unheard;
    return match(s, two, store, unheard);
}

/// The fault is among what explains every reading, and the car as it is is not.
void expect(const Match& found, const Worked& worked) {
    CAPTURE(std::string(worked.file));
    REQUIRE(found.explained());
    const Explanation* truth = nullptr;
    for (std::size_t i = 0; i < found.tied; ++i) {
        const Explanation& e = found.leaders[i];
        REQUIRE_FALSE(e.faults.empty());
        if (e.faults.size() == 1 && e.faults[0].kind->name == worked.kind &&
            e.faults[0].at == worked.at)
            truth = &e;
    }
    REQUIRE(truth != nullptr);
    if (std::isnan(worked.size)) return;
    CHECK(std::min(truth->low, truth->high) <= worked.size);
    CHECK(std::max(truth->low, truth->high) >= worked.size);
}

} // namespace

TEST_CASE("complaints read on the rollers: what stood behind them is found") {
    const Worked all[] = {{"one_front_wheel_drags", "hose_flap", "left_hose", 5e-5},
                          {"both_rears_drag", "residual_valve_stuck_shut", "rear_residual", kUnset},
                          {"spongy_pedal", "air", "hold_off", 2e-6},
                          {"sinking_pedal", "primary_cup_leak", "master", 1.2e-4},
                          {"low_pedal", "shoes_misadjusted", "rear_left", 2.2e-3},
                          {"lamp_on", "leak", "master.primary", 1.5e-3}};
    // All with the same car, foot and things to read: one search goes on from the runs of another.
    RunStore store;
    std::size_t columns = 0;
    for (const Worked& worked : all) {
        const Scenario s = load(std::string("complaints/") + worked.file);
        REQUIRE((columns == 0 || columns_of(s).size() == columns));
        columns = columns_of(s).size();
        expect(search(s, store), worked);
    }
}

TEST_CASE("a screw that gives nothing while the tank is on is as it should be" * doctest::skip()) {
    const Scenario s = load("complaints/fronts_will_not_bleed");
    RunStore store;
    const Match found = search(s, store);
    REQUIRE(found.explained());
    CHECK(std::any_of(found.leaders.begin(), found.leaders.end(),
                      [](const Explanation& e) { return e.faults.empty(); }));
}

TEST_CASE("both fronts drag: what stood behind it is found" * doctest::skip()) {
    const Scenario s = load("complaints/both_fronts_drag");
    RunStore store;
    expect(search(s, store), {"both_fronts_drag", "primary_port_blocked", "master", kUnset});
}

TEST_CASE(
    "a drag that grows with heat: a pedal that is held off its stop is among what explains it" *
    doctest::skip()) {
    const Scenario s = load("complaints/grows_hot");
    RunStore store;
    expect(search(s, store), {"grows_hot", "pedal_held_off", "pedal", 14e-3});
}
