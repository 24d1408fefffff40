// Many runs at once: a light application of one second, each with another bore.
#include "bench.hpp"

#include <atomic>
#include <cstring>
#include <fstream>

#include "study/variants.hpp"

namespace pedalbench::bench {
namespace {

/// A light application of one second.
Scenario light(Scenario s) {
    s.foot.time = {0, 0.3, 0.8, 1.0};
    s.foot.value = {0, 60, 60, 0};
    s.duration = 1;
    s.expectations.clear();
    return s;
}

double resident() { // MB
    std::ifstream statm("/proc/self/statm");
    double all = 0, here = 0;
    statm >> all >> here;
    return here * 4096e-6;
}

void many(benchmark::State& state, const Scenario& scenario, unsigned threads, std::size_t runs) {
    study::Threads executor(threads);
    double most = 0;
    std::atomic<std::uint64_t> bits = 0; // of all answers, in whatever order they come
    for (auto _ : state) {
        bits = 0;
        const double before = resident();
        executor.run(runs, [&](std::size_t i) {
            const double bore = 0.018 + 0.004 * static_cast<double>(i) / static_cast<double>(runs);
            Sink sink;
            RunOptions options;
            options.sample = 0.01;
            const Summary s =
                simulate(study::vary(scenario, {{"master", "bore", bore}}), sink, options);
            std::uint64_t mine = i;
            for (const ChannelFigures& f : s.channels) {
                std::uint64_t word = 0;
                std::memcpy(&word, &f.peak, sizeof word);
                mine = (mine ^ word) * 0x9e3779b97f4a7c15u;
            }
            bits += mine;
        });
        most = resident() - before;
    }
    state.counters["runs"] = static_cast<double>(runs);
    state.counters["memory"] = most;
    state.counters["bits"] = static_cast<double>(bits.load() >> 12);
}

} // namespace

void register_many() {
    const struct {
        const char* name;
        Scenario scenario;
        std::size_t runs;
    } cars[] = {{"demo", light(demo_stop()), 100}, {"rig", light(rig_stop()), 500}};
    for (const auto& car : cars)
        for (const unsigned threads : {1u, 2u})
            benchmark::RegisterBenchmark(
                ("many/" + std::string(car.name) + "/" + std::to_string(threads)).c_str(), many,
                car.scenario, threads, car.runs)
                ->Iterations(1)
                ->Repetitions(2)
                ->UseRealTime();
}

} // namespace pedalbench::bench
