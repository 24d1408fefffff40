#include "solve/fixed_lu.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseLU>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

namespace pedalbench::solve {

namespace {

using Matrix = Eigen::SparseMatrix<double>;

Matrix eigen_matrix(int size, const std::vector<int>& row_start, const std::vector<int>& column,
                    const double* values) {
    std::vector<Eigen::Triplet<double>> entries;
    for (int i = 0; i < size; ++i)
        for (int k = row_start[i]; k < row_start[i + 1]; ++k)
            entries.emplace_back(i, column[k], values ? values[k] : 1.0);
    Matrix matrix(size, size);
    matrix.setFromTriplets(entries.begin(), entries.end());
    return matrix;
}

} // namespace

FixedLu::FixedLu(const Pattern& pattern)
    : size_(pattern.size), row_start_(pattern.row_start), from_column_(pattern.column),
      to_place_(pattern.column.size()) {
    Eigen::PermutationMatrix<Eigen::Dynamic, Eigen::Dynamic, int> order;
    Eigen::AMDOrdering<int>{}(eigen_matrix(size_, row_start_, from_column_, nullptr), order);
    row_.assign(order.indices().data(), order.indices().data() + size_);
    pivot_column_ = row_;
    eliminate_pattern();
}

/// Where the factors have entries, whatever the values are.
void FixedLu::eliminate_pattern() {
    const auto n = static_cast<std::size_t>(size_);
    place_.resize(n);
    for (int k = 0; k < size_; ++k)
        place_[pivot_column_[k]] = k;
    for (std::size_t e = 0; e < from_column_.size(); ++e)
        to_place_[e] = place_[from_column_[e]];
    start_.assign(1, 0);
    diagonal_.clear();
    column_.clear();
    for (int k = 0; k < size_; ++k) {
        std::set<int> row;
        for (int e = row_start_[row_[k]]; e < row_start_[row_[k] + 1]; ++e)
            row.insert(to_place_[e]);
        row.insert(k); // a pivot may have to come from fill alone
        for (auto left = row.begin(); *left < k; ++left)
            row.insert(column_.begin() + diagonal_[*left] + 1, column_.begin() + start_[*left + 1]);
        diagonal_.push_back(start_.back() +
                            static_cast<int>(std::distance(row.begin(), row.find(k))));
        column_.insert(column_.end(), row.begin(), row.end());
        start_.push_back(static_cast<int>(column_.size()));
    }
    for (Factor* f : {&lower_, &upper_}) {
        f->start.assign(n + 1, 0);
        f->column.assign(column_.size(), 0);
        f->value.assign(column_.size(), 0.0);
    }
    shaped_ = false;
    inside_start_.assign(n + 1, 0);
    inside_.assign(from_column_.size(), 0);
    outside_.assign(from_column_.size(), 0);
    filled_.assign(n, 0);
    inverse_.assign(n, 0.0);
    work_.assign(n, 0.0);
    x_.assign(n, 0.0);
}

/// Whether all entries that are not zero are of the shape.
bool FixedLu::fits(const double* values) const {
    return shaped_ && std::all_of(outside_.begin(), outside_.begin() + outside_count_,
                                  [values](int e) { return values[e] == 0.0; });
}

/// Eliminates the pattern once more, without what is zero now.
void FixedLu::take_shape(const double* values) {
    int inside = 0, left = 0, right = 0;
    outside_count_ = 0;
    for (int k = 0; k < size_; ++k) {
        const int middle = diagonal_[k];
        inside_start_[k] = inside;
        for (int e = row_start_[row_[k]]; e < row_start_[row_[k] + 1]; ++e) {
            if (values[e] == 0.0) {
                outside_[outside_count_++] = e;
                continue;
            }
            inside_[inside++] = e;
            filled_[to_place_[e]] = 1;
        }
        lower_.start[k] = left;
        for (int c = start_[k]; c < middle; ++c) {
            const int j = column_[c];
            if (!std::exchange(filled_[j], 0)) continue;
            lower_.column[left++] = j;
            for (int u = upper_.start[j]; u < upper_.start[j + 1]; ++u)
                filled_[upper_.column[u]] = 1;
        }
        filled_[k] = 0;
        for (int c = middle + 1; c < start_[k + 1]; ++c)
            if (std::exchange(filled_[column_[c]], 0)) upper_.column[right++] = column_[c];
        upper_.start[k + 1] = right;
    }
    inside_start_[size_] = inside;
    lower_.start[size_] = left;
    shaped_ = true;
}

bool FixedLu::eliminate(const double* values) {
    if (!fits(values)) take_shape(values);
    const double least = 1e-15 * size_; // entries have size 1: a pivot below is round-off
    // All of w is zero before each row: what is taken out of it leaves zero behind.
    std::fill(work_.begin(), work_.end(), 0.0);
    double* const w = work_.data();
    const int *const inside = inside_.data(), *const place = to_place_.data();
    const int* const where = upper_.column.data();
    double* const what = upper_.value.data();
    for (int k = 0; k < size_; ++k) {
        for (int i = inside_start_[k], end = inside_start_[k + 1]; i < end; ++i)
            w[place[inside[i]]] = values[inside[i]];
        for (int e = lower_.start[k], end = lower_.start[k + 1]; e < end; ++e) {
            const int j = lower_.column[e];
            const double entry = std::exchange(w[j], 0.0);
            if (!(std::fabs(entry) <= growth_limit)) {
                pivotless_ = pivot_column_[j];
                return false;
            }
            const double multiplier = entry * inverse_[j];
            lower_.value[e] = multiplier;
            for (int u = upper_.start[j], stop = upper_.start[j + 1]; u < stop; ++u)
                w[where[u]] -= multiplier * what[u];
        }
        pivotless_ = pivot_column_[k];
        const double pivot = std::exchange(w[k], 0.0);
        if (!(std::fabs(pivot) > least && std::fabs(pivot) <= growth_limit)) return false;
        inverse_[k] = 1.0 / pivot;
        for (int u = upper_.start[k], end = upper_.start[k + 1]; u < end; ++u) {
            what[u] = std::exchange(w[where[u]], 0.0);
            if (!(std::fabs(what[u]) <= growth_limit)) return false;
        }
    }
    pivotless_ = -1;
    return true;
}

/// Takes order and pivots from a pivoted factorisation of these values.
bool FixedLu::search(const double* values) {
    ++searches_;
    Eigen::SparseLU<Matrix, Eigen::AMDOrdering<int>> lu;
    lu.setPivotThreshold(0.1);
    lu.compute(eigen_matrix(size_, row_start_, from_column_, values));
    if (lu.info() != Eigen::Success) return false;
    for (int i = 0; i < size_; ++i) {
        row_[lu.rowsPermutation().indices()(i)] = i;
        pivot_column_[lu.colsPermutation().indices()(i)] = i;
    }
    eliminate_pattern();
    return true;
}

bool FixedLu::factorise(const double* values) {
    pivotless_ = -1;
    return eliminate(values) || (search(values) && eliminate(values));
}

void FixedLu::solve(const double* b, double* x) const {
    double* const y = x_.data();
    for (int k = 0; k < size_; ++k) {
        double sum = b[row_[k]];
        for (int e = lower_.start[k]; e < lower_.start[k + 1]; ++e)
            sum -= lower_.value[e] * y[lower_.column[e]];
        y[k] = sum;
    }
    for (int k = size_ - 1; k >= 0; --k) {
        double sum = y[k];
        for (int e = upper_.start[k]; e < upper_.start[k + 1]; ++e)
            sum -= upper_.value[e] * y[upper_.column[e]];
        y[k] = sum * inverse_[k];
        x[pivot_column_[k]] = y[k];
    }
}

} // namespace pedalbench::solve
