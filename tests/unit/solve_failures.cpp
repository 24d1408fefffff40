// Runs that cannot go on stop, and say what, where and when in the problem's words.
#include "compare.hpp"
#include "solve/march.hpp"
#include "solve_problems.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

using Kind = solve::Failure::Kind;

/// Runs to t1 and returns the failure; a run that ends well fails the test.
solve::Failure failure_of(solve::Problem& problem, std::vector<double> y, double t1,
                          const solve::Options& options = {}) {
    solve::Stepper stepper(problem, options);
    try {
        solve::march(problem, y, 0, t1, stepper);
    } catch (const solve::Failure& failure) {
        MESSAGE(std::string(failure.what()));
        return failure;
    }
    FAIL("no failure");
    return {Kind::no_progress, 0, 0, {}, {}, ""};
}

/// Two states with names; the second one's rate is set by the test.
struct Named : Made {
    using Made::Made;
    std::string state_name(int i) const override { return i == 0 ? "spool" : "pad gap"; }
};

Named named(std::function<double(double, const double*)> second) {
    return Named(
        2,
        [second](double t, const double* y, double* f) {
            f[0] = -y[0];
            f[1] = second(t, y);
        },
        [](double, const double*, double* j, double* ft) {
            j[0] = -1;
            j[1] = j[2] = j[3] = ft[0] = ft[1] = 0;
        });
}

} // namespace

TEST_CASE("a rate that is not a number at the start") {
    auto problem = named([](double, const double*) { return std::nan(""); });
    const auto failure = failure_of(problem, {1, 1}, 1);
    CHECK(failure.kind == Kind::non_finite);
    CHECK(failure.states == std::vector<int>{1});
    CHECK(std::string(failure.what()) == "a rate is not finite at t = 0 s, step 0 s: pad gap");
}

TEST_CASE("a rate that becomes NaN or infinite later is never stepped over") {
    // Finite up to t = 0.5: the last accepted step may not end beyond, and steps shrink towards it
    // until the limit of 50 refused in a row or the least step is reached.
    for (double bad : {std::nan(""), std::numeric_limits<double>::infinity()}) {
        auto problem = named([bad](double t, const double*) { return t > 0.5 ? bad : 1.0; });
        const auto failure = failure_of(problem, {1, 1}, 1);
        CHECK(failure.kind == Kind::non_finite);
        CHECK(failure.states == std::vector<int>{1});
        CHECK(failure.t <= 0.5);
        CHECK(near(failure.t, 0.5, 1e-6, 0));
        CHECK(std::string(failure.what()).find("not finite however small the step at t = 0.") == 0);
        CHECK(std::string(failure.what()).find(": pad gap") != std::string::npos);
    }
}

TEST_CASE("a state that is not finite") {
    auto problem = named([](double, const double*) { return 0.0; });
    const auto failure = failure_of(problem, {std::nan(""), 1}, 1);
    CHECK(failure.kind == Kind::non_finite);
    CHECK(std::string(failure.what()) == "a state is not finite at t = 0 s, step 0 s: spool");
}

TEST_CASE("a derivative that is not finite names the row") {
    auto problem = named([](double, const double*) { return 0.0; });
    problem.df = [](double, const double*, double* j, double* ft) {
        j[0] = -1;
        j[1] = j[3] = ft[0] = ft[1] = 0;
        j[2] = std::nan("");
    };
    auto failure = failure_of(problem, {1, 1}, 1);
    CHECK(failure.kind == Kind::non_finite);
    CHECK(std::string(failure.what()) ==
          "a derivative is not finite at t = 0 s, step 0 s: pad gap");
    problem.df = [](double, const double*, double* j, double* ft) {
        j[0] = -1;
        j[2] = j[3] = ft[0] = ft[1] = 0;
        j[1] = std::nan(""); // the second entry, but of the first row
    };
    failure = failure_of(problem, {1, 1}, 1);
    CHECK(std::string(failure.what()) == "a derivative is not finite at t = 0 s, step 0 s: spool");
}

TEST_CASE("a solution that runs away ends without progress") {
    // y' = y2, y(0) = 1 is infinite at t = 1. Steps shrink with the distance until time cannot
    // resolve them; the error sits in the second state.
    auto problem = named([](double, const double* y) { return y[1] * y[1]; });
    problem.df = [](double, const double* y, double* j, double* ft) {
        j[0] = -1;
        j[1] = j[2] = ft[0] = ft[1] = 0;
        j[3] = 2 * y[1];
    };
    problem.relative = 1e-6;
    const auto failure = failure_of(problem, {1, 1}, 2);
    CHECK(failure.kind == Kind::no_progress);
    CHECK(near(failure.t, 1, 1e-6, 0));
    REQUIRE_FALSE(failure.states.empty());
    CHECK(failure.states[0] == 1);
    CHECK(std::string(failure.what()).find("pad gap") != std::string::npos);
}

