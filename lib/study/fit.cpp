#include "study/fit.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "circuit/layout.hpp"

namespace pedalbench::study {
namespace {

constexpr double kTighter = 0.1;
constexpr int kMostTurns = 4;    // searches, each from a better place that the last one saw
constexpr double kBeyond = 0.02; // of the run's range: gauges are not exact, either

struct Stopped {};

/// To the last bit.
std::string key_of(const std::vector<double>& x) {
    std::string key;
    for (const double v : x) {
        char text[40];
        std::snprintf(text, sizeof text, "%s%a", key.empty() ? "" : " ", v);
        key += text;
    }
    return key;
}

/// Makes runs and reads them at the rows: column by column, then how far the run went.
class Reader {
  public:
    Reader(const Fit& fit, Executor& executor, RunStore& store, OutcomeSink& sink,
           const RunOptions& options)
        : fit_(fit), executor_(executor), store_(store), sink_(sink), options_(options) {
        options_.tolerance_scale = kTighter;
    }

    /// Empty where there could be no run.
    std::vector<std::vector<double>> shown(const std::vector<std::vector<double>>& points) {
        std::vector<std::string> wanted;
        std::vector<std::size_t> first;
        for (std::size_t i = 0; i < points.size(); ++i) {
            const std::string key = key_of(points[i]);
            if (store_.find(key) || std::find(wanted.begin(), wanted.end(), key) != wanted.end())
                continue;
            wanted.push_back(key);
            first.push_back(i);
        }
        std::vector<std::vector<double>> made(wanted.size());
        std::vector<Outcome> outcomes(wanted.size());
        sink_.begin(begun_ += wanted.size());
        executor_.run(wanted.size(), [&](std::size_t i) {
            if (options_.stop && options_.stop()) return;
            made[i] = run(points[first[i]], outcomes[i]);
        });
        for (std::size_t i = 0; i < wanted.size(); ++i) {
            if (outcomes[i].end == Outcome::End::stopped) throw Stopped();
            if (made[i].empty()) reason_ = outcomes[i].reason;
            store_.put(wanted[i], made[i]);
            sink_.outcome(told_++, outcomes[i]);
        }
        std::vector<std::vector<double>> all;
        for (const std::vector<double>& point : points)
            all.push_back(*store_.find(key_of(point)));
        return all;
    }

    /// Of the last run that could not be made.
    const std::string& reason() const { return reason_; }

  private:
    std::vector<double> run(const std::vector<double>& x, Outcome& outcome) const {
        outcome.end = Outcome::End::failed;
        Trace trace;
        try {
            Scenario scenario = with_values(fit_.scenario, fit_.kept, fit_.moved, x);
            scenario.expectations.clear();
            scenario.record.clear();
            if (!fit_.over.path.empty()) scenario.record.push_back(fit_.over.path);
            for (const ReadColumn& c : fit_.columns)
                if (std::find(scenario.record.begin(), scenario.record.end(), c.channel.path) ==
                    scenario.record.end())
                    scenario.record.push_back(c.channel.path);
            const Summary summary = simulate(scenario, trace, options_);
            if (options_.stop && options_.stop()) {
                outcome.end = Outcome::End::stopped;
                return {};
            }
            if (!summary.complete) {
                outcome.reason = summary.error;
                return {};
            }
        } catch (const InvalidHardware& e) {
            outcome.end = Outcome::End::refused;
            outcome.reason = e.what();
            return {};
        }
        outcome.end = Outcome::End::complete;
        const std::vector<double> over =
            fit_.over.path.empty() ? trace.time : trace.of(fit_.over.path);
        std::vector<double> found;
        for (const ReadColumn& c : fit_.columns) {
            const auto y = read_along(over, trace.of(c.channel.path), fit_.at);
            found.insert(found.end(), y.begin(), y.end());
        }
        found.push_back(std::ranges::min(over));
        found.push_back(std::ranges::max(over));
        return found;
    }

