// What a study answers: tables of at most 100 columns, the same for programs, and pictures.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "study/evaluation.hpp"
#include "study_file.hpp"

namespace pedalbench::runner {

struct SweepResult {
    std::vector<study::AnswerResult> answers;
    std::size_t rows = 0, complete = 0, refused = 0, failed = 0, points_lost = 0, first_lost = 0;
    std::string reason; // of the first that was lost
};

/// Goes through points.csv once.
SweepResult evaluate(const std::filesystem::path& points, const Study& study);

std::string sweep_report(const Study& study, const SweepResult& result);
nlohmann::ordered_json sweep_values(const Study& study, const SweepResult& result);
std::string sweep_json(const Study& study, const SweepResult& result);

/// A bar of a histogram.
struct Bin {
    double from, to;
    std::size_t points;
};
/// About twice the cube root of the number of values, a rule of thumb of text books.
std::vector<Bin> bins_of(const study::AnswerResult& answer);

/// Writes the tables that the pictures are drawn from (histograms.csv, sensitivity.csv) and
/// plots.gp into `dir`, where points.csv lies. Throws CannotWrite.
void write_sweep_tables(const std::filesystem::path& dir, const Study& study,
                        const SweepResult& result);
/// Draws. False, with the reason, when that cannot be done.
bool draw_sweep(const std::filesystem::path& dir, std::string& why_not);

} // namespace pedalbench::runner
