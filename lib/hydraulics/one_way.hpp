// Valves that open by a force balance and close again from zero flow.
#pragma once

#include "hydraulics/orifice.hpp"

namespace pedalbench {

/// A check held shut by a spring: lifts in proportion to the pressure above `crack` and is wide
/// open (area `full`) far above `spread`. Opening and flow both start from zero, so nothing jumps.
/// The guard of the surplus is the caller's.
template <class S>
S check_flow(const S& surplus, const S& drop, double full, double spread, const Stream<S>& stream) {
    const S area = full * surplus / (surplus + spread);
    return opening_flow(drop, area, 1e-3, stream);
}

} // namespace pedalbench
