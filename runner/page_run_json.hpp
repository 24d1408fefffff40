// What a page knows of one run: parts, circuits, channels, numbers, events, cautions.
#pragma once

#include <cstddef>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "page.hpp"

namespace pedalbench::runner {

/// Rows of each run that have room in so many bytes, about. Of several runs the same moments.
std::vector<std::vector<std::size_t>> page_rows(const std::vector<PageRun>& runs,
                                                std::size_t bytes);

nlohmann::ordered_json page_run_json(const PageRun& run, const OutputUnits& units,
                                     const std::vector<std::size_t>& rows);

} // namespace pedalbench::runner
