#include "solve/stepper.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace pedalbench::solve {

namespace {

// Times the tolerance that the estimate of a first step may reach after an event. The estimate is
// on the safe side: with 1 an ordinary stop takes 50 steps more and has 20 refused fewer.
constexpr double kAfterEvent = 30;

} // namespace

int first_not_finite(const std::vector<double>& v) {
    bool all = true; // as a rule: to ask after each would take longer
    for (const double x : v)
        all &= std::fabs(x) <= std::numeric_limits<double>::max();
    if (all) return -1;
    return static_cast<int>(
        std::find_if(v.begin(), v.end(), [](double x) { return !std::isfinite(x); }) - v.begin());
}

Stepper::Stepper(const Problem& problem, const Options& options)
    : options_(options), tab_(*options.tableau), pattern_(problem.pattern()), size_(problem.size()),
      matrix_(pattern_) {
    if (options_.storm_flips < 1 || options_.inner_points < 0 || !(options_.event_width >= 0) ||
        !(options_.max_step > 0) || !(options_.min_step >= 0))
        throw std::invalid_argument("an option of the stepper is out of range");
    for (std::vector<double>* v : {&point_, &slope_, &time_slope_, &arg_, &rate_, &error_, &from_,
                                   &to_, &k2_, &k3_, &at_, &end_slope_})
        v->resize(size_);
    for (auto& u : stage_)
        u.resize(size_);
    jacobian_.resize(pattern_.column.size());
    const std::size_t guards = problem.guards();
    for (std::vector<double>* v :
         {&past_, &past_here_, &past_inside_, &past_low_, &past_high_, &past_best_})
        v->resize(guards);
    flip_next_.resize(guards);
    flip_times_.assign(guards * options_.storm_flips, -std::numeric_limits<double>::infinity());
}

void Stepper::restart() {
    started_ = have_slope_ = have_jacobian_ = have_trend_ = have_dense_ = false;
    rejections_ = singular_ = 0;
    old_size_ = refused_size_ = 0;
}

bool Stepper::at_start(const state_type& x, double t) const {
    return started_ && t == time_ && x == point_;
}

void Stepper::start_at(Problem& problem, const state_type& x, double t) {
    restart();
    if (problem.pattern().row_start != pattern_.row_start ||
        problem.pattern().column != pattern_.column)
        throw std::invalid_argument("the stepper was made for a problem of another pattern");
    point_ = x;
    time_ = t;
    const int bad = first_not_finite(point_);
    if (bad >= 0) fail(problem, Failure::Kind::non_finite, 0, "a state is not finite", {bad});
    started_ = true;
    if (past_.empty()) return;
    rates_here(problem);
    past_ = past_here_;
    if (any_past(problem, 0)) flip(problem, 0);
}

/// Rates and guards where the next step starts.
void Stepper::rates_here(Problem& problem) {
    if (have_slope_) return;
    ++counters_.rate_calls;
    problem.rates(time_, point_.data(), slope_.data());
    if (!past_.empty()) {
        ++counters_.guard_calls;
        problem.guard_excess(time_, point_.data(), past_here_.data());
    }
    have_slope_ = true;
}

void Stepper::linearise(Problem& problem) {
    rates_here(problem);
    if (have_jacobian_) return;
    int bad = first_not_finite(slope_);
    if (bad >= 0) fail(problem, Failure::Kind::non_finite, 0, "a rate is not finite", {bad});
    ++counters_.jacobians;
    problem.jacobian(time_, point_.data(), jacobian_.data(), time_slope_.data());
    bad = first_not_finite(time_slope_);
    if (bad >= 0) fail(problem, Failure::Kind::non_finite, 0, "a derivative is not finite", {bad});
    have_jacobian_ = true;
}

/// Ends the run if it is the Jacobian that cannot be factorised. Not looked at before: nobody can
/// with an entry that is not finite.
void Stepper::check_jacobian(const Problem& problem) const {
    const int entry = first_not_finite(jacobian_);
    if (entry < 0) return;
    const auto& starts = pattern_.row_start;
    const auto row = std::upper_bound(starts.begin(), starts.end(), entry) - starts.begin() - 1;
    fail(problem, Failure::Kind::non_finite, 0, "a derivative is not finite",
         {static_cast<int>(row)});
}

