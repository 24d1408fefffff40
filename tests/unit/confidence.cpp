// What a fit's answer is worth: whether 95 % are 95 %, and what data cannot tell.
#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "compare.hpp"
#include "proportioning_gauges.hpp"
#include "residuals.hpp"
#include "study/confidence.hpp"

using namespace pedalbench::study;
using pedalbench::test::each;
using pedalbench::test::near;
using pedalbench::test::outlet;

namespace {

using Say = Confidence::Say;

FitQuality judged(const std::vector<Unknown>& unknowns, const Residuals& residuals,
                  bool errors_known = true) {
    const LeastSquares found = least_squares(unknowns, residuals);
    REQUIRE(found.end == LeastSquares::End::converged);
    return quality_of(unknowns, found, errors_known, residuals);
}

// Inlet 0.5 to 10 MPa, a gauge off by 50 kPa, whose error is known and then is not.
struct Coverage {
    int held[2][2] = {}; // [known][knee, slope]

    Coverage(int cases, double knee, double slope, unsigned seed) {
        std::mt19937_64 random(seed);
        std::normal_distribution<double> noise(0, kError);
        for (int i = 0; i < cases; ++i) {
            std::vector<double> in, out;
            for (double p = 0.5; p <= 10; p += 0.5) {
                in.push_back(p);
                out.push_back(outlet(p, knee, slope) + noise(random));
            }
            const std::vector<Unknown> unknowns = {{4, 1, 8}, {0.5, 0.05, 1}};
            const Residuals residuals = each([&](const std::vector<double>& x) {
                std::vector<double> r;
                for (std::size_t k = 0; k < in.size(); ++k)
                    r.push_back((outlet(in[k], x[0], x[1]) - out[k]) / kError);
                return r;
            });
            for (const bool known : {false, true}) {
                const FitQuality q = judged(unknowns, residuals, known);
                held[known][0] += q.of[0].low <= knee && knee <= q.of[0].high;
                held[known][1] += q.of[1].low <= slope && slope <= q.of[1].high;
            }
        }
    }
    static constexpr double kError = 0.05; // MPa
};

} // namespace

TEST_CASE(
    "400 noisy gauges on a proportioning valve: the 95 % intervals hold the truth in 93 to 97 %") {
    const Coverage coverage(400, 3.0, 0.3, 20261126); // stated before the first run
    for (const auto& row : coverage.held)
        for (const int count : row) {
            MESSAGE("held the truth: ", count, " of 400");
            CHECK(count >= 372);
            CHECK(count <= 388);
        }
}

// The share of 10000 is known to 0.22 %: three of that to either side.
TEST_CASE("10000 noisy gauges: 95 % are 95 %, with the knee on a row and between rows") {
    for (const double knee : {3.0, 2.2}) {
        const Coverage coverage(10000, knee, 0.3, 20261128);
        for (const auto& row : coverage.held)
            for (const int count : row) {
                MESSAGE("held the truth: ", count, " of 10000");
                CHECK(count >= 9434);
                CHECK(count <= 9566);
            }
    }
}

TEST_CASE("what the data cannot tell is said, in each of its ways") {
    // Only the sum of the first two is seen, the third not at all, and the fourth wants to be 3.
    const std::vector<Unknown> unknowns = {{1, 0, 10}, {2, 0, 10}, {5, 1, 9}, {1, 0, 2}};
    const Residuals residuals = each([](const std::vector<double>& x) {
        std::vector<double> r;
        for (int k = 1; k <= 6; ++k) {
            r.push_back(10 * (x[0] + x[1] - 4));
            r.push_back(k * (x[3] - 3));
        }
        return r;
    });
    const LeastSquares found = least_squares(unknowns, residuals);
    REQUIRE(found.end == LeastSquares::End::converged);
    CHECK(near(found.x[0] + found.x[1], 4, 1e-3, 0));
    CHECK(found.x[3] == 2);
    const FitQuality q = quality_of(unknowns, found, true, residuals);
    CHECK(q.of[0].say == Say::anything);
    CHECK(q.of[1].say == Say::anything);
    CHECK(near(q.correlation[0][1], -1, 1e-6, 0));
    CHECK(q.of[2].say == Say::moves_nothing);
    CHECK(q.of[3].say == Say::at_bound);
    CHECK(q.freedom == 9);
    CHECK(q.likelihood < 1e-6); // 91 for 9 degrees
    CHECK(near(found.misfit, 91, 0, 1e-6));
}

