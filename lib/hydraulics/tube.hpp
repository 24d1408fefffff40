// Flow along pipes and hoses.
#pragma once

#include <cmath>

#include "fluid/dual.hpp"
#include "hydraulics/orifice.hpp"

namespace pedalbench {

/// Ratio of the friction in a round tube to its laminar value at a Reynolds number. Laminar below
/// 2100, turbulent (Blasius 1913, f = 0.3164 Re^-1/4) above 4000, a smooth blend between; both
/// limits from lecture notes on pipe flow. Even in Re; once differentiable twice everywhere.
template <class S>
S friction_ratio(const S& reynolds) {
    const S re = value_of(reynolds) < 0 ? -reynolds : reynolds;
    const double x = (value_of(re) - 2100) / 1900;
    if (x <= 0) return S(1.0);
    const S turbulent = exponential(0.75 * logarithm(re)) * (0.3164 / 64);
    if (x >= 1) return turbulent;
    const S share =
        chain(re, x * x * x * (10 + x * (6 * x - 15)), 30 * x * x * (1 - x) * (1 - x) / 1900);
    return 1.0 + share * (turbulent - 1.0);
}

/// Pressure drop [Pa] of flow q [m3/s] along a round tube: Hagen-Poiseuille 128 mu L q / (pi D^4)
/// times the ratio above.
template <class S>
S tube_drop(const S& q, double bore, double length, const Stream<S>& stream) {
    const S reynolds = 4.0 * q / (stream.viscosity * (M_PI * bore));
    return q * stream.viscosity *
           (stream.density * 128 * length / (M_PI * bore * bore * bore * bore)) *
           friction_ratio(reynolds);
}

/// Drop of flow q through a sharp restriction of area A: rho q |q| / (2 (Cd A)^2), with |q| rounded
/// below `rounding` so that it is smooth through zero.
template <class S>
S restriction_drop(const S& q, double area, double density, double rounding = 1e-8) {
    const double b = density / (2 * kDischarge * kDischarge * area * area);
    return b * q * (square_root(q * q + rounding * rounding) - rounding);
}

} // namespace pedalbench
