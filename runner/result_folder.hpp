// Where the files of a run go: beside the old result until the new one is complete, then over it.
#pragma once

#include <filesystem>
#include <stdexcept>
#include <string>

namespace pedalbench::runner {

struct CannotWrite : std::runtime_error {
    using std::runtime_error::runtime_error;
};

/// A run writes into `<wanted>.incomplete`. publish() moves its files to `wanted`, summary.json (of
/// a comparison comparison.json) last, so that a folder with one is always whole. A run that could
/// not go on stays where it is, and the old complete result stays too. Files that are not from a
/// run are never touched.
class ResultFolder {
  public:
    /// Throws CannotWrite when it cannot be made or another run is writing there.
    explicit ResultFolder(const std::filesystem::path& wanted);
    ~ResultFolder();
    ResultFolder(const ResultFolder&) = delete;
    ResultFolder& operator=(const ResultFolder&) = delete;

    const std::filesystem::path& writing() const { return writing_; }
    const std::filesystem::path& wanted() const { return wanted_; }

    /// Writes a whole file into the folder; throws CannotWrite when that fails.
    void write(const std::string& name, const std::string& text) const;
    /// Throws CannotWrite; the files that were not moved are then still in writing().
    void publish();

  private:
    std::filesystem::path wanted_, writing_;
    int lock_ = -1;
};

} // namespace pedalbench::runner
