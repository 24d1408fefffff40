#include "study/explanation.hpp"

#include <algorithm>
#include <cmath>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>

namespace pedalbench::study {
namespace {

constexpr double kByChance = 0.01; // an explanation that is true is turned down as often

std::size_t farthest(const std::vector<double>& off) {
    std::size_t most = 0;
    for (std::size_t i = 1; i < off.size(); ++i)
        if (std::abs(off[i]) > std::abs(off[most])) most = i;
    return most;
}

} // namespace

std::size_t Explanation::worst() const {
    return farthest(off);
}

double Explanation::likelihood() const {
    return boost::math::cdf(boost::math::complement(
        boost::math::chi_squared(static_cast<double>(std::max<std::size_t>(1, off.size()))),
        misfit));
}

std::size_t Explanation::never() const {
    return farthest(closest.empty() ? off : closest);
}

bool Explanation::never_shows(std::size_t reading) const {
    return std::abs((closest.empty() ? off : closest)[reading]) > farthest_of(off.size());
}

double farthest_of(std::size_t n) {
    // Of independent readings, each may be missed with a chance of about kByChance/n.
    const double each = kByChance / static_cast<double>(std::max<std::size_t>(1, n));
    return std::max(
        kExplains, boost::math::quantile(boost::math::complement(boost::math::normal(), each / 2)));
}

bool Explanation::explains() const {
    return off.empty() ||
           (std::abs(off[worst()]) <= farthest_of(off.size()) && likelihood() >= kByChance);
}

} // namespace pedalbench::study
