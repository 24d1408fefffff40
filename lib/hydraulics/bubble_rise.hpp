// Bubbles that rise in a pipe, and so collect at its high end.
#pragma once

#include <algorithm>
#include <cmath>

#include "fluid/brake_fluid.hpp"

namespace pedalbench {

/// Bubbles in a straight pipe. A long bubble rises in still liquid in an upright round tube at the
/// speed v of Viana et al., J. Fluid Mech. 494 (2003) 379, "Universal correlation for the rise
/// velocity of long gas bubbles in round pipes": Fr = v/sqrt(g D) from the Eotvos number Eo = rho g
/// D^2/sigma and the buoyancy Reynolds number R = sqrt(g D^3)/nu, by nested dose curves L(x; a, b,
/// c, d) = a/(1 + (x/b)^c)^d. Its coefficients are from memory; their limits are those of its
/// abstract. In a brake pipe surface tension all but holds a bubble (Bretherton 1961, from memory:
/// below Eo = 3.37 wholly), so that it goes where the fluid goes.
class BubbleRise {
  public:
    BubbleRise(double bore, double length, double density)
        : drop_(1 / (density * kGravity * length)) {
        const auto dose = [](double x, double a, double b, double c, double d) {
            return a * std::pow(1 + std::pow(x / b, c), -d);
        };
        const double eo = density * kGravity * bore * bore / kTension;
        const double b = dose(eo, 31.08, 29.868, -1.96, -0.49);
        power_ = dose(eo, -1.45, 24.867, -9.93, -0.094);
        speed_ = dose(eo, 0.34, 14.793, -3.06, 0.58) * std::sqrt(kGravity * bore);
        viscosity_ = std::sqrt(kGravity * bore * bore * bore) / b;
        area_ = 0.25 * M_PI * bore * bore;
    }

    /// v in liquid of a viscosity [m/s].
    template <class S>
    S speed(const S& viscosity) const {
        const S u = -power_ * logarithm(viscosity * (1 / viscosity_));
        // In the narrowest bores the power is so high that exp(u) leaves the range of numbers.
        const S turned = value_of(u) > 30 ? u : logarithm(1.0 + exponential(u));
        return speed_ * exponential((1.0295 / power_) * turned);
    }
    /// Area times v times the slope from head a to head b [m3/s], positive where b is higher; what
    /// drops further than the pipe is long hangs upright.
    template <class S>
    S flow(double head_a, double head_b, const S& viscosity) const {
        if (head_a == head_b) return S(0.0);
        const double slope = std::clamp((head_b - head_a) * drop_, -1.0, 1.0);
        return speed(viscosity) * (area_ * slope);
    }

  private:
    static constexpr double kTension = 0.033; // N/m, glycol ethers, judgement
    double drop_, power_, speed_, viscosity_, area_;
};

/// Lets bubbles rise from the lower end of a pipe to the upper, and as much liquid sink in their
/// stead: rise x share of bubbles below x share of liquid above, `rise` as BubbleRise::flow(). It
/// adds to what carry() moves.
template <class PortIn, class PortOut, class S>
void let_rise(const BrakeFluid& fluid, const PortIn& a, const PortIn& b, PortOut& a_out,
              PortOut& b_out, const S& rise) {
    if (value_of(rise) == 0) return;
    const bool up = value_of(rise) > 0;
    const PortIn &low = up ? a : b, &high = up ? b : a;
    PortOut &low_out = up ? a_out : b_out, &high_out = up ? b_out : a_out;
    const S speed = up ? rise : -rise;
    const S liquid_above = high.liquid * fluid.specific_volume(high.p, high.T);
    const S bubbles_below = 1.0 - low.liquid * fluid.specific_volume(low.p, low.T);
    const S gas = speed * liquid_above * low.gas;
    const S liquid = speed * bubbles_below * high.liquid;
    const S dissolved = speed * bubbles_below * high.dissolved;
    low_out.gas -= gas;
    high_out.gas += gas;
    high_out.liquid -= liquid;
    low_out.liquid += liquid;
    high_out.dissolved -= dissolved;
    low_out.dissolved += dissolved;
}

} // namespace pedalbench
