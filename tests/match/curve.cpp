// How far a reading is missed, and how the size that fits best is found between runs, on made-up
// readings whose answers can be worked out by hand.
#include <doctest/doctest.h>

#include <cmath>
#include <list>
#include <numbers>

#include "study/match.hpp"
#include "study/match_curve.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::study;
using namespace pedalbench::test;

namespace {

Expectation reading(std::optional<double> low, std::optional<double> high,
                    Expectation::Moment moment = Expectation::Moment::at_time) {
    Expectation e;
    e.moment = moment;
    e.low = low;
    e.high = high;
    return e;
}

Candidate leak() {
    return {find_fault("leak"), "front", {}, {}, kUnset};
}

/// Runs whose answers are made up.
struct Made {
    Readings readings;
    std::list<std::vector<double>> kept; // a curve points to them
    Curve curve;

    explicit Made(const std::vector<Expectation>& what, const Candidate& candidate = leak())
        : curve(candidate, readings) {
        for (std::size_t i = 0; i < what.size(); ++i) {
            readings.what.push_back(what[i]);
            readings.dimension.push_back(Dimension::pressure);
            readings.column.push_back(what.size() - 1 - i); // not in the same order
        }
    }
    Made(const Made&) = delete;
    void run(double u, std::vector<double> in_order) {
        kept.push_back({in_order.rbegin(), in_order.rend()});
        curve.add(u, kept.back());
    }
    void refuse(double u) {
        kept.emplace_back();
        curve.add(u, kept.back());
    }
};

} // namespace

TEST_CASE("a reading is missed by standard errors, a bound only on its far side") {
    const auto both = reading(90e3, 110e3); // 100 kPa, two errors of 5 kPa to either side
    CHECK(near(off_by(both, Dimension::pressure, 100e3), 0, 1e-12, 0));
    CHECK(near(off_by(both, Dimension::pressure, 110e3), 2, 1e-12, 0));
    CHECK(near(off_by(both, Dimension::pressure, 85e3), -3, 1e-12, 0));
    CHECK(near(off_by(both, Dimension::pressure, 1e6), 180, 1e-9, 0)); // never capped

    const auto above = reading(1e6, {});
    const double error = reading_error(Dimension::pressure, 1e6); // 10 kPa and 1 % of 1 MPa
    CHECK(near(error, std::hypot(10e3, 10e3), 1e-9, 0));
    CHECK(off_by(above, Dimension::pressure, 1.5e6) == 0);
    CHECK(near(off_by(above, Dimension::pressure, 1e6 - 2 * error), -2, 1e-9, 0));
    CHECK(off_by(above, Dimension::pressure, 0) == -kMissed);
    const auto below = reading({}, 1e6);
    CHECK(off_by(below, Dimension::pressure, 0) == 0);
    CHECK(off_by(below, Dimension::pressure, 5e6) == kMissed);
    CHECK(off_by(below, Dimension::pressure, kUnset) == kMissed); // it never came to that

    const auto once = reading(1, {}, Expectation::Moment::event_count);
    CHECK(off_by(once, Dimension::number, 2) == 0);
    CHECK(off_by(once, Dimension::number, 0) == -kMissed);
    const auto exactly = reading(5, 5);
    CHECK(off_by(exactly, Dimension::number, 5) == 0);
    CHECK(off_by(exactly, Dimension::number, 6) == kMissed);
}

TEST_CASE("between two runs the best size is where a straight line comes nearest") {
    // 100 +- 5 (a standard error of 5) and 50 +- 10; lines 200 u and 100 - 100 u: misfit
    // ((200u-100)/5)^2 + ((50-100u)/10)^2 = 1600 (u-1/2)^2 + 100 (u-1/2)^2.
    Made made({reading(90, 110), reading(30, 70)});
    made.run(0, {0, 100});
    made.run(1, {200, 0});
    CHECK(near(made.curve.best().u, 0.5, 1e-12, 0));
    CHECK(near(made.curve.best().misfit, 0, 1e-12, 0));
    CHECK(near(made.curve.misfit(0.25), 1700.0 / 16, 0, 1e-12));
    CHECK(near(made.curve.value(0, 0.25), 50, 1e-12, 0));
    CHECK(near(made.curve.value(1, 0.25), 75, 1e-12, 0));
    CHECK(near(made.curve.best_run(), 425, 1e-9, 0));
    // Where the misfit is 4: u - 1/2 = +- 2/sqrt(1700), in steps of 1/512.
    const auto [from, to] = made.curve.range(4);
    CHECK(near(from, 0.5 - 2 / std::sqrt(1700), 1.0 / 512, 0));
    CHECK(near(to, 0.5 + 2 / std::sqrt(1700), 1.0 / 512, 0));
    CHECK_FALSE(made.curve.has_run(0.5));
    // Over all sizes: the integral of exp(-850 (u-1/2)^2) is sqrt(pi/850).
    CHECK(near(made.curve.averaged(), -std::log(std::numbers::pi / 850), 1e-3, 0));

    // A run in the middle on the line: what is between is known, nothing is halved any more.
    CHECK(made.curve.worth_halving(25) == std::vector<double>{0.5});
    made.run(0.5, {100, 50});
    CHECK(made.curve.has_run(0.5));
    CHECK(made.curve.worth_halving(25).empty());
    CHECK(near(made.curve.best_sample().first, 0.5, 0, 0));
}

