// A trace of a sample a millisecond is one curve, not a stop at each sample.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("a kilohertz trace costs no restart per sample") {
    const Scenario s = load("checks/measured_trace");
    REQUIRE(s.foot.measured);
    REQUIRE(s.foot.time.size() == 4001);
    const Played measured = play(s);
    check_own_expectations(measured);
    // The same foot in straight lines of 50 ms, 53 stops: the smooth trace needs no more steps than
    // that.
    Scenario lines = s;
    lines.foot = force({});
    for (std::size_t i = 0; i < s.foot.time.size(); i += 50) {
        lines.foot.time.push_back(s.foot.time[i]);
        lines.foot.value.push_back(s.foot.value[i]);
    }
    const Played straight = play(lines);
    const auto tried = [](const Played& run) {
        return run.summary.solver.steps + run.summary.solver.rejected;
    };
    MESSAGE(tried(measured) << " steps for 4001 samples, " << tried(straight)
                            << " for straight lines");
    CHECK(tried(measured) < tried(straight));
    CHECK(tried(measured) < 2000); // half a step a sample
    CHECK(near(measured.at("master.primary.pressure", 1.7),
               straight.at("master.primary.pressure", 1.7), 1e3, 0));
}
