// Residuals by a formula, for tests of fits.
#pragma once

#include <vector>

#include "study/least_squares.hpp"

namespace pedalbench::test {

/// The residuals of a formula, one point after another.
template <class Formula>
study::Residuals each(const Formula& formula) {
    return [formula](const std::vector<std::vector<double>>& points) {
        std::vector<std::vector<double>> out;
        for (const std::vector<double>& x : points)
            out.push_back(formula(x));
        return out;
    };
}

} // namespace pedalbench::test