/// The stages of one step from (time_, point_): fills stage_, to_, error_. Returns the error in
/// tolerances, NaN if the trial is of no use (cause_ says why).
double Stepper::trial(Problem& problem, double h) {
    constexpr double no_use = std::numeric_limits<double>::quiet_NaN();
    cause_ = Cause::error;
    ++counters_.factorisations;
    if (!matrix_.factorise(1.0 / (h * tab_.gamma), jacobian_.data())) {
        check_jacobian(problem);
        cause_ = Cause::singular;
        return no_use;
    }
    for (int i = 0; i < Tableau::stages; ++i) {
        const double* f = slope_.data();
        if (i > 0) {
            arg_ = point_;
            for (int j = 0; j < i; ++j)
                for (std::size_t s = 0; s < size_; ++s)
                    arg_[s] += tab_.a[i][j] * stage_[j][s];
            ++counters_.rate_calls;
            problem.rates(time_ + tab_.alpha[i] * h, arg_.data(), rate_.data());
            f = rate_.data();
        }
        std::vector<double>& u = stage_[i];
        for (std::size_t s = 0; s < size_; ++s)
            u[s] = f[s] + tab_.d[i] * h * time_slope_[s];
        for (int j = 0; j < i; ++j) {
            const double c = tab_.c[i][j] / h;
            for (std::size_t s = 0; s < size_; ++s)
                u[s] += c * stage_[j][s];
        }
        // Looked at before the solution spreads it over all states: the message names the culprit.
        bad_state_ = first_not_finite(u);
        if (bad_state_ >= 0) {
            cause_ = Cause::non_finite;
            return no_use;
        }
        matrix_.solve(u.data(), u.data());
    }
    to_ = point_;
    std::fill(error_.begin(), error_.end(), 0.0);
    for (int i = 0; i < Tableau::stages; ++i)
        for (std::size_t s = 0; s < size_; ++s) {
            to_[s] += tab_.m[i] * stage_[i][s];
            error_[s] += tab_.e[i] * stage_[i][s];
        }
    bad_state_ = std::max(first_not_finite(to_), first_not_finite(error_));
    if (bad_state_ >= 0) {
        cause_ = Cause::non_finite;
        return no_use;
    }
    const double error = problem.error_norm(point_.data(), error_.data());
    if (!std::isfinite(error)) cause_ = Cause::non_finite;
    return error;
}

double Stepper::least_step() const {
    return std::max(options_.min_step,
                    16 * std::numeric_limits<double>::epsilon() * std::fabs(time_));
}

bool Stepper::reject(const Problem& problem, double h, double error, double& dt) {
    ++counters_.rejected;
    ++rejections_;
    singular_ = cause_ == Cause::singular ? singular_ + 1 : 0;
    if (singular_ > options_.singular_in_row) {
        const int k = matrix_.pivotless();
        fail(problem, Failure::Kind::singular, h, "the step matrix is singular",
             k >= 0 ? std::vector<int>{k} : std::vector<int>{});
    }
    double factor = 0.25;
    if (cause_ == Cause::error) {
        // Where something stiff has just been let go the error falls with the first power of the
        // step, not with the fourth: two refusals tell with which.
        double order = 4;
        if (refused_size_ > h && refused_error_ > error)
            order = std::clamp(std::log(refused_error_ / error) / std::log(refused_size_ / h), 1.0,
                               4.0);
        factor = std::clamp(options_.safety * std::pow(error, -1 / order), options_.shrink, 0.9);
        refused_size_ = h;
        refused_error_ = error;
    }
    old_size_ = 0; // what was before tells nothing of the trend
    wanted_ = dt = factor * h;
    const bool stuck = dt < least_step();
    if (rejections_ < options_.rejections_in_row && !stuck) return false;
    if (cause_ == Cause::non_finite)
        fail(problem, Failure::Kind::non_finite, h, "not finite however small the step",
             bad_state_ >= 0 ? std::vector<int>{bad_state_} : std::vector<int>{});
    fail(problem, stuck ? Failure::Kind::no_progress : Failure::Kind::rejections, h,
         stuck ? "no progress" : std::to_string(rejections_) + " steps refused in a row",
         worst_states(problem));
}

