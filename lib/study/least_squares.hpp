// Nonlinear least squares with bounds. Knows no car.
#pragma once

#include <cstddef>
#include <functional>
#include <utility>
#include <vector>

namespace pedalbench::study {

/// What may move.
struct Unknown {
    double start = 0, low = 0, high = 0; // the bounds are part of what is allowed
    /// What is a sizeable change of it: steps of differences are a hundredth part of this.
    double scale() const;
};

/// The residuals at each of some points, in standard errors of their readings. Empty: there is no
/// answer at that point. Those of one call may be worked out side by side.
using Residuals =
    std::function<std::vector<std::vector<double>>(const std::vector<std::vector<double>>&)>;

struct LeastSquares {
    enum class End {
        converged,
        stuck,    // after so many steps it still goes down
        no_answer // there is none at the start, or near the place where it ended
    } end = End::no_answer;
    std::vector<double> x;
    std::vector<double> residuals; // there
    /// Change of the residuals with each unknown, [unknown][residual], by central differences.
    std::vector<std::vector<double>> slope;
    double misfit = 0; // sum of their squares
    int steps = 0;
};

/// Levenberg and Marquardt's method (J. J. Moré's form of it, as Eigen has it after MINPACK). A
/// point outside the bounds counts as the nearest one inside; what comes to stand at a bound is
/// held there while the others go on, until the misfit falls inward again. Throws what `residuals`
/// throws.
LeastSquares least_squares(const std::vector<Unknown>& unknowns, const Residuals& residuals);

} // namespace pedalbench::study
