// summary.json: the figures of a run for programs, every number with its unit.
#pragma once

#include <filesystem>
#include <string>

#include "record/record.hpp"
#include "study/spread.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// The text of summary.json. What has no value (a residual while the foot is still on) is null.
/// Without a study of the spread its key is left out.
std::string summary_json(const Scenario& scenario, const Summary& summary, const OutputUnits& units,
                         const study::Spread* spread = nullptr);

} // namespace pedalbench::runner
