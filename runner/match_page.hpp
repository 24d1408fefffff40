// The page of a search: what `match` answers, and the car with the fault that leads played back
// beside the car as it is.
#pragma once

#include "result_folder.hpp"
#include "study/match.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Runs both once more, into trace_1.csv (the fault that leads) and trace_2.csv (the car as it is)
/// of the folder, or the car as it is alone, where no fault leads; gives the whole page. Empty when
/// it was stopped. Throws CannotWrite.
std::string match_page(const ResultFolder& folder, const Scenario& complaint,
                       const study::Match& match, const OutputUnits& units,
                       study::Executor& executor, const RunOptions& options);

} // namespace pedalbench::runner
