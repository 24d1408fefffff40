// Nonlinear least squares: a certified answer, bounds, and places without an answer.
#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "compare.hpp"
#include "residuals.hpp"
#include "study/confidence.hpp"

using namespace pedalbench::study;
using pedalbench::test::each;
using pedalbench::test::near;

// National Institute of Standards and Technology, Statistical Reference Datasets, nonlinear
// regression, "Misra1a"; data and certified values from memory, but the certified sum of squares
// comes out of these data only.
TEST_CASE("a certified problem: values, standard errors and sum of squares") {
    const std::vector<double> x = {77.6,  114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
                                   378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0};
    const std::vector<double> y = {10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
                                   44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78};
    const std::vector<Unknown> unknowns = {{500, 1, 5000}, {1e-4, 1e-6, 1}};
    const Residuals residuals = each([&](const std::vector<double>& b) {
        std::vector<double> r;
        for (std::size_t i = 0; i < x.size(); ++i)
            r.push_back(y[i] - b[0] * (1 - std::exp(-b[1] * x[i])));
        return r;
    });
    const LeastSquares found = least_squares(unknowns, residuals);
    REQUIRE(found.end == LeastSquares::End::converged);
    CHECK(near(found.misfit, 1.2455138894e-1, 0, 1e-6));
    CHECK(near(found.x[0], 2.3894212918e2, 0, 1e-4));
    CHECK(near(found.x[1], 5.5015643181e-4, 0, 1e-4));
    const FitQuality quality = quality_of(unknowns, found, false, residuals);
    CHECK(quality.freedom == 12);
    CHECK(near(quality.scatter, 1.0187876330e-1, 0, 1e-5));
    CHECK(near(quality.of[0].error, 2.7070075241, 0, 2e-3));
    CHECK(near(quality.of[1].error, 7.2668688436e-6, 0, 2e-3));
    // Student's 97.5 % with 12 degrees is 2.1788 (any table).
    CHECK(near(quality.of[0].high - found.x[0], 2.1788 * 2.7070075241, 0, 3e-3));
    CHECK(quality.of[0].known());
    CHECK(quality.of[1].known());
    CHECK(quality.correlation[0][1] < -0.99);
}

TEST_CASE("what stands at its bound is held there while the rest goes on to its best place") {
    // A curved valley y = x^2 toward (1, 1), of which only x up to 1/2 is allowed: at the bound
    // y = 1/4 is best, with 1/4 left.
    const LeastSquares found =
        least_squares({{-0.5, -2, 0.5}, {1, -2, 2}}, each([](const std::vector<double>& x) {
                          return std::vector<double>{10 * (x[1] - x[0] * x[0]), 1 - x[0]};
                      }));
    CHECK(found.end == LeastSquares::End::converged);
    CHECK(found.x[0] == 0.5);
    CHECK(near(found.x[1], 0.25, 1e-3, 0));
    CHECK(near(found.misfit, 0.25, 1e-3, 0));
}

TEST_CASE("places without an answer turn the search back, and a start without one ends it") {
    const auto formula = each([](const std::vector<double>& x) {
        return x[0] > 4 ? std::vector<double>() : std::vector<double>{x[0] - 3.5, 2 * (x[0] - 3.5)};
    });
    const LeastSquares found = least_squares({{0.1, 0, 100}}, formula);
    CHECK(found.end == LeastSquares::End::converged);
    CHECK(near(found.x[0], 3.5, 1e-4, 0));
    CHECK(least_squares({{5, 0, 100}}, formula).end == LeastSquares::End::no_answer);
}
