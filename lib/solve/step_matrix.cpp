#include "solve/step_matrix.hpp"

#include <Eigen/SparseLU>

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstdint>
#include <stdexcept>

namespace pedalbench::solve {

namespace {

const Pattern& checked(const Pattern& p) {
    const auto wrong = [](const char* what) {
        throw std::invalid_argument(std::string("Jacobian pattern: ") + what);
    };
    if (p.size < 1) wrong("no states");
    if (p.row_start.size() != static_cast<std::size_t>(p.size) + 1 || p.row_start.front() != 0 ||
        p.row_start.back() != static_cast<int>(p.column.size()))
        wrong("row starts do not fit the columns");
    for (int i = 0; i < p.size; ++i) {
        bool diagonal = false;
        if (p.row_start[i] > p.row_start[i + 1]) wrong("row starts fall");
        for (int k = p.row_start[i]; k < p.row_start[i + 1]; ++k) {
            if (p.column[k] < 0 || p.column[k] >= p.size) wrong("column outside");
            if (k > p.row_start[i] && p.column[k] <= p.column[k - 1])
                wrong("columns not ascending");
            diagonal = diagonal || p.column[k] == i;
        }
        if (!diagonal) wrong("a diagonal entry is missing");
    }
    return p;
}

/// The power of two that brings a finite x > 0 into [1, 2): its exponent turned round.
double to_one(double x) {
    if (!(x > 0)) return 1.0;
    const std::uint64_t exponent = std::bit_cast<std::uint64_t>(x) >> 52; // the sign is 0
    return std::bit_cast<double>((std::uint64_t{2046} - exponent) << 52);
}

} // namespace

StepMatrix::StepMatrix(const Pattern& pattern)
    : size_(checked(pattern).size), plan_(pattern), value_(pattern.column.size()),
      column_scale_(size_), row_scale_(size_), factor_(plan_.most_entries()), inverse_(size_),
      x_(size_) {}

/// Values of the matrix, brought to size 1, into their places in the factors.
void StepMatrix::scale(double diagonal, const double* jacobian) {
    const Elimination::Entry* const entry = plan_.entry.data();
    double *const value = value_.data(), *const by_row = row_scale_.data();
    std::fill(row_scale_.begin(), row_scale_.end(), 0.0);
    for (int j = 0, e = 0; j < size_; ++j) {
        const int begin = e, end = plan_.entry_start[j + 1];
        value[e] = diagonal - jacobian[entry[e].from];
        double largest = std::fabs(value[e]);
        for (++e; e < end; ++e) {
            value[e] = -jacobian[entry[e].from];
            largest = std::max(largest, std::fabs(value[e]));
        }
        const double scale = column_scale_[j] = to_one(largest);
        for (int k = begin; k < end; ++k) {
            value[k] *= scale;
            by_row[entry[k].row] = std::max(by_row[entry[k].row], std::fabs(value[k]));
        }
    }
    for (double& s : row_scale_)
        s = to_one(s);
    double* const factor = factor_.data();
    std::fill(factor, factor + size_ + plan_.lower_start[size_] + plan_.upper_start[size_], 0.0);
    for (int e = 0, end = plan_.entry_start[size_]; e < end; ++e)
        factor[entry[e].at] = value[e] * by_row[entry[e].row];
}

/// Whether all values are; if not, pivotless_ is the column of one that is not.
bool StepMatrix::finite() {
    for (int j = 0; j < size_; ++j)
        for (int e = plan_.entry_start[j]; e < plan_.entry_start[j + 1]; ++e)
            if (!std::isfinite(value_[e])) {
                pivotless_ = plan_.pivot_column[j];
                return false;
            }
    return true;
}

bool StepMatrix::eliminate() {
    const double least = 1e-15 * size_; // entries have size 1: a pivot below is round-off
    double* const factor = factor_.data();
    double* const lower = factor + size_;
    const double* const upper = lower + plan_.lower_start[size_];
    const int *const upper_start = plan_.upper_start.data(),
                     *const below_start = plan_.below_start.data(),
                     *const below = plan_.below.data(), *target = plan_.target.data();
    for (int k = 0; k < size_; ++k) {
        const int begin = upper_start[k], end = upper_start[k + 1];
        pivotless_ = plan_.pivot_column[k];
        if (!(std::fabs(factor[k]) > least && std::fabs(factor[k]) <= growth_limit)) return false;
        double widest = 0;
        for (int u = begin; u < end; ++u) {
            if (!(std::fabs(upper[u]) <= growth_limit)) return false;
            widest = std::max(widest, std::fabs(upper[u]));
        }
        const double inverse = inverse_[k] = 1.0 / factor[k];
        for (int b = below_start[k], last = below_start[k + 1]; b < last; ++b) {
            const double below_pivot = lower[below[b]], multiplier = below_pivot * inverse;
            // What it adds to its row counts even where another pivot takes it away again.
            if (!(std::fabs(below_pivot) <= growth_limit &&
                  std::fabs(multiplier) * widest <= growth_limit))
                return false;
            lower[below[b]] = multiplier;
            for (int u = begin; u < end; ++u)
                factor[*target++] -= multiplier * upper[u];
        }
    }
    pivotless_ = -1;
    return true;
}

/// Takes order and pivots from a pivoted factorisation of these values.
bool StepMatrix::search() {
    ++searches_;
    using Matrix = Eigen::SparseMatrix<double>;
    std::vector<Eigen::Triplet<double>> entries;
    for (int j = 0; j < size_; ++j)
        for (int e = plan_.entry_start[j]; e < plan_.entry_start[j + 1]; ++e) {
            const int k = plan_.entry[e].row;
            entries.emplace_back(plan_.row[k], plan_.pivot_column[j], value_[e] * row_scale_[k]);
        }
    Matrix matrix(size_, size_);
    matrix.setFromTriplets(entries.begin(), entries.end());
    Eigen::SparseLU<Matrix, Eigen::AMDOrdering<int>> lu;
    lu.setPivotThreshold(0.1);
    lu.compute(matrix);
    if (lu.info() != Eigen::Success) return false;
    std::vector<int> row(size_), pivot_column(size_);
    for (int i = 0; i < size_; ++i) {
        row[lu.rowsPermutation().indices()(i)] = i;
        pivot_column[lu.colsPermutation().indices()(i)] = i;
    }
    plan_.reorder(row, pivot_column);
    factor_.resize(plan_.most_entries());
    return true;
}

bool StepMatrix::factorise(double diagonal, const double* jacobian) {
    if (!plan_.covers(jacobian)) plan_.meet(jacobian);
    scale(diagonal, jacobian);
    if (eliminate()) return true; // never with a value that is not finite
    if (!finite() || !search()) return false;
    scale(diagonal, jacobian);
    return eliminate();
}

void StepMatrix::solve(const double* rhs, double* u) {
    double* const x = x_.data();
    const double* const lower = factor_.data() + size_;
    const double* const upper = lower + plan_.lower_start[size_];
    const int *const row = plan_.row.data(), *start = plan_.lower_start.data(),
                     *column = plan_.lower_column.data();
    for (int k = 0; k < size_; ++k) {
        double sum = rhs[row[k]] * row_scale_[k];
        for (int l = start[k], end = start[k + 1]; l < end; ++l)
            sum -= lower[l] * x[column[l]];
        x[k] = sum;
    }
    start = plan_.upper_start.data(), column = plan_.upper_column.data();
    // From right to left in each row, so that what was found last is wanted last.
    for (int k = size_ - 1; k >= 0; --k) {
        double sum = x[k];
        for (int e = start[k + 1] - 1, end = start[k]; e >= end; --e)
            sum -= upper[e] * x[column[e]];
        x[k] = sum * inverse_[k];
        u[plan_.pivot_column[k]] = x[k] * column_scale_[k];
    }
}

} // namespace pedalbench::solve
