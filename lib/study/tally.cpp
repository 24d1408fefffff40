#include "study/tally.hpp"

#include <algorithm>
#include <cmath>

#include <boost/math/distributions/binomial.hpp>

namespace pedalbench::study {
namespace {

constexpr int kFinest = 40; // bins are no finer than 2^-40 of the largest value

/// floor(bin / 2^n), for bins below zero too.
std::int64_t coarser(std::int64_t bin, int n) {
    if (n > 62) return bin < 0 ? -1 : 0;
    return bin >= 0 ? bin >> n : -((-bin - 1) >> n) - 1;
}

} // namespace

void Histogram::widen(int exponent) {
    if (exponent <= exponent_) return;
    std::map<std::int64_t, std::size_t> wider;
    for (const auto& [bin, n] : bins_)
        wider[coarser(bin, exponent - exponent_)] += n;
    bins_.swap(wider);
    exponent_ = exponent;
}

void Histogram::add(double value) {
    const int finest = value == 0 ? -1000 : std::max(-1000, std::ilogb(value) - kFinest);
    if (count_ == 0)
        exponent_ = finest;
    else
        widen(finest);
    least_ = std::fmin(least_, value);
    most_ = std::fmax(most_, value);
    ++count_;
    ++bins_[static_cast<std::int64_t>(std::floor(std::ldexp(value, -exponent_)))];
    while (bins_.rbegin()->first - bins_.begin()->first >= kBins)
        widen(exponent_ + 1);
}

double Histogram::edge(std::int64_t bin) const {
    return std::clamp(std::ldexp(static_cast<double>(bin), exponent_), least_, most_);
}

double Histogram::quantile(double q) const {
    if (count_ == 0) return kUnset;
    const double wanted = q * static_cast<double>(count_);
    double before = 0;
    for (const auto& [bin, n] : bins_) {
        const auto here = static_cast<double>(n);
        if (before + here >= wanted)
            return edge(bin) + (wanted - before) / here * (edge(bin + 1) - edge(bin));
        before += here;
    }
    return most_;
}

std::vector<std::size_t> Histogram::in_bins(double low, double high, std::size_t n) const {
    std::vector<std::size_t> counts(n, 0);
    for (const auto& [bin, here] : bins_) {
        const double middle = 0.5 * (edge(bin) + edge(bin + 1));
        const double place = (middle - low) / (high - low) * static_cast<double>(n);
        const auto last = static_cast<double>(n - 1);
        counts[static_cast<std::size_t>(std::clamp(std::floor(place), 0.0, last))] += here;
    }
    return counts;
}

void Tally::add(double value) {
    if (!std::isfinite(value)) {
        ++none_;
        return;
    }
    histogram_.add(value);
    // Welford's way: no difference of large sums.
    const double apart = value - mean_;
    mean_ += apart / static_cast<double>(count());
    squares_ += apart * (value - mean_);
    least_ = std::fmin(least_, value);
    most_ = std::fmax(most_, value);
    if (low_ && value < *low_)
        ++below_;
    else if (high_ && value > *high_)
        ++above_;
}

double Tally::deviation() const {
    return count() > 1 ? std::sqrt(squares_ / static_cast<double>(count() - 1)) : kUnset;
}

Interval clopper_pearson(std::size_t k, std::size_t n, double confidence) {
    using boost::math::binomial_distribution;
    const double half = 0.5 * (1 - confidence);
    const auto trials = static_cast<double>(n), found = static_cast<double>(k);
    return {
        k == 0 ? 0
               : binomial_distribution<>::find_lower_bound_on_p(
                     trials, found, half, binomial_distribution<>::clopper_pearson_exact_interval),
        k == n ? 1
               : binomial_distribution<>::find_upper_bound_on_p(
                     trials, found, half, binomial_distribution<>::clopper_pearson_exact_interval)};
}

} // namespace pedalbench::study
