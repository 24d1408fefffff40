// The floating disc caliper: one piston, a square-cut seal that takes it back, two pads, sliding
// pins.
#pragma once

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"
#include "wheel/torque.hpp"

namespace pedalbench {

/// States [m]: piston travel x out of the housing; where the seal grips the piston, x_s; relaxed
/// part y of the seal's stretch; housing travel h on its pins; anchor of the pin friction.
///
///   seal     z = x - x_s - r u(p), u = u_m (1 - exp(-p/p_u)): the seal's own shift under pressure
///            F = k ((1 - B) z + B (z - y)), y' = (z - y)/tau
///            slip of x_s keeps F below r (F_s0 + c p) outward and above -(F_s0 + c p) back
///   piston   b x' = p A - F - F_inner
///   housing  b h' = F_inner - F_outer - pin friction
///   torque   mu r (F_inner + F_outer) against the turning wheel; its work heats the disc
///   pads     F_inner of (x - h - half clearance), F_outer of (h - half clearance), progressive
///
/// What pads and housing give goes through the seal: it is travel of the piston. The share r is 1
/// in a sound seal. Swollen, hard or worn it is not drawn along with the piston: it lets it slide
/// out, so that it has less to spring back by, and still holds it with all its friction on the way
/// home.
class DiscCaliper {
  public:
    static constexpr int kStates = 5, kJoints = 2, kPorts = 1, kGuards = 7;
    static const PartKind kind;

    DiscCaliper(const Values& v, const Surroundings&);

    double height(int) const { return height_; }
    double heat_capacity(int) const { return metal_heat_; }
    Wall wall(int) const { return {stretch_, 0, 1e6}; }
    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + area_ * x[0]};
    }
    template <class S>
    Out<S, DiscCaliper> rates(const In<S, DiscCaliper>& in, Gates gates) const {
        const S &x = in.x[0], &h = in.x[3], &p = in.port[0].p;
        const S shift = rollback_ * shift_ * (1.0 - exponential(p * (-1 / shift_pressure_)));
        const S z = x - in.x[1] - shift;
        const S seal = seal_.stiffness * (z - branch_ * in.x[2]);
        const S inner = pad_.force(gates.ramp(kInner, x - h - half_gap_));
        const S outer = pad_.force(gates.ramp(kOuter, h - half_gap_));
        const S pin = pin_.force(h, in.x[4]);

        Out<S, DiscCaliper> out;
        out.dx[0] = (p * area_ - seal - inner) * (1 / damping_);
        const S grip = grip_ + grip_rise_ * p;
        out.dx[1] = seal_.slip(gates, kSeal, seal, rollback_ * grip, grip);
        out.dx[2] = (z - in.x[2]) * (1 / relaxation_);
        out.dx[3] = (inner - outer - pin) * (1 / damping_);
        out.dx[4] = pin_.slip(gates, kPin, pin, S(pin_friction_));

        const S &speed = in.joint[kWheel], &T = in.joint[kHeat], &fluid = in.port[0].T;
        const S friction = friction_ * rubbing_.left(gates, kFade, T);
        out.joint[kWheel] = Rubbing::against(disc_torque(friction, radius_, inner, outer), speed);
        out.joint[kHeat] = -out.joint[kWheel] * speed - rubbing_.through(T, fluid);
        out.port[0].heat = rubbing_.kept(T, fluid);
        return out;
    }
    void quantities(const In<double, DiscCaliper>& in, const Out<double, DiscCaliper>&, Gates gates,
                    double* q) const {
        const double inner_gap = half_gap_ - (in.x[0] - in.x[3]), outer_gap = half_gap_ - in.x[3];
        const double inner = pad_.force(std::max(0.0, -inner_gap));
        const double outer = pad_.force(std::max(0.0, -outer_gap));
        q[0] = inner;
        const double friction = friction_ * rubbing_.left(gates, kFade, in.joint[kHeat]);
        q[1] = disc_torque(friction, radius_, inner, outer);
        q[2] = std::max(0.0, inner_gap) + std::max(0.0, outer_gap);
        q[3] = in.x[0];
        q[4] = in.port[0].T;
    }

  private:
    enum { kWheel, kHeat };
    enum { kSeal, kSealBack, kInner, kOuter, kPin, kPinBack, kFade };
    double area_, friction_, radius_, half_gap_, dead_, stretch_, height_, damping_;
    double grip_, grip_rise_, shift_, shift_pressure_, rollback_, branch_, relaxation_,
        pin_friction_;
    Friction seal_, pin_;
    Progressive pad_;
    Rubbing rubbing_;
    double metal_heat_; // J/K
};

} // namespace pedalbench
