#include "study/points.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

#include <boost/random/sobol.hpp>

namespace pedalbench::study {
namespace {

constexpr std::size_t kMostDirections = 1800; // Joe and Kuo's table, half of it for `indices`

/// The finisher of SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom
/// number generators", OOPSLA 2014.
std::uint64_t mix(std::uint64_t z) {
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

/// Where number i of n goes in a shuffle that keeps nothing in memory: four Feistel rounds over the
/// next even number of bits, again and again until the result is below n.
std::uint64_t shuffled(std::uint64_t i, std::uint64_t n, std::uint64_t seed, std::uint64_t j) {
    unsigned half = 1;
    while (half < 32 && (1ULL << (2 * half)) < n)
        ++half;
    const std::uint64_t mask = (1ULL << half) - 1;
    do {
        std::uint64_t left = i >> half, right = i & mask;
        for (std::uint64_t round = 0; round < 4; ++round)
            left = std::exchange(right, left ^ (scramble(seed, right, 4 * j + round) >> 32 & mask));
        i = left << half | right;
    } while (i >= n);
    return i;
}

std::size_t times(std::size_t a, std::size_t b) {
    if (b != 0 && a > std::numeric_limits<std::size_t>::max() / 1024 / b)
        throw std::invalid_argument("more points than can be counted");
    return a * b;
}

std::size_t size_of(const PointSet& set, std::size_t dimensions) {
    if (set.kind == PointSet::Kind::indices) return times(set.n, dimensions + 2);
    if (set.kind != PointSet::Kind::grid) return set.n;
    std::size_t n = 1;
    for (const std::size_t count : set.counts)
        n = times(n, count);
    return n;
}

std::vector<double> take(boost::random::sobol& engine, std::size_t dimensions) {
    std::vector<double> point(dimensions);
    for (double& x : point)
        x = std::ldexp(static_cast<double>(engine()), -64);
    return point;
}

} // namespace

std::uint64_t scramble(std::uint64_t seed, std::uint64_t i, std::uint64_t j) {
    constexpr std::uint64_t kGolden = 0x9e3779b97f4a7c15U;
    return mix(mix(mix(seed + kGolden) + i * kGolden) + (j + 1) * kGolden);
}

double scrambled_share(std::uint64_t seed, std::uint64_t i, std::uint64_t j) {
    return std::ldexp(static_cast<double>(scramble(seed, i, j) >> 12) + 0.5, -52);
}

std::vector<std::vector<double>> sobol(std::size_t n, std::size_t dimensions) {
    if (dimensions == 0) return std::vector<std::vector<double>>(n);
    boost::random::sobol engine(dimensions);
    std::vector<std::vector<double>> points(n);
    for (std::vector<double>& point : points)
        point = take(engine, dimensions);
    return points;
}

struct Points::Engine {
    boost::random::sobol at_start; // copied for each point: its table is small
};

Points::Points(PointSet set, std::size_t dimensions)
    : set_(std::move(set)), dimensions_(dimensions), size_(size_of(set_, dimensions)) {
    const bool indices = set_.kind == PointSet::Kind::indices;
    if (dimensions_ == 0 || !(indices || set_.kind == PointSet::Kind::sobol)) return;
    if (dimensions_ > kMostDirections) throw std::invalid_argument("too many directions");
    engine_ = std::make_unique<Engine>(
        Engine{boost::random::sobol(indices ? 2 * dimensions_ : dimensions_)});
}

Points::~Points() = default;
Points::Points(Points&&) noexcept = default;
Points& Points::operator=(Points&&) noexcept = default;

std::vector<double> Points::at(std::size_t i) const {
    std::vector<double> point(dimensions_);
    switch (set_.kind) {
    case PointSet::Kind::grid:
        // The last direction runs fastest. One value: the middle; else from end to end.
        for (std::size_t d = dimensions_; d-- > 0;) {
            const std::size_t count = set_.counts[d], k = i % count;
            i /= count;
            point[d] = count == 1 ? 0.5 : static_cast<double>(k) / static_cast<double>(count - 1);
        }
        break;
    case PointSet::Kind::random:
        for (std::size_t d = 0; d < dimensions_; ++d)
            point[d] = scrambled_share(set_.seed, i, d);
        break;
    case PointSet::Kind::latin_hypercube:
        for (std::size_t d = 0; d < dimensions_; ++d)
            point[d] = (static_cast<double>(shuffled(i, set_.n, set_.seed, 2 * d + 1)) +
                        scrambled_share(set_.seed, i, 2 * d)) /
                       static_cast<double>(set_.n);
        break;
    case PointSet::Kind::sobol: {
        if (!engine_) break;
        boost::random::sobol engine = engine_->at_start;
        engine.discard(i * dimensions_);
        point = take(engine, dimensions_);
        break;
    }
    case PointSet::Kind::indices: {
        if (!engine_) break;
        const auto [block, member] = member_of(i, dimensions_);
        boost::random::sobol engine = engine_->at_start;
        engine.discard(block * 2 * dimensions_);
        const std::vector<double> both = take(engine, 2 * dimensions_);
        for (std::size_t d = 0; d < dimensions_; ++d)
            point[d] = both[member == 1 || member == d + 2 ? d + dimensions_ : d];
        break;
    }
    }
    return point;
}

} // namespace pedalbench::study
