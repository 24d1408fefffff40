// Where a study looks: points in the unit cube, by number. A point hangs on its number alone, so
// that threads, shards and a study taken up again give the same bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <vector>

namespace pedalbench::study {

struct PointSet {
    enum class Kind {
        grid,            // every combination of `counts` values a direction
        random,          // independent of each other
        latin_hypercube, // in each direction one point in each of n equal strata
        sobol,           // Sobol's sequence
        indices          // Saltelli's design, for Sobol's indices: blocks of d + 2 points
    } kind = Kind::sobol;
    std::size_t n = 0;               // points; blocks of `indices`; of a grid it follows
    std::uint64_t seed = 1;          // of random and latin_hypercube
    std::vector<std::size_t> counts; // of a grid, one per direction
};

/// A whole number that looks random and hangs on the three numbers alone.
std::uint64_t scramble(std::uint64_t seed, std::uint64_t i, std::uint64_t j);
/// The same as a number in (0, 1).
double scrambled_share(std::uint64_t seed, std::uint64_t i, std::uint64_t j);

/// Points 1 to n of Sobol's sequence (Joe and Kuo's directions) in the unit cube; the origin is
/// left out, the centre comes first.
std::vector<std::vector<double>> sobol(std::size_t n, std::size_t dimensions);

class Points {
  public:
    /// Throws std::invalid_argument for a set too large to be counted or with too many directions.
    Points(PointSet set, std::size_t dimensions);
    ~Points();
    Points(Points&&) noexcept;
    Points& operator=(Points&&) noexcept;

    const PointSet& set() const { return set_; }
    std::size_t size() const { return size_; }
    std::size_t dimensions() const { return dimensions_; }
    /// Point i < size(), one number of [0, 1] a direction. Safe from several threads.
    std::vector<double> at(std::size_t i) const;

  private:
    struct Engine;
    PointSet set_;
    std::size_t dimensions_, size_;
    std::unique_ptr<const Engine> engine_;
};

/// Which points belong to a block of Saltelli's design: a, b, and a with one coordinate of b each.
struct BlockMember {
    std::size_t block, member; // 0: a, 1: b, 2 + d: a with coordinate d of b
};
inline BlockMember member_of(std::size_t i, std::size_t dimensions) {
    return {i / (dimensions + 2), i % (dimensions + 2)};
}

} // namespace pedalbench::study
