// ctest: physics 240
// Fits of a car to readings: what stood behind the readings comes back, and what they cannot tell
// is said.
#include "proportioning_gauges.hpp"
#include "scenario.hpp"

#include <cmath>
#include <random>

#include "study/executor.hpp"
#include "study/fit.hpp"

using namespace pedalbench;
using namespace pedalbench::test;
using study::Confidence;

namespace {

constexpr const char *kFrontIn = "hold_off.inlet.pressure", *kFrontOut = "hold_off.outlet.pressure",
                     *kRearIn = "proportioning.inlet.pressure",
                     *kRearOut = "proportioning.outlet.pressure";

study::Varied moved(const Scenario& s, const std::string& part, const std::string& field,
                    double low, double high) {
    study::Varied v;
    v.path = part + "." + field;
    v.targets = {{part, field, -1}};
    v.nominal = study::value_of(s, v.targets.front());
    v.distribution.low = low;
    v.distribution.high = high;
    return v;
}

/// The press, without readings yet.
study::Fit press(const std::vector<std::string>& sets = {}) {
    study::Fit fit;
    fit.scenario = study::started(load("fits/valve_press", sets));
    fit.errors_stated = true;
    return fit;
}

study::FitResult fitted(const study::Fit& fit) {
    study::Threads threads;
    study::RunStore store;
    study::OutcomeSink sink;
    return study::fit(fit, threads, store, sink);
}

/// Along one channel, another: what a car with `sets` shows there, and the error of a gauge.
void read(study::Fit& fit, const std::vector<std::string>& sets, const char* over,
          const std::string& channel, const std::vector<double>& at, double error) {
    Scenario s = load("fits/valve_press", sets);
    s.record = {over, channel};
    Trace trace;
    RunOptions options;
    options.tolerance_scale = 0.1;
    const Summary summary = simulate(s, trace, options);
    REQUIRE(summary.complete);
    fit.over = {over, summary.of(over).channel.dimension};
    fit.at = at;
    fit.columns.push_back({channel,
                           {channel, summary.of(channel).channel.dimension},
                           study::read_along(trace.of(over), trace.of(channel), at),
                           std::vector<double>(at.size(), error)});
}

std::vector<double> every(double from, double to, double step) {
    std::vector<double> at;
    for (int i = 0; from + i * step <= to + 1e-9 * to; ++i)
        at.push_back(from + i * step);
    return at;
}

} // namespace

TEST_CASE("readings along a channel: first passage up, last one down, hysteresis apart") {
    const std::vector<double> over = {0, 1, 0.8, 2, 3, 2.5, 1, 1.2, 0},
                              y = {0, 1, 9, 2, 3, 7, 6, 9, 5};
    // Up: 0.5 halfway from 0 to 1; 1.5 between 0.8 and 2, at 7/12 of the way from 9 to 2; 3 at the
    // peak. Down: 2.75 halfway from 3 to 7; 1.1 behind the last peak of 1.2: 1/12 of the way from 9
    // to 5. Outside both ends the nearest that there is.
    const std::vector<double> found =
        study::read_along(over, y, {-1, 0.5, 1.5, 3.5, 2.75, 1.1, -1});
    const std::vector<double> wanted = {0, 0.5, 9 - 7 * 7.0 / 12, 3, 5, 9 - 4.0 / 12, 5};
    REQUIRE(found.size() == wanted.size());
    for (std::size_t i = 0; i < found.size(); ++i) {
        CAPTURE(i);
        CHECK(near(found[i], wanted[i], 1e-12, 0));
    }
}

TEST_CASE("a top that is read twice was read on the way up both times") {
    // Up 2 is passed at the value 20, on the way back at 25.
    const std::vector<double> over = {0, 2, 3, 2, 0}, y = {0, 20, 30, 25, 5};
    CHECK(study::read_along(over, y, {1, 2, 2, 1}) == std::vector<double>{10, 20, 20, 15});
}

