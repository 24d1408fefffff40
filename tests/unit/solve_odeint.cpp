// The stepper under Odeint's own integrate functions, and the bookkeeping of march.
#include "compare.hpp"
#include "solve/march.hpp"
#include "solve_problems.hpp"

#include <boost/numeric/odeint/integrate/integrate_adaptive.hpp>
#include <boost/numeric/odeint/integrate/integrate_const.hpp>
#include <boost/numeric/odeint/integrate/integrate_n_steps.hpp>
#include <boost/numeric/odeint/integrate/integrate_times.hpp>
#include <boost/ref.hpp>

using namespace pedalbench;
using namespace pedalbench::test;
namespace odeint = boost::numeric::odeint;

TEST_CASE("Odeint's integrate functions drive the stepper") {
    // Step tolerance 1e-9 over about 100 steps, errors not damped: 1e-7 at the end.
    const std::vector<double> times{0, 0.4, 1.1, 2.0, 3.0};
    for (int way = 0; way < 4; ++way) {
        CAPTURE(way);
        auto problem = circle();
        solve::Stepper stepper(problem);
        std::vector<double> y{1, 0};
        std::vector<double> seen;
        const auto watch = [&](const std::vector<double>& state, double t) {
            seen.push_back(t);
            CHECK(near(state[0], std::cos(t), 1e-7, 0));
            CHECK(near(state[1], std::sin(t), 1e-7, 0));
        };
        if (way == 0)
            odeint::integrate_adaptive(boost::ref(stepper), boost::ref(problem), y, 0.0, 3.0, 0.01,
                                       watch);
        if (way == 1)
            odeint::integrate_const(boost::ref(stepper), boost::ref(problem), y, 0.0, 3.0, 0.25,
                                    watch);
        if (way == 2)
            odeint::integrate_times(boost::ref(stepper), boost::ref(problem), y, times.begin(),
                                    times.end(), 0.01, watch);
        if (way == 3)
            odeint::integrate_n_steps(boost::ref(stepper), boost::ref(problem), y, 0.0, 0.25, 12,
                                      watch);
        CHECK(near(y[0], std::cos(3.0), 1e-7, 0));
        CHECK(near(seen.back(), 3, 1e-14, 0));
        if (way == 1 || way == 3) CHECK(seen.size() == 13); // 0, 0.25 ... 3
        if (way == 2) CHECK(seen == times);
    }
}

TEST_CASE("march ends where it should and keeps the step over stops") {
    auto problem = circle();
    solve::Stepper stepper(problem);
    std::vector<double> y{1, 0}, inside(2);
    double last = -1;
    const auto watch = [&](const std::vector<double>& state, double t) {
        CHECK((t > last || last < 0));
        if (last >= 0 && t > last) {
            const double middle = (last + t) / 2;
            stepper.interpolate(middle, inside.data());
            CHECK(near(inside[0], std::cos(middle), 1e-6, 0));
            stepper.interpolate(t, inside.data());
            CHECK(inside == state);
        }
        last = t;
    };
    solve::march(problem, y, 0, 0.7, stepper, watch);
    CHECK(last == 0.7);
    const double wanted = stepper.wanted_step();
    CHECK(wanted > 1e-3);
    last = -1;
    solve::march(problem, y, 0.7, 0.7 + 1e-5, stepper, watch); // a very short stretch
    CHECK(stepper.wanted_step() >= wanted);
    last = -1;
    solve::march(problem, y, 0.7 + 1e-5, 3, stepper, watch);
    CHECK(last == 3);
    CHECK(near(y[0], std::cos(3.0), 1e-7, 0));
    int calls = 0;
    solve::march(problem, y, 3, 3, stepper, [&](const auto&, double) { ++calls; });
    CHECK(calls == 1);
    CHECK_THROWS_AS(solve::march(problem, y, 3, 2, stepper), std::invalid_argument);
}

TEST_CASE("a refused step keeps rates and Jacobian") {
    auto problem = circle();
    solve::Stepper stepper(problem);
    std::vector<double> y{1, 0};
    double t = 0, dt = 1; // far too long for a tolerance of 1e-9
    int tries = 1;
    while (!stepper.attempt(problem, y, t, dt))
        ++tries;
    const auto& c = stepper.counters();
    CHECK(tries > 1);
    CHECK(c.jacobians == 1);
    CHECK(c.factorisations == tries);
    CHECK(c.rejected == tries - 1);
    // The first stage is shared; the look inside the step comes only once its end is good.
    CHECK(c.rate_calls >= 1 + 5 * tries + 1);
    CHECK(c.rate_calls <= 1 + 5 * tries + tries);
}
