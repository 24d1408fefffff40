// FILE -> a fit: a scenario, what was measured beside it, and the fields that may move.
#pragma once

#include <optional>
#include <string>

#include "findings.hpp"
#include "study/fit.hpp"
#include "target_reader.hpp"
#include "units.hpp"

namespace pedalbench::runner {

struct FitFile {
    std::string title, text;
    std::string scenario; // its file
    std::string measured; // the CSV file
    study::Fit fit;
    std::string along; // what the rows were read along, as its column is called
    OutputUnits units = OutputUnits::metric();
    /// Stands for everything that a run of it answers.
    std::string key;
};

/// Reads a fit. Nothing comes back when anything was refused.
std::optional<FitFile> read_fit(const std::string& file, const StudyRequest& request,
                                Findings& findings);

} // namespace pedalbench::runner
