#include "solve/elimination.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseCore>

#include <algorithm>
#include <set>
#include <utility>

namespace pedalbench::solve {

Elimination::Elimination(const Pattern& pattern)
    : size(pattern.size), pattern_(pattern), met_(pattern.column.size(), 0) {
    std::vector<Eigen::Triplet<double>> entries;
    std::vector<std::vector<int>> columns(size);
    for (int i = 0; i < size; ++i)
        for (int e = pattern.row_start[i]; e < pattern.row_start[i + 1]; ++e) {
            const int j = pattern.column[e];
            entries.emplace_back(i, j, 1.0);
            columns[j].insert(i == j ? columns[j].begin() : columns[j].end(), e);
            met_[e] = i == j;
        }
    for (const std::vector<int>& column : columns) {
        column_start_.push_back(static_cast<int>(by_column_.size()));
        by_column_.insert(by_column_.end(), column.begin(), column.end());
    }
    column_start_.push_back(static_cast<int>(by_column_.size()));
    Eigen::SparseMatrix<double> matrix(size, size);
    matrix.setFromTriplets(entries.begin(), entries.end());
    Eigen::PermutationMatrix<Eigen::Dynamic, Eigen::Dynamic, int> order;
    Eigen::AMDOrdering<int>{}(matrix, order);
    const std::vector<int> places(order.indices().data(), order.indices().data() + size);
    reorder(places, places);
}

void Elimination::reorder(const std::vector<int>& rows, const std::vector<int>& pivot_columns) {
    row = rows;
    pivot_column = pivot_columns;
    eliminate_pattern();
    plan();
}

/// Where the factors have entries, whatever the values are; room for any plan.
void Elimination::eliminate_pattern() {
    row_place_.resize(size);
    column_place_.resize(size);
    for (int k = 0; k < size; ++k)
        row_place_[row[k]] = column_place_[pivot_column[k]] = k;
    fill_start_.assign(1, 0);
    fill_diagonal_.clear();
    fill_.clear();
    std::vector<std::size_t> below_of(size);
    for (int k = 0; k < size; ++k) {
        std::set<int> filled;
        for (int e = pattern_.row_start[row[k]]; e < pattern_.row_start[row[k] + 1]; ++e)
            filled.insert(column_place_[pattern_.column[e]]);
        filled.insert(k); // should the pattern have no pivot there, the values tell
        for (auto left = filled.begin(); *left < k; ++left) {
            ++below_of[*left];
            filled.insert(fill_.begin() + fill_diagonal_[*left] + 1,
                          fill_.begin() + fill_start_[*left + 1]);
        }
        fill_diagonal_.push_back(fill_start_.back() +
                                 static_cast<int>(std::distance(filled.begin(), filled.find(k))));
        fill_.insert(fill_.end(), filled.begin(), filled.end());
        fill_start_.push_back(static_cast<int>(fill_.size()));
    }
    std::size_t targets = 0;
    for (int k = 0; k < size; ++k)
        targets += below_of[k] * (fill_start_[k + 1] - fill_diagonal_[k] - 1);
    for (std::vector<int>* v : {&lower_column, &upper_column, &below, &target_start_})
        v->reserve(fill_.size());
    target.reserve(targets);
    entry.reserve(pattern_.column.size());
    unmet_.reserve(pattern_.column.size());
    at_.resize(pattern_.column.size());
    for (std::vector<int>* v : {&entry_start, &lower_start, &upper_start, &below_start})
        v->resize(size + 1);
    filled_.assign(size, 0);
    position_.resize(size);
}

bool Elimination::covers(const double* values) const {
    bool other = false; // all are looked at: faster than to ask after each
    for (const int e : unmet_)
        other |= values[e] != 0;
    return !other;
}

void Elimination::meet(const double* values) {
    for (const int e : unmet_)
        met_[e] = values[e] != 0;
    plan();
}

void Elimination::plan() {
    unmet_.clear();
    for (std::size_t e = 0; e < met_.size(); ++e)
        if (!met_[e]) unmet_.push_back(static_cast<int>(e));
    plan_rows();
    plan_targets();
    entry.clear();
    for (int j = 0; j < size; ++j) {
        entry_start[j] = static_cast<int>(entry.size());
        const int column = pivot_column[j];
        for (int c = column_start_[column]; c < column_start_[column + 1]; ++c) {
            const int e = by_column_[c];
            if (!met_[e]) continue;
            const auto after =
                std::upper_bound(pattern_.row_start.begin(), pattern_.row_start.end(), e);
            const auto i = after - pattern_.row_start.begin() - 1;
            entry.push_back({e, row_place_[i], at_[e]});
        }
    }
    entry_start[size] = static_cast<int>(entry.size());
}

/// Which entries the factors have, by rows.
void Elimination::plan_rows() {
    lower_column.clear();
    upper_column.clear();
    for (int k = 0; k < size; ++k) {
        lower_start[k] = static_cast<int>(lower_column.size());
        upper_start[k] = static_cast<int>(upper_column.size());
        for (int e = pattern_.row_start[row[k]]; e < pattern_.row_start[row[k] + 1]; ++e)
            if (met_[e]) filled_[column_place_[pattern_.column[e]]] = 1;
        for (int f = fill_start_[k]; f < fill_diagonal_[k]; ++f) {
            const int j = fill_[f];
            if (!std::exchange(filled_[j], 0)) continue;
            lower_column.push_back(j);
            for (int u = upper_start[j]; u < upper_start[j + 1]; ++u)
                filled_[upper_column[u]] = 1;
        }
        filled_[k] = 0;
        for (int f = fill_diagonal_[k] + 1; f < fill_start_[k + 1]; ++f)
            if (std::exchange(filled_[fill_[f]], 0)) upper_column.push_back(fill_[f]);
        upper_start[k + 1] = static_cast<int>(upper_column.size());
    }
    lower_start[size] = static_cast<int>(lower_column.size());
}

/// Which entry acts on which, and where those of the matrix stand.
void Elimination::plan_targets() {
    const int multipliers = lower_start[size];
    below_start.assign(size + 1, 0);
    for (const int k : lower_column)
        ++below_start[k + 1];
    for (int k = 0; k < size; ++k)
        below_start[k + 1] += below_start[k];
    below.resize(multipliers);
    position_.assign(below_start.begin(), below_start.end() - 1); // the next one below each
    for (int l = 0; l < multipliers; ++l)
        below[position_[lower_column[l]]++] = l;

    target_start_.resize(multipliers);
    int targets = 0;
    for (int k = 0; k < size; ++k)
        for (int b = below_start[k]; b < below_start[k + 1]; ++b) {
            target_start_[below[b]] = targets;
            targets += upper_start[k + 1] - upper_start[k];
        }
    target.resize(targets);
    for (int i = 0; i < size; ++i) {
        // position_: in the factors, of what row i has in a column
        for (int l = lower_start[i]; l < lower_start[i + 1]; ++l)
            position_[lower_column[l]] = size + l;
        position_[i] = i;
        for (int u = upper_start[i]; u < upper_start[i + 1]; ++u)
            position_[upper_column[u]] = size + multipliers + u;
        for (int l = lower_start[i]; l < lower_start[i + 1]; ++l) {
            const int k = lower_column[l];
            for (int u = upper_start[k]; u < upper_start[k + 1]; ++u)
                target[target_start_[l] + u - upper_start[k]] = position_[upper_column[u]];
        }
        for (int e = pattern_.row_start[row[i]]; e < pattern_.row_start[row[i] + 1]; ++e)
            if (met_[e]) at_[e] = position_[column_place_[pattern_.column[e]]];
    }
}

} // namespace pedalbench::solve
