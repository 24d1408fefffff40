// What the page of a study shows: its answers, histograms, and rows as dots.
#pragma once

#include <filesystem>

#include <nlohmann/json_fwd.hpp>

#include "sweep_answers.hpp"

namespace pedalbench::runner {

/// What summary.json holds, with the bins of histograms.csv and rows of points.csv, which lies in
/// `dir`: all of them, or every so manieth.
nlohmann::ordered_json sweep_page_values(const std::filesystem::path& dir, const Study& study,
                                         const SweepResult& result);

} // namespace pedalbench::runner
