// What a fit answers: for people, for programs, as a table and as a picture.
#pragma once

#include <filesystem>
#include <string>

#include "fit_file.hpp"

namespace pedalbench::runner {

/// How the command would be called that runs the scenario with the fields as fitted.
std::string command_with(const FitFile& file, const study::FitResult& result);

std::string fit_report(const FitFile& file, const study::FitResult& result);
std::string fit_json(const FitFile& file, const study::FitResult& result);
/// A line per row: what it was read along, and of each column what was measured, its standard
/// error, what the run shows at the start and as fitted, and by how many errors that is off.
std::string fit_csv(const FitFile& file, const study::FitResult& result);
/// Draws fit.svg, .png and .pdf from fit.csv in `dir`; empty when all went well.
std::string draw_fit(const std::filesystem::path& dir, const FitFile& file,
                     const study::FitResult& result);

/// "FILE: inlet: found 3 rows at 98 bar to 102 bar, allowed 0 bar to 96 bar, what the run comes to
/// ...".
std::string beyond_words(const FitFile& file, const study::FitResult& result);

} // namespace pedalbench::runner
