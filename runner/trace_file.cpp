#include "trace_file.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <fstream>
#include <limits>
#include <stdexcept>
#include <string_view>

namespace pedalbench::runner {

namespace {

std::vector<std::string_view> cells(std::string_view line) {
    std::vector<std::string_view> found;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    for (;;) {
        const std::size_t comma = line.find(',');
        found.push_back(line.substr(0, comma));
        if (comma == std::string_view::npos) return found;
        line.remove_prefix(comma + 1);
    }
}

/// "front_left.pressure [bar]" to its path and unit.
TraceColumn column_of(std::string_view head) {
    TraceColumn column;
    const std::size_t open = head.rfind(" [");
    if (open != std::string_view::npos && head.back() == ']') {
        column.unit = head.substr(open + 2, head.size() - open - 3);
        head = head.substr(0, open);
    }
    column.path = head;
    column.low = std::numeric_limits<double>::infinity();
    column.high = -column.low;
    return column;
}

double number(std::string_view cell) {
    double value = std::numeric_limits<double>::quiet_NaN();
    std::from_chars(cell.data(), cell.data() + cell.size(), value);
    return value;
}

} // namespace

const TraceColumn* TraceFile::find(const std::string& path) const {
    for (const TraceColumn& column : columns)
        if (column.path == path) return &column;
    return nullptr;
}

std::size_t TraceFile::row_at(double time) const {
    const std::vector<double>& t = columns.front().value;
    const auto after = std::lower_bound(t.begin(), t.end(), time);
    if (after == t.begin()) return 0;
    if (after == t.end()) return t.size() - 1;
    const auto before = after - 1;
    return static_cast<std::size_t>((time - *before < *after - time ? before : after) - t.begin());
}

TraceFile read_trace_file(const std::filesystem::path& file, long rows) {
    std::ifstream in(file, std::ios::binary);
    if (!in) throw std::runtime_error("there is no " + file.filename().string() + " to draw");
    std::string line;
    long lines = 0;
    while (std::getline(in, line))
        ++lines;
    if (lines < 3) throw std::runtime_error(file.filename().string() + " has too few rows to draw");

    TraceFile trace;
    trace.stride = std::max(1L, (lines - 1 + rows - 1) / rows);
    in.clear();
    in.seekg(0);
    std::getline(in, line);
    for (const std::string_view head : cells(line)) {
        trace.columns.push_back(column_of(head));
        trace.columns.back().number = static_cast<int>(trace.columns.size());
    }
    for (long row = 0; std::getline(in, line); ++row) {
        const std::vector<std::string_view> cell = cells(line);
        if (cell.size() != trace.columns.size())
            throw std::runtime_error(file.filename().string() + ", line " +
                                     std::to_string(row + 2) + ": found " +
                                     std::to_string(cell.size()) + " cells under " +
                                     std::to_string(trace.columns.size()) + " headings");
        for (std::size_t i = 0; i < cell.size(); ++i) {
            TraceColumn& column = trace.columns[i];
            const double value = number(cell[i]);
            if (std::isfinite(value)) {
                column.low = std::min(column.low, value);
                column.high = std::max(column.high, value);
            }
            if (row % trace.stride == 0) column.value.push_back(value);
        }
    }
    return trace;
}

} // namespace pedalbench::runner
