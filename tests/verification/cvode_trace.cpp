// The ordinary stop by our stepper as users get it and by SUNDIALS CVODE a hundred times tighter,
// for a plot of docs/verification.md: prints time [s], then ours and CVODE's of each channel [bar].
#include <cstdio>

#include "oracle/cvode_run.hpp"
#include "places.hpp"
#include "runner/reader.hpp"

using namespace pedalbench;

int main() {
    runner::Findings findings;
    auto loaded = runner::read_scenario(
        test::source_folder() + "/scenarios/lessons/ordinary_stop.yaml", {}, findings);
    if (!loaded) return 2;
    Scenario& scenario = loaded->scenario;
    scenario.record = {"front_left.pressure", "rear_left.pressure"};
    Trace ours;
    if (!simulate(scenario, ours).complete) return 3;
    oracle::CvodeOptions options;
    options.tolerance_scale = 0.01;
    const oracle::CvodeRun theirs = oracle::cvode_run(scenario, options);
    for (int i = 0; i <= 2500; ++i) {
        const double t = 0.002 * i;
        std::printf("%.3f", t);
        for (const std::string& path : scenario.record)
            std::printf(",%.7g,%.7g", 1e-5 * ours.at(path, t), 1e-5 * theirs.trace.at(path, t));
        std::printf("\n");
    }
}
