// Nonlinear least squares with bounds, and what the answer is worth. Knows no car.
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
/// point outside the bounds counts as the nearest one inside. Throws what `residuals` throws.
LeastSquares least_squares(const std::vector<Unknown>& unknowns, const Residuals& residuals);

/// What the data say of one unknown, by the slopes at the answer.
struct Confidence {
    enum class Say {
        determined,
        moves_nothing, // no reading feels it, anywhere between its bounds
        at_bound,      // the best value is as far as it may go
        anything       // its interval holds zero and twice its value, or all that is allowed
    } say = Say::determined;
    double error = 0;         // standard error
    double low = 0, high = 0; // 95 %
    bool known() const { return say == Say::determined; }
};

struct FitQuality {
    std::vector<Confidence> of;
    std::vector<std::vector<double>> correlation; // [unknown][unknown]; unset without an error
    /// Standard deviation of the residuals over what was stated: sqrt(misfit / freedom).
    double scatter = 0;
    long freedom = 0; // readings less unknowns that the data feel
    /// How likely a misfit as large as this is, if model and stated errors are right; unset where
    /// there is no freedom.
    double likelihood = 0;
};

/// `errors_known`: the residuals are in true standard errors. Else the scatter says how large these
/// are, and Student's distribution takes the place of the normal one.
FitQuality quality_of(const std::vector<Unknown>& unknowns, const LeastSquares& found,
                      bool errors_known);

} // namespace pedalbench::study
