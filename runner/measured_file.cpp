#include "measured_file.hpp"

#include <algorithm>
#include <filesystem>

#include "words.hpp"

namespace pedalbench::runner {

namespace {

/// "inlet" of "inlet [bar]".
std::string name_of(std::string_view cell) {
    return std::string(trim(trim(cell).substr(0, trim(cell).rfind('['))));
}

} // namespace

std::optional<MeasuredFile> MeasuredFile::open(const Text& path, const Source& source,
                                               std::string_view wanted_as) {
    MeasuredFile out;
    namespace fs = std::filesystem;
    out.file_ =
        (fs::path(source.file).parent_path() / path.text).lexically_normal().generic_string();
    auto text = read_text_file(out.file_, path.at, wanted_as, source.findings);
    if (!text) return {};
    if (text->starts_with("\xef\xbb\xbf")) text->erase(0, 3);
    int line = 0;
    for (std::string& row : split(*text, '\n')) {
        if (++line == 1) {
            out.header_ = split(row, ',');
        } else if (!trim(row).empty()) {
            auto cells = split(row, ',');
            if (cells.size() == out.header_.size())
                out.rows_.push_back({line, std::string(trim(row)), std::move(cells)});
            else if (source.findings.size() < 20)
                source.findings.add(
                    {out.file_, line, 1}, "", counted(static_cast<long>(cells.size()), "cell"),
                    std::to_string(out.header_.size()) +
                        ", as there are names in the first line; " +
                        (cells.size() > out.header_.size() ? "numbers have a decimal point"
                                                           : "an empty cell keeps its comma"));
        }
    }
    return out;
}

std::optional<MeasuredFile::Column> MeasuredFile::column(const Text& wanted, Dimension dimension,
                                                         std::string_view wanted_as,
                                                         Findings& findings) const {
    std::vector<std::string> names;
    for (std::size_t i = 0; i < header_.size(); ++i) {
        const std::string_view cell = trim(header_[i]);
        const std::string name = name_of(cell);
        names.push_back(name);
        if (name != trim(wanted.text)) continue;
        for (std::size_t other = i + 1; other < header_.size(); ++other)
            if (name_of(header_[other]) == name) {
                findings.add({file_, 1, 1}, name, "two columns of that name", "a name for each");
                return {};
            }
        const std::size_t open = cell.rfind('[');
        const bool bracketed = open != std::string_view::npos && cell.ends_with(']');
        const std::string_view unit =
            bracketed ? trim(cell.substr(open + 1, cell.size() - open - 2)) : std::string_view();
        const Unit* known = find_unit(unit);
        if (!bracketed || !known || known->dimension != dimension) {
            findings.add({file_, 1, 1}, name, std::string(cell),
                         dimension_with_article(dimension) + " with its unit, such as " + name +
                             " [" + std::string(OutputUnits::metric().of(dimension).name) + "]");
            return {};
        }
        return Column{i, known, name};
    }
    if (header_.size() == 1 && header_[0].find(';') != std::string::npos)
        findings.add({file_, 1, 1}, "", "semicolons between its names",
                     "commas between cells, and points in numbers");
    else
        findings.add(wanted.at, wanted_as, wanted.text,
                     "a column of " + file_ + ": " + one_of(names), nearest(wanted.text, names));
    return {};
}

bool MeasuredFile::has(std::string_view name) const {
    return std::any_of(header_.begin(), header_.end(),
                       [&](const std::string& cell) { return name_of(cell) == trim(name); });
}

std::string_view MeasuredFile::found(std::size_t row, const Column& column) const {
    return trim(rows_[row].cells[column.index]);
}

bool MeasuredFile::empty(std::size_t row, const Column& column) const {
    return found(row, column).empty();
}

Position MeasuredFile::at(std::size_t row, const Column& column) const {
    return {file_, rows_[row].line, static_cast<int>(column.index) + 1};
}

std::optional<double> MeasuredFile::cell(std::size_t row, const Column& column, const Field& limits,
                                         Findings& findings) const {
    const std::string_view text = found(row, column);
    const auto x = whole_number(text);
    const double si = x ? column.unit->to_si(*x) : kUnset;
    if (x && si >= limits.low && si <= limits.high) return si;
    findings.add(at(row, column), limits.name, text.empty() ? "nothing" : text,
                 allowed_text(limits, column.unit));
    return {};
}

} // namespace pedalbench::runner
