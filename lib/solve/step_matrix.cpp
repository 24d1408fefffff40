#include "solve/step_matrix.hpp"

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
    : size_(checked(pattern).size), row_start_(pattern.row_start), column_(pattern.column),
      values_(column_.size()), filled_(column_.size()), filled_start_(size_ + 1), row_scale_(size_),
      column_scale_(size_), right_(size_), left_(size_), lu_(pattern) {
    for (int i = 0; i < size_; ++i)
        diagonal_.push_back(
            static_cast<int>(std::lower_bound(column_.begin() + row_start_[i],
                                              column_.begin() + row_start_[i + 1], i) -
                             column_.begin()));
}

/// Values of the matrix; which of them are not zero, and whether those are finite.
bool StepMatrix::fill(double diagonal, const double* jacobian) {
    double* const value = values_.data();
    int* const filled = filled_.data();
    int n = 0;
    for (int i = 0; i < size_; ++i) {
        filled_start_[i] = n;
        for (int k = row_start_[i], end = row_start_[i + 1], own = diagonal_[i]; k < end; ++k) {
            value[k] = k == own ? -jacobian[k] + diagonal : -jacobian[k];
            filled[n] = k; // overwritten by the next unless it counts
            n += value[k] != 0;
        }
    }
    filled_start_[size_] = n;
    for (int f = 0; f < n; ++f)
        if (!std::isfinite(value[filled[f]])) {
            pivotless_ = column_[filled[f]];
            return false;
        }
    return true;
}

void StepMatrix::scale() {
    double *const value = values_.data(), *const by_column = column_scale_.data();
    const int *const filled = filled_.data(), *const column = column_.data();
    std::fill(column_scale_.begin(), column_scale_.end(), 0.0);
    for (int f = 0, end = filled_start_[size_]; f < end; ++f) {
        double& largest = by_column[column[filled[f]]];
        largest = std::max(largest, std::fabs(value[filled[f]]));
    }
    for (double& s : column_scale_)
        s = to_one(s);
    for (int i = 0; i < size_; ++i) {
        const int begin = filled_start_[i], end = filled_start_[i + 1];
        double largest = 0;
        for (int f = begin; f < end; ++f) {
            double& v = value[filled[f]];
            v *= by_column[column[filled[f]]];
            largest = std::max(largest, std::fabs(v));
        }
        row_scale_[i] = to_one(largest);
        for (int f = begin; f < end; ++f)
            value[filled[f]] *= row_scale_[i];
    }
}

bool StepMatrix::factorise(double diagonal, const double* jacobian) {
    if (!fill(diagonal, jacobian)) return false;
    scale();
    const bool done = lu_.factorise(values_.data());
    pivotless_ = lu_.pivotless();
    return done;
}

void StepMatrix::solve(const double* rhs, double* u) {
    for (int i = 0; i < size_; ++i)
        right_[i] = rhs[i] * row_scale_[i];
    lu_.solve(right_.data(), left_.data());
    for (int i = 0; i < size_; ++i)
        u[i] = left_[i] * column_scale_[i];
}

} // namespace pedalbench::solve
