#include "study/variants.hpp"

#include <algorithm>
#include <cmath>
#include <mutex>
#include <set>
#include <stdexcept>

#include "circuit/layout.hpp"
#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

// Shares of the largest value of a channel, and of a run's length.
constexpr double kShows = 1e-3, kTimeShows = 1e-4;

Outcome run_one(std::size_t i, const ScenarioAt& scenario_at, const RunOptions& options,
                const FiguresOf& figures_of) {
    Outcome outcome;
    if (options.stop && options.stop()) return outcome;
    Summary summary;
    try {
        const Scenario scenario = scenario_at(i);
        outcome.reason = refusal_of(scenario);
        Sink unheard;
        if (outcome.reason.empty()) summary = simulate(scenario, unheard, options);
    } catch (const InvalidHardware& e) {
        outcome.reason = e.what();
    }
    if (!outcome.reason.empty()) {
        outcome.end = Outcome::End::refused;
        return outcome;
    }
    if (summary.complete) {
        outcome.end = Outcome::End::complete;
        outcome.figures = figures_of(summary);
    } else if (!(options.stop && options.stop())) {
        outcome.end = Outcome::End::failed;
        outcome.reason = summary.error;
    }
    return outcome;
}

/// Keeps what it passes on.
class Keeping final : public OutcomeSink {
  public:
    std::vector<Outcome> all;

    Keeping(OutcomeSink& sink, std::size_t n) : all(n), to_(sink) {}
    const Outcome* known(std::size_t i) override { return to_.known(i); }
    void outcome(std::size_t i, const Outcome& outcome) override {
        all[i] = outcome;
        to_.outcome(i, outcome);
    }

  private:
    OutcomeSink& to_;
};

} // namespace

double error_of(const Figure& f, double accuracy) {
    if (f.dimension == Dimension::pressure) return accuracy;
    return f.scale * (f.dimension == Dimension::time ? kTimeShows : kShows);
}

Scenario vary(const Scenario& scenario, const Variant& variant) {
    Scenario varied = scenario;
    for (const Setting& setting : variant) {
        Values* values = find_values(varied.hardware, setting.part);
        const std::size_t i = values ? values->find(setting.field) : 0;
        if (!values || i == values->size())
            throw std::invalid_argument("no such field: " + setting.part + "." + setting.field);
        values->assume(i, setting.value);
    }
    return varied;
}

std::string refusal_of(const Scenario& varied) {
    Hardware hardware = varied.hardware;
    for (const Refusal& r : complete(hardware))
        return r.field + ": " + r.reason;
    try {
        in_steps(varied); // every change, as it will be made
    } catch (const std::invalid_argument& e) {
        return e.what();
    }
    return {};
}

std::vector<Figure> main_figures(const Summary& summary) {
    using enum Figure::Moment;
    std::vector<Figure> figures;
    const auto is_wheel = [&summary](const std::string& path) {
        return std::any_of(summary.wheels.begin(), summary.wheels.end(),
                           [&path](const WheelEnd& w) { return path == w.part + ".torque"; });
    };
    for (const ChannelFigures& c : summary.channels) {
        if (!c.recorded && !is_wheel(c.channel.path)) continue;
        const double scale = std::max(std::abs(c.peak), std::abs(c.lowest));
        const auto add = [&](Figure::Moment moment, double value) {
            figures.push_back({c.channel.path, moment, c.channel.dimension, value, scale});
        };
        add(peak, c.peak);
        add(held, c.held);
        add(residual, c.residual);
    }
    std::set<std::string> told;
    for (const Event& e : summary.events) {
        const std::string words = e.part.empty() ? e.text : e.part + ": " + e.text;
        if (told.insert(words).second)
            figures.push_back({words, first_time, Dimension::time, e.time, summary.simulated});
    }
    return figures;
}

void run_each(std::size_t n, const ScenarioAt& scenario_at, Executor& executor, OutcomeSink& sink,
              const RunOptions& options, const FiguresOf& figures_of) {
    std::mutex mutex;
    executor.run(n, [&](std::size_t i) {
        {
            const std::lock_guard lock(mutex);
            if (const Outcome* known = sink.known(i)) return sink.outcome(i, *known);
        }
        const Outcome outcome = run_one(i, scenario_at, options, figures_of);
        const std::lock_guard lock(mutex);
        sink.outcome(i, outcome);
    });
}

std::vector<Outcome> run_variants(const Scenario& scenario, const std::vector<Variant>& variants,
                                  Executor& executor, OutcomeSink& sink,
                                  const RunOptions& options) {
    Keeping keeping(sink, variants.size());
    run_each(
        variants.size(), [&](std::size_t i) { return vary(scenario, variants[i]); }, executor,
        keeping, options);
    return std::move(keeping.all);
}

void InOrder::outcome(std::size_t index, const Outcome& outcome) {
    if (index != next_) {
        early_.emplace(index, outcome);
        return;
    }
    to_.outcome(next_++, outcome);
    for (auto first = early_.begin(); first != early_.end() && first->first == next_;
         first = early_.erase(first))
        to_.outcome(next_++, first->second);
}

} // namespace pedalbench::study
