#include "solve/fixed_lu.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseLU>

#include <algorithm>
#include <cmath>
#include <set>

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
    : size_(pattern.size), row_start_(pattern.row_start), from_column_(pattern.column) {
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
    start_.assign(1, 0);
    diagonal_.clear();
    column_.clear();
    for (int k = 0; k < size_; ++k) {
        std::set<int> row;
        for (int e = row_start_[row_[k]]; e < row_start_[row_[k] + 1]; ++e)
            row.insert(place_[from_column_[e]]);
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
    inverse_.assign(n, 0.0);
    work_.assign(n, 0.0);
    x_.assign(n, 0.0);
}

bool FixedLu::eliminate(const double* values) {
    const double least = 1e-15 * size_; // entries have size 1: a pivot below is round-off
    double* const w = work_.data();
    int left = 0, right = 0;
    for (int k = 0; k < size_; ++k) {
        const int begin = start_[k], middle = diagonal_[k], end = start_[k + 1];
        for (int e = begin; e < end; ++e)
            w[column_[e]] = 0.0;
        for (int e = row_start_[row_[k]]; e < row_start_[row_[k] + 1]; ++e)
            w[place_[from_column_[e]]] = values[e];
        // In any one mode most of the pattern is zero: only the rest is kept and worked with.
        lower_.start[k] = left;
        for (int e = begin; e < middle; ++e) {
            const int j = column_[e];
            if (w[j] == 0.0) continue;
            if (!(std::fabs(w[j]) <= growth_limit)) {
                pivotless_ = pivot_column_[j];
                return false;
            }
            const double multiplier = w[j] * inverse_[j];
            lower_.put(left++, j, multiplier);
            for (int u = upper_.start[j]; u < upper_.start[j + 1]; ++u)
                w[upper_.column[u]] -= multiplier * upper_.value[u];
        }
        pivotless_ = pivot_column_[k];
        if (!(std::fabs(w[k]) > least && std::fabs(w[k]) <= growth_limit)) return false;
        inverse_[k] = 1.0 / w[k];
        for (int e = middle + 1; e < end; ++e) {
            const int j = column_[e];
            if (w[j] == 0.0) continue;
            if (!(std::fabs(w[j]) <= growth_limit)) return false;
            upper_.put(right++, j, w[j]);
        }
        upper_.start[k + 1] = right;
    }
    lower_.start[size_] = left;
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
