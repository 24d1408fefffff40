// The part of the stepper that deals with guards, and the words of its failures.
#include "solve/stepper.hpp"

#include <boost/math/tools/toms748_solve.hpp>

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace pedalbench::solve {

namespace {

constexpr double kBeyond = 1.1; // times the way to where a guard should pass

} // namespace

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
    const double* y = to_.data();
    if (theta < 1.0) {
        dense_at(theta, at_.data());
        y = at_.data();
    }
    const double t = last_time_ + theta * h;
    ++counters_.rate_calls;
    problem.rates(t, y, end_slope_.data());
    ++counters_.guard_calls;
    problem.guard_excess(t, y, past_.data());
}

/// A step that ends a little beyond where a guard should pass first, going on as it did. Laws may
/// have a kink there, and what a trial sees beyond is nobody's law: it would be refused for that.
double Stepper::up_to_guard(double h) const {
    if (!have_trend_) return h;
    const double since = (1 - check_at) * last_size_;
    for (std::size_t k = 0; k < past_.size(); ++k) {
        const double rise = past_here_[k] - past_inside_[k];
        if (rise > 0 && past_here_[k] < 0)
            h = std::min(h, -kBeyond * past_here_[k] / rise * since + options_.event_width);
    }
    return h;
}

/// Where the step has to end, in (0, 1]; past_ holds the guards there.
double Stepper::first_event(Problem& problem, double h) {
    double low = 0;
    bool checked = !options_.control_inside;
    past_low_ = past_here_;
    for (int i = 1; i <= options_.inner_points + 1; ++i) {
        const double high = i / (options_.inner_points + 1.0);
        if (!checked && check_at <= high) {
            checked = true;
            past_ = past_inside_;
            if (any_past(problem, h)) return locate(problem, h, low, check_at);
            past_low_ = past_;
            low = check_at;
        }
        look(problem, h, high);
        if (any_past(problem, h)) return locate(problem, h, low, high);
        past_low_ = past_;
        low = high;
    }
    return 1.0;
}

/// The farthest past of the guards that are past at `high`, each scaled by its own value there, so
/// that units do not matter: one function for all of them. Exactly zero is "not yet past"; it would
/// end the search on the wrong side.
double Stepper::most_past(const std::vector<double>& past, const std::vector<double>& high) {
    double most = -1e100; // keeps an infinite "not yet" out of the interpolation
    for (std::size_t k = 0; k < past.size(); ++k)
        if (high[k] > 0) most = std::max(most, past[k] / high[k]);
    return most == 0 ? -std::numeric_limits<double>::min() : most;
}

/// No guard is past at `low`, at least one at `high`: brackets the first passage and returns the
/// far side of the bracket.
double Stepper::locate(Problem& problem, double h, double low, double high) {
    past_high_ = past_best_ = past_;
    double best = high;
    const auto excess = [&](double theta) {
        look(problem, h, theta);
        const double most = most_past(past_, past_high_);
        if (most > 0 && theta < best) {
            best = theta;
            past_best_ = past_;
        }
        return most;
    };
    const double width = std::max(options_.event_width / h, 4e-15);
    if (high - low > width) {
        // A guard may stand on its limit at the start of the step, up to the rounding of its law.
        const double below =
            std::min(most_past(past_low_, past_high_), -std::numeric_limits<double>::min());
        std::uintmax_t calls = 60;
        const auto narrow = [width](double a, double b) { return b - a <= width; };
        boost::math::tools::toms748_solve(excess, low, high, below, 1.0, narrow, calls);
    }
    past_ = past_best_;
    return best;
}

void Stepper::flip(Problem& problem, double h) {
    const std::vector<int> flipped = problem.flip(time_, point_.data());
    have_slope_ = have_jacobian_ = false;
    old_size_ = 0; // other laws, another trend
    after_event_ = true;
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
