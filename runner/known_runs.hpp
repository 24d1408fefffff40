// Runs of a search that outlive it: the next search with the same car and the same foot goes on
// from them, and so does one that was interrupted.
#pragma once

#include <filesystem>
#include <fstream>
#include <string>

#include "study/match.hpp"

namespace pedalbench::runner {

/// A text file, a line per run: what was wrong in it, a tab, and what was read, in SI. A last line
/// that was cut short does not count. Throws CannotWrite.
class KnownRuns final : public study::RunStore {
  public:
    KnownRuns(const std::filesystem::path& file, std::size_t columns);
    const std::vector<double>& put(const std::string& key, std::vector<double> found) override;

  private:
    std::filesystem::path file_;
    std::ofstream out_;
};

} // namespace pedalbench::runner
