// The picture of a search: how far the best explanations miss each reading.
#pragma once

#include <filesystem>
#include <string>

#include "study/match.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// A line per reading: number, text, what was read, and of the car as it is and of the leaders that
/// are drawn what they answer and by how many standard errors they miss it.
std::string readings_csv(const Scenario& complaint, const study::Match& match,
                         const OutputUnits& units);
/// Draws readings.svg, .png and .pdf from readings.csv. Empty when all went well, else what went
/// wrong, in words.
std::string draw_match(const std::filesystem::path& dir, const Scenario& complaint,
                       const study::Match& match, const OutputUnits& units);

} // namespace pedalbench::runner
