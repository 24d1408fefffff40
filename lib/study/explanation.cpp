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

Explanation at_any_of(const std::vector<Explanation>& spots) {
    Explanation all = spots.at(0);
    if (spots.size() == 1) return all;
    const bool explains = all.explains();
    all.faults[0].alike.clear();
    double likelihood = 0;
    for (const Explanation& e : spots) {
        likelihood += std::exp(0.5 * (spots[0].averaged - e.averaged));
        for (std::size_t i = 0; i < e.closest.size(); ++i)
            if (std::abs(e.closest[i]) < std::abs(all.closest[i])) all.closest[i] = e.closest[i];
        if (explains && !(e.explains() && e.misfit <= spots[0].misfit + kTie)) continue;
        const std::vector<std::string>& alike = e.faults[0].alike;
        all.faults[0].alike.insert(all.faults[0].alike.end(), alike.begin(), alike.end());
        all.low = std::min(all.low, e.low);
        all.high = std::max(all.high, e.high);
        for (std::size_t c = 0; c < all.found.size(); ++c) {
            all.least[c] = std::min(all.least[c], e.least[c]);
            all.most[c] = std::max(all.most[c], e.most[c]);
        }
    }
    all.averaged -= 2 * std::log(likelihood / static_cast<double>(spots.size()));
    return all;
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
