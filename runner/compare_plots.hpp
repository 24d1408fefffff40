// Pictures of several runs over each other.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "compare_sentences.hpp"
#include "picture.hpp"

namespace pedalbench::runner {

/// The pictures of runs whose trace_<number>.csv stand in `dir`. Throws std::runtime_error in
/// words.
std::vector<Picture> compare_pictures(const std::filesystem::path& dir, const Compared& compared);

/// Writes plots.gp and the pictures (SVG, PNG and PDF) into `dir`, where trace_<number>.csv of
/// every run already stands. Each run has its colour and its dashes, each quantity its panel. False
/// when no picture could be made; `why_not` then says so in words.
bool write_compare_plots(const std::filesystem::path& dir, const Compared& compared,
                         std::string& why_not);

} // namespace pedalbench::runner
