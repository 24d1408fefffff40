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

Outcome run_one(const Scenario& scenario, const Variant& variant, const RunOptions& options) {
    Outcome outcome;
    if (options.stop && options.stop()) return outcome;
    const Scenario varied = vary(scenario, variant);
    Summary summary;
    try {
        outcome.reason = refusal_of(varied);
        Sink unheard;
        if (outcome.reason.empty()) summary = simulate(varied, unheard, options);
    } catch (const InvalidHardware& e) {
        outcome.reason = e.what();
    }
    if (!outcome.reason.empty()) {
        outcome.end = Outcome::End::refused;
        return outcome;
    }
    if (summary.complete) {
        outcome.end = Outcome::End::complete;
        outcome.figures = main_figures(summary);
    } else if (!(options.stop && options.stop())) {
        outcome.end = Outcome::End::failed;
        outcome.reason = summary.error;
    }
    return outcome;
}

} // namespace

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

std::vector<Outcome> run_variants(const Scenario& scenario, const std::vector<Variant>& variants,
                                  Executor& executor, OutcomeSink& sink,
                                  const RunOptions& options) {
    std::vector<Outcome> outcomes(variants.size());
    std::mutex mutex;
    executor.run(variants.size(), [&](std::size_t i) {
        outcomes[i] = run_one(scenario, variants[i], options);
        const std::lock_guard lock(mutex);
        sink.outcome(i, outcomes[i]);
    });
    return outcomes;
}

} // namespace pedalbench::study
