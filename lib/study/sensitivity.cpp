#include "study/sensitivity.hpp"

#include <algorithm>
#include <cmath>

#include "study/points.hpp"
#include "study/spread.hpp"

namespace pedalbench::study {
namespace {

constexpr std::size_t kDraws = 1000;
constexpr std::uint64_t kSeed = 2010;

/// n, sum, squares, then what is kept of each direction: moved, first, total.
using Sums = std::vector<double>;

void estimate(const Sums& s, std::size_t dimensions, std::vector<double>& first,
              std::vector<double>& total) {
    const double n = s[0], values = 2 * n;
    const double variance = (s[2] - s[1] * s[1] / values) / values;
    for (std::size_t d = 0; d < dimensions; ++d) {
        const double* of = &s[3 + 3 * d];
        first[d] = (of[1] - s[1] / values * of[0]) / n / variance;
        total[d] = of[2] / (2 * n) / variance;
    }
}

Interval middle_of(std::vector<double> drawn) {
    std::erase_if(drawn, [](double x) { return !std::isfinite(x); });
    std::sort(drawn.begin(), drawn.end());
    return {quantile(drawn, 0.025), quantile(drawn, 0.975)};
}

} // namespace

IndexSums::IndexSums(std::size_t dimensions) : dimensions_(dimensions), groups_(kGroups) {
    for (Group& g : groups_) {
        g.moved.resize(dimensions);
        g.first.resize(dimensions);
        g.total.resize(dimensions);
    }
}

void IndexSums::add(double a, double b, std::span<const double> swapped) {
    // By chance, not in turn: in turn each group would get a lattice of the Sobol sequence.
    Group& g = groups_[scramble(kSeed, seen_++, 0) % kGroups];
    if (!std::isfinite(a) || !std::isfinite(b) ||
        std::any_of(swapped.begin(), swapped.end(), [](double x) { return !std::isfinite(x); }))
        return;
    if (blocks_++ == 0) origin_ = a;
    g.n += 1;
    g.sum += (a - origin_) + (b - origin_);
    g.squares += (a - origin_) * (a - origin_) + (b - origin_) * (b - origin_);
    for (std::size_t d = 0; d < dimensions_; ++d) {
        const double moved = swapped[d] - a;
        g.moved[d] += moved;
        g.first[d] += (b - origin_) * moved;
        g.total[d] += moved * moved;
    }
}

Indices IndexSums::indices() const {
    std::vector<Sums> groups;
    for (const Group& g : groups_) {
        if (g.n == 0) continue;
        Sums sums{g.n, g.sum, g.squares};
        for (std::size_t d = 0; d < dimensions_; ++d)
            sums.insert(sums.end(), {g.moved[d], g.first[d], g.total[d]});
        groups.push_back(std::move(sums));
    }
    const auto add = [](Sums& to, const Sums& from) {
        for (std::size_t k = 0; k < to.size(); ++k)
            to[k] += from[k];
    };
    const Sums none(3 + 3 * dimensions_, 0);
    Sums all = none;
    for (const Sums& g : groups)
        add(all, g);
    std::vector<double> first(dimensions_), total(dimensions_);
    estimate(all, dimensions_, first, total);

    std::vector<std::vector<double>> firsts(dimensions_), totals(dimensions_);
    std::vector<double> drawn_first(dimensions_), drawn_total(dimensions_);
    for (std::size_t draw = 0; draw < kDraws && !groups.empty(); ++draw) {
        Sums drawn = none;
        for (std::size_t k = 0; k < groups.size(); ++k)
            add(drawn, groups[scramble(kSeed, draw, k + 1) % groups.size()]);
        estimate(drawn, dimensions_, drawn_first, drawn_total);
        for (std::size_t d = 0; d < dimensions_; ++d) {
            firsts[d].push_back(drawn_first[d]);
            totals[d].push_back(drawn_total[d]);
        }
    }
    Indices out;
    out.blocks = blocks_;
    for (std::size_t d = 0; d < dimensions_; ++d) {
        const auto share = [](double value, std::vector<double> drawn) {
            return std::isfinite(value) ? Share{value, middle_of(std::move(drawn))}
                                        : Share{kUnset, {kUnset, kUnset}};
        };
        out.first.push_back(share(first[d], std::move(firsts[d])));
        out.total.push_back(share(total[d], std::move(totals[d])));
    }
    return out;
}

} // namespace pedalbench::study
