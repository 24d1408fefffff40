// What is kept of one answer over any number of points: moments, a histogram, what lies outside.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "parts/field.hpp"

namespace pedalbench::study {

/// Counts in equal bins, whose width is a power of two and doubles as often as the values ask for:
/// no range need be known beforehand, memory is bounded, and the result does not hang on the order
/// of the values. What it says of a quantile is off by at most a bin, 1/2048 of the range.
class Histogram {
  public:
    static constexpr std::int64_t kBins = 4096; // at most
    void add(double value);
    std::size_t count() const { return count_; }
    /// Bins in use, for tests of memory.
    std::size_t bins() const { return bins_.size(); }
    /// The value below which the share q lies; unset of nothing.
    double quantile(double q) const;
    /// Counts in n equal bins between low and high; what lies beyond counts in the end ones.
    std::vector<std::size_t> in_bins(double low, double high, std::size_t n) const;

  private:
    void widen(int exponent);
    double edge(std::int64_t bin) const;

    int exponent_ = 0; // width of a bin: 2^exponent
    std::map<std::int64_t, std::size_t> bins_;
    std::size_t count_ = 0;
    double least_ = kUnset, most_ = kUnset;
};

/// One answer over all points, in one pass.
class Tally {
  public:
    explicit Tally(std::optional<double> low = {}, std::optional<double> high = {})
        : low_(low), high_(high) {}

    /// Unset: this run had no such value; with limits, it is outside them.
    void add(double value);

    std::size_t count() const { return histogram_.count(); }
    std::size_t none() const { return none_; } // runs without such a value
    double mean() const { return count() > 0 ? mean_ : kUnset; }
    /// Standard deviation, n - 1 in the divisor.
    double deviation() const;
    double least() const { return least_; }
    double most() const { return most_; }
    const Histogram& histogram() const { return histogram_; }

    bool limited() const { return low_ || high_; }
    std::optional<double> low() const { return low_; }
    std::optional<double> high() const { return high_; }
    std::size_t below() const { return below_; }
    std::size_t above() const { return above_; }
    std::size_t outside() const { return below_ + above_ + (limited() ? none_ : 0); }
    /// Of how many `outside` counts.
    std::size_t judged() const { return count() + none_; }

  private:
    std::optional<double> low_, high_;
    std::size_t none_ = 0, below_ = 0, above_ = 0;
    double mean_ = 0, squares_ = 0, least_ = kUnset, most_ = kUnset;
    Histogram histogram_;
};

struct Interval {
    double low, high;
};

/// Where the share of a whole lies with this confidence, after k of n drawn at random had it, by
/// C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413. n > 0.
Interval clopper_pearson(std::size_t k, std::size_t n, double confidence = 0.95);

} // namespace pedalbench::study
