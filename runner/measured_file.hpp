// A CSV file of what was measured: its first line names the columns with their units in brackets.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reading.hpp"

namespace pedalbench::runner {

class MeasuredFile {
  public:
    struct Column {
        std::size_t index = 0;
        const Unit* unit = nullptr;
        std::string name;
    };

    /// Reads the file that `path` names, from where `source` lies; null when it was refused.
    static std::optional<MeasuredFile> open(const Text& path, const Source& source,
                                            std::string_view wanted_as);

    /// The column of that name, with a unit of that dimension.
    std::optional<Column> column(const Text& wanted, Dimension dimension,
                                 std::string_view wanted_as, Findings& findings) const;
    bool has(std::string_view name) const;

    const std::string& file() const { return file_; }
    std::size_t rows() const { return rows_.size(); }
    /// A cell in SI, checked against `limits`; refused, and null, where it is no such number.
    std::optional<double> cell(std::size_t row, const Column& column, const Field& limits,
                               Findings& findings) const;
    bool empty(std::size_t row, const Column& column) const;
    Position at(std::size_t row, const Column& column) const;
    /// The whole line.
    std::string_view text(std::size_t row) const { return rows_[row].text; }

  private:
    struct Row {
        int line;
        std::string text;
        std::vector<std::string> cells;
    };
    std::string_view found(std::size_t row, const Column& column) const;

    std::string file_;
    std::vector<std::string> header_;
    std::vector<Row> rows_; // none that is blank
};

} // namespace pedalbench::runner
