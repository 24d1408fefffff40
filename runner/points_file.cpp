#include "points_file.hpp"

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstring>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include "csv_sink.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

namespace fs = std::filesystem;
using study::Outcome;

namespace {

constexpr std::size_t kBuffer = 1 << 16;
constexpr std::string_view kRefusedMark = "refused: ", kFailedMark = "failed: ";

void put(std::string& line, double x) {
    line += ',';
    if (!std::isfinite(x)) return;
    char text[64];
    line.append(text, std::to_chars(text, text + sizeof text, x).ptr);
}

/// Cells of a line; a quoted one may hold commas and doubled quotes.
void split_cells(const std::string& line, std::vector<std::string>& cells) {
    cells.assign(1, {});
    bool quoted = false;
    for (std::size_t i = 0; i < line.size(); ++i) {
        const char c = line[i];
        if (quoted && c == '"' && i + 1 < line.size() && line[i + 1] == '"')
            cells.back() += line[++i];
        else if (c == '"')
            quoted = !quoted;
        else if (c == ',' && !quoted)
            cells.emplace_back();
        else
            cells.back() += c;
    }
}

double number_of(const std::string& cell) {
    double x = kUnset;
    std::from_chars(cell.data(), cell.data() + cell.size(), x);
    return x;
}

} // namespace

std::string points_header(const Study& study) {
    std::string line = "row,what";
    const auto column = [&](const std::string& name, Dimension d) {
        line += ',' + csv_cell(name + " " + bracketed_unit(study.units.of(d)));
    };
    for (const study::Varied& v : study.sweep.varied)
        column(v.path, v.dimension);
    for (const study::Answer& a : study.sweep.answers)
        column(a.text, a.dimension);
    return line + ",remark\n";
}

PointsWriter::PointsWriter(const fs::path& file, const Study& study, const study::Rows& rows,
                           std::size_t first)
    : study_(study), rows_(rows), first_(first),
      // A run is worth a write of its own; a row without a run is not.
      flush_at_(study.sweep.still() ? kBuffer : 1) {
    file_ = open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    if (file_ < 0) throw CannotWrite("cannot write " + file.string() + ": " + strerror(errno));
    if (flock(file_, LOCK_EX | LOCK_NB) != 0) {
        ::close(file_);
        throw CannotWrite("another process is writing to " + file.string());
    }
    // What was cut off in the middle of a line is made again.
    std::string chunk(kBuffer, '\0');
    off_t at = 0, end = 0;
    for (ssize_t n; (n = pread(file_, chunk.data(), chunk.size(), at)) > 0; at += n)
        for (ssize_t i = 0; i < n; ++i)
            if (chunk[static_cast<std::size_t>(i)] == '\n') ++had_, end = at + i + 1;
    has_ = had_;
    if (ftruncate(file_, end) != 0 || lseek(file_, end, SEEK_SET) != end) {
        ::close(file_);
        throw CannotWrite("cannot write " + file.string() + ": " + strerror(errno));
    }
}

PointsWriter::~PointsWriter() {
    close();
}

void PointsWriter::take(const std::string& line) {
    buffer_ += line + '\n';
    has_ = ++had_;
    if (buffer_.size() >= kBuffer) flush();
}

void PointsWriter::outcome(std::size_t i, const Outcome& outcome) {
    if (outcome.end == Outcome::End::stopped || had_ + i != has_) ended_ = true;
    if (ended_) return;
    const std::size_t row = first_ + has_++;
    buffer_ += std::to_string(row) + ',' + csv_cell(rows_.name(row));
    const std::vector<double> x = rows_.inputs(row);
    const study::Sweep& sweep = study_.sweep;
    for (std::size_t d = 0; d < x.size(); ++d)
        put(buffer_, study_.units.number(sweep.varied[d].dimension, x[d]));
    for (std::size_t a = 0; a < sweep.answers.size(); ++a)
        put(buffer_, outcome.end == Outcome::End::complete
                         ? study_.units.number(sweep.answers[a].dimension, outcome.figures[a].value)
                         : kUnset);
    std::string remark;
    if (outcome.end == Outcome::End::refused) remark = kRefusedMark;
    if (outcome.end == Outcome::End::failed) remark = kFailedMark;
    if (!remark.empty()) remark += outcome.reason;
    std::replace_if(
        remark.begin(), remark.end(), [](char c) { return c == '\n' || c == '\r'; }, ' ');
    buffer_ += ',' + csv_cell(remark) + '\n';
    if (buffer_.size() >= flush_at_) flush();
}

void PointsWriter::flush() {
    for (std::size_t at = 0; at < buffer_.size() && !failed_;) {
        const ssize_t n = write(file_, buffer_.data() + at, buffer_.size() - at);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0)
            failed_ = true;
        else
            at += static_cast<std::size_t>(n);
    }
    buffer_.clear();
}

bool PointsWriter::close() {
    if (file_ < 0) return !failed_;
    flush();
    failed_ = ::close(file_) != 0 || failed_;
    file_ = -1;
    return !failed_;
}

std::size_t whole_lines(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::string chunk(kBuffer, '\0');
    std::size_t lines = 0;
    while (in.read(chunk.data(), static_cast<std::streamsize>(chunk.size())) || in.gcount() > 0)
        lines +=
            static_cast<std::size_t>(std::count(chunk.begin(), chunk.begin() + in.gcount(), '\n'));
    return lines;
}

PointsReader::PointsReader(const fs::path& file, const Study& study)
    : in_(file, std::ios::binary), name_(file.string()), inputs_(study.sweep.varied.size()),
      answers_(study.sweep.answers.size()) {
    if (!std::getline(in_, line_) || line_ + '\n' != points_header(study))
        throw CannotWrite(name_ + " does not hold the rows of this study");
}

bool PointsReader::next(PointsRow& row) {
    if (!std::getline(in_, line_)) return false;
    split_cells(line_, cells_);
    if (cells_.size() != 3 + inputs_ + answers_)
        throw CannotWrite(name_ + " has a line that is no row of this study: " + line_);
    row.number = static_cast<std::size_t>(number_of(cells_[0]));
    row.what = cells_[1];
    row.inputs.resize(inputs_);
    row.answers.resize(answers_);
    for (std::size_t d = 0; d < inputs_; ++d)
        row.inputs[d] = number_of(cells_[2 + d]);
    for (std::size_t a = 0; a < answers_; ++a)
        row.answers[a] = number_of(cells_[2 + inputs_ + a]);
    row.remark = cells_.back();
    row.end = row.remark.starts_with(kRefusedMark)  ? Outcome::End::refused
              : row.remark.starts_with(kFailedMark) ? Outcome::End::failed
                                                    : Outcome::End::complete;
    return true;
}

} // namespace pedalbench::runner
