#include "progress.hpp"

#include <algorithm>
#include <cstdio>
#include <utility>

#include <fmt/format.h>
#include <unistd.h>

namespace pedalbench::runner {

namespace {

std::string duration(double seconds) {
    const auto s = static_cast<long>(seconds + 0.5);
    if (s < 60) return fmt::format("{} s", s);
    if (s < 3600) return fmt::format("{} min {} s", s / 60, s % 60);
    return fmt::format("{} h {} min", s / 3600, s % 3600 / 60);
}

} // namespace

std::string progress_line(const std::string& word, std::size_t before, std::size_t done,
                          std::size_t all, std::size_t lost, double seconds) {
    constexpr std::size_t kWidth = 20;
    const std::size_t have = std::min(before + done, all);
    const std::size_t full = all > 0 ? have * kWidth / all : kWidth;
    std::string line = fmt::format("{} [{}{}] {} of {}", word, std::string(full, '#'),
                                   std::string(kWidth - full, '-'), have, all);
    if (lost > 0) line += fmt::format(", {} lost", lost);
    if (done > 0 && seconds > 0.5)
        line += ", " +
                duration(seconds / static_cast<double>(done) * static_cast<double>(all - have)) +
                " left";
    return line;
}

Progress::Progress(std::string word, study::OutcomeSink* to, std::size_t before)
    : word_(std::move(word)), to_(to), before_(before) {}

Progress::~Progress() {
    if (shown_) fmt::print(stderr, "\r{:<{}}\r", "", width_);
}

void Progress::begin(std::size_t runs) {
    if (all_ == 0) start_ = drawn_ = Clock::now();
    all_ = runs;
    shown_ = isatty(STDERR_FILENO) != 0;
    if (to_) to_->begin(runs);
}

void Progress::outcome(std::size_t index, const study::Outcome& outcome) {
    if (to_) to_->outcome(index, outcome);
    ++done_;
    lost_ +=
        outcome.end == study::Outcome::End::refused || outcome.end == study::Outcome::End::failed;
    if (!shown_ || outcome.end == study::Outcome::End::stopped) return;
    const auto now = Clock::now();
    if (done_ > 1 && now - drawn_ < std::chrono::milliseconds(100)) return;
    drawn_ = now;
    const double seconds = std::chrono::duration<double>(now - start_).count();
    const std::string line = progress_line(word_, before_, done_, all_, lost_, seconds);
    fmt::print(stderr, "\r{:<{}}", line, width_);
    width_ = std::max(width_, line.size());
    std::fflush(stderr);
}

} // namespace pedalbench::runner
