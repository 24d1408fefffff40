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
/// of the cup friction. Both shoes move alike.
///
///   b x' = p A - (F0 + k x) - cup friction - lining(x - clearance) + stop(F0/k_stop - x)
///
///   clearance grows with the drum by 11e-6 /K (grey iron) times its radius
///   torque    C r lining force against the turning wheel; its work heats the drum
///
/// The cups seal outward. When the cylinder falls below outside by more than the lips bear, air
/// passes in.
class DrumBrake {
  public:
    static constexpr int kStates = 2, kJoints = 2, kPorts = 2, kGuards = 6;
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
        const S lining = lining_.force(gates.ramp(kTouch, x - room(T)));
        const S stop = stop_stiffness_ * gates.ramp(kStop, rest_give_ - x);
        Out<S, DrumBrake> out;
        out.dx[0] = (p * area_ - spring_ - rate_ * x - cup - lining + stop) * (1 / damping_);
        out.dx[1] = cup_.slip(gates, kSlip, cup, cup_friction_ + cup_friction_rise_ * p);
        const Stream<S> air{kAirDensity, S(kAirViscosity)};
        const S breath =
            orifice_flow(gates.ramp(kBreathe, -p - lip_), S(breath_radius_), 1e-3, air);
        spill(in.port[0], out.port[0], out.port[1], -breath, air_);

        const S torque = drum_torque(factor(gates, T), radius_, lining);
        out.joint[kWheel] = Rubbing::against(torque, speed);
        out.joint[kHeat] = -out.joint[kWheel] * speed - rubbing_.through(T, in.port[0].T);
        out.port[0].heat += rubbing_.kept(T, in.port[0].T);
        return out;
    }
    void quantities(const In<double, DrumBrake>& in, const Out<double, DrumBrake>&, Gates gates,
                    double* q) const {
        const double T = in.joint[kHeat], force = lining_.force(std::max(0.0, in.x[0] - room(T)));
        q[0] = force;
        q[1] = drum_torque(factor(gates, T), radius_, force);
        q[2] = std::max(0.0, room(T) - in.x[0]);
        q[3] = in.x[0];
        q[4] = in.port[0].T;
    }

  private:
    World air_;
    static constexpr double kAirDensity = 1.2, kAirViscosity = 1.5e-5; // kg/m3, m2/s at 20 C
    enum { kWheel, kHeat };
    enum { kSlip, kSlipBack, kTouch, kStop, kBreathe, kFade };
    /// A drum that is hotter than when the shoes were set has grown away from them.
    template <class S>
    S room(const S& T) const {
        return clearance_ + growth_ * (T - rubbing_.air);
    }
    /// Fade takes from the friction; the shoes' help shrinks with it.
    template <class S>
    S factor(Gates& gates, const S& T) const {
        const S left = rubbing_.left(gates, kFade, T);
        return shoes_.kind == Shoes::stated ? shoe_factor_ * left : shoes_.both(friction_ * left);
    }
    Shoes shoes_;
    double friction_;
    double area_, radius_, shoe_factor_, clearance_, spring_, rate_, cup_friction_,
        cup_friction_rise_;
    double lip_, stop_stiffness_, rest_give_, breath_radius_, dead_, stretch_, height_, damping_;
    Friction cup_;
    Progressive lining_;
    Rubbing rubbing_;
    double metal_heat_, growth_; // J/K; m/K
};

} // namespace pedalbench
