// Many runs at once: a light application of one second, each with another bore.
#include "bench.hpp"

#include <algorithm>
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

/// Forgets what it hears but for the bits of it, in whatever order they come.
struct Mixing : study::OutcomeSink {
    std::uint64_t bits = 0;
    double most = 0; // MB, asked now and then
    void outcome(std::size_t i, const study::Outcome& outcome) override {
        std::uint64_t mine = i + (outcome.end == study::Outcome::End::complete ? 0 : 1u << 31);
        for (const study::Figure& f : outcome.figures) {
            std::uint64_t word = 0;
            std::memcpy(&word, &f.value, sizeof word);
            mine = (mine ^ word) * 0x9e3779b97f4a7c15u;
        }
        bits += mine;
        if (i % 64 == 0) most = std::max(most, resident());
    }
};

void many(benchmark::State& state, const Scenario& scenario, unsigned threads, std::size_t runs) {
    study::Threads executor(threads);
    Mixing sink;
    const double before = resident();
    for (auto _ : state) {
        sink.bits = 0;
        RunOptions options;
        options.sample = 0.01;
        study::run_each(
            runs,
            [&](std::size_t i) {
                const double bore =
                    0.018 + 0.004 * static_cast<double>(i) / static_cast<double>(runs);
                return study::vary(scenario, {{"master", "bore", bore}});
            },
            executor, sink, options);
    }
    state.counters["runs"] = static_cast<double>(runs);
    state.counters["memory"] = sink.most - before;
    state.counters["bits"] = static_cast<double>(sink.bits >> 12);
}

} // namespace

void register_many() {
    const struct {
        const char* name;
        Scenario scenario;
        std::size_t runs;
    } cars[] = {{"many/demo", light(demo_stop()), 200},
                {"many/rig", light(rig_stop()), 10000},
                {"ten_thousand/demo", light(demo_stop()), 10000}};
    for (const auto& car : cars)
        for (const unsigned threads : {1u, 2u})
            benchmark::RegisterBenchmark((car.name + ("/" + std::to_string(threads))).c_str(), many,
                                         car.scenario, threads, car.runs)
                ->Iterations(1)
                ->UseRealTime();
}

} // namespace pedalbench::bench
