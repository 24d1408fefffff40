// The order of the stepper on problems with known solutions.
#include "compare.hpp"
#include "solve_problems.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Slope over three halvings of the root mean square error of a family of steps in (h/2, h]. A
/// family, since where an event falls inside its step is a matter of luck and moves a single error
/// by a factor 10.
template <class Make>
double measured_slope(const solve::Tableau& tableau, Make make, std::vector<double> start,
                      double end, std::vector<double> exact, double h) {
    constexpr int family = 60, halvings = 3;
    solve::Options options;
    options.tableau = &tableau;
    options.event_width = 1e-13; // far below the errors looked at
    double error[2] = {0, 0};
    for (int k : {0, 1}) {
        for (int i = 0; i < family; ++i) {
            auto problem = make();
            problem.fixed_step = true;
            const double step = h * std::pow(2.0, -k * halvings - i / double(family));
            const auto y = run_fixed(problem, start, 0, end, step, options);
            for (std::size_t s = 0; s < y.size(); ++s)
                error[k] += (y[s] - exact[s]) * (y[s] - exact[s]) / family;
        }
        error[k] = std::sqrt(error[k]);
    }
    const double found = slope(error[0], error[1], halvings);
    MESSAGE(tableau.name << ": errors " << error[0] << " and " << error[1] << " at h = " << h
                         << " and h/8, slope " << found);
    return found;
}

const solve::Tableau* const both[] = {&solve::rodas4(), &solve::rodas4p()};

} // namespace

TEST_CASE("order 4 without explicit time") {
    for (const auto* t : both) // at t = 3: (cos 3, sin 3)
        CHECK(measured_slope(*t, circle, {1, 0}, 3, {std::cos(3.0), std::sin(3.0)}, 0.1) >= 3.8);
}

TEST_CASE("order 4 when time drives") {
    for (const auto* t : both) // at t = 3: (exp(sin 3), 1/4)
        CHECK(measured_slope(*t, driven, {1, 1}, 3, {std::exp(std::sin(3.0)), 0.25}, 0.1) >= 3.8);
}

TEST_CASE("a wrong sign in d costs the order when time drives, and only then") {
    // d_i has to be the row sum of Gamma. With d_4 = +0.0362 the condition for f_t, sum b_i d_i =
    // sum b_i gamma_i, is off by 2 * 0.0362 b_4: an error of h^2 a step, slope 1.
    solve::Tableau wrong = solve::rodas4();
    wrong.d[3] = -wrong.d[3];
    const double driven_slope =
        measured_slope(wrong, driven, {1, 1}, 3, {std::exp(std::sin(3.0)), 0.25}, 0.1);
    CHECK(driven_slope < 1.5);
    CHECK(measured_slope(wrong, circle, {1, 0}, 3, {std::cos(3.0), std::sin(3.0)}, 0.1) >= 3.8);
}

TEST_CASE("order 4 through a guard with continuous rates") {
    const double pi = std::acos(-1.0);
    for (const auto* t : both) // two passages, at pi/2 and pi; y(4) = -sin(4 - pi)
        CHECK(measured_slope(
                  *t, [] { return TwoSprings(); }, {-1, 0}, 4,
                  {-std::sin(4 - pi), -std::cos(4 - pi)}, 0.1) >= 3.8);
}

TEST_CASE("order 4 through a latch whose rates jump") {
    const double t1 = std::acos(-0.3), s = 4 - t1;
    const double v1 = std::sin(t1); // speed at the jump
    const std::vector<double> exact{-0.5 + 0.8 * std::cos(s) + v1 * std::sin(s),
                                    -0.8 * std::sin(s) + v1 * std::cos(s)};
    for (const auto* t : both)
        CHECK(measured_slope(
                  *t, [] { return Latch(); }, {-1, 0}, 4, exact, 0.1) >= 3.8);
}

TEST_CASE("dense output is of order 3, continuous, and exact at the ends") {
    for (const auto* tableau : both) {
        // One step from (1, 0) to h: a polynomial of order 3 has a local error of h^4, slope 4.
        double error[2];
        for (int k : {0, 1}) {
            auto problem = circle();
            problem.fixed_step = true;
            solve::Options options;
            options.tableau = tableau;
            solve::Stepper stepper(problem, options);
            std::vector<double> y{1, 0}, inside(2);
            double t = 0, dt = k == 0 ? 0.2 : 0.2 / 16;
            REQUIRE(stepper.attempt(problem, y, t, dt));
            error[k] = 0;
            for (int i = 1; i < 8; ++i) {
                stepper.interpolate(t * i / 8, inside.data());
                error[k] = std::max(error[k], std::fabs(inside[0] - std::cos(t * i / 8)));
            }
            stepper.interpolate(0, inside.data());
            CHECK(inside == std::vector<double>{1, 0});
            stepper.interpolate(t, inside.data());
            CHECK(inside == y);
            CHECK_THROWS_AS(stepper.interpolate(1.001 * t, inside.data()), std::out_of_range);
        }
        MESSAGE(tableau->name << ": dense output, local slope " << slope(error[0], error[1], 4));
        CHECK(slope(error[0], error[1], 4) >= 3.8);
    }
}