    const Fit& fit_;
    Executor& executor_;
    RunStore& store_;
    OutcomeSink& sink_;
    RunOptions options_;
    std::size_t begun_ = 0, told_ = 0;
    std::string reason_;
};

std::vector<double> residuals_of(const Fit& fit, const std::vector<double>& shown) {
    std::vector<double> residuals;
    if (shown.empty()) return residuals;
    for (std::size_t c = 0; c < fit.columns.size(); ++c)
        for (std::size_t row = 0; row < fit.at.size(); ++row)
            if (!std::isnan(fit.columns[c].value[row]))
                residuals.push_back((shown[c * fit.at.size() + row] - fit.columns[c].value[row]) /
                                    fit.columns[c].error[row]);
    return residuals;
}

std::vector<std::vector<double>> by_column(const Fit& fit, const std::vector<double>& shown) {
    std::vector<std::vector<double>> columns;
    const auto rows = static_cast<std::ptrdiff_t>(fit.at.size());
    for (std::size_t c = 0; c < fit.columns.size(); ++c) {
        const auto from = shown.begin() + static_cast<std::ptrdiff_t>(c) * rows;
        columns.emplace_back(from, from + rows);
    }
    return columns;
}

} // namespace

std::vector<double> read_along(const std::vector<double>& over, const std::vector<double>& y,
                               const std::vector<double>& at) {
    const auto between = [&](std::size_t k, double a) { // k - 1 and k lie on both sides of a
        const double span = over[k] - over[k - 1];
        return span == 0 ? y[k] : y[k - 1] + (y[k] - y[k - 1]) * (a - over[k - 1]) / span;
    };
    const auto peak = std::ranges::max_element(over) - over.begin();
    // The last of the highest: one that is read twice at the top was still on the way up.
    const auto turn = at.rend() - std::max_element(at.rbegin(), at.rend()) - 1;
    // The most so far, and the most that is still to come: both have one passage at each value.
    std::vector<double> up(over.begin(), over.begin() + peak + 1);
    for (std::size_t k = 1; k < up.size(); ++k)
        up[k] = std::max(up[k], up[k - 1]);
    std::vector<double> down(over.begin() + peak, over.end());
    for (std::size_t k = down.size() - 1; k-- > 0;)
        down[k] = std::max(down[k], down[k + 1]);

    std::vector<double> found;
    for (std::size_t i = 0; i < at.size(); ++i) {
        if (static_cast<std::ptrdiff_t>(i) <= turn) {
            const auto k = std::lower_bound(up.begin(), up.end(), at[i]) - up.begin();
            if (k == 0 || k > peak)
                found.push_back(y[static_cast<std::size_t>(std::min(k, peak))]);
            else
                found.push_back(between(static_cast<std::size_t>(k), at[i]));
        } else {
            // The first that is below from there on.
            const auto k = peak + (std::lower_bound(down.begin(), down.end(), at[i],
                                                    [](double d, double a) { return d >= a; }) -
                                   down.begin());
            const auto end = static_cast<std::ptrdiff_t>(over.size());
            if (k == peak || k == end)
                found.push_back(y[static_cast<std::size_t>(std::min(k, end - 1))]);
            else
                found.push_back(between(static_cast<std::size_t>(k), at[i]));
        }
    }
    return found;
}

FitResult fit(const Fit& fit, Executor& executor, RunStore& store, OutcomeSink& sink,
              const RunOptions& options) {
    FitResult out;
    Reader reader(fit, executor, store, sink, options);
    std::vector<Unknown> unknowns;
    std::vector<double> start;
    for (const Varied& v : fit.moved) {
        unknowns.push_back({v.nominal, v.distribution.low, v.distribution.high});
        start.push_back(v.nominal);
    }
    const auto residuals = [&](const std::vector<std::vector<double>>& points) {
        std::vector<std::vector<double>> all;
        for (const std::vector<double>& shown : reader.shown(points))
            all.push_back(residuals_of(fit, shown));
        return all;
    };
    try {
        const std::vector<double> first = reader.shown({start}).front();
        if (first.empty()) {
            out.reason = reader.reason();
            return out;
        }
        out.before = by_column(fit, first);
        out.low = first[first.size() - 2];
        out.high = first.back();
        const double slack = kBeyond * (out.high - out.low);
        for (std::size_t row = 0; row < fit.at.size(); ++row)
            if (fit.at[row] < out.low - slack || fit.at[row] > out.high + slack)
                out.beyond.push_back(row);
        if (!out.beyond.empty()) return out;
        for (int turn = 0; turn < kMostTurns; ++turn) {
            out.found = least_squares(unknowns, residuals);
            if (out.found.end == LeastSquares::End::no_answer) {
                out.reason = reader.reason();
                return out;
            }
            out.quality = quality_of(unknowns, out.found, fit.errors_stated, residuals);
            if (out.quality.better.empty()) break;
            for (std::size_t i = 0; i < unknowns.size(); ++i)
                unknowns[i].start = out.quality.better[i];
        }
        out.after = by_column(fit, reader.shown({out.found.x}).front());
    } catch (const Stopped&) {
        out.stopped = true;
    }
    return out;
}

} // namespace pedalbench::study
