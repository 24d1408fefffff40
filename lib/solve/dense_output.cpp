// The part of the stepper that knows the state inside a step.
#include "solve/stepper.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace pedalbench::solve {

void Stepper::prepare_dense(double h) {
    from_ = point_;
    std::fill(k2_.begin(), k2_.end(), 0.0);
    std::fill(k3_.begin(), k3_.end(), 0.0);
    for (int i = 0; i < Tableau::stages; ++i)
        for (std::size_t s = 0; s < size_; ++s) {
            k2_[s] += tab_.dense[0][i] * stage_[i][s];
            k3_[s] += tab_.dense[1][i] * stage_[i][s];
        }
    last_time_ = time_;
    last_size_ = h;
}

/// Error of the dense output inside the step, in tolerances; NaN as in trial().
///
/// States that follow the input at once (a piston under a foot force) are right at the end of a
/// stiffly accurate step of any size, while the polynomial in between knows nothing of them: on
/// y' = L (y - sin t) + cos t with L = -1e6 steps of 5 s passed, with errors of 1.9 inside. The
/// defect f(y) - y' of the polynomial tells; one solution with the step matrix turns it into an
/// error: for such states the correction that brings them to their place, for slow ones about h/4
/// times it.
double Stepper::inside(Problem& problem, double h) {
    // Not in the middle: there the error of the polynomial of rodas4 changes sign on such states.
    constexpr double slope_2 = 1 - 2 * check_at, slope_3 = check_at * (2 - 3 * check_at);
    cause_ = Cause::error;
    dense_at(check_at, arg_.data());
    ++counters_.rate_calls;
    problem.rates(time_ + check_at * h, arg_.data(), rate_.data());
    for (std::size_t s = 0; s < size_; ++s)
        rate_[s] -= (to_[s] - from_[s] + slope_2 * k2_[s] + slope_3 * k3_[s]) / h;
    bad_state_ = first_not_finite(rate_);
    if (bad_state_ >= 0) {
        cause_ = Cause::non_finite;
        return std::numeric_limits<double>::quiet_NaN();
    }
    matrix_.solve(rate_.data(), error_.data());
    const double error = problem.error_norm(point_.data(), error_.data());
    if (!std::isfinite(error)) cause_ = Cause::non_finite;
    return error;
}

void Stepper::dense_at(double theta, double* y) const {
    const double rest = 1.0 - theta;
    for (std::size_t s = 0; s < size_; ++s)
        y[s] = rest * from_[s] + theta * (to_[s] + rest * (k2_[s] + theta * k3_[s]));
}

void Stepper::interpolate(double t, double* y) const {
    const double ulps = 4 * std::numeric_limits<double>::epsilon() * std::fabs(time_);
    if (!have_dense_ || !(t >= last_time_ && t <= time_ + ulps))
        throw std::out_of_range("dense output is asked outside the last step");
    if (t >= time_)
        std::copy(point_.begin(), point_.end(), y);
    else
        dense_at((t - last_time_) / last_size_, y);
}

} // namespace pedalbench::solve
