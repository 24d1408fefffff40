// The part of the stepper that deals with guards, and the words of its failures.
#include "solve/stepper.hpp"

#include <boost/math/tools/toms748_solve.hpp>

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace pedalbench::solve {

/// A guard that is NaN would never flip: it ends the run instead. -infinity means "not in this
/// mode".
bool Stepper::any_past(const Problem& problem, double h) const {
    bool any = false;
    for (std::size_t k = 0; k < past_.size(); ++k) {
        if (past_[k] <= 0) continue;
        if (!std::isfinite(past_[k]))
            fail(problem, Failure::Kind::non_finite, h, "a guard is not finite", {},
                 {static_cast<int>(k)});
        any = true;
    }
    return any;
}

/// Guards at theta of the accepted trial, into past_.
void Stepper::look(Problem& problem, double h, double theta) {
    ++counters_.guard_calls;
    if (theta == 1.0) {
        problem.guard_excess(last_time_ + h, to_.data(), past_.data());
        return;
    }
    dense_at(theta, at_.data());
    problem.guard_excess(last_time_ + theta * h, at_.data(), past_.data());
}

/// Where the step has to end, in (0, 1]; past_ holds the guards there.
double Stepper::first_event(Problem& problem, double h) {
    double low = 0;
    for (int i = 1; i <= options_.inner_points + 1; ++i) {
        const double high = i / (options_.inner_points + 1.0);
        look(problem, h, high);
        if (any_past(problem, h)) return locate(problem, h, low, high);
        low = high;
    }
    return 1.0;
}

/// No guard is past at `low`, at least one at `high`: brackets the first passage and returns the
/// far side of the bracket.
double Stepper::locate(Problem& problem, double h, double low, double high) {
    past_high_ = past_;
    // One function for all guards that pass: each scaled by its own value at `high`, so that units
    // do not matter. Exactly zero is "not yet past"; it would end the search on the wrong side.
    const auto excess = [&](double theta) {
        look(problem, h, theta);
        double most = -1e100; // keeps an infinite "not yet" out of the interpolation
        for (std::size_t k = 0; k < past_.size(); ++k)
            if (past_high_[k] > 0) most = std::max(most, past_[k] / past_high_[k]);
        return most == 0 ? -std::numeric_limits<double>::min() : most;
    };
    const double width = std::max(options_.event_width / h, 4e-15);
    // A guard may stand on its limit at the start of the step, up to the rounding of its law.
    const double below = std::min(excess(low), -std::numeric_limits<double>::min());
    double theta = high;
    if (high - low > width) {
        std::uintmax_t calls = 60;
        const auto narrow = [width](double a, double b) { return b - a <= width; };
        theta =
            boost::math::tools::toms748_solve(excess, low, high, below, 1.0, narrow, calls).second;
    }
    look(problem, h, theta);
    return theta;
}

void Stepper::flip(Problem& problem, double h) {
    const std::vector<int> flipped = problem.flip(time_, point_.data());
    have_slope_ = false;
    if (flipped.empty()) {
        std::vector<int> guards;
        for (std::size_t k = 0; k < past_.size(); ++k)
            if (past_[k] > 0) guards.push_back(static_cast<int>(k));
        fail(problem, Failure::Kind::guard_refused, h, "a guard past its band did not flip", {},
             std::move(guards));
    }
    ++counters_.events;
    counters_.flips += static_cast<long>(flipped.size());
    if (on_event) on_event({time_, flipped, point_});
    for (const int k : flipped) {
        const int limit = options_.storm_flips;
        double& oldest = flip_times_[static_cast<std::size_t>(k) * limit + flip_next_[k]];
        if (time_ - oldest <= options_.storm_window)
            fail(problem, Failure::Kind::guard_storm, h,
                 "a guard flipped more than " + std::to_string(limit) + " times in a moment", {},
                 {k});
        oldest = time_;
        flip_next_[k] = (flip_next_[k] + 1) % limit;
    }
    if (counters_.events > options_.max_events)
        fail(problem, Failure::Kind::event_limit, h,
             "more than " + std::to_string(options_.max_events) + " events", {}, flipped);
}

/// Up to three states by their own share of the last error estimate.
std::vector<int> Stepper::worst_states(const Problem& problem) const {
    std::vector<std::pair<double, int>> share;
    std::vector<double> alone(size_, 0.0);
    for (std::size_t i = 0; i < size_; ++i) {
        alone[i] = error_[i];
        share.emplace_back(-problem.error_norm(point_.data(), alone.data()), static_cast<int>(i));
        alone[i] = 0;
    }
    std::sort(share.begin(), share.end());
    std::vector<int> worst;
    for (std::size_t i = 0; i < std::min<std::size_t>(3, share.size()); ++i)
        if (share[i].first < 0) worst.push_back(share[i].second);
    return worst;
}

void Stepper::fail(const Problem& problem, Failure::Kind kind, double h, const std::string& cause,
                   std::vector<int> states, std::vector<int> guards) const {
    char where[80];
    std::snprintf(where, sizeof where, " at t = %.12g s, step %.3g s", time_, h);
    std::string text = cause + where;
    const char* lead = ": ";
    for (const int i : states) {
        text += lead + problem.state_name(i);
        lead = ", ";
    }
    for (const int k : guards) {
        text += lead + problem.guard_name(k);
        lead = ", ";
    }
    throw Failure(kind, time_, h, std::move(states), std::move(guards), text);
}

} // namespace pedalbench::solve
