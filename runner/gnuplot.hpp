// Starts the plot program.
#pragma once

#include <filesystem>
#include <string>

namespace pedalbench::runner {

/// Runs gnuplot on a script in `dir`. Empty when all went well, else what went wrong, in words.
std::string run_gnuplot(const std::filesystem::path& dir, const std::string& script);

} // namespace pedalbench::runner
