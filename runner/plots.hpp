// Plots of a finished run, written beside its CSV files.
#pragma once

#include <filesystem>
#include <string>

#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Writes the plot script plots.gp and the pictures (SVG, PNG and PDF) into `dir`, where trace.csv
/// already stands; `units` are those that trace.csv was written in. False when no picture could be
/// made (no plot program, for one); `why_not` then says so in words, and the script stays. A run
/// without pictures is still a complete run.
bool write_plots(const std::filesystem::path& dir, const Summary& summary, const OutputUnits& units,
                 std::string& why_not);

} // namespace pedalbench::runner
