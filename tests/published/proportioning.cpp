// Proportioning valves as service data books state them, each on a slow press in a circuit.
#include <tuple>

#include "scenarios/scenario.hpp"
#include "study/fit.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr const char *kIn = "rear_valve.inlet.pressure", *kOut = "rear_valve.outlet.pressure";

/// The van with another valve, pressed so slowly that every line is at rest.
Played ramp(double knee, double slope) {
    Scenario s = load("proportioning_valve", {"rear_valve.knee=" + std::to_string(knee) + " Pa",
                                              "rear_valve.slope=" + std::to_string(slope)});
    s.expectations.clear();
    s.foot = force({{0, 0}, {40, 800}});
    s.duration = 40;
    return play(s);
}

/// Outlet pressure when the inlet first passes p.
double outlet_at(const Played& run, double p) {
    const std::vector<double> in = run.of(kIn);
    for (std::size_t i = 0; i < in.size(); ++i)
        if (in[i] >= p) return run.of(kOut)[i];
    FAIL("the inlet never came to " << p);
    return kUnset;
}

/// Where the outlet leaves the inlet: where the straight line beyond meets "outlet = inlet", as a
/// bench with two gauges reads it.
double knee_of(const Played& run, double from, double to) {
    const double a = outlet_at(run, from), b = outlet_at(run, to), slope = (b - a) / (to - from);
    return (a - slope * from) / (1 - slope);
}

} // namespace

TEST_CASE("proportioning valve, code 0.3/30 (Chevrolet Optra 2004 service data; seen): 500 -> 500, "
          "4500 -> 3450 +/- 200, 10000 -> 5100 +/- 300 kPa") {
    // The code is slope and knee in bar.
    const Played run = ramp(3.0e6, 0.3);
    CHECK(near(outlet_at(run, 0.5e6), 0.5e6, 5e3, 0));
    CHECK(near(outlet_at(run, 4.5e6), 3.45e6, 200e3, 0));
    CHECK(near(outlet_at(run, 10e6), 5.1e6, 300e3, 0));
    // The law itself is exact there, far within the maker's tolerance.
    CHECK(near(outlet_at(run, 4.5e6), 3.45e6, 10e3, 0));
    CHECK(near(outlet_at(run, 10e6), 5.1e6, 10e3, 0));
    CHECK(near(knee_of(run, 4.5e6, 10e6), 3.0e6, 10e3, 0));
}

TEST_CASE("proportioning valve (Mitsubishi Eclipse 1997 service data; seen): knee 2.70-3.19 MPa, "
          "6.86 -> 3.92-4.41 MPa") {
    // Low and high edge of both ranges ask for slopes of 0.293 and 0.332, within 0.24-0.40.
    for (const auto& [knee, slope] : {std::pair{2.72e6, 0.31}, {2.945e6, 0.31}, {3.17e6, 0.31}}) {
        const Played run = ramp(knee, slope);
        CAPTURE(knee);
        CHECK(near(knee_of(run, 4.5e6, 6.86e6), 0.5 * (2.70e6 + 3.19e6), 0.245e6, 0));
        CHECK(near(outlet_at(run, 6.86e6), 0.5 * (3.92e6 + 4.41e6), 0.245e6, 0));
    }
}

TEST_CASE("proportioning valve (Mitsubishi Eclipse 2004 service data; seen): knee 3.7-4.2 MPa, 9.8 "
          "-> 5.0-5.8 MPa") {
    for (const auto& [knee, slope] : {std::pair{3.75e6, 0.25}, {3.95e6, 0.25}, {4.15e6, 0.25}}) {
        const Played run = ramp(knee, slope);
        CAPTURE(knee);
        CHECK(near(knee_of(run, 6e6, 9.8e6), 0.5 * (3.7e6 + 4.2e6), 0.25e6, 0));
        CHECK(near(outlet_at(run, 9.8e6), 0.5 * (5.0e6 + 5.8e6), 0.4e6, 0));
    }
}

TEST_CASE(
    "fitted to those points (Chevrolet Optra 2004 service data; seen) the press finds the code "
    "0.3/30") {
    // By hand: (5100 - 3450)/(10000 - 4500) = 0.3, and k from 3450 = k + 0.3 (4500 - k): 3000 kPa.
    // A tolerance of 200 and 300 kPa is taken as two standard errors; of the first point nobody
    // states one.
    study::Fit fit;
    fit.scenario = study::started(load("fits/valve_press"));
    fit.over = {"proportioning.inlet.pressure", Dimension::pressure};
    fit.at = {0.5e6, 4.5e6, 10e6};
    fit.columns = {{"outlet",
                    {"proportioning.outlet.pressure", Dimension::pressure},
                    {0.5e6, 3.45e6, 5.1e6},
                    {50e3, 100e3, 150e3}}};
    fit.errors_stated = true;
    for (const auto& [field, low, high] : {std::tuple{"knee", 1e6, 8e6}, {"slope", 0.1, 0.8}}) {
        study::Varied v;
        v.targets = {{"proportioning", field, -1}};
        v.nominal = study::value_of(fit.scenario, v.targets.front());
        v.distribution.low = low;
        v.distribution.high = high;
        fit.moved.push_back(v);
    }
    study::Threads threads;
    study::RunStore store;
    study::OutcomeSink sink;
    const study::FitResult r = study::fit(fit, threads, store, sink);
    REQUIRE(r.found.end == study::LeastSquares::End::converged);
    CHECK(near(r.found.x[0], 3.0e6, 0, 5e-3));
    CHECK(near(r.found.x[1], 0.3, 0, 5e-3));
    // Slope: (100 + 150)/5500 in quadrature, 0.033; knee: dk = (dh - (4.5 - k) ds)/0.7.
    CHECK(near(r.quality.of[1].error, std::hypot(100.0, 150.0) / 5500, 0, 0.03));
    CHECK(r.quality.of[0].known());
    CHECK(r.quality.of[1].known());
}
