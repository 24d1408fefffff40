// Runs that are made to be laid side by side.
#pragma once

#include <string>
#include <vector>

#include "study/variants.hpp"

namespace pedalbench::study {

/// Lets every scenario record what any of them records, as far as its car has that.
void record_alike(std::vector<Scenario>& scenarios);

/// What became of one run.
struct Ran {
    Outcome::End end = Outcome::End::stopped;
    std::string reason; // of refused and failed
    Summary summary;
};

/// Runs them, each into the sink of its number; `told` hears of each how it ended.
std::vector<Ran> run_beside(const std::vector<Scenario>& scenarios, const std::vector<Sink*>& sinks,
                            Executor& executor, const RunOptions& options = {},
                            OutcomeSink* told = nullptr);

} // namespace pedalbench::study
