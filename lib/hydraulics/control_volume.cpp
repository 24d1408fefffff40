#include "hydraulics/control_volume.hpp"

#include <algorithm>
#include <cmath>

namespace pedalbench {

VolumeState solve_volume(const BrakeFluid& fluid, const Walls& walls, double swept, double liquid,
                         double gas, double T, double nucleus, double outside) {
    const Dual<1> t = Dual<1>::seed(T, 0);
    const Dual<1> expand = fluid.expansion(t), modulus = fluid.modulus(t);
    const Dual<1> vapour = fluid.vapour_pressure(t);
    const double m = fluid.secant_slope();
    const double full = liquid * expand.v;  // liquid at standard pressure
    const double lift = outside - vapour.v; // q = p + lift = p_abs - p_vapour
    // A trial step may ask for less gas than none: the nucleus then shrinks smoothly and never
    // goes.
    const double short_of = nucleus - std::min(gas, 0.0);
    const double present = gas >= 0 ? gas + nucleus : nucleus * nucleus / short_of;
    const double present_G = gas >= 0 ? 1 : nucleus * nucleus / (short_of * short_of);
    const double gas_pv = present * kStandardPressure * T / kReferenceTemperature;

    // Start: a + b p = gas_pv / q with tangents at p = 0; b q^2 + (a - b lift) q = gas_pv.
    const double a = swept - full, b = walls.slope(0) + full / modulus.v;
    const double half = 0.5 * (a - b * lift), root = std::sqrt(half * half + b * gas_pv);
    double q = half > 0 ? gas_pv / (half + root) : (root - half) / b;

    double slope = 0;
    for (int i = 0; i < 60; ++i) {
        const double p = q - lift, stiff = modulus.v + m * p;
        const double surplus = (swept - full) + walls.stretch(p) + full * (p / stiff) - gas_pv / q;
        slope = walls.slope(p) + full * modulus.v / (stiff * stiff) + gas_pv / (q * q);
        const double step = -surplus / slope;
        q += step;
        // No term of the surplus bends more than the gas, so that a step is followed by one of at
        // most step^2 / q: that one need not be taken where it would be round-off. Ends on NaN,
        // too.
        if (!(step * step > 1e-16 * q * (std::abs(p) + lift))) break;
    }

    VolumeState s;
    s.p = q - lift;
    s.gas_p = q;
    s.volume_p = walls.slope(s.p);
    s.volume = swept + walls.stretch(s.p);
    s.liquid = liquid / s.volume;
    s.gas = gas / s.volume;
    const Dual<1> specific = expand * (1.0 - s.p / (modulus + m * s.p));
    const double gas_T = gas_pv / (T * q) + gas_pv * vapour.d[0] / (q * q);
    s.p_V = -1 / slope;
    s.p_L = specific.v / slope;
    s.p_G = present_G * kStandardPressure * T / kReferenceTemperature / (q * slope);
    s.p_T = (liquid * specific.d[0] + gas_T) / slope;
    s.gas_p_T = s.p_T - vapour.d[0];
    return s;
}

} // namespace pedalbench
