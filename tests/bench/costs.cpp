// What a run costs, and what its steps would cost if they were made of their parts and nothing
// else.
#include "bench.hpp"

namespace pedalbench::bench {
namespace {

constexpr double kHold = 2.0; // s, in the middle of the demo stop's hold

/// Two states next to each other: who evaluates them by turns gets nothing for nothing.
struct TwoStates {
    std::vector<double> one, other;
    explicit TwoStates(const std::vector<double>& y) : one(y), other(y) {
        for (double& v : other)
            v *= 1 + 1e-9;
    }
    const double* turn() {
        one.swap(other);
        return one.data();
    }
};

void whole_run(benchmark::State& state, const Scenario& scenario) {
    Summary last;
    for (auto _ : state) {
        Sink sink;
        last = simulate(scenario, sink);
        if (!last.complete) state.SkipWithError(last.error.c_str());
    }
    state.counters["simulated"] = scenario.duration;
    state.counters["steps"] = static_cast<double>(last.solver.steps);
    state.counters["rejected"] = static_cast<double>(last.solver.rejected);
    state.counters["events"] = static_cast<double>(last.solver.events);
    state.counters["states"] = last.solver.states;
}

/// Steps alone: no rows, no figures, no model to be made.
void steps(benchmark::State& state, const Scenario& scenario) {
    solve::Counters of;
    for (auto _ : state) {
        state.PauseTiming();
        Stand stand(scenario, 0);
        const solve::Counters before = stand.stepper.counters();
        state.ResumeTiming();
        double from = 0;
        for (const double stop : stand.course.stops)
            from = stand.march(from, stop);
        const solve::Counters& after = stand.stepper.counters();
        of = after;
        of.steps -= before.steps, of.rejected -= before.rejected;
        of.rate_calls -= before.rate_calls, of.jacobians -= before.jacobians;
        of.factorisations -= before.factorisations, of.events -= before.events;
    }
    state.counters["steps"] = static_cast<double>(of.steps);
    state.counters["rejected"] = static_cast<double>(of.rejected);
    state.counters["events"] = static_cast<double>(of.events);
    state.counters["rate_calls"] = static_cast<double>(of.rate_calls);
    state.counters["jacobians"] = static_cast<double>(of.jacobians);
    state.counters["factorisations"] = static_cast<double>(of.factorisations);
}

void rates(benchmark::State& state, const Scenario& scenario) {
    Stand stand(scenario, kHold);
    TwoStates y(stand.y);
    std::vector<double> f(stand.y.size());
    for (auto _ : state) {
        stand.plant.rates(kHold, y.turn(), f.data());
        benchmark::DoNotOptimize(f.data());
    }
}

void jacobian(benchmark::State& state, const Scenario& scenario) {
    Stand stand(scenario, kHold);
    TwoStates y(stand.y);
    std::vector<double> values(stand.plant.pattern().column.size()), dfdt(stand.y.size());
    for (auto _ : state) {
        stand.plant.jacobian(kHold, y.turn(), values.data(), dfdt.data());
        benchmark::DoNotOptimize(values.data());
    }
}

struct Linear {
    solve::StepMatrix matrix;
    std::vector<double> values, right;
    static constexpr double diagonal = 1 / (0.005 * 0.25); // a step of 5 ms

    explicit Linear(Stand& stand)
        : matrix(stand.plant.pattern()), values(stand.plant.pattern().column.size()),
          right(stand.y.size(), 1.0) {
        std::vector<double> dfdt(stand.y.size());
        stand.plant.jacobian(kHold, stand.y.data(), values.data(), dfdt.data());
        stand.plant.rates(kHold, stand.y.data(), right.data());
    }
};

void factorisation(benchmark::State& state, const Scenario& scenario) {
    Stand stand(scenario, kHold);
    Linear linear(stand);
    for (auto _ : state)
        if (!linear.matrix.factorise(Linear::diagonal, linear.values.data()))
            state.SkipWithError("singular");
}

void solution(benchmark::State& state, const Scenario& scenario) {
    Stand stand(scenario, kHold);
    Linear linear(stand);
    if (!linear.matrix.factorise(Linear::diagonal, linear.values.data()))
        state.SkipWithError("singular");
    std::vector<double> u(linear.right.size());
    for (auto _ : state) {
        linear.matrix.solve(linear.right.data(), u.data());
        benchmark::DoNotOptimize(u.data());
    }
}

} // namespace

void register_costs() {
    const struct {
        const char* name;
        Scenario scenario;
    } cars[] = {{"demo", demo_stop()}, {"rig", rig_stop()}};
    for (const auto& car : cars) {
        const auto add = [&car](const char* what, auto how) {
            return benchmark::RegisterBenchmark((car.name + std::string("/") + what).c_str(), how,
                                                car.scenario);
        };
        add("run", whole_run);
        add("steps", steps);
        add("rates", rates);
        add("jacobian", jacobian);
        add("factorisation", factorisation);
        add("solution", solution);
    }
}

} // namespace pedalbench::bench
