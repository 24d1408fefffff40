#include "progress.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include <fmt/format.h>
#include <unistd.h>

namespace pedalbench::runner {

namespace {

constexpr std::size_t kBar = 24;
constexpr auto kSeldom = std::chrono::milliseconds(100);

std::string time_words(double seconds) {
    if (seconds < 90) return fmt::format("{:.0f} s", std::ceil(seconds));
    if (seconds < 5400) return fmt::format("{:.0f} min", std::ceil(seconds / 60));
    return fmt::format("{:.1f} h", seconds / 3600);
}

} // namespace

std::string progress_words(std::size_t done, std::size_t runs, double seconds) {
    const std::size_t full = runs > 0 ? kBar * std::min(done, runs) / runs : 0;
    std::string text = fmt::format("[{}{}] {} of {} runs", std::string(full, '='),
                                   std::string(kBar - full, ' '), done, runs);
    if (done == 0 || done >= runs) return text;
    const double left = seconds / static_cast<double>(done) * static_cast<double>(runs - done);
    return text + ", " + time_words(left) + " left";
}

Progress::Progress(std::string what)
    : what_(std::move(what)), shown_(isatty(STDERR_FILENO) != 0), start_(Clock::now()),
      said_(start_ - kSeldom) {}

Progress::~Progress() {
    if (shown_) fmt::print(stderr, "\r{:<90}\r", "");
}

void Progress::begin(std::size_t runs) {
    runs_ = runs;
}

void Progress::outcome(std::size_t, const study::Outcome&) {
    ++done_;
    const auto now = Clock::now();
    if (!shown_ || (now - said_ < kSeldom && done_ < runs_)) return;
    said_ = now;
    const double seconds = std::chrono::duration<double>(now - start_).count();
    fmt::print(stderr, "\r{:<90}", what_ + ": " + progress_words(done_, runs_, seconds));
    std::fflush(stderr);
}

} // namespace pedalbench::runner
