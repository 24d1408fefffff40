// Which faults explain what somebody read on a car.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "study/explanation.hpp"
#include "study/measurements.hpp"
#include "study/variants.hpp"

namespace pedalbench::study {

/// What every run of a search answers: all that a workshop could read, then those readings of the
/// complaint that are not among it. No bounds: another value read on the car changes no run.
std::vector<Measurement> columns_of(const Scenario& complaint);

/// What was read in runs that have been made, per column, by what was wrong in them. Whoever keeps
/// it longer than one search derives from it.
class RunStore {
  public:
    virtual ~RunStore() = default;
    /// Null: there has been no such run. Empty: it could not be made.
    const std::vector<double>* find(const std::string& key) const;
    /// Keeps it and gives it back.
    virtual const std::vector<double>& put(const std::string& key, std::vector<double> found);

  protected:
    std::map<std::string, std::vector<double>> kept_;
};

/// By how many standard errors `found` misses a reading; above or below its sign tells. Two bounds
/// are two standard errors to either side of what was read; one bound may be missed by as much as
/// somebody can read. What has no value at all, or misses yes or no, misses by kMissed.
inline constexpr double kMissed = 5;
double off_by(const Expectation& reading, Dimension dimension, double found);

/// A reading not yet taken that would tell the leaders apart.
struct NextReading {
    Measurement what;
    std::vector<double> predicted;   // per leader, of its best size [SI]
    std::vector<double> least, most; // per leader, of all sizes that fit
    /// Pairs of leaders (with the first, where that leads alone) which it tells apart by more than
    /// kExplains, whatever the sizes.
    std::size_t told_apart = 0;
    std::size_t perhaps = 0; // pairs that it tells apart if those of the best size are true
};

struct Match {
    std::vector<Measurement> columns; // what every run answers
    std::vector<std::size_t> column;  // where each reading stands among them
    std::vector<Explanation> singles; // likeliest first; the car as it is among them
    std::vector<Explanation> pairs;   // best first, where no single one explains every reading
    /// Those that the readings cannot tell apart, best first; or the best one and what comes next,
    /// so that `next` can confirm it.
    std::vector<Explanation> leaders;
    std::size_t tied = 0; // so many leaders are within kTie of the best, or of the least misfit
    std::vector<NextReading> next; // the one that tells most first
    std::vector<Candidate> unseen; // no reading shows them, whatever their size
    std::vector<Candidate> impossible;
    std::size_t runs = 0; // made now; others were known
    bool stopped = false;

    bool explained() const;
};

/// Searches among candidates_of(complaint) for what explains complaint.readings.
///
/// Every candidate's sizes are halved where its readings could still fit: an interval is left alone
/// when even the most favourable values between its ends (and a quarter beyond) are further off
/// than the best explanation by kGiveUp, or when a run in its middle gave what a straight line
/// between its ends says. The best are then run at their best size. Pairs of one of the
/// ten best singles and any other are looked at as sums of what each changes, and the best of them
/// run and put right.
/// Throws std::runtime_error where the car as it is cannot be run.
inline constexpr double kGiveUp = 25;
Match match(const Scenario& complaint, Executor& executor, RunStore& store, OutcomeSink& sink,
            const RunOptions& options = {});

} // namespace pedalbench::study
