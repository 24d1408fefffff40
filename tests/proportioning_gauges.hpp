// Two gauges on a proportioning valve, by formula, and intervals of its knee and slope by brute
// force: what a fit's intervals are held against.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace pedalbench::test {

/// What a proportioning valve lets through.
inline double outlet(double inlet, double knee, double slope) {
    return inlet < knee ? inlet : knee + slope * (inlet - knee);
}

struct Gauges {
    std::vector<double> in, out;
    double error = 1; // standard error of `out`
    double knee_low, knee_high, slope_low, slope_high;

    double misfit(double knee, double slope) const {
        double sum = 0;
        for (std::size_t k = 0; k < in.size(); ++k) {
            const double off = (outlet(in[k], knee, slope) - out[k]) / error;
            sum += off * off;
        }
        return sum;
    }
    /// The least over all slopes: a straight line through the knee.
    double at_knee(double knee) const {
        double square = 0, product = 0;
        for (std::size_t k = 0; k < in.size(); ++k) {
            const double past = std::max(in[k] - knee, 0.0);
            square += past * past;
            product += past * (out[k] - std::min(in[k], knee));
        }
        return misfit(knee, std::clamp(product / square, slope_low, slope_high));
    }
    template <class Misfit>
    double least_over_knees(const Misfit& of) const {
        constexpr int kSteps = 2500;
        double least = std::numeric_limits<double>::infinity();
        for (int i = 0; i <= kSteps; ++i)
            least = std::min(least, of(knee_low + (knee_high - knee_low) * i / kSteps));
        return least;
    }
};

struct Held {
    bool knee, slope;
};

/// Whether the 95 % intervals hold these: all values at which the misfit, the other one as it then
/// fits best, is above its least by no more than the square of the two-sided quantile (of the
/// normal distribution, or of Student's times the scatter where the error is not known).
inline Held exactly_held(const Gauges& g, double knee, double slope, bool error_known) {
    const double least = g.least_over_knees([&](double k) { return g.at_knee(k); });
    const auto freedom = static_cast<double>(g.in.size()) - 2;
    const double q = error_known ? boost::math::quantile(boost::math::normal(), 0.975)
                                 : boost::math::quantile(boost::math::students_t(freedom), 0.975) *
                                       std::sqrt(least / freedom);
    const double at_slope = g.least_over_knees([&](double k) { return g.misfit(k, slope); });
    return {g.at_knee(knee) - least <= q * q, at_slope - least <= q * q};
}

} // namespace pedalbench::test
