// Air in solution: how much of it the liquid holds, and how fast it goes in and comes out.
#pragma once

#include "fluid/brake_fluid.hpp"

namespace pedalbench {

/// Air that a liquid content holds when it is saturated under the air's own share of the absolute
/// pressure (Henry's law; solubility x liquid at standard pressure) [reference m3].
template <class S>
S saturated_air(const BrakeFluid& fluid, const S& liquid, const S& air_pressure) {
    return fluid.data().solubility * liquid * air_pressure * (1 / kStandardPressure);
}

/// Air that comes out of solution in a volume [reference m3/s], below zero where it goes in.
///
///   e = dissolved - saturated
///   e > 0: e / release time
///   e < 0: gas / take-up time x e / saturated: in proportion to the bubbles there are and to how
///          far the liquid is from full
///
/// Both are zero at e = 0; a smooth step within 0.1 % of saturation passes from one to the other,
/// so that no guard is needed and nothing moves at saturation. What is in solution takes no room
/// (SAE J1705 appendix A).
template <class S>
S air_out_of_solution(const BrakeFluid& fluid, const S& liquid, const S& gas, const S& dissolved,
                      const S& air_pressure) {
    const BrakeFluid::Data& data = fluid.data();
    const S full = saturated_air(fluid, liquid, air_pressure);
    if (value_of(full) <= 0) return S(0.0);
    const S e = (dissolved - full) / full;
    const S over = smooth_step(e, 1e-3); // share of the law for too much
    return e *
           (over * full * (1 / data.release_time) + (1.0 - over) * gas * (1 / data.take_up_time));
}

} // namespace pedalbench
