// Error-controlled stiff stepper with dense output and located mode changes.
#pragma once

#include "solve/failure.hpp"
#include "solve/problem.hpp"
#include "solve/step_matrix.hpp"
#include "solve/tableau.hpp"

#include <boost/numeric/odeint/stepper/controlled_step_result.hpp>
#include <boost/numeric/odeint/stepper/stepper_categories.hpp>
#include <boost/numeric/odeint/util/unwrap_reference.hpp>

#include <functional>
#include <limits>
#include <span>
#include <vector>

namespace pedalbench::solve {

/// Settings of a run. Times in s, the rest pure numbers.
struct Options {
    const Tableau* tableau = &rodas4p();

    bool control_inside = true; ///< the error test looks at the dense output as well: 1 rate call

    double safety = 0.9; ///< of the step the error estimate would allow
    double shrink = 0.2; ///< least factor from one step to the next
    double grow = 6.0;   ///< greatest
    double max_step = std::numeric_limits<double>::infinity();
    double min_step = 1e-13;     ///< the error control may not ask for less (nor for 16 ulps of t)
    int rejections_in_row = 50;  ///< more is Failure::rejections
    int singular_in_row = 5;     ///< more is Failure::singular
    double event_width = 1e-6;   ///< width of the bracket around a located event
    int inner_points = 0;        ///< guards are looked at there, where the dense output is checked
                                 ///< and at the end of a step
    int storm_flips = 50;        ///< one guard more often than this within storm_window ...
    double storm_window = 0.010; ///< ... is Failure::guard_storm
    long max_events = 100000;    ///< in a run; more is Failure::event_limit
};

/// Index of the first value that is NaN or infinite, -1 if there is none.
int first_not_finite(const std::vector<double>& values);

struct Counters {
    long steps = 0;          ///< accepted, those cut at an event included
    long rejected = 0;       ///< refused trials
    long events = 0;         ///< instants at which guards flipped
    long flips = 0;          ///< guards flipped, all events together
    long rate_calls = 0;     ///< Problem::rates
    long jacobians = 0;      ///< Problem::jacobian
    long factorisations = 0; ///< of the step matrix
    long guard_calls = 0;    ///< Problem::guard_excess
};

/// An instant at which modes changed. The state is continuous there.
struct Event {
    double t; ///< s
    std::span<const int> guards;
    std::span<const double> state;
};

/// One step at a time of a Rosenbrock method, on Odeint's concept of a controlled stepper, so that
/// boost::numeric::odeint::integrate_adaptive(boost::ref(stepper), boost::ref(problem), ...) drives
/// it. Dense output holds for the last accepted step.
///
/// Modes: when a step has passed the error test, guards are looked at on the dense output where
/// that was checked, at inner points and at the end. If one is past its band (excess > 0; touching
/// zero is not enough), the step ends at the first instant at which one is (bracketed to
/// event_width, far side), the problem flips them, and the next step starts there. A guard that is
/// already past at a new start is flipped before the first step. Without guards none of this runs.
///
/// After construction try_step() touches the heap only where events or failures happen, and where
/// the step matrix looks for new pivots.
class Stepper {
  public:
    using state_type = std::vector<double>;
    using deriv_type = std::vector<double>;
    using value_type = double;
    using time_type = double;
    using stepper_category = boost::numeric::odeint::controlled_stepper_tag;

    /// Scratch space is sized for this problem; others of the same pattern may follow.
    explicit Stepper(const Problem& problem, const Options& options = {});

    /// Odeint's entry: `system` is a Problem or a boost::ref to one.
    template <class System>
    boost::numeric::odeint::controlled_step_result try_step(System system, state_type& x, double& t,
                                                            double& dt) {
        typename boost::numeric::odeint::unwrap_reference<System>::type& problem = system;
        return attempt(problem, x, t, dt) ? boost::numeric::odeint::success
                                          : boost::numeric::odeint::fail;
    }