TEST_CASE("knee and slope of the proportioning valve that stood behind two gauges come back") {
    study::Fit fit = press();
    read(fit, {"proportioning.knee=2.4 MPa", "proportioning.slope=0.28"}, kRearIn, kRearOut,
         every(0.5e6, 9.5e6, 0.5e6), 20e3);
    fit.moved = {moved(fit.scenario, "proportioning", "knee", 1e6, 6e6),
                 moved(fit.scenario, "proportioning", "slope", 0.25, 0.6)};
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    CHECK(near(r.found.x[0], 2.4e6, 0, 2e-3));
    CHECK(near(r.found.x[1], 0.28, 0, 2e-3));
    // Straight line beyond the knee, 15 readings of 20 kPa from 2.5 to 9.5 MPa: with x counted from
    // their mean, 6 MPa, sum x^2 = 70 MPa^2. The outlet is s p + k (1 - s): a line with slope s and
    // height h at 6 MPa, k = (h - 6 s)/(1 - s). Errors 20/sqrt(70) kPa/MPa = 0.0024 of the slope.
    CHECK(near(r.quality.of[1].error, 20e3 / std::sqrt(70.0) / 1e6, 0, 0.03));
    CHECK(r.quality.of[0].known());
    CHECK(r.quality.of[1].known());
    // A steeper line must start lower: k falls by (6 - k)/(1 - s) MPa for one of s.
    CHECK(r.quality.correlation[0][1] < -0.8);
}

TEST_CASE(
    "all three pressures of a hold-off valve come back from a press that squeezes and lets go") {
    study::Fit fit = press();
    std::vector<double> at = every(0.1e6, 6e6, 0.1e6);
    for (const double p : every(0.2e6, 5.8e6, 0.2e6))
        at.push_back(6e6 - p);
    read(fit, {"hold_off.open=1.05 MPa", "hold_off.full=2.6 MPa"}, kFrontIn, kFrontOut, at, 20e3);
    fit.moved = {moved(fit.scenario, "hold_off", "open", 0.3e6, 2e6),
                 moved(fit.scenario, "hold_off", "full", 2.1e6, 6e6)};
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    CHECK(near(r.found.x[0], 1.05e6, 0, 5e-3));
    CHECK(near(r.found.x[1], 2.6e6, 0, 5e-3));
    CHECK(r.quality.of[0].low <= 1.05e6);
    CHECK(r.quality.of[1].high >= 2.6e6);
}

TEST_CASE("travel and pressure along the foot's force: pedal and cylinder spring come back") {
    study::Fit fit = press();
    const std::vector<std::string> car = {"pedal.ratio=4.6", "master.primary_spring=150 N"};
    const std::vector<double> at = every(50, 700, 50);
    read(fit, car, "pedal.force", "pedal.travel", at, 0.5e-3);
    read(fit, car, "pedal.force", kFrontIn, at, 20e3);
    fit.moved = {moved(fit.scenario, "pedal", "ratio", 3, 8),
                 moved(fit.scenario, "master", "primary_spring", 50, 300)};
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    CHECK(near(r.found.x[0], 4.6, 0, 2e-3));
    CHECK(near(r.found.x[1], 150, 3, 0));
}

TEST_CASE("what the gauges never felt is not determined: a slope read below the knee") {
    study::Fit fit = press();
    read(fit, {}, kRearIn, kRearOut, every(0.2e6, 1.4e6, 0.2e6), 20e3);
    fit.moved = {moved(fit.scenario, "proportioning", "slope", 0.25, 0.6)};
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    CHECK(r.quality.of[0].say == Confidence::Say::moves_nothing);
}

TEST_CASE(
    "a knee above all readings is bounded from below: it is felt as soon as it comes under them") {
    study::Fit fit = press();
    read(fit, {}, kRearIn, kRearOut, every(0.2e6, 1.4e6, 0.2e6), 20e3);
    fit.moved = {moved(fit.scenario, "proportioning", "knee", 0.5e6, 6e6)};
    REQUIRE(fit.moved[0].nominal > 1.6e6);
    const double slope = study::value_of(fit.scenario, {"proportioning", "slope", -1});
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    const Confidence& c = r.quality.of[0];
    CHECK(c.say == Confidence::Say::at_least);
    // The last row alone feels it: (1 - slope) (1.4 MPa - knee) = 1.96 x 20 kPa.
    CHECK(near(c.low, 1.4e6 - 39.2e3 / (1 - slope), 6e3, 0));
    CHECK(c.high_cut);
}