TEST_CASE("what sizes from one to another give reaches over the runs between and lines to both") {
    Made m({reading(0, 1), reading(0, 1)});
    m.run(0, {0, 4});
    m.run(0.5, {10, -6});
    m.run(1, {4, 8});
    // Columns stand the other way round. At 0.25: 5, -1; at 0.75: 7, 1; the run between: 10, -6.
    const auto [least, most] = m.curve.reach(0.25, 0.75);
    CHECK(least == std::vector<double>{-6, 5});
    CHECK(most == std::vector<double>{1, 10});
    const auto [here, there] = m.curve.reach(0.5, 0.5);
    CHECK(here == std::vector<double>{-6, 10});
    CHECK(there == here);
    const auto [low, high] = m.curve.reach(0.6, 0.7); // between two runs
    CHECK(near(low[1], 7.6, 1e-12, 0));
    CHECK(near(high[1], 8.8, 1e-12, 0));
}

TEST_CASE("an interval is halved while something good may hide in it, and left alone when not") {
    Made made({reading(90, 110)});
    made.run(0, {0});
    made.run(1, {80});
    // 80 and a quarter of 80 beyond is 100: it could fit.
    CHECK(made.curve.worth_halving(0.1) == std::vector<double>{0.5});
    Made far({reading(90, 110)});
    far.run(0, {0});
    far.run(1, {60}); // 75 at best: five errors off
    CHECK(far.curve.worth_halving(24.9).empty());
    CHECK(far.curve.worth_halving(25.1) == std::vector<double>{0.5});
    // Of twenty readings one may turn between two runs, if it moves; of nineteen none, and of
    // twenty not two. From 0 to 60 is 23 to 5 errors of 5 below 100, with a quarter beyond.
    for (const std::size_t n : {19U, 20U}) {
        const auto worth = [n](std::vector<double> ends) {
            Made turns(std::vector<Expectation>(n, reading(90, 110)));
            std::vector<double> high(n, 200);
            std::copy(ends.begin(), ends.end(), high.begin());
            turns.run(0, std::vector<double>(n, 0));
            turns.run(1, high);
            return turns.curve.worth_halving(1).size() == 1;
        };
        CHECK(worth({}));
        CHECK(worth({60}) == (n == 20));
        CHECK_FALSE(worth({60, 60}));
        CHECK_FALSE(worth({0})); // it stands still
    }
    // A kink in the middle: neither half is straight.
    far.run(0.5, {55});
    CHECK(far.curve.worth_halving(40).size() == 1); // 55 + 1.25 beyond fits no better than 61.25
    // A size that cannot be: its neighbourhood is looked at, but not for ever.
    Made edge({reading(90, 110)});
    edge.run(0, {100});
    edge.refuse(1);
    double worth = 1;
    int halved = 0;
    while (true) {
        const auto wanted = edge.curve.worth_halving(1);
        if (wanted.empty()) break;
        REQUIRE(wanted.size() == 1);
        worth = wanted[0];
        edge.refuse(worth);
        ++halved;
        REQUIRE(halved < 10);
    }
    CHECK(halved == 4); // down to a sixteenth
    CHECK(near(worth, 1.0 / 16, 1e-12, 0));
    CHECK(edge.curve.best().u == 0);
}

TEST_CASE("a candidate that moves no reading by a standard error is not shown by them") {
    Made made({reading(90, 110)});
    made.run(0, {100});
    made.run(1, {104.9});
    CHECK_FALSE(made.curve.shows({100}));
    made.run(0.5, {105.1});
    CHECK(made.curve.shows({100}));
}

TEST_CASE("two faults at once: the sizes whose sum fits, and what they do beyond it") {
    // The first moves reading 0 by 100 u, the second reading 1 by 50 v; sound are 10 and 20. Read
    // were 40 and 30: u = 0.3, v = 0.2.
    const std::vector<Expectation> what{reading(38, 42), reading(28, 32)};
    Made a(what), b(what);
    a.run(0, {10, 20});
    a.run(1, {110, 20});
    b.run(0, {10, 20});
    b.run(1, {10, 70});
    const Curve::BestPair best = best_pair(a.curve, b.curve, {10, 20}, {});
    CHECK(near(best.u, 0.3, 1e-3, 0));
    CHECK(near(best.v, 0.2, 1e-3, 0));
    CHECK(best.misfit < 0.1);
    // Together they do 5 more to the first: beyond the sum, and then a smaller first one fits.
    const auto more =
        beyond_sum(a.curve, b.curve, {10, 20}, best, {10 + 100 * best.u + 5, 20 + 50 * best.v});
    CHECK(near(more[0], 5, 1e-9, 0));
    CHECK(near(more[1], 0, 1e-9, 0));
    CHECK(near(best_pair(a.curve, b.curve, {10, 20}, more).u, 0.25, 1e-3, 0));
}
