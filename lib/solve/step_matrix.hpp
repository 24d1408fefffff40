// The linear system of a linearly implicit step: I/(h gamma) - J on a fixed pattern.
#pragma once

#include "solve/elimination.hpp"

#include <vector>

namespace pedalbench::solve {

/// LU factors of diagonal * I - J. States of different units (volumes of 1e-9 m3 beside positions
/// and temperatures) are brought to size 1 by powers of two, first by columns, then by rows, which
/// changes no bit of the answer but lets pivots compare like with like.
///
/// Order and pivots come first from the pattern alone, so that nothing is searched for, and from a
/// pivoted factorisation of the values at hand (Eigen's SparseLU) where those pivots let the
/// factors grow; the new ones then stay in use.
class StepMatrix {
  public:
    /// What elimination may add to entries of size 1: more would cost too many digits, five of
    /// sixteen.
    static constexpr double growth_limit = 1e5;

    /// Analyses the pattern, once. Throws std::invalid_argument for a pattern that is not sorted,
    /// not square or lacks a diagonal entry.
    explicit StepMatrix(const Pattern& pattern);

    /// False if the matrix, so scaled, is singular to working precision or a value is not finite.
    /// `jacobian` in pattern order [1/s times units of the states]; diagonal = 1/(h gamma) [1/s].
    /// Touches the heap only where new pivots are looked for.
    [[nodiscard]] bool factorise(double diagonal, const double* jacobian);

    /// (diagonal I - J) u = rhs, after a successful factorise(). rhs and u may be the same array.
    void solve(const double* rhs, double* u);

    /// After factorise() returned false: the state whose column has no pivot, -1 if not known.
    int pivotless() const { return pivotless_; }
    /// How often pivots were looked for among the values.
    long searches() const { return searches_; }
    /// Entries that both factors may have, the diagonal once.
    std::size_t most_entries() const { return plan_.most_entries(); }

  private:
    void scale(double diagonal, const double* jacobian);
    bool finite();
    bool eliminate();
    bool search();

    int size_;
    Elimination plan_;
    std::vector<double> value_; // of the entries that were met, scaled by columns
    std::vector<double> column_scale_, row_scale_; // by places
    std::vector<double> factor_, inverse_;         // see Elimination; one over the pivots
    std::vector<double> x_;
    int pivotless_ = -1;
    long searches_ = 0;
};

} // namespace pedalbench::solve
