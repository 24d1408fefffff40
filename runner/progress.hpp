// How far a study has come, for whoever sits in front of it.
#pragma once

#include <chrono>
#include <cstddef>
#include <string>

#include "study/variants.hpp"

namespace pedalbench::runner {

/// "sweep [######--------------] 300 of 1000, 2 lost, 1 min 20 s left". The time left is judged by
/// the `done` of this process, which took `seconds`; `before` of `all` were there already.
std::string progress_line(const std::string& word, std::size_t before, std::size_t done,
                          std::size_t all, std::size_t lost, double seconds);

/// Draws that line on the error stream while that is a terminal, and passes outcomes on.
class Progress final : public study::OutcomeSink {
  public:
    explicit Progress(std::string word, study::OutcomeSink* to = nullptr, std::size_t before = 0);
    ~Progress() override;
    /// May be said again, where there is more to do than was known.
    void begin(std::size_t runs) override;
    void outcome(std::size_t index, const study::Outcome& outcome) override;

  private:
    using Clock = std::chrono::steady_clock;
    std::string word_;
    study::OutcomeSink* to_;
    std::size_t before_, all_ = 0, done_ = 0, lost_ = 0, width_ = 0;
    bool shown_ = false;
    Clock::time_point start_, drawn_;
};

} // namespace pedalbench::runner
