// ctest: physics,slow 900
// How exact a run is, on every scenario: against itself with a hundred times less error allowed,
// and the located model against the continuous one.
#include "traces.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// What takes longer waits for `test_scenarios --no-skip`.
constexpr double kShort = 16; // s

void hold_to_accuracy(bool short_ones) {
    int held = 0;
    for (const std::string& name : scenario_names({"lessons", "checks"})) {
        CAPTURE(name);
        const Scenario scenario = watched(load(name), {".pressure"});
        if ((scenario.duration <= kShort) != short_ones) continue;
        ++held;
        Trace usual, fine, smooth;
        // Rows where they are compared: between coarser ones a straight line would be held against
        // the run.
        RunOptions plain, tight, continuous;
        plain.sample = tight.sample = continuous.sample = 1e-3;
        tight.tolerance_scale = continuous.tolerance_scale = 0.01;
        continuous.located = false;
        const Summary answer = simulate(scenario, usual, plain);
        REQUIRE_MESSAGE(answer.complete, answer.error);
        const Summary reference = simulate(scenario, fine, tight);
        REQUIRE_MESSAGE(reference.complete, reference.error);
        const Summary other = simulate(scenario, smooth, continuous);
        REQUIRE_MESSAGE(other.complete, other.error);

        // The accuracy is the aim for any line pressure: it holds in 99 % of the samples, five
        // times it always.
        const Apart error = apart(usual, fine, scenario.duration);
        MESSAGE(name << ": error at most " << error.pressure << " Pa (" << error.where << " at "
                     << error.when << " s), " << error.most << " Pa in 99 %; "
                     << answer.solver.steps + answer.solver.rejected << " steps tried");
        CHECK(error.pressure <= 5 * scenario.accuracy);
        CHECK(error.most <= scenario.accuracy);

        // Both models converge to the same answer: a tenth of the accuracy apart.
        const Apart models = apart(fine, smooth, scenario.duration);
        MESSAGE("located and continuous are at most " << models.pressure << " Pa apart ("
                                                      << models.where << " at " << models.when
                                                      << " s), " << models.most << " Pa in 99 %");
        CHECK(models.pressure <= 0.1 * scenario.accuracy);

        for (const Summary* s : {&answer, &reference, &other}) {
            CHECK(s->ledger.relative_error <= 1e-11);
            CHECK(s->ledger.gas_relative_error <= 1e-11);
        }
    }
    CHECK(held >= 10);
}

} // namespace

TEST_CASE("every short scenario is within its accuracy, located and continuous models agree") {
    hold_to_accuracy(true);
}

TEST_CASE("the same for the long ones" * doctest::skip()) {
    hold_to_accuracy(false);
}

// The aim for a car of some thirty states is 600. This car has a hundred, and the waves in its nine
// pipes and hoses want to be followed: docs/solver.md says where the steps go. The bound keeps what
// is reached.
TEST_CASE("a 5 s stop of the demo car takes fewer than 1200 steps, refused ones counted") {
    const Scenario scenario = watched(load("ordinary_stop"), {".pressure"});
    Sink nowhere;
    const Summary s = simulate(scenario, nowhere);
    REQUIRE(s.complete);
    MESSAGE(s.simulated << " s in " << s.solver.steps << " steps and " << s.solver.rejected
                        << " refused, " << s.solver.events << " events, " << s.solver.states
                        << " states");
    CHECK(static_cast<double>(s.solver.steps + s.solver.rejected) < 1200 * s.simulated / 5);
}