    /// Tries one step of at most dt > 0 [s]. True: x and t moved (perhaps by less than dt, to an
    /// event) and dt is the size to try next. False: only dt changed, to a smaller one.
    /// Throws Failure; std::invalid_argument for another size or pattern than at construction, or
    /// dt <= 0.
    bool attempt(Problem& problem, state_type& x, double& t, double& dt);

    /// Forgets rates, Jacobian and the last step: wanted where the problem changed (a corner of an
    /// input, a fault). Step-size estimate, counters and storm memory stay.
    void restart();

    /// A first step for a stretch of the given length [s] that starts at (t, y), from the sizes of
    /// y' and y'' against the tolerances. Guards past their band are flipped first.
    double start_step(Problem& problem, const state_type& y, double t, double length);

    /// The state at t in [last_time(), current_time()], until the next attempt; exact at the end.
    /// Throws std::out_of_range outside (beyond a few ulps).
    void interpolate(double t, double* y) const;
    double last_time() const { return last_time_; }
    double current_time() const { return time_; }

    /// The step the error control would take next [s], kept over stops; 0 before the first step.
    double wanted_step() const { return wanted_; }

    const Counters& counters() const { return counters_; }
    const Options& options() const { return options_; }

    /// Called after each event, at its time, before the next step.
    std::function<void(const Event&)> on_event;

  private:
    bool at_start(const state_type& x, double t) const;
    void start_at(Problem& problem, const state_type& x, double t);
    void rates_here(Problem& problem);
    void linearise(Problem& problem);
    void check_jacobian(const Problem& problem) const;
    double trial(Problem& problem, double h);
    bool reject(const Problem& problem, double h, double error, double& dt);
    double least_step() const;
    double next_step(double h, double error);
    double first_step(const Problem& problem, double part);
    void prepare_dense(double h);
    double inside(Problem& problem, double h);
    void dense_at(double theta, double* y) const;

    double first_event(Problem& problem, double h);
    double up_to_guard(double h) const;
    double locate(Problem& problem, double h, double low, double high);
    static double most_past(const std::vector<double>& past, const std::vector<double>& high);
    void look(Problem& problem, double h, double theta);
    bool any_past(const Problem& problem, double h) const;
    void flip(Problem& problem, double h);

    [[noreturn]] void fail(const Problem& problem, Failure::Kind kind, double h,
                           const std::string& cause, std::vector<int> states = {},
                           std::vector<int> guards = {}) const;
    std::vector<int> worst_states(const Problem& problem) const;

    Options options_;
    const Tableau& tab_;
    Pattern pattern_;
    std::size_t size_;
    StepMatrix matrix_;
    Counters counters_;

    // Where the next step starts, and what is known there.
    double time_ = 0;
    std::vector<double> point_;
    bool started_ = false, have_slope_ = false, have_jacobian_ = false;
    std::vector<double> slope_, time_slope_, jacobian_;
    std::vector<double> past_here_; // guards, with the slope
    bool have_trend_ = false;       // past_inside_ is of the step that led here

    // The trial step and, once accepted, its dense output.
    std::vector<double> stage_[Tableau::stages];
    std::vector<double> arg_, rate_, error_;
    std::vector<double> from_, to_, k2_, k3_;
    double last_time_ = 0, last_size_ = 0;
    bool have_dense_ = false;

    // Step-size control.
    double wanted_ = 0;
    double old_size_ = 0, old_error_ = 0;         // of the last step, 0: of none that counts
    double refused_size_ = 0, refused_error_ = 0; // of the last refusal since then
    bool after_event_ = false;
    int rejections_ = 0, singular_ = 0;
    enum class Cause { error, non_finite, singular } cause_ = Cause::error;
    int bad_state_ = -1;

    // Guards: at the point looked at last, where the dense output is checked, at both ends of a
    // search and at its best point.
    static constexpr double check_at = 0.7;
    std::vector<double> past_, past_inside_, past_low_, past_high_, past_best_;
    std::vector<double> at_, end_slope_;
    std::vector<double> flip_times_; // storm_flips per guard, a ring each
    std::vector<int> flip_next_;
};

} // namespace pedalbench::solve
