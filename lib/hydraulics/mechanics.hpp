// Forces on sliding pieces: contacts, friction, springs that soften or stiffen.
#pragma once

#include <cmath>

#include "fluid/dual.hpp"

namespace pedalbench {

/// Area of a piston, a seat or a hole of diameter d.
inline double circle_area(double d) {
    return 0.25 * M_PI * d * d;
}

inline constexpr double kContactStiffness = 3e7; // N/m, metal on metal (2e7-1e8, judgement)

/// Energy [J] of a spring of a stiffness at a give [m].
template <class S>
S spring_energy(double stiffness, const S& give) {
    return 0.5 * stiffness * give * give;
}

/// Friction in overstress form. The element is a spring whose far end, the anchor, is dragged along
/// only by what the force exceeds the limit: force k (x - anchor), anchor' = overstress / eta. It
/// holds exactly below the limit, gives back exactly the spring's travel, and has no switch on the
/// sign of a speed.
struct Friction {
    double stiffness; // N/m before it slips
    double drag;      // eta, N s/m: force per sliding speed above the limit

    template <class S>
    S force(const S& x, const S& anchor) const {
        return stiffness * (x - anchor);
    }
    template <class S>
    S energy(const S& x, const S& anchor) const {
        return spring_energy(stiffness, x - anchor);
    }
    /// Rate of the anchor. Guards `k` (slips forward) and `k + 1` (slips back).
    template <class S, class Gates>
    S slip(Gates& gates, int k, const S& force, const S& limit) const {
        return slip(gates, k, force, limit, limit);
    }
    /// The same where it holds more one way than the other.
    template <class S, class Gates>
    S slip(Gates& gates, int k, const S& force, const S& forward, const S& back) const {
        return (gates.ramp(k, force - forward) - gates.ramp(k + 1, -force - back)) * (1 / drag);
    }
};

/// Slow give under load (creep): rubber, cord and lining go on giving after a load has come, and
/// come back as slowly. One element: the slow part c follows the immediate give e,
///
///   c' = (share e - c)/time
///
/// so that under a constant load c = share e (1 - exp(-t/time)), and held at a length the stiffness
/// falls by share/(1 + share) of itself. Content and positions alone decide it; it never goes on
/// for ever, as a leak does.
struct Creep {
    double share, time; // of the immediate give; s

    template <class S>
    S rate(const S& give, const S& slow) const {
        return (share * give - slow) * (1 / time);
    }
};

/// A pad or a shoe under load: F(d) = k (d - t (1 - exp(-d / s))) with s = t / (1 - k0 / k): slope
/// k0 at first touch, k when the take-up t is used. Smooth for d > 0 and a little below.
struct Progressive {
    double first;   // k0, N/m
    double final;   // k, N/m
    double take_up; // t, m

    template <class S>
    S force(const S& d) const {
        if (take_up <= 0 || first >= final) return final * d;
        const double s = take_up / (1 - first / final);
        return final * (d - take_up * (1.0 - exponential(d * (-1 / s))));
    }
    /// Integral of the force [J].
    template <class S>
    S energy(const S& d) const {
        if (take_up <= 0 || first >= final) return spring_energy(final, d);
        const double s = take_up / (1 - first / final);
        return final * (0.5 * d * d - take_up * (d + s * (exponential(d * (-1 / s)) - 1.0)));
    }
    double slope(double d) const {
        if (take_up <= 0 || first >= final) return final;
        const double s = take_up / (1 - first / final);
        return final * (1 - take_up / s * std::exp(-d / s));
    }
};

} // namespace pedalbench
