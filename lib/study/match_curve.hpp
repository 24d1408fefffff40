// How the readings of one candidate go with its size.
#pragma once

#include <map>
#include <utility>
#include <vector>

#include "study/candidates.hpp"

namespace pedalbench::study {

/// What was read on the car, and in which column of a run's answers the same stands.
struct Readings {
    std::vector<Expectation> what;
    std::vector<Dimension> dimension;
    std::vector<std::size_t> column;

    std::size_t size() const { return what.size(); }
    /// What a run answers to each reading.
    std::vector<double> of(const std::vector<double>& found) const;
    /// By how much reading i is missed, see off_by().
    double off(std::size_t i, double value) const;
};

/// Runs of one candidate by u, and straight lines between them.
class Curve {
  public:
    struct Sample {
        const std::vector<double>* found; // per column
        std::vector<double> read;         // per reading
        bool straight = false; // from here to the next, what is between them has been seen
    };
    struct Best {
        double u = 0, misfit = 0;
    };
    struct BestPair {
        double u = 0, v = 0, misfit = 0;
    };

    Curve(Candidate candidate, const Readings& readings)
        : candidate_(std::move(candidate)), readings_(&readings) {}

    const Candidate& candidate() const { return candidate_; }
    const std::map<double, Sample>& samples() const { return at_; }
    /// The sizes to begin with.
    std::vector<double> first() const;
    /// A run at u; `found` outlives the curve, empty where that size cannot be.
    void add(double u, const std::vector<double>& found);
    bool has_run(double u) const;

    /// Sum of squares of what is off, straight lines between runs.
    double misfit(double u) const;
    Best best() const;
    double best_run() const; // of the runs alone
    /// The misfit over all sizes: -2 ln of the mean of exp(-misfit/2), straight lines between runs.
    double averaged() const;
    std::pair<double, const std::vector<double>*> best_sample() const;
    /// From and to which u, round the best, the misfit stays below `limit`.
    std::pair<double, double> range(double limit) const;
    /// The least and the most of each column between two u: of the runs there, and of straight
    /// lines at the ends.
    std::pair<std::vector<double>, std::vector<double>> reach(double from, double to) const;
    /// By how many standard errors each reading is missed at that size which misses it least,
    /// straight lines between runs.
    std::vector<double> closest() const;
    /// Middles of intervals in which the misfit might be below `limit`.
    std::vector<double> worth_halving(double limit) const;
    /// Whether a run differs from `sound` in any reading by a standard error.
    bool shows(const std::vector<double>& sound_read) const;

    /// What reading i would be at u, straight lines between runs.
    double value(std::size_t i, double u) const;
    const Readings& readings() const { return *readings_; }

  private:
    double misfit_of(const std::vector<double>& read) const;
    double between(const std::vector<double>& a, const std::vector<double>& b, double t) const;
    double at_best(const std::vector<double>& a, const std::vector<double>& b) const;

    Candidate candidate_;
    const Readings* readings_;
    std::map<double, Sample> at_;  // of sizes that can be
    std::map<double, bool> tried_; // all; true: it can be
};

/// Sizes of two faults at once that fit best, if each changes the readings by what it does alone
/// and the two together by `more` besides (empty: nothing). `sound`, `more`: per reading.
Curve::BestPair best_pair(const Curve& a, const Curve& b, const std::vector<double>& sound,
                          const std::vector<double>& more);
/// What a run of both has beyond the sum, per reading.
std::vector<double> beyond_sum(const Curve& a, const Curve& b, const std::vector<double>& sound,
                               const Curve::BestPair& at, const std::vector<double>& read);

} // namespace pedalbench::study
