// What differs between runs, in plain words: one sentence for each difference that matters.
#pragma once

#include <string>
#include <vector>

#include "study/compare.hpp"
#include "study/setup.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// How a run that is compared is called.
struct RunName {
    std::string name;  // the head of its column: "ordinary_stop", "as it is"
    std::string where; // in a sentence: "in ordinary_stop", "as it is", "without dripping"
    std::string file, title;
    int number = 1; // of trace_1.csv
};

/// Everything that the answers of a comparison are made from.
struct Compared {
    std::vector<RunName> runs; // in the order of the entries
    std::vector<study::Entry> entries;
    study::Comparison comparison;
    study::Setup setup;
    std::vector<std::string> left_out; // runs that are not compared, each with its reason
    OutputUnits units = OutputUnits::metric();
};

/// Figures whose share is smaller are in the tables only.
inline constexpr double kTold = 0.05;
/// And of those not more than this many, the largest first.
inline constexpr std::size_t kMostTold = 8;

/// What matters most first.
std::vector<std::string> sentences(const Compared& compared);
/// Values in one unit and with the same number of decimals: as many as that many digits of the
/// largest take, but none that the error [SI] makes worthless. "-" where there is no value.
std::vector<std::string> numbers(const std::vector<double>& si, Dimension dimension,
                                 const OutputUnits& units, int digits, double error);

/// Events of several parts that say the same at the same times are one; those of the setting up are
/// left out.
struct EventRow {
    std::vector<std::string> parts;
    const study::PairedEvent* event; // of the first of them

    std::string words() const; // "front_left, front_right: pads touch"
};
std::vector<EventRow> event_rows(const study::Comparison& comparison);

} // namespace pedalbench::runner
