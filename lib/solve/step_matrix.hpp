// The linear system of a linearly implicit step: I/(h gamma) - J on a fixed pattern.
#pragma once

#include "solve/fixed_lu.hpp"

#include <vector>

namespace pedalbench::solve {

/// Factorises diagonal * I - J and solves with it. States of different units (volumes of 1e-9 m3
/// beside positions and temperatures) are brought to size 1 by powers of two, first by columns,
/// then by rows, which changes no bit of the answer but lets the search for pivots compare like
/// with like.
class StepMatrix {
  public:
    /// Analyses the pattern, once. Throws std::invalid_argument for a pattern that is not sorted,
    /// not square or lacks a diagonal entry.
    explicit StepMatrix(const Pattern& pattern);

    /// False if the matrix is singular to working precision or a value is not finite. `jacobian` in
    /// pattern order [1/s times units of the states]; diagonal = 1/(h gamma) [1/s]. Touches the
    /// heap only where new pivots are looked for.
    [[nodiscard]] bool factorise(double diagonal, const double* jacobian);

    /// (diagonal I - J) u = rhs, after a successful factorise(). rhs and u may be the same array.
    void solve(const double* rhs, double* u);

    /// After factorise() returned false: the state whose column has no pivot, -1 if not known.
    int pivotless() const { return pivotless_; }
    /// How often pivots were looked for among the values.
    long searches() const { return lu_.searches(); }

  private:
    bool fill(double diagonal, const double* jacobian);
    void scale();

    int size_;
    std::vector<int> row_start_, column_, diagonal_;
    std::vector<double> values_; // pattern order, scaled
    // Entries that are not zero at present, some third of the pattern in any one mode: by rows.
    std::vector<int> filled_, filled_start_;
    std::vector<double> row_scale_, column_scale_;
    std::vector<double> right_, left_;
    FixedLu lu_;
    int pivotless_ = -1;
};

} // namespace pedalbench::solve
