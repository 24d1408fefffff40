// Many runs of one scenario, each with a few fields at other values.
#pragma once

#include <functional>
#include <map>
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
    enum class Moment { peak, lowest, held, residual, end, first_time } moment;
    Dimension dimension;
    double value; // SI; unset: this run has none
    double scale; // the largest value of the channel, or the run's length: what `value` is small to
};

/// What a figure may be off by the run's own error [SI]: two values that are nearer to each other
/// cannot be told apart. For a pressure the accuracy that the scenario asks for, for others a share
/// of their scale.
double error_of(const Figure& figure, double accuracy);

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
    /// What came of it earlier; null: it must be run. Asked of one at a time.
    virtual const Outcome* known(std::size_t /*index*/) { return nullptr; }
    virtual void outcome(std::size_t /*index*/, const Outcome&) {}
};

/// The scenario of a run by its number: a million of them need no memory.
using ScenarioAt = std::function<Scenario(std::size_t)>;
/// What is kept of a run.
using FiguresOf = std::function<std::vector<Figure>(const Summary&)>;

/// Runs scenario_at(0) to scenario_at(n - 1) and tells the sink of each; what the sink knows
/// already is not run again. Keeps nothing. Once options.stop says so, the rest is told as stopped.
void run_each(std::size_t n, const ScenarioAt& scenario_at, Executor& executor, OutcomeSink& sink,
              const RunOptions& options = {}, const FiguresOf& figures_of = main_figures);

/// Runs all variants and keeps what came of them.
std::vector<Outcome> run_variants(const Scenario& scenario, const std::vector<Variant>& variants,
                                  Executor& executor, OutcomeSink& sink,
                                  const RunOptions& options = {});

/// Passes outcomes on by rising number, whoever finishes first; holds back those that came early.
class InOrder final : public OutcomeSink {
  public:
    explicit InOrder(OutcomeSink& to) : to_(to) {}
    void begin(std::size_t variants) override { to_.begin(variants); }
    const Outcome* known(std::size_t index) override { return to_.known(index); }
    void outcome(std::size_t index, const Outcome& outcome) override;

  private:
    OutcomeSink& to_;
    std::size_t next_ = 0;
    std::map<std::size_t, Outcome> early_;
};

} // namespace pedalbench::study
