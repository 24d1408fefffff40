// Flow through short openings: sharp-edged holes, ports under a cup lip, lifted plates.
#pragma once

#include <cmath>

#include "fluid/dual.hpp"

namespace pedalbench {

inline constexpr double kAirDensity = 1.2, kAirViscosity = 1.5e-5; // kg/m3, m2/s at 20 C

/// Fluid as an opening sees it.
template <class S>
struct Stream {
    double density; // kg/m3
    S viscosity;    // m2/s, kinematic
};

inline constexpr double kDischarge =
    0.65; // sharp-edged hole: 0.60-0.65 (Rabie, Fluid Power Engineering, p. 27)

/// Volume flow [m3/s] through a round hole of radius r and wall thickness `length` under the drop
/// dp.
///
///   |dp| = a Q + b Q^2,  a = 3 mu / r^3 + 8 mu length / (pi r^4),  b = rho / (2 (Cd pi r^2)^2)
///
/// a: creeping flow through a thin hole (Sampson 1891) and through its length (Hagen-Poiseuille),
/// b: the turbulent jet. Solved for Q in a form that is defined for r = 0. |dp| is rounded over
/// 1/20 of the drop at which both terms are equal, so that Q is smooth through zero with the exact
/// laminar slope.
template <class S>
S orifice_flow(const S& dp, const S& radius, double length, const Stream<S>& stream) {
    const S mu = stream.viscosity * stream.density;
    const S per_area = radius * radius / (mu * (M_PI * (3 * radius + (8 / M_PI) * length)));
    const S conductance = per_area * (M_PI * radius * radius); // 1/a
    const S ratio =
        (2 * stream.density / (kDischarge * kDischarge)) * (per_area * per_area); // 4 b / a^2
    if (value_of(ratio) <= 0) return conductance * dp;
    const S bend = 0.05 / ratio;
    const S size = square_root(dp * dp + bend * bend) - bend;
    return 2.0 * conductance * dp / (1.0 + square_root(1.0 + ratio * size));
}

/// The same for an opening given by its area: the round hole of equal area. The flow falls with the
/// square of a small area, so nothing for an area below zero (where a law looks past its guard)
/// joins smoothly.
template <class S>
S opening_flow(const S& dp, const S& area, double length, const Stream<S>& stream) {
    if (value_of(area) <= 0) return S(0.0);
    return orifice_flow(dp, square_root(area * (1 / M_PI)), length, stream);
}

/// Area of a round hole of diameter d that a straight lip leaves open when its edge stands `u`
/// inside the far rim: a circle segment, 0 for u <= 0 and the whole hole for u >= d. dA/du is the
/// chord.
template <class S>
S hole_beyond_lip(const S& u, double d) {
    const double r = 0.5 * d, x = value_of(u);
    if (x <= 0) return S(0.0);
    if (x >= d) return S(M_PI * r * r);
    const double chord = 2 * std::sqrt(x * (d - x));
    // Half the angle of the segment, in the form that keeps its digits at both rims.
    const double half_angle = std::atan2(std::sqrt(x), std::sqrt(d - x));
    return chain(u, 2 * r * r * half_angle - 0.5 * (r - x) * chord, chord);
}

} // namespace pedalbench
