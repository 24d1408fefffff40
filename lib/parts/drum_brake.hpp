// The drum brake at one wheel: wheel cylinder with two pistons, shoes, return springs.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/orifice.hpp"
#include "parts/part.hpp"
#include "wheel/shoes.hpp"
#include "wheel/torque.hpp"

namespace pedalbench {

/// States [m]: travel x of each of the two pistons with its shoe tip, 0 at rest on its stop; anchor
/// of the cup friction; w, what the self-adjuster has moved the shoes' home out. Both shoes move
/// alike.
///
///   b x' = p A - cup friction - push
///   push = F0 + k (s - w) + lining(s - room) - stop(F0/k_stop + w - s) - cable
///   s    = x; or where the cable alone holds the shoe (push = 0), if that is further out: then it
///          has left its piston behind
///   w'   = (s - w - adjuster_travel)+/t
///   room = clearance + wear + growth of the drum, 11e-6 /K (grey iron) times its radius
///   torque C r lining force against the turning wheel; its work heats the drum. C is that of
///          the way the wheel turns: at a standing wheel the torque passes through zero
///
/// Return springs of which only a share is left (one broken: 0) pull so much less; the stop stays
/// where it was.
///
/// The cups seal outward. When the cylinder falls below outside by more than the lips bear, air
/// passes in.
///
/// The cable pulls with the parking brake, or with what it keeps where it hangs, whichever is more.
/// Only a pulled lever closes the contact: 1 on the lamp's wire.
class DrumBrake {
  public:
    static constexpr int kStates = 3, kJoints = 3, kPorts = 2, kGuards = 9;
    static const PartKind kind;

    DrumBrake(const Values& v, const Surroundings& around);

