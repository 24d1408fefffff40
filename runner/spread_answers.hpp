// What `run --spread` answers: how far each figure may be off because of guesses alone.
#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

#include "study/spread.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// "peak", "held": as the heads of tables and the keys of answers have it.
const char* moment_word(study::Figure::Moment moment);

/// Two tables of at most 100 columns: the figures, and the guesses that move them.
std::string spread_report(const study::Spread& spread, const OutputUnits& units);
/// The same for programs, every figure of it.
nlohmann::ordered_json spread_json(const study::Spread& spread, const OutputUnits& units);

/// Counts the runs on the error stream while somebody sits in front of it.
class Progress final : public study::OutcomeSink {
  public:
    ~Progress() override;
    void begin(std::size_t runs) override;
    void outcome(std::size_t index, const study::Outcome& outcome) override;

  private:
    std::size_t runs_ = 0, done_ = 0;
    bool shown_ = false;
};

} // namespace pedalbench::runner
