// Many runs of one scenario, each with a few fields at other values.
#pragma once

#include <string>
#include <vector>

#include "record/record.hpp"
#include "study/executor.hpp"

namespace pedalbench::study {

/// A field of a part (or of `fluid`, `surroundings`) at another value than the scenario's.
struct Setting {
    std::string part, field;
    double value = 0; // SI
};

using Variant = std::vector<Setting>;

/// The scenario with other defaults: nothing counts as stated that was not before. Throws
/// std::invalid_argument for a field that does not exist.
Scenario vary(const Scenario& scenario, const Variant& variant);

/// Why the varied car cannot be built; empty when it can.
std::string refusal_of(const Scenario& varied);

/// One number that a run answers with.
struct Figure {
    std::string name; // a channel, or the words of an event: "hold_off: plate opens"
    enum class Moment { peak, held, residual, first_time } moment;
    Dimension dimension;
    double value; // SI; unset: this run has none
    double scale; // the largest value of the channel, or the run's length: what `value` is small to
};

/// Peak, held and residual value of every recorded channel and of the torque of every wheel, and
/// when each kind of event came first.
std::vector<Figure> main_figures(const Summary& summary);

/// What came of a variant. One that cannot be built or run is an answer too, and ends no study.
struct Outcome {
    enum class End { stopped, refused, failed, complete } end = End::stopped;
    std::string reason; // of refused and failed
    std::vector<Figure> figures;
};

/// Hears of each variant when it is done; never of two at a time, but in any order.
class OutcomeSink {
  public:
    virtual ~OutcomeSink() = default;
    /// How many a study will run; where it runs several sets, said once for all of them.
    virtual void begin(std::size_t /*variants*/) {}
    virtual void outcome(std::size_t /*index*/, const Outcome&) {}
};

/// Runs all variants. Once options.stop says so, the rest comes back as stopped.
std::vector<Outcome> run_variants(const Scenario& scenario, const std::vector<Variant>& variants,
                                  Executor& executor, OutcomeSink& sink,
                                  const RunOptions& options = {});

} // namespace pedalbench::study