TEST_CASE("an error that never becomes small: no progress, or the limit of refusals") {
    // The norm is twice the tolerance whatever the step: each refusal multiplies the step by
    // 0.9 * 2^-1/4 = 0.757; 50 of these leave 9e-7 of the first step, above the least one.
    struct Stubborn : Named {
        using Named::Named;
        double error_norm(const double*, const double* e) const override {
            return e[1] != 0 ? 2 : 0;
        }
    };
    const auto rates = [](double t, const double* y, double* f) {
        f[0] = -y[0];
        f[1] = std::sin(50 * t);
    };
    const auto slopes = [](double t, const double*, double* j, double* ft) {
        j[0] = -1;
        j[1] = j[2] = j[3] = ft[0] = 0;
        ft[1] = 50 * std::cos(50 * t);
    };
    Stubborn problem(2, rates, slopes);
    const auto refused = failure_of(problem, {1, 1}, 1);
    CHECK(refused.kind == Kind::rejections);
    CHECK(refused.states == std::vector<int>{1});
    CHECK(std::string(refused.what()).find("50 steps refused in a row at t = 0 s") == 0);

    solve::Options options;
    options.min_step = 1e-3;
    const auto stuck = failure_of(problem, {1, 1}, 1, options);
    CHECK(stuck.kind == Kind::no_progress);
    CHECK(std::string(stuck.what()).find("no progress at t = 0 s, step 0.00") == 0);
    CHECK(std::string(stuck.what()).find(": pad gap") != std::string::npos);
}

TEST_CASE("a step that time cannot resolve") {
    auto problem = circle();
    solve::Stepper stepper(problem);
    std::vector<double> y{1, 0};
    double t = 1e6, dt = 1e-12; // half an ulp of 1e6 is 6e-11
    CHECK_THROWS_WITH_AS(stepper.attempt(problem, y, t, dt),
                         "no progress at t = 1000000 s, step 1e-12 s", solve::Failure);
    dt = 0;
    CHECK_THROWS_AS(stepper.attempt(problem, y, t, dt), std::invalid_argument);
    dt = std::nan("");
    CHECK_THROWS_AS(stepper.attempt(problem, y, t, dt), std::invalid_argument);
    y.push_back(0);
    dt = 1;
    CHECK_THROWS_AS(stepper.attempt(problem, y, t, dt), std::invalid_argument);
}

TEST_CASE("a step matrix without inverse") {
    // Two equal rows of J, so large that 1/(h gamma) is lost beside them at any step that time can
    // resolve: I/(h gamma) - J has rank 1.
    auto problem = named([](double, const double*) { return 1.0; });
    problem.df = [](double, const double*, double* j, double* ft) {
        j[0] = j[1] = j[2] = j[3] = 1e200;
        ft[0] = ft[1] = 0;
    };
    problem.fixed_step = true;
    const auto failure = failure_of(problem, {1, 1}, 1);
    CHECK(failure.kind == Kind::singular);
    CHECK(failure.states == std::vector<int>{1});
    CHECK(std::string(failure.what()).find("the step matrix is singular at t = 0 s") == 0);
}

TEST_CASE("a guard that storms is named") {
    // The guard flips whenever it is looked at; two consecutive flips are one bracket apart.
    struct Storm : TwoSprings {
        void guard_excess(double t, const double*, double* past) override {
            past[0] = t - last - 1e-5;
        }
        std::vector<int> flip(double t, const double*) override {
            last = t;
            return {0};
        }
        double last = 0;
    };
    Storm problem;
    const auto failure = failure_of(problem, {-1, 0}, 1);
    CHECK(failure.kind == Kind::guard_storm);
    CHECK(failure.guards == std::vector<int>{0});
    // 51 flips, at least 10 us and at most 11 us apart (bracket 1 us)
    CHECK(failure.t >= 51 * 10e-6);
    CHECK(failure.t <= 51 * 11e-6);
    CHECK(std::string(failure.what()).find("a guard flipped more than 50 times in a moment at t") ==
          0);
    CHECK(std::string(failure.what()).find(": spring seat") != std::string::npos);

    Storm again;
    solve::Options options;
    options.storm_window = 0;
    options.max_events = 1000;
    const auto many = failure_of(again, {-1, 0}, 1, options);
    CHECK(many.kind == Kind::event_limit);
    CHECK(std::string(many.what()).find("more than 1000 events at t = 0.01") == 0);
}

TEST_CASE("a guard that is past its band but does not flip is named") {
    struct Refuses : TwoSprings {
        std::vector<int> flip(double, const double*) override { return {}; }
    };
    Refuses problem;
    const auto failure = failure_of(problem, {-1, 0}, 3);
    CHECK(failure.kind == Kind::guard_refused);
    CHECK(near(failure.t, std::acos(-1.0) / 2, 2e-6, 0));
    CHECK(std::string(failure.what()).find(": spring seat") != std::string::npos);
}
