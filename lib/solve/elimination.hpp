// In what order a sparse matrix is eliminated, and which entry then acts on which: no numbers.
#pragma once

#include "solve/problem.hpp"

#include <vector>

namespace pedalbench::solve {

/// Plan of an elimination. In any one mode more than half of a Jacobian's pattern is zero, so the
/// plan goes by the entries that were ever met and is made anew where another one comes up, in the
/// same order. Only a new order touches the heap.
///
/// Place k of the elimination takes row row[k] of the matrix and finds its pivot in column
/// pivot_column[k]. The factors are one array: size pivots, then the multipliers by rows, then the
/// upper rows.
class Elimination {
  public:
    /// Order of least fill for the whole pattern, pivots on the diagonal; only the diagonal is met.
    explicit Elimination(const Pattern& pattern);

    /// Whether every entry that is not zero was met before. `values` in pattern order.
    bool covers(const double* values) const;
    /// Plans for what was met and all that is not zero here.
    void meet(const double* values);
    /// Other pivots for what was met.
    void reorder(const std::vector<int>& rows, const std::vector<int>& pivot_columns);

    /// An entry of the matrix: its place in the pattern, the place of its row, and where it stands
    /// in the factors.
    struct Entry {
        int from, row, at;
    };
    int size;
    std::vector<int> row, pivot_column; // by places
    // By places of their columns, that of the matrix's diagonal first in each.
    std::vector<Entry> entry;
    std::vector<int> entry_start;
    // By rows, in places: multipliers ascending, of the upper factor what is right of its diagonal.
    std::vector<int> lower_start, lower_column, upper_start, upper_column;
    // By places of the pivot: multipliers below it, and what the rows of these multipliers change
    // in turn, each for every entry of the upper row.
    std::vector<int> below_start, below, target;

    /// Entries that both factors may have, the diagonal once.
    std::size_t most_entries() const { return fill_.size(); }

  private:
    void eliminate_pattern();
    void plan();
    void plan_rows();
    void plan_targets();

    Pattern pattern_;
    std::vector<int> by_column_, column_start_; // entries, that of the diagonal first
    std::vector<char> met_;                     // per entry
    std::vector<int> unmet_;
    std::vector<int> row_place_, column_place_;
    // Where the factors would have entries if all of the pattern were met: by rows, ascending.
    std::vector<int> fill_start_, fill_diagonal_, fill_;
    // Scratch of a plan.
    std::vector<char> filled_;
    std::vector<int> position_, at_, target_start_;
};

} // namespace pedalbench::solve
