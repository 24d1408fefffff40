// What the answer of a fit is worth. Knows no car.
#pragma once

#include <cstddef>
#include <vector>

#include "study/least_squares.hpp"

namespace pedalbench::study {

/// What the data say of one unknown.
struct Confidence {
    enum class Say {
        determined,
        at_least, // readings speak against what is below `low`, up to the bound against nothing
        at_most,  // against what is above `high`, down to the bound against nothing
        moves_nothing, // no reading feels it, anywhere between its bounds
        at_bound,      // the readings want it beyond a bound, by more than chance does
        anything,      // its interval holds zero and twice its value, or all that is allowed
        no_freedom     // as many unknowns as readings, whose errors nobody knows
    } say = Say::determined;
    bool felt = true;         // where it fits best a reading changes with it
    double error = 0;         // standard error; unset where the interval was found by trying
    double low = 0, high = 0; // 95 %, within the bounds
    bool low_cut = false, high_cut = false; // that end is a bound: the truth may lie beyond
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
    /// A place that was looked at and fits clearly better than the answer; empty: none did.
    std::vector<double> better;
};

/// By the slopes at the answer, if these can be believed: they are looked at again over steps as
/// long as the intervals, along combinations of the unknowns, and where one shows much less then,
/// those slopes count. (Answers of runs flutter. Where only a ratio acts that feigns slopes over
/// the short steps of a derivative.) What no slope shows is tried at its bounds, the others as they
/// fit best. The ends of an interval are tried as well, the others as they then fit best and as
/// they are; where the readings do not speak against an end, the interval goes on.
///
/// `errors_known`: the residuals are in true standard errors. Else the scatter says how large these
/// are, and Student's distribution takes the place of the normal one. Throws what `residuals`
/// throws.
FitQuality quality_of(const std::vector<Unknown>& unknowns, const LeastSquares& found,
                      bool errors_known, const Residuals& residuals);

} // namespace pedalbench::study
