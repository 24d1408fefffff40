// What `run --spread` answers: how far each figure may be off because of guesses alone.
#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

#include "study/spread.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// "peak", "held": as the heads of tables and the keys of answers have it.
const char* moment_word(study::Figure::Moment moment);

/// Two tables of at most 100 columns: the figures, and the guesses that move them.
std::string spread_report(const study::Spread& spread, const OutputUnits& units);
/// The same for programs, every figure of it.
nlohmann::ordered_json spread_json(const study::Spread& spread, const OutputUnits& units);

} // namespace pedalbench::runner
