// Measurements of a workshop against limits of service: pass or fail, line by line, with the
// margin.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "parts/field.hpp"

namespace pedalbench {

struct Scenario;

/// One line of the judgement. A failed one says that a part must not go back as it is; it says
/// nothing of whether the model's answers are as expected.
struct ServiceLine {
    std::string what;  // "run-out"
    std::string where; // the part
    Dimension dimension = Dimension::number;
    double measured = kUnset; // SI; where the limit is stated, for run-out and leaks
    std::optional<double> low, high;
    double margin = kUnset; // to the nearer limit; below zero: past it
    bool pass = false;
    std::string measured_word, limit_word; // of a line that has no numbers: "two", "one chucking"
    std::string source;                    // of the limit
    std::string missing;                   // why it cannot be judged, and what to state; else empty
    std::string field;                     // of the measurement, for a message
};

/// Judges all that was measured, part by part.
std::vector<ServiceLine> judge_service(const Scenario& scenario);

} // namespace pedalbench
