// What a bleeding procedure brought, for the report and for summary.json.
#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

std::string bleeding_report(const Scenario& scenario, const Summary& summary,
                            const OutputUnits& units);
nlohmann::ordered_json bleeding_json(const Scenario& scenario, const Summary& summary,
                                     const OutputUnits& units);

} // namespace pedalbench::runner
