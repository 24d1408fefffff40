// points.csv: the rows of a study, one line each, in the order of their numbers.
#pragma once

#include <cstddef>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "study/sweep.hpp"
#include "study_file.hpp"

namespace pedalbench::runner {

/// "row,what,hold_off.plate_spring [N],opening pressure [bar],remark\n". In the units of the
/// answers, with as many digits as tell two neighbouring numbers apart; no number: an empty cell.
/// The remark is empty, or says why a part refused, or why a run could not go on.
std::string points_header(const Study& study);

/// Appends rows to a file and keeps what is whole in it: a study that was broken off goes on behind
/// the last finished row. Rows hang on their number alone, so the bytes are those of one go.
class PointsWriter final : public study::OutcomeSink {
  public:
    /// `first`: the number of the file's first row. Throws CannotWrite when the file cannot be
    /// opened or another process writes to it.
    PointsWriter(const std::filesystem::path& file, const Study& study, const study::Rows& rows,
                 std::size_t first);
    ~PointsWriter() override;
    PointsWriter(const PointsWriter&) = delete;
    PointsWriter& operator=(const PointsWriter&) = delete;

    /// Takes the next row over as a line of another file of this study, before any is made here.
    void take(const std::string& line);
    /// Rows that were there before one was made.
    std::size_t had() const { return had_; }
    /// Rows that it has now.
    std::size_t has() const { return has_; }
    bool failed() const { return failed_; }
    /// Number i after those that were there. One that was stopped ends the file.
    void outcome(std::size_t i, const study::Outcome& outcome) override;
    /// Writes what is left; false when anything was lost.
    bool close();

  private:
    void flush();

    const Study& study_;
    const study::Rows& rows_;
    std::size_t first_, had_ = 0, has_ = 0, flush_at_;
    int file_ = -1;
    std::string buffer_;
    bool ended_ = false, failed_ = false;
};

/// Whole lines of a file of rows, 0 where there is none.
std::size_t whole_lines(const std::filesystem::path& file);

/// One row, in the units of the file.
struct PointsRow {
    std::size_t number = 0;
    std::string what;
    study::Outcome::End end = study::Outcome::End::complete;
    std::vector<double> inputs, answers; // unset: an empty cell
    std::string remark;
};

/// Reads points.csv row by row.
class PointsReader {
  public:
    /// Throws CannotWrite where the file cannot be read.
    PointsReader(const std::filesystem::path& file, const Study& study);
    /// False at the end. Throws CannotWrite for a line that is not a row of this study.
    bool next(PointsRow& row);

  private:
    std::ifstream in_;
    std::string name_;
    std::size_t inputs_, answers_;
    std::string line_;
    std::vector<std::string> cells_;
};

} // namespace pedalbench::runner
