// What a changed valve changes for the car, in plain words.
#pragma once

#include <string>
#include <vector>

#include "study/compare.hpp"
#include "valve_answers.hpp"

namespace pedalbench::runner {

/// One line of a table, for both cars.
struct ValveRow {
    std::string what;
    Dimension dimension = Dimension::number;
    std::array<double, 2> value{kUnset, kUnset}; // SI
    std::array<std::string, 2> words;            // instead, or behind the number

    bool is_number() const { return study::known(value[0]) || study::known(value[1]); }
    bool differs() const;
};

/// Whether two values are so far apart that somebody may feel it or read it off a gauge: by more
/// than the error of a run, and by more than 0.5 % of the larger.
bool apart(double was, double is, Dimension dimension);

/// "front", "rear", "both at once", "neither".
std::string first_words(study::LockOrder::First first);
/// "flows", "drips", "stops"; empty: not tried.
std::string flow_words(const study::BledAxle& axle);
/// "gravity", "a tank of 2.07 bar".
std::string tank_words(double pressure, const OutputUnits& units);

/// What matters most first.
std::vector<std::string> valve_sentences(const CheckedValve& checked);

} // namespace pedalbench::runner
