// Stiff problems, conserved sums, the step matrix.
#include "compare.hpp"
#include "solve/march.hpp"
#include "solve_problems.hpp"

#include <numeric>

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const solve::Tableau* const both[] = {&solve::rodas4(), &solve::rodas4p()};

/// Robertson's reactions (rates 0.04, 3e7, 1e4); the three shares sum to 1.
Made robertson() {
    return Made(
        3,
        [](double, const double* y, double* f) {
            const double r1 = 0.04 * y[0], r2 = 1e4 * y[1] * y[2], r3 = 3e7 * y[1] * y[1];
            f[0] = -r1 + r2;
            f[1] = r1 - r2 - r3;
            f[2] = r3;
        },
        [](double, const double* y, double* j, double* ft) {
            const double a = 1e4 * y[2], b = 1e4 * y[1], c = 6e7 * y[1];
            const double values[9] = {-0.04, a, b, 0.04, -a - c, -b, 0, c, 0};
            std::copy(values, values + 9, j);
            ft[0] = ft[1] = ft[2] = 0;
        });
}

/// n vessels in a row that exchange by conductances between 1 and 1e6 /s, stirred by a pump that
/// takes from the first and gives to the last. Nothing is lost: the sum is a linear invariant.
struct Vessels : solve::Problem {
    solve::Pattern shape;
    explicit Vessels(int n) {
        shape.size = n;
        shape.row_start.push_back(0);
        for (int i = 0; i < n; ++i) {
            for (int j = std::max(0, i - 1); j <= std::min(n - 1, i + 1); ++j)
                shape.column.push_back(j);
            shape.row_start.push_back(static_cast<int>(shape.column.size()));
        }
    }
    static double conductance(int i) { return std::pow(10.0, i % 7); }
    const solve::Pattern& pattern() const override { return shape; }
    void rates(double t, const double* y, double* f) override {
        const int n = shape.size;
        std::fill(f, f + n, 0.0);
        for (int i = 0; i + 1 < n; ++i) {
            const double flow = conductance(i) * (y[i] * y[i] - y[i + 1] * y[i + 1]) / 2;
            f[i] -= flow;
            f[i + 1] += flow;
        }
        const double pump = 0.1 * std::sin(20 * t);
        f[0] -= pump;
        f[n - 1] += pump;
    }
    void jacobian(double t, const double* y, double* values, double* ft) override {
        const int n = shape.size;
        std::fill(values, values + shape.column.size(), 0.0);
        std::fill(ft, ft + n, 0.0);
        const auto entry = [&](int i, int j) -> double& {
            int k = shape.row_start[i];
            while (shape.column[k] != j)
                ++k;
            return values[k];
        };
        for (int i = 0; i + 1 < n; ++i) {
            const double g = conductance(i);
            entry(i, i) -= g * y[i];
            entry(i, i + 1) += g * y[i + 1];
            entry(i + 1, i) += g * y[i];
            entry(i + 1, i + 1) -= g * y[i + 1];
        }
        ft[0] = -2 * std::cos(20 * t);
        ft[n - 1] = 2 * std::cos(20 * t);
    }
    double error_norm(const double*, const double* e) const override {
        double most = 0;
        for (int i = 0; i < size(); ++i)
            most = std::max(most, std::fabs(e[i]) / 1e-6);
        return most;
    }
};

} // namespace

TEST_CASE("the error on a stiff driven problem does not grow with the stiffness") {
    // Tolerance 1e-6 a step. For y' = L (y - sin t) + cos t errors of earlier steps are damped, so
    // the error is that of a step or two: bound 1e-5 for every L, at the ends of steps and inside.
    for (const auto* tableau : both)
        for (double lambda : {-1e2, -1e3, -1e4, -1e5, -1e6, -1e8}) {
            auto problem = prothero_robinson(lambda);
            problem.absolute = 1e-6;
            solve::Options options;
            options.tableau = tableau;
            solve::Stepper stepper(problem, options);
            std::vector<double> y{0}, at(1);
            double worst = 0, inside = 0, last = 0;
            solve::march(problem, y, 0, 10, stepper, [&](const auto& state, double t) {
                worst = std::max(worst, std::fabs(state[0] - std::sin(t)));
                for (int i = 1; i < 8 && t > last; ++i) {
                    const double between = last + (t - last) * i / 8;
                    stepper.interpolate(between, at.data());
                    inside = std::max(inside, std::fabs(at[0] - std::sin(between)));
                }
                last = t;
            });
            MESSAGE(tableau->name << ", L = " << lambda << ": worst error " << worst << ", inside "
                                  << inside << ", steps " << stepper.counters().steps
                                  << ", refused " << stepper.counters().rejected);
            CHECK(worst <= 1e-5);
            CHECK(inside <= 1e-5);
        }
}

TEST_CASE("without the look inside, dense output of a stiff driven problem is worthless") {
    auto problem = prothero_robinson(-1e6);
    problem.absolute = 1e-6;
    solve::Options options;
    options.control_inside = false;
    solve::Stepper stepper(problem, options);
    std::vector<double> y{0}, at(1);
    double inside = 0;
    solve::march(problem, y, 0, 10, stepper, [&](const auto&, double t) {
        if (t == 0) return;
        const double between = (2 * stepper.last_time() + t) / 3;
        stepper.interpolate(between, at.data());
        inside = std::max(inside, std::fabs(at[0] - std::sin(between)));
    });
    // Every step ends on sin t, so steps of seconds pass; a cubic through them misses by O(1).
    CHECK(near(y[0], std::sin(10.0), 1e-5, 0));
    CHECK(inside > 0.1);
}

