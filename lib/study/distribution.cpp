#include "study/distribution.hpp"

#include <algorithm>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/triangular.hpp>

namespace pedalbench::study {

double quantile(const Distribution& d, double u) {
    if (d.kind == Distribution::Kind::values) {
        const auto n = d.values.size();
        return d.values[std::min(n - 1, static_cast<std::size_t>(u * static_cast<double>(n)))];
    }
    if (u <= 0 || d.low == d.high) return d.low;
    if (u >= 1) return d.high;
    double x = d.low + u * (d.high - d.low);
    if (d.kind == Distribution::Kind::normal) {
        // Of the whole bell only the share between the ends is left.
        const boost::math::normal bell(d.middle, d.deviation);
        const double below = cdf(bell, d.low), above = cdf(bell, d.high);
        x = boost::math::quantile(bell, below + u * (above - below));
    } else if (d.kind == Distribution::Kind::triangular) {
        x = boost::math::quantile(boost::math::triangular(d.low, d.middle, d.high), u);
    }
    return std::clamp(x, d.low, d.high);
}

} // namespace pedalbench::study
