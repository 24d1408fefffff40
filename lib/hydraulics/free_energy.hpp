// The free energy of what a control volume holds: what it would give back at constant temperature.
#pragma once

#include <algorithm>
#include <cmath>

#include "fluid/brake_fluid.hpp"

namespace pedalbench {

/// Energy per reference m3 [J/m3] that liquid, free gas and air in solution bring into a volume, at
/// one temperature and counted from the pressure outside. The laws of the control volume follow
/// from them: v(p) = d liquid/dp and the gas law = d gas/dp, so that they come from one free
/// energy.
///
///   liquid     e (p - p/m + K/m^2 ln(1 + m p/K)) - k c
///   gas        k ln((p + lift)/lift),  lift = outside - vapour pressure, k = p0 T/T0
///   dissolved  k ln(c/c0),  c = dissolved/liquid, c0 that of fluid that stands open to the air
///
/// The last two terms with c are those of a dilute solution (Henry's law at equilibrium: dissolved
/// = gas). Vapour is given and taken by a bath of its own; heat is not in here.
struct Potentials {
    double liquid, gas, dissolved;

    Potentials(const BrakeFluid& fluid, double outside, double p, double T, double content,
               double in_solution) {
        const double m = fluid.secant_slope(), K = fluid.modulus(T);
        const double k = kStandardPressure * T / kReferenceTemperature;
        const double lift = outside - fluid.vapour_pressure(T);
        const double open = fluid.data().solubility * lift / kStandardPressure;
        const double c = content > 0 ? std::max(in_solution, 0.0) / content : 0;
        liquid = fluid.expansion(T) * (p - p / m + K / (m * m) * std::log1p(m * p / K)) - k * c;
        gas = k * std::log1p(p / lift);
        // A trace, where there is none: a little of nothing is worth nothing.
        dissolved = open > 0 ? k * std::log(std::max(c / open, 1e-9)) : 0;
    }
};

} // namespace pedalbench
