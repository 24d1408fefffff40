// Shoe factor of a drum brake from friction and geometry: internal expanding rigid shoes.
#pragma once

#include <cmath>

namespace pedalbench {

/// A rigid shoe turns about its anchor and wears in: pressure p = p_a sin t/sin t_a at the angle t
/// from the anchor. Per p_a x lining width x drum radius/sin t_a, moments about the anchor are
///
///   of the pressure  B = a int sin^2 t dt
///   of the friction  mu A, A = int sin t (r - a cos t) dt
///   tip force x c    B - mu A leading, B + mu A trailing
///   on the drum      mu r D, D = cos t1 - cos t2
///
/// so that drum force over tip force, torque/(tip force x r), is mu D c/(B -+ mu A).
struct Shoes {
    enum Kind { stated, leading_trailing, two_leading, duo_servo };

    Kind kind;
    double radius, anchor, tip;      // r, a (from the drum's centre), c (from the anchor), m
    double pressure, friction, drum; // B, A, D c

    /// The lining reaches from t1 to t2 [rad].
    Shoes(Kind k, double r, double a, double c, double t1, double t2)
        : kind(k), radius(r), anchor(a), tip(c) {
        const double s1 = std::sin(t1), s2 = std::sin(t2), spread = std::cos(t1) - std::cos(t2);
        pressure = a * (0.5 * (t2 - t1) - 0.25 * (std::sin(2 * t2) - std::sin(2 * t1)));
        friction = r * spread - 0.5 * a * (s2 * s2 - s1 * s1);
        drum = spread * c;
    }
    /// Does a leading shoe draw itself in with this friction, whatever the tip force?
    bool locks(double mu) const { return pressure <= mu * friction; }

    /// Drum force over tip force of one shoe; help is +1 where the friction presses it on, -1 where
    /// it lifts it off.
    template <class S>
    S one(const S& mu, double help) const {
        return mu * drum / (pressure - mu * (help * friction));
    }
    /// Of both shoes over the force at one tip. A duo-servo's primary shoe leans on the secondary's
    /// tip with R: moments about the drum's centre, F (c - a) + F f r = R a. With the drum turning
    /// backward a leading shoe trails and a trailing one leads; of a duo-servo's shoes, which are
    /// alike here, the other one becomes the primary.
    template <class S>
    S both(const S& mu, bool backward = false) const {
        const S leading = one(mu, 1);
        if (kind == leading_trailing) return leading + one(mu, -1);
        if (kind == two_leading) return 2.0 * (backward ? one(mu, -1) : leading);
        return leading * (1.0 + (tip - anchor + radius * leading) * (1 / anchor));
    }
};

} // namespace pedalbench
