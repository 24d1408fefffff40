#include "solve/step_matrix.hpp"

#include <Eigen/LU>
#include <Eigen/SparseLU>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace pedalbench::solve {

namespace {

void check(const Pattern& p) {
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
}

/// The power of two that brings x > 0 into [1, 2).
double to_one(double x) {
    return x > 0 ? std::ldexp(1.0, -std::ilogb(x)) : 1.0;
}

} // namespace

struct StepMatrix::Impl {
    Pattern pattern;
    bool dense = true;
    int pivotless = -1;
    std::vector<double> values; // pattern order
    std::vector<double> row_scale, column_scale;
    Eigen::VectorXd right, left, rest;

    Eigen::MatrixXd full;
    Eigen::PartialPivLU<Eigen::MatrixXd> full_lu;

    Eigen::SparseMatrix<double> sparse;
    std::vector<int> slot; // pattern order -> place in `sparse`, which is stored by columns
    Eigen::SparseLU<Eigen::SparseMatrix<double>> sparse_lu;

    Impl(const Pattern& p, bool is_dense)
        : pattern(p), dense(is_dense), values(p.column.size()), row_scale(p.size),
          column_scale(p.size), right(p.size), left(p.size), rest(p.size) {
        if (dense) {
            full = Eigen::MatrixXd::Identity(p.size, p.size);
            full_lu.compute(full); // the sizes stay: later factorisations reuse the storage
        } else {
            by_columns();
        }
    }

    void by_columns() {
        const int n = pattern.size;
        std::vector<Eigen::Triplet<double>> entries;
        for (int i = 0; i < n; ++i)
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                entries.emplace_back(i, pattern.column[k], k);
        sparse.resize(n, n);
        sparse.setFromTriplets(entries.begin(), entries.end());
        // The values carried the pattern index: read them back as the map.
        slot.resize(values.size());
        for (int s = 0; s < sparse.nonZeros(); ++s)
            slot[static_cast<int>(sparse.valuePtr()[s])] = s;
        sparse_lu.analyzePattern(sparse);
    }

    void scale() {
        std::fill(column_scale.begin(), column_scale.end(), 0.0);
        for (std::size_t k = 0; k < values.size(); ++k) {
            double& largest = column_scale[pattern.column[k]];
            largest = std::max(largest, std::fabs(values[k]));
        }
        for (double& s : column_scale)
            s = to_one(s);
        for (int i = 0; i < pattern.size; ++i) {
            double largest = 0;
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k) {
                values[k] *= column_scale[pattern.column[k]];
                largest = std::max(largest, std::fabs(values[k]));
            }
            row_scale[i] = to_one(largest);
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                values[k] *= row_scale[i];
        }
    }

    void by_factors(Eigen::VectorXd& x) const {
        if (dense)
            x = full_lu.solve(right);
        else
            x = sparse_lu.solve(right);
    }

    /// Turns `right` into what `left` leaves of it.
    void subtract_left() {
        for (int i = 0; i < pattern.size; ++i)
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                right[i] -= values[k] * left[pattern.column[k]];
    }

    bool factorise_full() {
        full.setZero();
        for (int i = 0; i < pattern.size; ++i)
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                full(i, pattern.column[k]) = values[k];
        full_lu.compute(full);
        // Entries have size 1, so a pivot at round-off level means a dependent column.
        const double least = 1e-15 * pattern.size;
        for (int k = 0; k < pattern.size; ++k) {
            const double pivot = std::fabs(full_lu.matrixLU()(k, k));
            if (!(pivot > least) || !std::isfinite(pivot)) {
                pivotless = k;
                return false;
            }
        }
        return true;
    }

    bool factorise_sparse() {
        for (std::size_t k = 0; k < values.size(); ++k)
            sparse.valuePtr()[slot[k]] = values[k];
        sparse_lu.factorize(sparse);
        return sparse_lu.info() == Eigen::Success;
    }
};

StepMatrix::StepMatrix(const Pattern& pattern, Kind kind) {
    check(pattern);
    const bool dense =
        kind == Kind::dense || (kind == Kind::automatic && pattern.size <= dense_limit);
    impl_ = std::make_unique<Impl>(pattern, dense);
}

StepMatrix::~StepMatrix() = default;
StepMatrix::StepMatrix(StepMatrix&&) noexcept = default;
StepMatrix& StepMatrix::operator=(StepMatrix&&) noexcept = default;

bool StepMatrix::factorise(double diagonal, const double* jacobian) {
    Impl& s = *impl_;
    s.pivotless = -1;
    const Pattern& p = s.pattern;
    for (int i = 0; i < p.size; ++i)
        for (int k = p.row_start[i]; k < p.row_start[i + 1]; ++k) {
            s.values[k] = (p.column[k] == i ? diagonal : 0.0) - jacobian[k];
            if (!std::isfinite(s.values[k])) {
                s.pivotless = p.column[k];
                return false;
            }
        }
    s.scale();
    return s.dense ? s.factorise_full() : s.factorise_sparse();
}

void StepMatrix::solve(const double* rhs, double* u) {
    Impl& s = *impl_;
    for (int i = 0; i < s.pattern.size; ++i)
        s.right[i] = rhs[i] * s.row_scale[i];
    s.by_factors(s.left);
    s.subtract_left();
    s.by_factors(s.rest);
    s.left += s.rest;
    for (int i = 0; i < s.pattern.size; ++i)
        u[i] = s.left[i] * s.column_scale[i];
}

int StepMatrix::pivotless() const {
    return impl_->pivotless;
}
bool StepMatrix::dense() const {
    return impl_->dense;
}

} // namespace pedalbench::solve
