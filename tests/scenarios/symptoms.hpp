// The healthy car of the symptom tests and the same car with one fault.
#pragma once

#include "scenario.hpp"
#include "system/faults.hpp"

namespace pedalbench::test {

/// The ordinary stop without its expectations, perhaps with another foot.
inline Scenario plain(const std::vector<std::string>& sets = {}) {
    Scenario s = load("ordinary_stop", sets);
    s.expectations.clear();
    return s;
}

inline Played with_fault(Scenario s, const char* kind, const char* at, double size = kUnset,
                         double from = 0) {
    REQUIRE(find_fault(kind) != nullptr);
    REQUIRE(apply_fault(s, {"fault", find_fault(kind), at, size, from, 0}).empty());
    return play(s);
}

/// A stop so slow that pressures are alike along a line; held, and let go as slowly.
inline Scenario slow_stop(double newton, const std::vector<std::string>& sets = {}) {
    Scenario s = plain(sets);
    s.foot = force({{0, 0}, {8, newton}, {12, newton}, {40, 8}, {70, 0}});
    s.duration = 75;
    return s;
}

/// Resistance of a round hole of diameter d with a wall: creeping flow and the jet [SI].
struct Hole {
    double a, b; // drop = a q + b q |q|
    Hole(const Played& run, double d, double wall, double discharge) {
        const BrakeFluid fluid =
            make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
        const double r = 0.5 * d, rho = fluid.density(),
                     mu = rho * fluid.viscosity(run.field("surroundings.temperature"));
        a = mu * (3 / (r * r * r) + 8 * wall / (M_PI * r * r * r * r));
        b = 0.5 * rho / std::pow(discharge * M_PI * r * r, 2);
    }
    double flow(double drop) const {
        return 2 * drop / (a + std::sqrt(a * a + 4 * b * std::fabs(drop)));
    }
};

/// Integral of a channel over time by the rows.
inline double integral(const Played& run, const std::string& channel, double from, double to) {
    const std::vector<double> y = run.of(channel);
    double sum = 0;
    for (std::size_t i = 1; i < y.size(); ++i)
        if (run.trace.time[i - 1] >= from && run.trace.time[i] <= to)
            sum += 0.5 * (y[i] + y[i - 1]) * (run.trace.time[i] - run.trace.time[i - 1]);
    return sum;
}

} // namespace pedalbench::test
