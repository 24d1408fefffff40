// What a page knows of one run: parts, circuits, channels, numbers, events, cautions.
#pragma once

#include <cstddef>

#include <nlohmann/json_fwd.hpp>

#include "page.hpp"

namespace pedalbench::runner {

/// `bytes`: about as large as the numbers of the run may be.
nlohmann::ordered_json page_run_json(const PageRun& run, const OutputUnits& units,
                                     std::size_t bytes);

} // namespace pedalbench::runner
