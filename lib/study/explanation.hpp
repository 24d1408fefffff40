// What may be wrong with a car, and how well that explains what was read on it.
#pragma once

#include <cstddef>
#include <vector>

#include "study/candidates.hpp"

namespace pedalbench::study {

inline constexpr double kExplains = 3; // standard errors between two predictions
inline constexpr double kTie = 4;      // misfit by which explanations must differ to be told apart

/// One fault, two, or none, of the sizes that fit best.
struct Explanation {
    std::vector<Candidate> faults;      // none: the car as it is
    std::vector<double> u, size;        // per fault; size SI, unset where it has none
    double low = kUnset, high = kUnset; // of one fault: sizes that fit as well, but for kTie
    double misfit = 0;                  // sum of the squares of `off`
    /// What ranks it: the misfit averaged over all sizes that there are, as likelihoods are. A
    /// fault that fits at one size in a hundred is less likely than one that fits as well at each:
    /// by 9.2. Two faults at once: misfit and what two need as a better reason.
    double averaged = 0;
    std::vector<double> off;         // per reading, see off_by()
    std::vector<double> closest;     // per reading, of that size of one fault which misses it least
    std::vector<double> found;       // per column [SI]
    std::vector<double> least, most; // per column, over all sizes from low to high
    bool near = false; // of a size tried nearby: it is too far off to be looked at any closer

    std::size_t worst() const; // the reading that it misses most
    /// Whether it misses that reading by more than chance does, whatever the size of one fault.
    bool never_shows(std::size_t reading) const;
    /// The reading that it misses most whatever its size.
    std::size_t never() const;
    /// Misses neither one reading nor all of them together by more than chance does once in a
    /// hundred cars.
    bool explains() const;
    /// How likely chance makes a misfit as large, if this is the truth and was not fitted.
    double likelihood() const;
};

/// One fault at several spots, the likeliest first: that one speaks for them all, at those spots
/// that fit as well (at all, if none explains the readings).
Explanation at_any_of(const std::vector<Explanation>& spots);

/// By how many standard errors the worst of n readings may be missed: more happens to one in a
/// hundred sets of readings; 3 at least.
double farthest_of(std::size_t n);

} // namespace pedalbench::study
