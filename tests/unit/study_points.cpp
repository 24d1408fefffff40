// Points by number, distributions, and what is told of many values in one pass.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>
#include <vector>

#include "compare.hpp"
#include "study/distribution.hpp"
#include "study/points.hpp"
#include "study/sensitivity.hpp"
#include "study/tally.hpp"

using namespace pedalbench::study;
using pedalbench::kUnset;
using pedalbench::test::near;

namespace {

using Kind = PointSet::Kind;

std::vector<PointSet> sets() {
    return {{Kind::grid, 0, 1, {3, 1, 4}},
            {Kind::random, 100, 7, {}},
            {Kind::latin_hypercube, 100, 7, {}},
            {Kind::sobol, 100, 1, {}},
            {Kind::indices, 64, 1, {}}};
}

} // namespace

TEST_CASE("a point is the same alone as in sequence, forward as backward, and lies in the cube") {
    for (const PointSet& set : sets()) {
        CAPTURE(static_cast<int>(set.kind));
        const Points points(set, 3);
        std::vector<std::vector<double>> all;
        for (std::size_t i = 0; i < points.size(); ++i)
            all.push_back(points.at(i));
        for (std::size_t i = points.size(); i-- > 0;) {
            CHECK(Points(set, 3).at(i) == all[i]);
            for (const double x : all[i])
                CHECK((x >= 0 && x <= 1));
        }
        // No two alike, save in the design whose blocks share coordinates.
        if (set.kind != Kind::indices)
            CHECK(std::set<std::vector<double>>(all.begin(), all.end()).size() == all.size());
    }
}

TEST_CASE("Sobol points by number are those of the sequence, far out too") {
    const auto sequence = sobol(3000, 4);
    const Points points({Kind::sobol, 3000, 1, {}}, 4);
    for (const std::size_t i : {0U, 1U, 2U, 1023U, 1024U, 2999U})
        CHECK(points.at(i) == sequence[i]);
}

TEST_CASE("a grid has every combination, the last direction fastest, ends and middle") {
    const Points points({Kind::grid, 0, 1, {2, 1, 3}}, 3);
    REQUIRE(points.size() == 6);
    const std::vector<std::vector<double>> wanted = {{0, 0.5, 0}, {0, 0.5, 0.5}, {0, 0.5, 1},
                                                     {1, 0.5, 0}, {1, 0.5, 0.5}, {1, 0.5, 1}};
    for (std::size_t i = 0; i < 6; ++i)
        CHECK(points.at(i) == wanted[i]);
    CHECK_THROWS_AS(Points({Kind::grid, 0, 1, std::vector<std::size_t>(9, 1000000)}, 9),
                    std::invalid_argument);
}

TEST_CASE("a Latin hypercube has one point in each stratum of each direction") {
    for (const std::size_t n : {1U, 2U, 7U, 100U, 1000U}) {
        CAPTURE(n);
        const Points points({Kind::latin_hypercube, n, 3, {}}, 4);
        std::vector<std::set<std::size_t>> strata(4);
        std::size_t alike = 0;
        for (std::size_t i = 0; i < n; ++i) {
            const auto x = points.at(i);
            for (std::size_t d = 0; d < 4; ++d)
                strata[d].insert(static_cast<std::size_t>(x[d] * static_cast<double>(n)));
            alike += static_cast<std::size_t>(x[0] * static_cast<double>(n)) ==
                     static_cast<std::size_t>(x[1] * static_cast<double>(n));
        }
        for (const auto& one : strata)
            CHECK(one.size() == n);
        // Directions are shuffled apart: by chance one stratum in n agrees.
        if (n >= 100) CHECK(alike < 10);
    }
    // Another seed, another set.
    CHECK(Points({Kind::latin_hypercube, 100, 3, {}}, 2).at(5) !=
          Points({Kind::latin_hypercube, 100, 4, {}}, 2).at(5));
}

TEST_CASE("random points are as even as chance: mean, variance, correlation") {
    const std::size_t n = 20000;
    const Points points({Kind::random, n, 1, {}}, 2);
    double sum = 0, squares = 0, both = 0;
    for (std::size_t i = 0; i < n; ++i) {
        const auto x = points.at(i);
        sum += x[0] - 0.5;
        squares += (x[0] - 0.5) * (x[0] - 0.5);
        both += (x[0] - 0.5) * (x[1] - 0.5);
    }
    // Four standard deviations of each of these means: sqrt(1/12), sqrt(1/180), 1/12, over sqrt(n).
    const double root = std::sqrt(static_cast<double>(n)), count = n;
    CHECK(near(sum / count, 0, 4 * std::sqrt(1.0 / 12) / root, 0));
    CHECK(near(squares / count, 1.0 / 12, 4 * std::sqrt(1.0 / 180) / root, 0));
    CHECK(near(both / count, 0, 4.0 / 12 / root, 0));
}

