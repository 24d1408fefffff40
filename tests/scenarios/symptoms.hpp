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

/// Three presses, each let go at once: the pistons outrun the fluid and draw more past their cups.
inline FootInput quick_presses() {
    return force({{0, 0},
                  {0.3, 250},
                  {0.6, 250},
                  {0.65, 0},
                  {1.2, 0},
                  {1.5, 250},
                  {1.8, 250},
                  {1.85, 0},
                  {2.4, 0},
                  {2.7, 250},
                  {3, 250},
                  {3.05, 0}});
}

/// A held foot that slips off the pedal.
inline Scenario let_go(const std::vector<std::string>& sets = {}) {
    Scenario s = plain(sets);
    s.foot = force({{0, 0}, {4, 300}, {10, 300}, {10.02, 0}});
    s.duration = 16;
    return s;
}

/// When a front caliper falls below a pressure once that foot is off.
inline double falls_below(const Played& run, double pressure, double from = 10) {
    const std::vector<double> p = run.of("front_left.pressure");
    for (std::size_t i = 0; i < p.size(); ++i)
        if (run.trace.time[i] > from && p[i] < pressure) return run.trace.time[i];
    return kUnset;
}

/// The van pressed once, slowly, its valve with a by-pass that feels the front line.
inline Scenario bypassed(const std::vector<std::string>& sets = {}) {
    Scenario s = load("proportioning_valve", sets);
    s.expectations.clear();
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "rear_valve") part.values.set("bypass_front", 0.5e6);
    std::vector<std::string>& front = s.hardware.circuits[0].run.parts;
    front.insert(front.begin() + 1, "rear_valve.front");
    s.foot = force({{0, 0}, {20, 300}, {21, 300}, {22, 0}});
    s.duration = 24;
    return s;
}

/// Hours of driving from scenarios/complaints, their first `duration` seconds, without what is
/// wrong there (changes of one field).
inline Scenario driving(const char* complaint, const char* wrong, double duration,
                        const std::vector<std::string>& sets = {}) {
    Scenario s = load(std::string("complaints/") + complaint, sets);
    s.expectations.clear();
    if (*wrong) std::erase_if(s.changes, [&](const Change& c) { return c.field == wrong; });
    s.duration = duration;
    return s;
}
/// Down a long hill with the foot on the brake, and a stop at its foot, with fresh fluid.
inline Scenario descent(double duration, const std::vector<std::string>& sets = {}) {
    Scenario s = driving("floor_after_a_descent", "boiling_point", duration, sets);
    s.sample = 0.02;
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