TEST_CASE("Robertson's reactions over eleven decades") {
    // Values at t = 1e11 as published: F. Mazzia, C. Magherini, Test Set for Initial Value Problem
    // Solvers, release 2.4, University of Bari 2008, problem ROBER.
    for (const auto* tableau : both) {
        auto problem = robertson();
        problem.absolute = 1e-16;
        problem.relative = 1e-6;
        solve::Options options;
        options.tableau = tableau;
        solve::Stepper stepper(problem, options);
        std::vector<double> y{1, 0, 0};
        solve::march(problem, y, 0, 1e11, stepper);
        MESSAGE(tableau->name << ": steps " << stepper.counters().steps << ", refused "
                              << stepper.counters().rejected);
        CHECK(near(y[0], 0.2083340149701255e-07, 0, 1e-4));
        CHECK(near(y[1], 0.8333360770334713e-13, 0, 1e-4));
        CHECK(near(y[2], 0.9999999791665050, 0, 1e-10));
    }
}

TEST_CASE("van der Pol's oscillator, stiffness 1e6") {
    // eps y'' = (1 - y2) y' - y with eps = 1e-6, from (2, -0.66); values at t = 2: same test set,
    // problem VDPOL. A step tolerance of 1e-8 leaves 1e-5 after five jumps of the cycle.
    for (const auto* tableau : both) {
        const double eps = 1e-6;
        Made problem(
            2,
            [eps](double, const double* y, double* f) {
                f[0] = y[1];
                f[1] = ((1 - y[0] * y[0]) * y[1] - y[0]) / eps;
            },
            [eps](double, const double* y, double* j, double* ft) {
                j[0] = 0;
                j[1] = 1;
                j[2] = (-2 * y[0] * y[1] - 1) / eps;
                j[3] = (1 - y[0] * y[0]) / eps;
                ft[0] = ft[1] = 0;
            });
        problem.absolute = problem.relative = 1e-8;
        solve::Options options;
        options.tableau = tableau;
        solve::Stepper stepper(problem, options);
        std::vector<double> y{2, -0.66};
        solve::march(problem, y, 0, 2, stepper);
        MESSAGE(tableau->name << ": steps " << stepper.counters().steps << ", refused "
                              << stepper.counters().rejected << ", y = " << y[0]);
        CHECK(near(y[0], 1.706167732170483, 0, 1e-5));
        CHECK(near(y[1], -0.8928097010247975, 0, 1e-5));
    }
}

TEST_CASE("what is only moved about is not lost") {
    // 24 vessels dense, 100 sparse; stiffness up to 1e6 /s; 1e-13 of the content.
    for (const auto* tableau : both)
        for (int n : {24, 100}) {
            Vessels problem(n);
            solve::Options options;
            options.tableau = tableau;
            options.max_step = 0.005;
            solve::Stepper stepper(problem, options);
            std::vector<double> y(n, 1.0);
            solve::march(problem, y, 0, 20, stepper);
            const double sum = std::accumulate(y.begin(), y.end(), 0.0);
            MESSAGE(tableau->name << ", n = " << n << ": lost " << (sum - n) / n << " in "
                                  << stepper.counters().steps << " steps");
            CHECK(stepper.counters().steps >= 4000);
            CHECK(near(sum, n, 0, 1e-13));
            CHECK(std::fabs(y[0] - 1) > 1e-3); // it did move
        }
}

TEST_CASE("the step matrix solves badly scaled systems") {
    // A chain whose neighbouring states differ by 1e9 in unit. With S = diag(unit), the matrix is
    // S M S^-1, so x = S z where M z = S^-1 rhs; M is -1, 4 + diagonal, -1 and z = 1 by choice.
    const int n = 9;
    const double diagonal = 2;
    const Vessels chain(n);
    const auto& p = chain.pattern();
    const auto unit = [](int i) { return i % 2 ? 1e-9 : 1.0; };
    std::vector<double> jacobian(p.column.size()), rhs(n, 0.0), x(n);
    for (int i = 0; i < n; ++i)
        for (int k = p.row_start[i]; k < p.row_start[i + 1]; ++k) {
            const int j = p.column[k];
            const double m = i == j ? 4 + diagonal : -1;
            jacobian[k] = (i == j ? diagonal - m : -m) * unit(i) / unit(j);
            rhs[i] += m * unit(i);
        }
    solve::StepMatrix matrix(p);
    REQUIRE(matrix.factorise(diagonal, jacobian.data()));
    matrix.solve(rhs.data(), x.data());
    for (int i = 0; i < n; ++i)
        CHECK(near(x[i], unit(i), 0, 1e-14));

    // J = diagonal I makes the matrix zero in one state: singular, and it says where.
    std::fill(jacobian.begin(), jacobian.end(), 0.0);
    for (int k = p.row_start[4]; k < p.row_start[5]; ++k)
        if (p.column[k] == 4) jacobian[k] = diagonal;
    CHECK_FALSE(matrix.factorise(diagonal, jacobian.data()));
    CHECK(matrix.pivotless() == 4);
    jacobian[0] = std::nan("");
    CHECK_FALSE(matrix.factorise(diagonal, jacobian.data()));
    CHECK(matrix.pivotless() == 0);
}

TEST_CASE("a faulty pattern is refused") {
    solve::Pattern p = full_pattern(2);
    p.column = {1, 0, 0, 1};
    CHECK_THROWS_WITH_AS(solve::StepMatrix{p}, "Jacobian pattern: columns not ascending",
                         std::invalid_argument);
    p.row_start = {0, 1, 2};
    p.column = {1, 1};
    CHECK_THROWS_WITH_AS(solve::StepMatrix{p}, "Jacobian pattern: a diagonal entry is missing",
                         std::invalid_argument);
}