/// Predictive control of K. Gustafsson, ACM Trans. Math. Softw. 20 (1994) 496, as told in Hairer &
/// Wanner II, section IV.8: the trend of the last two errors may only shorten the step.
double Stepper::next_step(double h, double error) {
    const double least = 1e-10; // an error of zero must not divide
    const double e = std::max(error, least);
    double factor = options_.safety * std::pow(e, -0.25);
    if (old_size_ > 0)
        factor = std::min(factor,
                          options_.safety * (h / old_size_) * std::pow(old_error_ / (e * e), 0.25));
    factor = std::clamp(factor, options_.shrink, options_.grow);
    if (rejections_ > 0) factor = std::min(factor, 1.0);
    old_size_ = h;
    old_error_ = std::max(e, 1e-2);
    refused_size_ = 0;
    // A step shortened from outside (end of a stretch) says nothing against the longer one.
    const double kept = h < wanted_ && rejections_ == 0 ? wanted_ : 0.0;
    return std::min(std::max(factor * h, kept), options_.max_step);
}

bool Stepper::attempt(Problem& problem, state_type& x, double& t, double& dt) {
    if (x.size() != size_ || static_cast<std::size_t>(problem.size()) != size_ ||
        static_cast<std::size_t>(problem.guards()) != past_.size())
        throw std::invalid_argument("the stepper was made for a problem of another size");
    if (!(dt > 0)) throw std::invalid_argument("the step has to be positive");
    if (!at_start(x, t)) start_at(problem, x, t);
    have_dense_ = false;
    double h = std::min(dt, options_.max_step);
    // A short rest of a stretch is no failure, a short step of the error control's own wish is.
    if (!(t + h > t) || (wanted_ > 0 && wanted_ < least_step()))
        fail(problem, Failure::Kind::no_progress, h, "no progress", worst_states(problem));

    linearise(problem);
    if (after_event_) {
        // The step of the old laws says little about the new ones.
        after_event_ = false;
        const double first = std::max(first_step(problem, kAfterEvent), least_step());
        if (first < h) wanted_ = h = first;
    }
    h = up_to_guard(h);
    double error = trial(problem, h);
    if (!(error <= 1.0)) return reject(problem, h, error, dt);
    prepare_dense(h);
    if (options_.control_inside) {
        const double within = inside(problem, h);
        if (!(within <= 1.0)) return reject(problem, h, within, dt);
        error = std::max(error, within);
        if (!past_.empty()) {
            ++counters_.guard_calls;
            problem.guard_excess(time_ + check_at * h, arg_.data(), past_inside_.data());
        }
    }

    have_dense_ = true;
    const double theta = past_.empty() ? 1.0 : first_event(problem, h);
    wanted_ = dt = next_step(h, error);
    rejections_ = singular_ = 0;
    ++counters_.steps;
    if (theta < 1.0)
        dense_at(theta, x.data());
    else
        x = to_;
    // Two points of a record never share a time.
    t = std::max(theta < 1.0 ? t + theta * h : t + h,
                 std::nextafter(t, std::numeric_limits<double>::infinity()));
    point_ = x;
    time_ = t;
    have_slope_ = have_jacobian_ = have_trend_ = false;
    if (past_.empty()) return true;
    if (any_past(problem, h)) {
        flip(problem, h);
    } else { // the look at the end of this step is the start of the next
        slope_.swap(end_slope_);
        past_here_ = past_;
        have_slope_ = true;
        have_trend_ = options_.control_inside;
    }
    return true;
}

double Stepper::start_step(Problem& problem, const state_type& y, double t, double length) {
    if (!at_start(y, t)) start_at(problem, y, t);
    linearise(problem);
    return std::min({length, options_.max_step, first_step(problem, 0.01)});
}

/// A step from here on whose error should be about `part` of the tolerance.
double Stepper::first_step(const Problem& problem, double part) {
    // y'' = J y' + f_t, exactly.
    for (std::size_t i = 0; i < size_; ++i) {
        double sum = time_slope_[i];
        for (int k = pattern_.row_start[i]; k < pattern_.row_start[i + 1]; ++k)
            sum += jacobian_[k] * slope_[pattern_.column[k]];
        arg_[i] = sum;
    }
    const double first = problem.error_norm(point_.data(), slope_.data()); // 1/s
    const double second = problem.error_norm(point_.data(), arg_.data());  // 1/s2
    // From rest, a path of second h^2/2 should stay within that part. In motion, the error of a
    // method of order 3 is about first h (h / tau)^3, where tau = first / second is the time in
    // which the rates change.
    if (!(second > 0)) return std::numeric_limits<double>::infinity();
    const double from_rest = std::sqrt(2 * part / second);
    const double tau = first / second;
    const double moving = first > 0 ? std::pow(part * tau * tau * tau / first, 0.25) : 0.0;
    return std::max(from_rest, moving);
}

} // namespace pedalbench::solve
