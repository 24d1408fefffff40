// The linear system of a linearly implicit step: I/(h gamma) - J on a fixed pattern.
#pragma once

#include "solve/problem.hpp"

#include <memory>

namespace pedalbench::solve {

/// Factorises diagonal * I - J and solves with it. States of different units (volumes of 1e-9 m3
/// beside positions and temperatures) are brought to size 1 by powers of two, first by columns,
/// then by rows, which changes no bit of the answer but lets pivoting compare like with like.
class StepMatrix {
  public:
    /// `automatic` takes dense up to dense_limit states, sparse above.
    enum class Kind { automatic, dense, sparse };
    /// Measured on a circuit-like pattern (7 entries a row), factorisation + 6 solves: n = 64:
    /// dense 31 us, sparse 41 us; n = 80: 51 and 52 us; n = 120: 131 and 84 us.
    static constexpr int dense_limit = 80;

    /// Analyses the pattern, once. Throws std::invalid_argument for a pattern that is not sorted,
    /// not square or lacks a diagonal entry.
    explicit StepMatrix(const Pattern& pattern, Kind kind = Kind::automatic);
    ~StepMatrix();
    StepMatrix(StepMatrix&&) noexcept;
    StepMatrix& operator=(StepMatrix&&) noexcept;

    /// False if the matrix is singular to working precision or a value is not finite. `jacobian` in
    /// pattern order [1/s times units of the states]; diagonal = 1/(h gamma) [1/s]. The dense kind
    /// does not touch the heap; Eigen's sparse one does.
    [[nodiscard]] bool factorise(double diagonal, const double* jacobian);

    /// (diagonal I - J) u = rhs, after a successful factorise(). rhs and u may be the same array.
    /// Refined once: each equation is then solved to its own round-off (R. D. Skeel, Math. Comp. 35
    /// (1980) 817), and a small content beside stiff flows keeps its sum a thousand times better.
    void solve(const double* rhs, double* u);

    /// After factorise() returned false: the state whose column has no pivot, -1 if not known.
    int pivotless() const;
    bool dense() const;

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

} // namespace pedalbench::solve