TEST_CASE("Saltelli's design swaps one coordinate at a time") {
    const Points points({Kind::indices, 64, 1, {}}, 3);
    REQUIRE(points.size() == 64 * 5);
    for (std::size_t block = 0; block < 64; ++block) {
        const auto a = points.at(5 * block), b = points.at(5 * block + 1);
        for (std::size_t d = 0; d < 3; ++d) {
            auto wanted = a;
            wanted[d] = b[d];
            CHECK(points.at(5 * block + 2 + d) == wanted);
        }
    }
}

TEST_CASE("quantiles of the distributions are those of their closed forms") {
    using K = Distribution::Kind;
    const Distribution even{K::uniform, 2, 4, 0, 0, {}};
    CHECK(quantile(even, 0) == 2);
    CHECK(quantile(even, 0.25) == 2.5);
    CHECK(quantile(even, 1) == 4);

    // Triangle 0, 1, 3: F = x^2/3 up to 1, then 1 - (3 - x)^2/6.
    const Distribution triangle{K::triangular, 0, 3, 1, 0, {}};
    CHECK(near(quantile(triangle, 0.12), 0.6, 1e-12, 0));
    CHECK(near(quantile(triangle, 0.94), 2.4, 1e-12, 0));
    CHECK(quantile(triangle, 0) == 0);
    CHECK(quantile(triangle, 1) == 3);

    // The bell: tables give 1.959964 for 0.975; far ends do not show.
    const Distribution bell{K::normal, -50, 70, 10, 2, {}};
    CHECK(near(quantile(bell, 0.975), 10 + 2 * 1.959963984540054, 1e-9, 0));
    CHECK(near(quantile(bell, 0.5), 10, 1e-12, 0));
    // Cut at three deviations: (Phi(1) - Phi(-3))/(Phi(3) - Phi(-3)) lies below one deviation.
    const Distribution cut{K::normal, 4, 16, 10, 2, {}};
    const double below = 0.0013498980316301, at_one = 0.8413447460685429;
    CHECK(near(quantile(cut, (at_one - below) / (1 - 2 * below)), 12, 1e-9, 0));
    CHECK(quantile(cut, 0) == 4);
    CHECK(quantile(cut, 1) == 16);

    const Distribution list{K::values, 0, 0, 0, 0, {5, 3, 8}};
    CHECK(quantile(list, 0) == 5);
    CHECK(quantile(list, 0.34) == 3);
    CHECK(quantile(list, 1) == 8);
    // A grid of three takes each of them once.
    const Points grid({Kind::grid, 0, 1, {3}}, 1);
    for (std::size_t i = 0; i < 3; ++i)
        CHECK(quantile(list, grid.at(i)[0]) == list.values[i]);
}

TEST_CASE("a histogram needs no range beforehand, little memory, and no order") {
    Histogram forward, backward;
    const int n = 100000;
    const auto value = [](int i) { return 1e5 + 3 * static_cast<double>(i); };
    for (int i = 0; i < n; ++i) {
        forward.add(value(i));
        backward.add(value(n - 1 - i));
    }
    CHECK(forward.bins() <= static_cast<std::size_t>(Histogram::kBins));
    CHECK(forward.bins() > static_cast<std::size_t>(Histogram::kBins) / 4);
    for (const double q : {0.0, 0.01, 0.05, 0.5, 0.95, 1.0}) {
        CHECK(forward.quantile(q) == backward.quantile(q));
        CHECK(near(forward.quantile(q), value(0) + q * 3 * n, 3.0 * n / 1024, 0));
    }
    const auto counts = forward.in_bins(value(0), value(n), 10);
    std::size_t all = 0;
    for (const std::size_t c : counts) {
        CHECK(near(static_cast<double>(c), n / 10.0, n / 1000.0, 0));
        all += c;
    }
    CHECK(all == static_cast<std::size_t>(n));

    // Values of any size together, zero and below it.
    Histogram mixed;
    for (const double x : {0.0, 1e-12, -1e9, 1e9, 5.0, -3.0})
        mixed.add(x);
    CHECK(mixed.count() == 6);
    CHECK(mixed.quantile(0) == -1e9);
    CHECK(mixed.quantile(1) == 1e9);
    Histogram still;
    for (int i = 0; i < 5; ++i)
        still.add(7.5);
    CHECK(still.quantile(0.3) == 7.5);
    CHECK(std::isnan(Histogram().quantile(0.5)));
}

