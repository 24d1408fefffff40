// How far a study has come, for somebody who sits in front of it.
#pragma once

#include <chrono>
#include <string>

#include "study/variants.hpp"

namespace pedalbench::runner {

/// A bar with the time that is left, on the error stream; nothing at all where that is no terminal.
class Progress final : public study::OutcomeSink {
  public:
    explicit Progress(std::string what);
    ~Progress() override;
    /// May be said again when there is more to do than was known.
    void begin(std::size_t runs) override;
    void outcome(std::size_t index, const study::Outcome& outcome) override;

  private:
    using Clock = std::chrono::steady_clock;

    std::string what_;
    std::size_t runs_ = 0, done_ = 0;
    bool shown_ = false;
    Clock::time_point start_, said_;
};

/// "[======      ]  120 of 300 runs, 40 s left"
std::string progress_words(std::size_t done, std::size_t runs, double seconds);

} // namespace pedalbench::runner
