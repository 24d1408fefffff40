// What `valve` answers: a report for people, and the same for programs.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "compare_sentences.hpp"
#include "study/valve_check.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// A check with what belongs to it on the command line.
struct CheckedValve {
    std::array<RunName, 2> cars; // old, new
    study::ValveCheck check;
    OutputUnits units = OutputUnits::metric();
};

/// At most 100 columns: what was changed, what matters in sentences, tables old | new | difference,
/// how it was driven, cautions.
std::string valve_report(const CheckedValve& checked);
std::string valve_json(const CheckedValve& checked);

} // namespace pedalbench::runner
