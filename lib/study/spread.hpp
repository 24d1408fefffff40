// How far the figures of a run spread when only its guesses move: the defaults on no better ground
// than judgement.
#pragma once

#include <string>
#include <vector>

#include "study/points.hpp"
#include "study/variants.hpp"

namespace pedalbench::study {

/// A guess may be off by this share of its value either way. The table states no band of its own;
/// what nobody publishes (seals, cups, pads) is known to 30 % or worse.
inline constexpr double kBand = 0.3;

/// One default that stands on judgement, on all parts that have it: who is wrong about the seal of
/// one caliper is wrong about its twin's alike.
struct Guess {
    std::vector<std::string> paths; // "front_left.seal_shift", "front_right.seal_shift"
    const Field* field = nullptr;
    double value = 0, low = 0, high = 0; // the band, SI
};

/// The band is `share` of the value either way (for a temperature: of its degrees Celsius), within
/// the range that the field allows. What is zero, or a choice, is left alone.
std::vector<Guess> guesses_of(const std::vector<Assumed>& assumed, double share = kBand);
/// Takes an end of a band back to the default where the part alone refuses it there; what then has
/// no band is left out.
std::vector<Guess> workable(const Scenario& scenario, const std::vector<Guess>& guesses);

/// Value below which the share q of the sorted values lies, straight line between neighbours.
double quantile(const std::vector<double>& sorted, double q);

struct SpreadFigure {
    Figure figure;         // of the run itself
    double low = kUnset;   // 5 % of the runs are below
    double high = kUnset;  // 95 % of the runs are below
    bool spreads = false;  // by more than a run's own error
    int most_by = -1;      // the guess that moves it most on its own; -1: none does
    double swing = kUnset; // how far, over that guess's band
};

struct Spread {
    std::size_t points = 0;   // of the Sobol set
    std::size_t complete = 0; // of these
    std::size_t refused = 0, failed = 0;
    std::size_t alone = 0, alone_failed = 0; // runs with one guess at an end of its band
    std::string reason;                      // of the first that was refused or failed
    bool stopped = false;
    std::vector<Guess> guesses;        // the one that moves the figures most first
    std::vector<SpreadFigure> figures; // those that every run has
};

/// First every guess on its own at both ends of its band, the others as they are: what moves which
/// figure most. Then all of them at once over a Sobol set: how far each figure spreads.
///
/// In that order, because a set of n points cannot hold more than n/2 directions apart: beyond them
/// two of its coordinates rise and fall together, and a rank correlation would accuse the wrong
/// one. So the coordinates that are good (the first ones) go to the guesses that matter.
Spread spread(const Scenario& scenario, const Summary& base, std::size_t points, Executor& executor,
              OutcomeSink& sink, const RunOptions& options = {});

} // namespace pedalbench::study