TEST_CASE("where only a ratio acts, none of its members is determined, whatever runs flutter") {
    // Answers exact to 0.05 errors, as those of runs are: over the two hundredths of a derivative
    // that feigns slopes along the valley of x0 x1/x2, and by those alone the three would be known
    // to 0.13, 0.22 and 0.44.
    const Residuals residuals = each([](const std::vector<double>& x) {
        std::vector<double> r;
        for (int k = 1; k <= 20; ++k)
            r.push_back(
                30 * (k * x[0] * x[1] / x[2] - k) +
                0.05 * std::sin(333 * (k * x[0] + 2.3 * (21 - k) * x[1] + 0.17 * k * k * x[2])));
        return r;
    });
    const std::vector<Unknown> three = {{2, 0.5, 10}, {3, 0.5, 10}, {7, 0.5, 30}};
    const FitQuality q = judged(three, residuals);
    for (const Confidence& c : q.of)
        CHECK(c.say == Say::anything);
    // With two of them stated the third is: x2 = 6, its slope 30 k/6, the root of the sum of k^2
    // 53.57.
    const FitQuality one = judged({three[2]}, each([&](const std::vector<double>& x) {
                                      return residuals({{2, 3, x[0]}}).front();
                                  }));
    CHECK(one.of[0].say == Say::determined);
    CHECK(near(one.of[0].error, 6 / (30 * 53.57), 0, 0.05));
}

TEST_CASE("what readings feel only far from the best fit is bounded on that side") {
    // 10 per unit below 3 and above 7: 1.96 errors at 2.804 and 7.196.
    const auto wall = [](double x, bool low, bool high) {
        return (low ? 10 * std::max(0.0, 3 - x) : 0.0) + (high ? 10 * std::max(0.0, x - 7) : 0.0);
    };
    for (const bool low : {false, true})
        for (const bool high : {false, true}) {
            const FitQuality q =
                judged({{5, 0, 9}}, each([&](const std::vector<double>& x) {
                           return std::vector<double>{wall(x[0], low, high), 0.3, -0.2};
                       }));
            const Confidence& c = q.of[0];
            CHECK(c.say == (low && high ? Say::determined
                            : low       ? Say::at_least
                            : high      ? Say::at_most
                                        : Say::moves_nothing));
            CHECK(near(c.low, low ? 2.804 : 0, 6e-3, 0));
            CHECK(near(c.high, high ? 7.196 : 9, 6e-3, 0));
            CHECK(c.low_cut == !low);
            CHECK(c.high_cut == !high);
        }
}

TEST_CASE(
    "a knee below the highest row may lie anywhere above it: its interval goes on to the bound") {
    // Outlet of a valve that holds back from 4.9 on with slope 0, read at 1 to 5 to within 0.1: the
    // last row is 0.1 below the line, one error, so that any knee of 5 and more costs 1 of misfit.
    const Residuals residuals = each([](const std::vector<double>& x) {
        std::vector<double> r;
        for (int p = 1; p <= 5; ++p)
            r.push_back((std::min<double>(p, x[0]) - (p == 5 ? 4.9 : p)) / 0.1);
        return r;
    });
    const Confidence c = judged({{4, 1, 40}}, residuals).of[0];
    CHECK(c.say == Say::at_least);
    CHECK(c.felt);
    CHECK(near(c.low, 4.9 - 1.96 * 0.1, 1e-2, 0));
    CHECK(c.high == 40);
    CHECK(c.high_cut);
}

