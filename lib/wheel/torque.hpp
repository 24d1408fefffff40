// Brake torque of one wheel from the forces on its linings, and the way of its heat.
#pragma once

#include "fluid/dual.hpp"

namespace pedalbench {

/// Disc: two faces, each friction times its own clamping force, at the effective radius [N m]. With
/// equal faces this is the textbook 2 mu A r p.
template <class S>
S disc_torque(const S& friction, double radius, const S& inner, const S& outer) {
    return friction * radius * (inner + outer);
}

/// Drum: shoe factor (drum tangential force over the force at one shoe tip, both shoes together)
/// times tip force times drum radius [N m].
template <class S>
S drum_torque(const S& shoe_factor, double radius, const S& tip_force) {
    return shoe_factor * radius * tip_force;
}

/// What heat does to a brake and a brake with heat; T is the temperature of the disc or drum.
struct Rubbing {
    double fade_from;  // K
    double fade_loss;  // share of the friction that goes in the end
    double conduction; // W/K, disc or drum through the lining into cylinder and fluid
    double cooling;    // W/K, from there to the air
    double air;        // K

    /// Share of the cold friction that is left: 1 - loss x / (x + 100 K), x = (T - fade_from)+.
    /// Guard `k`.
    template <class S, class Gates>
    S left(Gates& gates, int k, const S& T) const {
        const S beyond = gates.ramp(k, T - fade_from);
        return 1.0 - fade_loss * beyond / (beyond + 100.0);
    }
    /// Torque on the wheel: the friction's, against the turning; at rest it is what it need be, for
    /// which a creep of some hundredths of a radian per second stands.
    template <class S>
    static S against(const S& torque, const S& speed) {
        constexpr double creep = 0.05; // rad/s
        return -torque * speed / square_root(speed * speed + creep * creep);
    }
    /// Heat through the lining [W], and what of it stays in the fluid and the metal round it.
    template <class S>
    S through(const S& T, const S& fluid) const {
        return conduction * (T - fluid);
    }
    template <class S>
    S kept(const S& T, const S& fluid) const {
        return through(T, fluid) - cooled(fluid);
    }
    template <class S>
    S cooled(const S& fluid) const {
        return cooling * (fluid - air);
    }
};

} // namespace pedalbench
