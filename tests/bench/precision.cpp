// Time against error, beside SUNDIALS CVODE: the same rates, the same Jacobian, the same weights of
// the error, rows on the same grid.
#include "bench.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "oracle/cvode_run.hpp"

namespace pedalbench::bench {
namespace {

constexpr double kRows = 0.01; // s between rows that are compared
constexpr double kReference =
    1e-3; // of the tolerance; its own error is about a thousandth of 1 kPa

/// Pressures on the grid, row after row.
using Grid = std::vector<std::vector<double>>;

Grid on_grid(const Trace& trace) {
    Grid grid;
    for (std::size_t i = 0; i < trace.time.size(); ++i)
        if (std::fabs(trace.time[i] - kRows * static_cast<double>(grid.size())) < 1e-9)
            grid.push_back(trace.rows[i]);
    return grid;
}

Scenario with_pressures(Scenario s) {
    s.record.clear();
    for (const Channel& c : channels_of(s))
        if (c.path.ends_with(".pressure")) s.record.push_back(c.path);
    s.expectations.clear();
    return s;
}

Trace our_run(const Scenario& s, double scale) {
    Trace trace;
    RunOptions options;
    options.tolerance_scale = scale;
    options.sample = kRows;
    const Summary summary = simulate(s, trace, options);
    if (!summary.complete) throw std::runtime_error(summary.error);
    return trace;
}

const Grid& reference(const std::string& name, const Scenario& s) {
    static std::map<std::string, Grid> kept;
    const auto found = kept.find(name);
    if (found != kept.end()) return found->second;
    return kept.emplace(name, on_grid(our_run(s, kReference))).first->second;
}

void put_error(benchmark::State& state, const Trace& trace, const Grid& wanted) {
    const Grid found = on_grid(trace);
    std::vector<double> errors;
    for (std::size_t i = 0; i < std::min(found.size(), wanted.size()); ++i)
        for (std::size_t c = 0; c < wanted[i].size(); ++c)
            errors.push_back(std::fabs(found[i][c] - wanted[i][c]));
    if (found.size() != wanted.size() || errors.empty()) return state.SkipWithError("rows differ");
    std::sort(errors.begin(), errors.end());
    state.counters["largest"] = errors.back();
    state.counters["most"] = errors[errors.size() * 99 / 100];
}

void ours(benchmark::State& state, const std::string& name, const Scenario& s, double scale) {
    const Grid& wanted = reference(name, s);
    Trace trace;
    for (auto _ : state)
        trace = our_run(s, scale);
    put_error(state, trace, wanted);
}

void theirs(benchmark::State& state, const std::string& name, const Scenario& s,
            const oracle::CvodeOptions& options) {
    const Grid& wanted = reference(name, s);
    oracle::CvodeRun run;
    try {
        for (auto _ : state)
            run = oracle::cvode_run(s, options);
    } catch (const std::runtime_error& gave_up) {
        return state.SkipWithError(gave_up.what());
    }
    state.counters["steps"] = static_cast<double>(run.steps);
    put_error(state, run.trace, wanted);
}

} // namespace

void register_precision() {
    const auto cut = [](Scenario s, double duration) {
        s.duration = duration;
        std::erase_if(s.changes, [&](const auto& c) { return c.at >= duration; });
        return s;
    };
    const std::vector<std::pair<std::string, Scenario>> cases = {
        {"stop", demo_stop()},
        {"pumped", cut(load("scenarios/lessons/pumping_up.yaml"), 12)},
        {"front_lost", load("scenarios/lessons/front_lost.yaml")},
        {"heat", cut(load("scenarios/complaints/floor_after_a_descent.yaml"), 600)},
    };
    for (const auto& [name, whole] : cases) {
        const Scenario s = with_pressures(whole);
        for (const double scale : {10.0, 1.0, 0.1, 0.01}) {
            const std::string at = "/" + name + "/" + std::to_string(scale);
            const auto add = [&, n = name](const char* who, auto how, auto what) {
                benchmark::RegisterBenchmark((who + at).c_str(), how, n, s, what)
                    ->Iterations(1)
                    ->Repetitions(scale < 0.1 || s.duration > 100 ? 1 : 3);
            };
            add("ours", ours, scale);
            oracle::CvodeOptions options;
            options.tolerance_scale = scale;
            options.sample = kRows;
            add("cvode_located", theirs, options);
            options.located = false;
            add("cvode_continuous", theirs, options);
            if (scale == 1.0 && s.duration < 10) {
                // Located: by their signs it may crawl through the hold for minutes.
                options.dense = options.located = true;
                options.most_steps = 100000;
                add("cvode_dense", theirs, options);
            }
        }
    }
}

} // namespace pedalbench::bench