TEST_CASE("moments and what lies outside") {
    Tally t(2.0, 5.0);
    for (const double x : {1.0, 2.0, 3.0, 4.0, 5.0, 9.0})
        t.add(x);
    t.add(kUnset); // an event that never came is not within its limits
    CHECK(t.count() == 6);
    CHECK(t.none() == 1);
    CHECK(t.judged() == 7);
    CHECK(near(t.mean(), 4, 1e-14, 0));
    CHECK(near(t.deviation(), std::sqrt(8.0), 1e-14, 0)); // 9 + 4 + 1 + 0 + 1 + 25 over 5
    CHECK(t.below() == 1);
    CHECK(t.above() == 1);
    CHECK(t.outside() == 3);
    Tally open;
    open.add(kUnset);
    CHECK(open.outside() == 0);
    CHECK(std::isnan(open.mean()));
}

TEST_CASE("Clopper and Pearson's interval") {
    // 3 of 10: 0.0667 to 0.6525 in tables of exact binomial limits.
    const Interval i = clopper_pearson(3, 10);
    CHECK(near(i.low, 0.0667, 5e-5, 0));
    CHECK(near(i.high, 0.6525, 5e-5, 0));
    // And by its definition: at each end a tail of 2.5 %, added up term by term.
    const auto at_most = [](int k, int n, double p) {
        double sum = 0, term = std::pow(1 - p, n);
        for (int j = 0; j <= k; ++j) {
            sum += term;
            term *= p / (1 - p) * (n - j) / (j + 1);
        }
        return sum;
    };
    CHECK(near(at_most(3, 10, i.high), 0.025, 1e-10, 0));
    CHECK(near(1 - at_most(2, 10, i.low), 0.025, 1e-10, 0));
    // None of n: the upper end is 1 - 0.025^(1/n).
    CHECK(clopper_pearson(0, 10).low == 0);
    CHECK(near(clopper_pearson(0, 10).high, 1 - std::pow(0.025, 0.1), 1e-12, 0));
    CHECK(clopper_pearson(10, 10).high == 1);
    CHECK(near(clopper_pearson(10, 10).low, std::pow(0.025, 0.1), 1e-12, 0));
}

TEST_CASE("Sobol's indices of Ishigami's function lie in the intervals told") {
    // f = sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 on (-pi, pi) (T. Ishigami and T. Homma, 1990):
    // V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V13 = 8 b^2 pi^8/225, and nothing else.
    const double a = 7, b = 0.1, pi4 = std::pow(M_PI, 4);
    const double v1 = 0.5 * (1 + b * pi4 / 5) * (1 + b * pi4 / 5), v2 = a * a / 8,
                 v13 = 8 * b * b * pi4 * pi4 / 225, v = v1 + v2 + v13;
    const double first[] = {v1 / v, v2 / v, 0}, total[] = {(v1 + v13) / v, v2 / v, v13 / v};

    const std::size_t blocks = 4096;
    const Points points({Kind::indices, blocks, 1, {}}, 3);
    const auto f = [&](std::size_t i) {
        std::vector<double> x = points.at(i);
        for (double& one : x)
            one = M_PI * (2 * one - 1);
        return std::sin(x[0]) + a * std::sin(x[1]) * std::sin(x[1]) +
               b * std::pow(x[2], 4) * std::sin(x[0]);
    };
    IndexSums sums(3);
    for (std::size_t k = 0; k < blocks; ++k) {
        const double swapped[] = {f(5 * k + 2), f(5 * k + 3), f(5 * k + 4)};
        sums.add(f(5 * k), f(5 * k + 1), swapped);
    }
    const double none[] = {0, 0, 0};
    sums.add(kUnset, 1, none); // a refused row takes its block with it
    const Indices found = sums.indices();
    CHECK(found.blocks == blocks);
    for (std::size_t d = 0; d < 3; ++d) {
        CAPTURE(d);
        for (const auto& [share, wanted] :
             {std::pair(found.first[d], first[d]), std::pair(found.total[d], total[d])}) {
            CHECK(share.likely.low <= wanted);
            CHECK(share.likely.high >= wanted);
            // No interval that says nothing: were the differences normal, the mean of 4096 squares
            // would be known to sqrt(2/4096), and four of that are 0.09.
            CHECK(share.likely.high - share.likely.low < 0.15);
            CHECK(near(share.value, wanted, 0.02, 0));
        }
    }
    // Twice the same: nothing is drawn that a clock or a thread could change.
    CHECK(sums.indices().first[0].likely.low == found.first[0].likely.low);
}