TEST_CASE("diameter, area and spring of a plate act by their ratios alone: none is determined") {
    study::Fit fit = press();
    read(fit, {}, kFrontIn, kFrontOut, every(0.25e6, 3.75e6, 0.25e6), 15e3);
    fit.moved = {moved(fit.scenario, "hold_off", "plate_diameter", 6e-3, 30e-3),
                 moved(fit.scenario, "hold_off", "outlet_area", 20e-6, 1500e-6),
                 moved(fit.scenario, "hold_off", "plate_spring", 5, 1500)};
    const study::FitResult r = fitted(fit);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    for (const Confidence& c : r.quality.of)
        CHECK(c.say == Confidence::Say::anything);
    // An area goes with the square of the diameter, and with the force.
    const auto share = [&](std::size_t i, std::size_t j) {
        return r.quality.correlation[i][j] * r.quality.of[j].error / r.quality.of[i].error *
               r.found.x[i] / r.found.x[j];
    };
    CHECK(near(share(0, 1), 2, 0, 0.02));
    CHECK(near(share(1, 2), 1, 0, 0.02));
}

TEST_CASE("readings beyond what the foot presses are no readings of that run") {
    study::Fit fit = press();
    read(fit, {}, kRearIn, kRearOut, {1e6, 5e6, 9e6}, 20e3);
    fit.at.back() = 14e6;
    fit.moved = {moved(fit.scenario, "proportioning", "slope", 0.25, 0.6)};
    const study::FitResult r = fitted(fit);
    CHECK(r.beyond == std::vector<std::size_t>{2});
    CHECK(r.after.empty());
}

// Seed 20261127, stated before the first run; out of CI since it takes minutes. Of 400 draws even
// exact intervals hold 95 % give or take 1.1 %, so these are asked of the same draws by the formula
// of the valve: where a share misses 93 to 97 %, they tell whether the draws do it or the fit.
// (With stated errors the knee is held 370 times, 371 times exactly: below 93 %, by the draws.)
TEST_CASE(
    "400 noisy presses: the 95 % intervals hold knee and slope in 93 to 97 %, and as often as "
    "exact ones" *
    doctest::skip()) {
    study::Fit fit = press();
    constexpr double kKnee = 2.2e6, kSlope = 0.3, kError = 50e3;
    read(fit, {"proportioning.knee=2.2 MPa", "proportioning.slope=0.3"}, kRearIn, kRearOut,
         every(0.5e6, 9.5e6, 0.5e6), kError);
    fit.moved = {moved(fit.scenario, "proportioning", "knee", 1e6, 6e6),
                 moved(fit.scenario, "proportioning", "slope", 0.25, 0.6)};
    const std::vector<double> exact = fit.columns.front().value;
    std::mt19937_64 random(20261127);
    std::normal_distribution<double> noise(0, kError);
    study::Threads threads;
    study::RunStore store; // all cases begin with the same runs
    study::OutcomeSink sink;
    int held[2][2] = {}; // [errors stated][field]
    int exact_held[2][2] = {}, apart = 0;
    for (int i = 0; i < 400; ++i) {
        for (std::size_t row = 0; row < exact.size(); ++row)
            fit.columns.front().value[row] = exact[row] + noise(random);
        for (const bool stated : {false, true}) {
            fit.errors_stated = stated;
            const study::FitResult r = study::fit(fit, threads, store, sink);
            REQUIRE(r.found.end == study::LeastSquares::End::converged);
            const study::FitQuality& q = r.quality;
            const Held here = {q.of[0].low <= kKnee && kKnee <= q.of[0].high,
                               q.of[1].low <= kSlope && kSlope <= q.of[1].high};
            const Held there =
                exactly_held({fit.at, fit.columns.front().value, kError,
                              fit.moved[0].distribution.low, fit.moved[0].distribution.high,
                              fit.moved[1].distribution.low, fit.moved[1].distribution.high},
                             kKnee, kSlope, stated);
            held[stated][0] += here.knee;
            held[stated][1] += here.slope;
            exact_held[stated][0] += there.knee;
            exact_held[stated][1] += there.slope;
            apart += (here.knee != there.knee) + (here.slope != there.slope);
        }
    }
    for (const bool stated : {false, true})
        for (const int field : {0, 1}) {
            MESSAGE("held the truth: ", held[stated][field], " of 400; exact intervals ",
                    exact_held[stated][field]);
            CHECK(std::abs(held[stated][field] - exact_held[stated][field]) <= 4);
            CHECK(held[stated][field] >= 372);
            CHECK(held[stated][field] <= 388);
        }
    MESSAGE(apart, " of 1600 intervals are not of one mind with the exact one");
    CHECK(apart <= 16);
}
