// The one comparison of floating-point numbers in the tests.
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <string>

namespace pedalbench::test {

/// Result of near(): true or false in a CHECK, and prints both numbers and the distance on failure.
struct Nearness {
    bool ok;
    double found, wanted, allowed;

    explicit operator bool() const { return ok; }
};

/// |found - wanted| <= absolute + relative |wanted|. Both tolerances are stated at each call, the
/// absolute one in the unit of the numbers. (doctest::Approx adds a hidden absolute scale of 1,
/// with which no volume in m3 could ever fail.) NaN is near nothing; infinity only itself.
inline Nearness near(double found, double wanted, double absolute, double relative) {
    const double allowed = absolute + relative * std::fabs(wanted);
    return {found == wanted || std::fabs(found - wanted) <= allowed, found, wanted, allowed};
}

inline doctest::String toString(const Nearness& n) {
    char text[160];
    std::snprintf(text, sizeof text, "%.17g near %.17g (apart by %.3g, allowed %.3g)", n.found,
                  n.wanted, std::fabs(n.found - n.wanted), n.allowed);
    return text;
}

} // namespace pedalbench::test
