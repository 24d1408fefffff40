// What a changed valve changes for the car, in plain words.
#pragma once

#include <string>
#include <vector>

#include "valve_answers.hpp"

namespace pedalbench::runner {

/// One line of a table, for both cars.
struct ValveRow {
    std::string what;
    Dimension dimension = Dimension::number;
    std::array<double, 2> value{kUnset, kUnset}; // SI
    std::array<std::string, 2> words;            // instead, where it is no number
    double least = 0;                            // SI; what is nearer is the same

    bool differs() const;
};

/// Differences that nobody could feel or read off a gauge, and the error of a run [SI].
double least_of(Dimension dimension);

/// "front", "rear", "both at once", "neither".
std::string first_words(study::LockOrder::First first);
/// "flows", "drips", "stops"; empty: not tried.
std::string flow_words(const study::BledAxle& axle);
/// "gravity", "a tank of 2.07 bar".
std::string tank_words(double pressure, const OutputUnits& units);

/// What matters most first.
std::vector<std::string> valve_sentences(const CheckedValve& checked);

} // namespace pedalbench::runner
