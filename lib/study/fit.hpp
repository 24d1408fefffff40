// A measured trace, and the fields of the car that may move until a run shows the same.
#pragma once

#include <string>
#include <vector>

#include "study/confidence.hpp"
#include "study/least_squares.hpp"
#include "study/match.hpp"
#include "study/sweep.hpp"

namespace pedalbench::study {

/// What was read beside one channel, row by row; SI, unset where nothing was read.
struct ReadColumn {
    std::string text; // what its author calls it
    Channel channel;
    std::vector<double> value;
    std::vector<double> error; // standard error of each
};

struct Fit {
    Scenario scenario;         // see started()
    std::vector<Varied> moved; // from `nominal`, between the ends of their distribution
    std::vector<Kept> kept;
    /// What the rows were read along: a channel, such as the pressure before a valve, or the time
    /// where its path is empty.
    Channel over;
    std::vector<double> at; // its value in each row
    std::vector<ReadColumn> columns;
    bool errors_stated = false; // else those above are weights, and the scatter is what counts
};

/// The values of y where `over` passes each of `at`. Up to the largest of `at` it is its first
/// passage on the way to the run's peak, from there on the last one on the way back: hysteresis
/// stays apart, and gauges that flutter do no harm. What the run does not reach counts as the
/// nearest that it does.
std::vector<double> read_along(const std::vector<double>& over, const std::vector<double>& y,
                               const std::vector<double>& at);

struct FitResult {
    bool stopped = false;
    std::string reason; // why a run at the start could not be made
    LeastSquares found;
    FitQuality quality;
    /// What the run shows for every column and row, at the start and at the answer.
    std::vector<std::vector<double>> before, after;
    /// From where to where the run at the start goes along `over`. Rows that were read beyond are
    /// no readings of such a run: then nothing is fitted.
    double low = kUnset, high = kUnset;
    std::vector<std::size_t> beyond;
};

/// Runs are made ten times tighter than the scenario asks for, since they are differentiated. Those
/// in the store are not made again; what is new goes there. The sink hears of every run.
FitResult fit(const Fit& fit, Executor& executor, RunStore& store, OutcomeSink& sink,
              const RunOptions& options = {});

} // namespace pedalbench::study
