// LU factors of a sparse matrix whose pattern never changes: the pattern is eliminated once, the
// numbers as often as wanted.
#pragma once

#include "solve/problem.hpp"

#include <vector>

namespace pedalbench::solve {

/// Rows are eliminated in an order chosen beforehand, so that nothing is searched for and nothing
/// allocated while numbers are. Order and pivots come first from the pattern alone (least fill,
/// pivots on the diagonal), and from a pivoted factorisation of the values at hand (Eigen's
/// SparseLU) where those pivots let the factors grow; the new ones then stay in use. Wants rows and
/// columns scaled to size 1.
class FixedLu {
  public:
    /// Entries of size 1 that elimination lets grow beyond this cost too many digits: five of
    /// sixteen.
    static constexpr double growth_limit = 1e5;

    explicit FixedLu(const Pattern& pattern);

    /// False if the matrix is singular to working precision. `values` in pattern order.
    [[nodiscard]] bool factorise(const double* values);
    /// A x = b after a successful factorise(); b and x have to be different arrays.
    void solve(const double* b, double* x) const;

    /// After factorise() returned false: a column without pivot, -1 if not known.
    int pivotless() const { return pivotless_; }
    /// How often pivots were looked for among the values: only then is the heap touched.
    long searches() const { return searches_; }
    /// Entries that both factors may have, the diagonal once.
    std::size_t entries() const { return column_.size(); }

  private:
    void eliminate_pattern();
    bool fits(const double* values) const;
    void take_shape(const double* values);
    bool eliminate(const double* values);
    bool search(const double* values);

    int size_;
    std::vector<int> row_start_, from_column_; // of the matrix
    std::vector<int> to_place_;                // of each of its entries, its column's
    // Place k of the elimination takes row_[k] of the matrix and finds its pivot in
    // pivot_column_[k]; place_[column] says where a column is eliminated.
    std::vector<int> row_, pivot_column_, place_;
    // Where the factors may have entries: by rows, columns counted in places and ascending.
    std::vector<int> start_, diagonal_, column_;
    /// The multipliers, or the upper factor right of its diagonal, as far as the shape goes.
    struct Factor {
        std::vector<int> start, column;
        std::vector<double> value;
    };
    Factor lower_, upper_;
    // The shape: what of the pattern the matrix fills at present, by places, and what not. In any
    // one mode most of the pattern is zero. It is taken anew where a value stands outside of it.
    bool shaped_ = false;
    std::vector<int> inside_, inside_start_, outside_;
    int outside_count_ = 0;
    std::vector<char> filled_;
    std::vector<double> inverse_; // one over the pivots
    std::vector<double> work_;
    mutable std::vector<double> x_;
    int pivotless_ = -1;
    long searches_ = 0;
};

} // namespace pedalbench::solve
