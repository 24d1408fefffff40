// What the rows of a study come to, in one pass: how each answer spreads, how often it lies outside
// its limits, and what moves it. In the units that the rows come in.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "study/sensitivity.hpp"
#include "study/sweep.hpp"
#include "study/tally.hpp"

namespace pedalbench::study {

/// One field alone at both its ends, the others as they are; unset where there was no such run.
struct Alone {
    double input_low = kUnset, input_high = kUnset;
    double low = kUnset, high = kUnset; // the answer there
    /// Per cent of the answer for one per cent of the field, about the car as it is. Unset where
    /// "per cent" has no meaning: choices, temperatures, what is zero.
    double per_cent = kUnset;
    double swing() const;
};

struct AnswerResult {
    double as_it_is = kUnset;
    Tally tally;
    std::vector<Alone> alone;       // per field
    std::optional<Indices> indices; // of Saltelli's design
    std::vector<std::size_t> order; // fields, the one that moves it most first
    /// Whether it varies by more than round-off.
    bool moves() const;
};

using Limits = std::pair<std::optional<double>, std::optional<double>>;

class Evaluation {
  public:
    /// The limits of each answer, in the units of the rows.
    Evaluation(const Sweep& sweep, const std::vector<Limits>& limits);

    /// By rising number, from 0. The remark says why a row is not complete.
    void row(std::size_t number, Outcome::End end, std::span<const double> inputs,
             std::span<const double> answers, const std::string& remark);
    /// Call it last.
    std::vector<AnswerResult> finish();

    std::size_t rows() const { return rows_; }
    std::size_t complete() const { return complete_; } // of the rows
    std::size_t refused() const { return refused_; }
    std::size_t failed() const { return failed_; }
    /// Of those that would be behind a tally.
    std::size_t points_lost() const { return points_lost_; }
    /// Row and reason of the first that was refused or failed.
    std::size_t first_lost() const { return first_lost_; }
    const std::string& reason() const { return reason_; }
    /// Values behind each tally: all points, of Saltelli's design those of a and b.
    bool counts(std::size_t number) const;

  private:
    const Sweep& sweep_;
    const std::size_t directions_, first_point_;
    std::vector<AnswerResult> results_;
    std::vector<IndexSums> sums_;
    std::vector<double> inputs_;             // of the car as it is
    std::vector<std::vector<double>> block_; // [answer][member]
    std::size_t rows_ = 0, complete_ = 0, refused_ = 0, failed_ = 0, points_lost_ = 0,
                first_lost_ = 0;
    std::string reason_;
};

/// "sobol", "random", "latin_hypercube", "grid", "indices".
const char* name_of(PointSet::Kind kind);

} // namespace pedalbench::study
