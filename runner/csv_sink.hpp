// Streams a run to trace.csv and events.csv, in the units of the answers.
#pragma once

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// trace.csv: `time [s],front_left.pressure [bar]`, comma, point, LF, numbers to nine digits. Rows
/// are written as they come, so that a run of an hour needs no memory and an interrupted one leaves
/// a trace.
class CsvSink final : public Sink {
  public:
    /// `which`: of several runs in one folder, as in trace_2.csv; 0: the only one.
    CsvSink(const std::filesystem::path& dir, const OutputUnits& units, int which = 0);

    void begin(const std::vector<Channel>& channels) override;
    void row(double time, std::span<const double> values) override;
    void event(const Event& event) override;

    /// True once anything could not be written (a full disk); the run may then as well stop.
    bool failed() const { return failed_; }
    /// Writes what is left; false when anything was lost.
    bool close();

  private:
    void put(Dimension dimension, double si, int digits);
    void flush();

    OutputUnits units_;
    std::ofstream trace_, events_;
    std::vector<Dimension> dimensions_;
    std::string buffer_;
    bool failed_ = false;
};

/// "[bar]"; a dimensionless channel has "[1]".
std::string bracketed_unit(const Unit& unit);
/// A cell of a CSV file, with quotes where it needs them.
std::string csv_cell(const std::string& text);

} // namespace pedalbench::runner
