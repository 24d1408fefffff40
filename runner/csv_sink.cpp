#include "csv_sink.hpp"

#include <charconv>
#include <cmath>

namespace pedalbench::runner {

namespace {

constexpr std::size_t kBuffer = 1 << 16;
constexpr int kShortest = 0; // as many digits as tell two neighbouring doubles apart

std::string readings_text(const std::vector<Reading>& readings, const OutputUnits& units) {
    std::string text;
    for (const Reading& r : readings) {
        if (!text.empty()) text += "; ";
        text += r.name + " " + units.text(r.dimension, r.value);
    }
    return text;
}

std::string numbered(const std::string& name, int which) {
    return name + (which > 0 ? "_" + std::to_string(which) : "") + ".csv";
}

} // namespace

std::string bracketed_unit(const Unit& unit) {
    return "[" + (unit.name.empty() ? "1" : std::string(unit.name)) + "]";
}

std::string csv_cell(const std::string& text) {
    if (text.find_first_of(",\"\n\r") == std::string::npos) return text;
    std::string quoted = "\"";
    for (const char c : text) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted += '"';
}

CsvSink::CsvSink(const std::filesystem::path& dir, const OutputUnits& units, int which)
    : units_(units), trace_(dir / numbered("trace", which), std::ios::binary),
      events_(dir / numbered("events", which), std::ios::binary) {
    events_ << "time " << bracketed_unit(units_.of(Dimension::time)) << ",part,event,readings\n";
    failed_ = !trace_ || !events_;
    buffer_.reserve(kBuffer + 4096);
}

void CsvSink::begin(const std::vector<Channel>& channels) {
    buffer_ += "time " + bracketed_unit(units_.of(Dimension::time));
    for (const Channel& c : channels) {
        dimensions_.push_back(c.dimension);
        buffer_ += "," + csv_cell(c.path + " " + bracketed_unit(units_.of(c.dimension)));
    }
    buffer_ += '\n';
}

void CsvSink::put(Dimension dimension, double si, int digits) {
    const double x = units_.number(dimension, si);
    if (!std::isfinite(x)) return; // an empty cell: there was no value
    char text[64];
    const auto end = digits == kShortest ? std::to_chars(text, text + sizeof text, x)
                                         : std::to_chars(text, text + sizeof text, x,
                                                         std::chars_format::general, digits);
    buffer_.append(text, end.ptr);
}

void CsvSink::row(double time, std::span<const double> values) {
    // Both sides of an event are neighbouring doubles, and no digit of the time may be lost.
    put(Dimension::time, time, kShortest);
    for (std::size_t i = 0; i < values.size(); ++i) {
        buffer_ += ',';
        put(dimensions_[i], values[i], 9);
    }
    buffer_ += '\n';
    if (buffer_.size() >= kBuffer) flush();
}

void CsvSink::event(const Event& event) {
    char text[64];
    const auto end =
        std::to_chars(text, text + sizeof text, units_.number(Dimension::time, event.time));
    events_.write(text, end.ptr - text);
    events_ << ',' << csv_cell(event.part) << ',' << csv_cell(event.text) << ','
            << csv_cell(readings_text(event.readings, units_)) << '\n';
    if (!events_) failed_ = true;
}

void CsvSink::flush() {
    trace_.write(buffer_.data(), static_cast<std::streamsize>(buffer_.size()));
    buffer_.clear();
    if (!trace_) failed_ = true;
}

bool CsvSink::close() {
    flush();
    trace_.close();
    events_.close();
    failed_ = failed_ || trace_.fail() || events_.fail();
    return !failed_;
}

} // namespace pedalbench::runner
