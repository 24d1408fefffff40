// The answer on the terminal: at most 100 columns, plain text, readable when piped.
#pragma once

#include <string>

#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// `more` stands before the cautions: what was found out besides the run itself.
std::string report(const Scenario& scenario, const Summary& summary, const OutputUnits& units,
                   const std::string& more = {});

/// "30 to 50 bar", "at most 0.1 bar", "at least once".
std::string wanted_text(const ExpectationResult& result, const OutputUnits& units);
/// "published", "practice", "judgement", "given".
std::string mark_word(Mark mark);

} // namespace pedalbench::runner
