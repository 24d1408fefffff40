// Reads a trace back from trace.csv, thinned to what a picture can show.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace pedalbench::runner {

struct TraceColumn {
    std::string path; // "hold_off.inlet.pressure"
    std::string unit; // "bar"; empty for a number
    int number = 0;   // 1 for the first column of the file
    double low = 0;   // over all rows, thinned out or not
    double high = 0;
    std::vector<double> value;
};

struct TraceFile {
    std::vector<TraceColumn> columns; // the first one is the time
    long stride = 1;                  // every how many rows one was kept

    const TraceColumn* find(const std::string& path) const;
    std::size_t rows() const { return columns.empty() ? 0 : columns.front().value.size(); }
    /// The kept row nearest in time.
    std::size_t row_at(double time) const;
};

/// Reads `file`, keeping at most about `rows` of its rows. Throws std::runtime_error in words.
TraceFile read_trace_file(const std::filesystem::path& file, long rows);

} // namespace pedalbench::runner
