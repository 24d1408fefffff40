// How the cost of a step grows when every pipe of the demo car is cut into pieces.
#include "bench.hpp"

namespace pedalbench::bench {
namespace {

void step(benchmark::State& state, const Scenario& scenario) {
    Stand stand(scenario, 0);
    long tried = 0;
    for (auto _ : state) {
        double t = 0, h = 1e-4; // short enough that none is refused
        stand.plant.set_stretch(0);
        for (int i = 0; i < 20; ++i) {
            stand.stepper.attempt(stand.plant, stand.y, t, h);
            ++tried;
            h = 1e-4;
        }
    }
    state.counters["states"] = static_cast<double>(stand.y.size());
    state.counters["step"] = benchmark::Counter(
        static_cast<double>(tried), benchmark::Counter::kIsRate | benchmark::Counter::kInvert);
}

} // namespace

void register_growth() {
    for (const int pieces : {1, 4, 16, 64, 256}) {
        Scenario scenario = demo_stop();
        scenario.after_a_stop = false;
        for (PartSpec& part : scenario.hardware.parts)
            if (part.kind->is("line")) part.values.set("segments", pieces);
        benchmark::RegisterBenchmark(("growth/" + std::to_string(pieces)).c_str(), step, scenario)
            ->Iterations(pieces < 64 ? 20 : 2);
    }
}

} // namespace pedalbench::bench