TEST_CASE("where a look at another place fits better, it is handed on") {
    // Flat from 6 on, and a valley at 2.5 that a search from 8 does not see.
    const Residuals residuals = each([](const std::vector<double>& x) {
        const double r = x[0] > 6 ? 35 : 10 * (x[0] - 2.5);
        return std::vector<double>{r, 0.5};
    });
    const FitQuality q = judged({{8, 1, 9}}, residuals);
    REQUIRE(q.better.size() == 1);
    CHECK(near(q.better[0], 2.5, 0.5, 0));
}

TEST_CASE("what fits best at nothing, as air that is not there, is bounded from above") {
    // An error of 1; the readings want -1/2, which chance does, or -5, which it does not.
    const auto say = [](double wanted) {
        return judged({{2, 0, 40}}, each([wanted](const std::vector<double>& x) {
                          return std::vector<double>{x[0] - wanted, 0.5};
                      }))
            .of[0];
    };
    CHECK(say(-0.5).say == Say::at_most);
    CHECK(near(say(-0.5).high, 1.96, 1e-2, 0));
    CHECK(say(-5).say == Say::at_bound);
    // 1 +- 1: anything from nothing to 2.96.
    CHECK(say(1).say == Say::at_most);
    CHECK(near(say(1).high, 2.96, 1e-2, 0));
}

TEST_CASE("a value that cannot be is nothing that readings speak against") {
    const FitQuality q =
        judged({{5, 0, 9}}, each([](const std::vector<double>& x) {
                   return x[0] > 7 ? std::vector<double>() : std::vector<double>{0.3, -0.2};
               }));
    CHECK(q.of[0].say == Say::moves_nothing);
    CHECK(near(q.of[0].high, 7, 5e-3, 0));
}

TEST_CASE("an interval that runs into what cannot be ends there, and says so") {
    // 3 with an error of 1: from 1.04 to 4.96, but above 4.5 the car cannot be.
    const Confidence c =
        judged({{4, 0.2, 20}}, each([](const std::vector<double>& x) {
                   return x[0] > 4.5 ? std::vector<double>() : std::vector<double>{x[0] - 3, 0.5};
               }))
            .of[0];
    CHECK(near(c.low, 1.04, 1e-3, 0));
    CHECK(!c.low_cut);
    CHECK(near(c.high, 4.5, 2e-3, 0));
    CHECK(c.high_cut);
    CHECK(c.say == Say::at_least);
}

TEST_CASE("what goes on past its interval goes on to what can be, and no farther") {
    // Flat past 4, so that nothing speaks against more; above 9 the car cannot be.
    const Confidence c = judged({{3.5, 0.2, 20}}, each([](const std::vector<double>& x) {
                                    return x[0] > 9
                                               ? std::vector<double>()
                                               : std::vector<double>{std::min(x[0], 4.0) - 3, 0.5};
                                }))
                             .of[0];
    CHECK(near(c.high, 9, 1e-2, 0));
    CHECK(c.high_cut);
    CHECK(c.say == Say::at_least);
}

TEST_CASE("an interval that ends at a bound says so") {
    // 3 with an error of 1: from 1.04 to 4.96, of which 1.5 and more is allowed.
    const Residuals residuals = each([](const std::vector<double>& x) {
        return std::vector<double>{x[0] - 3, 0.5};
    });
    const Confidence c = judged({{4, 1.5, 20}}, residuals).of[0];
    CHECK(c.say == Say::determined);
    CHECK(c.low_cut);
    CHECK(c.low == 1.5);
    CHECK(!c.high_cut);
    CHECK(near(c.high, 4.96, 1e-3, 0));
}

TEST_CASE("as many unknowns as readings: an interval only where their errors are known") {
    const Residuals residuals =
        each([](const std::vector<double>& x) { return std::vector<double>{4 * (x[0] - 3)}; });
    const FitQuality unknown = judged({{4, 0.1, 20}}, residuals, false);
    CHECK(unknown.of[0].say == Say::no_freedom);
    CHECK(unknown.freedom == 0);
    const FitQuality known = judged({{4, 0.1, 20}}, residuals, true);
    CHECK(known.of[0].say == Say::determined);
    CHECK(near(known.of[0].error, 0.25, 0, 1e-3));
}