    double heat_capacity(int port) const { return port == 0 ? metal_heat_ : 0; }
    double height(int port) const { return port == 0 ? height_ : kUnset; }
    Wall wall(int port) const { return {port == 0 ? stretch_ : 0.0, 0, 1e6}; }
    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + 2 * area_ * x[0], S(0.0)};
    }
    template <class S>
    Out<S, DrumBrake> rates(const In<S, DrumBrake>& in, Gates gates) const {
        const S &x = in.x[0], &p = in.port[0].p;
        const S cup = cup_.force(x, in.x[1]);
        const S &speed = in.joint[kWheel], &T = in.joint[kHeat];
        const Shoe<S> shoe = this->shoe(gates, x, in.x[2], T);
        const S out_by = shoe.at - in.x[2];
        const S lining = lining_.force(gates.ramp(kTouch, shoe.into));
        const S stop = stop_stiffness_ * gates.ramp(kStop, rest_give_ - out_by);
        Out<S, DrumBrake> out;
        S push = spring_ + rate_ * out_by + lining - stop - cable_;
        if (shoe.left) push = 0.0;
        out.dx[0] = (p * area_ - push - cup) * (1 / damping_);
        out.dx[1] = cup_.slip(gates, kSlip, cup, cup_friction_ + cup_friction_rise_ * p);
        if (adjusts_) out.dx[2] = gates.ramp(kAdjust, out_by - adjuster_travel_) * (1 / kTakeUp);
        const Stream<S> air{kAirDensity, S(kAirViscosity)};
        const S breath =
            orifice_flow(gates.ramp(kBreathe, -p - lip_), S(breath_radius_), 1e-3, air);
        spill(in.port[0], out.port[0], out.port[1], -breath, air_);

        const S torque = drum_torque(factor(gates, T, speed), radius_, lining);
        out.joint[kWheel] = Rubbing::against(torque, speed);
        out.joint[kHeat] = -out.joint[kWheel] * speed - rubbing_.through(T, in.port[0].T);
        out.port[0].heat += rubbing_.kept(T, in.port[0].T);
        out.joint[kWire] = parked_ ? 1.0 : 0.0;
        return out;
    }
    /// Of both shoes, which move alike.
    template <class S>
    S stored(const In<S, DrumBrake>& in, Gates gates) const {
        const Shoe<S> shoe = this->shoe(gates, in.x[0], in.x[2], in.joint[kHeat]);
        const S out_by = shoe.at - in.x[2];
        return 2.0 * (spring_ * out_by + spring_energy(rate_, out_by) +
                      lining_.energy(gates.ramp(kTouch, shoe.into)) - cable_ * shoe.at +
                      spring_energy(stop_stiffness_, gates.ramp(kStop, rest_give_ - out_by)) +
                      cup_.energy(in.x[0], in.x[1]));
    }
    /// A drum that shrinks presses its linings. The adjuster lets go of what its way had tightened.
    Exchange exchange(const In<double, DrumBrake>& in, const Out<double, DrumBrake>& out,
                      const In<double, DrumBrake>& rate, Gates gates) const {
        const Shoe<double> shoe = this->shoe(gates, in.x[0], in.x[2], in.joint[kHeat]);
        const double out_by = shoe.at - in.x[2];
        const double lining = lining_.force(gates.ramp(kTouch, shoe.into));
        const double pull =
            spring_ + rate_ * out_by - stop_stiffness_ * gates.ramp(kStop, rest_give_ - out_by);
        Exchange e;
        e.supplied = -2 * lining * growth_ * rate.joint[kHeat];
        e.rubbed = -out.joint[kWheel] * in.joint[kWheel];
        e.lost = e.rubbed + 2 * (damping_ * out.dx[0] * out.dx[0] + pull * out.dx[2] +
                                 cup_.force(in.x[0], in.x[1]) * out.dx[1]);
        e.cooled = rubbing_.cooled(in.port[0].T);
        return e;
    }
    void quantities(const In<double, DrumBrake>& in, const Out<double, DrumBrake>&, Gates gates,
                    double* q) const {
        const double T = in.joint[kHeat], into = shoe(gates, in.x[0], in.x[2], T).into;
        const double force = lining_.force(std::max(0.0, into));
        q[0] = force;
        q[1] = drum_torque(factor(gates, T, in.joint[kWheel]), radius_, force);
        q[2] = std::max(0.0, -into);
        q[3] = in.x[0];
        q[4] = in.port[0].T;
        q[5] = parked_ ? 1 : 0;
    }

  private:
    World air_;
    enum { kWheel, kHeat, kWire };
    enum { kSlip, kSlipBack, kTouch, kStop, kBreathe, kFade, kCable, kAdjust, kBack };
    static constexpr double kTakeUp = 0.3; // s: an adjuster takes up most of it in one stop
    /// Where the shoe stands: with its piston, or further out where the cable alone holds it.
    template <class S>
    struct Shoe {
        S at, into; // travel; into the drum, below zero while it is clear of it
        bool left;  // the cable alone holds it, off its piston
    };
    template <class S>
    Shoe<S> shoe(Gates& gates, const S& x, const S& home, const S& T) const {
        const S drum = room(T);
        if (cable_ > 0) {
            const S into = held_by_cable(drum - home), alone = drum + into;
            // Also while the mode is on, never further in than the piston: as Gates::ramp().
            if (gates.above(kCable, alone - x) && value_of(alone) > value_of(x))
                return {alone, into, true};
        }
        return {x, x - drum, false};
    }
    /// How far the cable alone presses the shoe into a drum that is `gap` beyond its home.
    template <class S>
    S held_by_cable(const S& gap) const {
        const double g = value_of(gap);
        const auto force = [&](double d) { // of all that holds the shoe back; it never falls
            return spring_ + rate_ * (d + g) + lining_.force(std::max(0.0, d)) -
                   stop_stiffness_ * std::max(0.0, rest_give_ - g - d);
        };
        double low = std::min(-g, 0.0), high = std::max(rest_give_ - g, 0.0) + 1e-6;
        while (force(high) < cable_)
            high += high - low;
        while (force(low) > cable_)
            low -= high - low;
        for (int i = 0; i < 60; ++i) {
            const double middle = 0.5 * (low + high);
            (force(middle) < cable_ ? low : high) = middle;
        }
        const double at_home = rate_ + (high < rest_give_ - g ? stop_stiffness_ : 0.0);
        const double at_drum = high > 0 ? lining_.slope(high) : 0.0;
        return chain(gap, high, at_home > 0 ? -at_home / (at_home + at_drum) : 0.0);
    }
    /// A drum that is hotter than when the shoes were set has grown away from them.
    template <class S>
    S room(const S& T) const {
        return clearance_ + growth_ * (T - rubbing_.air);
    }
    /// Fade takes from the friction; the shoes' help shrinks with it.
    template <class S>
    S factor(Gates& gates, const S& T, const S& speed) const {
        const S left = rubbing_.left(gates, kFade, T);
        const bool back = one_way_ && gates.above(kBack, -speed);
        if (shoes_.kind == Shoes::stated) return (back ? factor_back_ : shoe_factor_) * left;
        return shoes_.both(friction_ * left, back);
    }
    Shoes shoes_;
    double friction_;
    double area_, radius_, shoe_factor_, factor_back_, clearance_, spring_, rate_, cup_friction_,
        cup_friction_rise_;
    double lip_, stop_stiffness_, rest_give_, breath_radius_, dead_, stretch_, height_, damping_;
    Friction cup_;
    Progressive lining_;
    Rubbing rubbing_;
    double metal_heat_, growth_;      // J/K; m/K
    double cable_, adjuster_travel_;  // N, m
    bool adjusts_, one_way_, parked_; // one_way_: it brakes more one way than the other
};

} // namespace pedalbench
