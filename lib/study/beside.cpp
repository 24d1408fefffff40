#include "study/beside.hpp"

#include <algorithm>
#include <mutex>
#include <set>

#include "circuit/layout.hpp"

namespace pedalbench::study {
namespace {

Ran run_one(const Scenario& scenario, Sink& sink, const RunOptions& options) {
    Ran run;
    if (options.stop && options.stop()) return run;
    try {
        run.summary = simulate(scenario, sink, options);
    } catch (const InvalidHardware& e) {
        run.end = Outcome::End::refused;
        run.reason = e.what();
        return run;
    }
    if (run.summary.complete) {
        run.end = Outcome::End::complete;
    } else if (!(options.stop && options.stop())) {
        run.end = Outcome::End::failed;
        run.reason = run.summary.error;
    }
    return run;
}

} // namespace

void record_alike(std::vector<Scenario>& scenarios) {
    std::vector<std::string> all;
    for (const Scenario& s : scenarios)
        for (const std::string& path : recorded_of(s))
            if (std::find(all.begin(), all.end(), path) == all.end()) all.push_back(path);
    for (Scenario& s : scenarios) {
        std::set<std::string> has;
        for (const Channel& c : channels_of(s))
            has.insert(c.path);
        s.record = all;
        std::erase_if(s.record, [&has](const std::string& path) { return !has.count(path); });
    }
}

std::vector<Ran> run_beside(const std::vector<Scenario>& scenarios, const std::vector<Sink*>& sinks,
                            Executor& executor, const RunOptions& options, OutcomeSink* told) {
    std::vector<Ran> all(scenarios.size());
    std::mutex mutex;
    executor.run(scenarios.size(), [&](std::size_t i) {
        all[i] = run_one(scenarios[i], *sinks[i], options);
        if (!told) return;
        const std::lock_guard lock(mutex);
        told->outcome(i, {all[i].end, all[i].reason, {}});
    });
    return all;
}

} // namespace pedalbench::study
