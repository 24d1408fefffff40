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

/// Unsteady part of the friction: a flow that changes quickly shears the fluid near the wall more
/// than its mean speed tells, so that waves in a pipe die out sooner. Memory w of the flow, w' = n
/// (q - w) nu / r^2, adds R (m / 2) (q - w) to the laminar drop R q. One term of the weights of
/// Trikha, J. Fluids Eng. 97 (1975) 97 (from memory): m = 8.1, n = 200. His slowest term (1, 26.4)
/// is small beside R q, his fastest (40, 8000) acts above 5 kHz in a brake pipe.
struct UnsteadyFriction {
    static constexpr double kWeight = 8.1, kDecay = 200;

    /// Drop [Pa] in a round tube.
    template <class S>
    static S drop(const S& q, const S& memory, double bore, double length,
                  const Stream<S>& stream) {
        return (q - memory) * stream.viscosity *
               (0.5 * kWeight * stream.density * 128 * length / (M_PI * bore * bore * bore * bore));
    }
    /// What of that drop times q is lost [W]; the rest goes into the memory and comes back.
    static double lost(double q, double memory, double bore, double length,
                       const Stream<double>& stream) {
        return (q - memory) * drop(q, memory, bore, length, stream);
    }
    /// Energy of the memory over w^2 [J s2/m6]: the drop's resistance times the time in which the
    /// memory follows. The viscosity cancels.
    static double inertance(double bore, double length, double density) {
        return 0.5 * kWeight / kDecay * density * 32 * length / (M_PI * bore * bore);
    }
    /// Rate of the memory [m3/s2].
    template <class S>
    static S rate(const S& q, const S& memory, double bore, const Stream<S>& stream) {
        return (q - memory) * stream.viscosity * (kDecay * 4 / (bore * bore));
    }
};

/// Drop of flow q through a sharp restriction of area A: rho q |q| / (2 (Cd A)^2), with |q| rounded
/// below `rounding` so that it is smooth through zero.
template <class S>
S restriction_drop(const S& q, double area, double density, double rounding = 1e-8) {
    const double b = density / (2 * kDischarge * kDischarge * area * area);
    return b * q * (square_root(q * q + rounding * rounding) - rounding);
}

} // namespace pedalbench
