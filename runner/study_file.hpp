// FILE -> a study: a scenario, what varies in it, over which points, and what is looked at.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "findings.hpp"
#include "study/sweep.hpp"
#include "target_reader.hpp"
#include "units.hpp"

namespace pedalbench::runner {

struct Study {
    std::string title, text;
    study::Sweep sweep;
    OutputUnits units = OutputUnits::metric();
    /// Stands for this program's version, the text of every file, the command's own changes and the
    /// units: what rows were made of.
    std::string key;
};

/// Reads a study. Nothing comes back when anything was refused.
std::optional<Study> read_study(const std::string& file, const StudyRequest& request,
                                Findings& findings);

} // namespace pedalbench::runner
