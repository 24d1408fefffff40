// What a flow takes along: liquid, gas and air in solution in the proportions of the volume it
// leaves.
#pragma once

#include "fluid/brake_fluid.hpp"
#include "fluid/dual.hpp"

namespace pedalbench {

/// Share of the "from" side in a stream q: 1 for q > 0, 0 for q < 0, a smooth step within 0.01
/// cm3/s of zero. It multiplies q, so nothing passes when q = 0: no exchange is invented, and no
/// guard is needed.
template <class S>
S upstream_share(const S& q) {
    return smooth_step(q, 1e-8); // m3/s
}

/// Moves the volume flow q from one port to another, with what it carries.
template <class PortIn, class PortOut, class S>
void carry(const PortIn& from, const PortIn& to, PortOut& from_out, PortOut& to_out, const S& q) {
    const S share = upstream_share(q), rest = upstream_share(-q);
    const S liquid = q * (to.liquid + share * (from.liquid - to.liquid));
    const S gas = q * (to.gas + share * (from.gas - to.gas));
    const S dissolved = q * (to.dissolved + share * (from.dissolved - to.dissolved));
    // Who receives is warmed by what the stream is warmer; who gives keeps its temperature.
    const S warmth = kHeatContent * (from.T - to.T) * q;
    from_out.liquid -= liquid;
    from_out.gas -= gas;
    from_out.dissolved -= dissolved;
    to_out.liquid += liquid;
    to_out.gas += gas;
    to_out.dissolved += dissolved;
    to_out.heat += warmth * share * from.liquid;
    from_out.heat += warmth * rest * to.liquid;
}

/// One m3 of what lies beyond an opening, in reference m3 of liquid, of gas and of air in solution.
struct World {
    double liquid, gas, dissolved;
};

/// Moves the volume flow q out of a port into the world (back from it for q < 0).
template <class PortIn, class PortOut, class S>
void spill(const PortIn& from, PortOut& from_out, PortOut& outside_out, const S& q, World world) {
    PortIn beyond;
    beyond.liquid = S(world.liquid);
    beyond.gas = S(world.gas);
    beyond.dissolved = S(world.dissolved);
    beyond.T = from.T; // what is drawn in is mostly air and brings no heat worth counting
    carry(from, beyond, from_out, outside_out, q);
}

} // namespace pedalbench
