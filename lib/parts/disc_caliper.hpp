// The disc caliper: pistons in square-cut seals that take them back, two pads; floating on sliding
// pins, or fixed with opposed pistons.
#pragma once

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"
#include "wheel/torque.hpp"

namespace pedalbench {

/// States [m]: piston travel x out of the housing; where the seal grips the piston, x_s; relaxed
/// part y of the seal's stretch; housing travel h on its pins; anchor of the pin friction; c, by
/// how much each pad with its share of the housing has given slowly (Creep of the mean of both).
///
///   seal     z = x - x_s - r u(p), u = u_m (1 - exp(-p/p_u)): the seal's own shift under pressure
///            F = k ((1 - B) z + B (z - y)), y' = (z - y)/tau
///            slip of x_s keeps F below r (F_s0 + c p) outward and above -(F_s0 + c p) back
///   piston   b x' = p A + P - F - F_inner, P the parking brake's lever or what its cable keeps
///   housing  b h' = F_inner - F_outer - pin friction
///   torque   mu r (F_inner + F_outer) against the turning wheel; its work heats the disc
///   pads     F_inner of (x - h - half clearance - c), F_outer of (h - half clearance - c),
///            progressive
///
/// An opposed caliper is fixed and alike on both sides: x is the travel on each, h stays 0, both
/// pads are pressed by x - half clearance - c, and the fluid moves both: volume 2 A x. A and the
/// seal are those of all pistons on one side.
///
/// The disc is where its hub and its faces put it: with f the angle of the wheel, t = (DTV/2) cos f
/// thicker than its mean and w = hub + (run-out/2) sin f toward the piston, the inner pad is
/// pressed by t/2 + w more, the outer by t/2 - w.
///
/// The lever turns a spindle behind the piston and leans on the housing, as the fluid does. Without
/// pressure the seal has no shift, so that it takes back its stretch alone; see docs/parts. Only a
/// pulled lever closes the contact: 1 on the lamp's wire.
///
/// What pads and housing give goes through the seal: it is travel of the piston. The share r is 1
/// in a sound seal. Swollen, hard or worn it is not drawn along with the piston: it lets it slide
/// out, so that it has less to spring back by, and still holds it with all its friction on the way
/// home.
class DiscCaliper {
  public:
    static constexpr int kStates = 6, kJoints = 4, kPorts = 1, kGuards = 7;
    static const PartKind kind;

    DiscCaliper(const Values& v, const Surroundings&);

    double height(int) const { return height_; }
    double heat_capacity(int) const { return metal_heat_; }
    Wall wall(int) const { return {stretch_, 0, 1e6}; }
    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + moved_ * x[0]};
    }
    template <class S>
    Out<S, DiscCaliper> rates(const In<S, DiscCaliper>& in, Gates gates) const {
        const S &x = in.x[0], &h = in.x[3], &p = in.port[0].p;
        const S z = stretched(in);
        const S seal = seal_.stiffness * (z - branch_ * in.x[2]);
        const auto [at_inner, at_outer] = pressed(x, h, in.x[5], in.joint[kAngle]);
        const S inner_give = gates.ramp(kInner, at_inner);
        const S outer_give = gates.ramp(kOuter, at_outer);
        const S inner = pad_.force(inner_give), outer = pad_.force(outer_give);
        const S pin = pin_.force(h, in.x[4]);

        Out<S, DiscCaliper> out;
        out.dx[0] = (p * area_ + lever_ - seal - inner) * (1 / damping_);
        const S grip = grip_ + grip_rise_ * p;
        out.dx[1] = seal_.slip(gates, kSeal, seal, rollback_ * grip, grip);
        out.dx[2] = (z - in.x[2]) * (1 / relaxation_);
        out.dx[5] = creep_.rate(0.5 * (inner_give + outer_give), in.x[5]);
        if (!opposed_) {
            out.dx[3] = (inner - outer - pin) * (1 / damping_);
            out.dx[4] = pin_.slip(gates, kPin, pin, S(pin_friction_));
        }

        const S &speed = in.joint[kWheel], &T = in.joint[kHeat], &fluid = in.port[0].T;
        const S friction = friction_ * rubbing_.left(gates, kFade, T);
        out.joint[kWheel] = Rubbing::against(disc_torque(friction, radius_, inner, outer), speed);
        out.joint[kHeat] = -out.joint[kWheel] * speed - rubbing_.through(T, fluid);
        out.port[0].heat = rubbing_.kept(T, fluid);
        out.joint[kWire] = parked_ ? 1.0 : 0.0;
        return out;
    }
    template <class S>
    S stored(const In<S, DiscCaliper>& in, Gates gates) const {
        const S &x = in.x[0], &h = in.x[3], &slow = in.x[5];
        const S z = stretched(in), left = z - in.x[2];
        const auto [at_inner, at_outer] = pressed(x, h, slow, in.joint[kAngle]);
        const S seal = spring_energy(seal_.stiffness * (1 - branch_), z) +
                       spring_energy(seal_.stiffness * branch_, left);
        S energy = (opposed_ ? 2.0 : 1.0) * seal + pad_.energy(gates.ramp(kInner, at_inner)) +
                   pad_.energy(gates.ramp(kOuter, at_outer));
        if (!opposed_) energy += pin_.energy(h, in.x[4]);
        return energy + 2 * creep_.share * pad_.energy(evenly(slow));
    }
    /// Unpaid: pressure shifts the seal, for which no fluid leaves; an uneven disc pushes the pads,
    /// for which the wheel does not pay.
    Exchange exchange(const In<double, DiscCaliper>& in, const Out<double, DiscCaliper>& out,
                      const In<double, DiscCaliper>& rate, Gates gates) const {
        const double z = stretched(in), left = z - in.x[2], sides = opposed_ ? 2 : 1;
        const double seal = seal_.stiffness * (z - branch_ * in.x[2]);
        using D = Dual<1>;
        const D angle = D::moving(in.joint[kAngle], rate.joint[kAngle]);
        const auto [at_inner, at_outer] = pressed<D>(in.x[0], in.x[3], in.x[5], angle);
        const double inner = pad_.force(gates.ramp(kInner, at_inner.v));
        const double outer = pad_.force(gates.ramp(kOuter, at_outer.v));
        const D shift = shifted(D::moving(in.port[0].p, rate.port[0].p));

        Exchange e;
        e.supplied = sides * lever_ * out.dx[0];
        e.unpaid = -sides * seal * shift.d[0] + inner * at_inner.d[0] + outer * at_outer.d[0];
        e.rubbed = -out.joint[kWheel] * in.joint[kWheel];
        e.lost = e.rubbed + sides * (damping_ * out.dx[0] * out.dx[0] + seal * out.dx[1] +
                                     seal_.stiffness * branch_ * left * out.dx[2]);
        if (!opposed_)
            e.lost += damping_ * out.dx[3] * out.dx[3] + pin_.force(in.x[3], in.x[4]) * out.dx[4];
        e.lost += (inner + outer - 2 * pad_.force(evenly(in.x[5]))) * out.dx[5];
        e.cooled = rubbing_.cooled(in.port[0].T);
        return e;
    }
    void quantities(const In<double, DiscCaliper>& in, const Out<double, DiscCaliper>&, Gates gates,
                    double* q) const {
        const auto [at_inner, at_outer] = pressed(in.x[0], in.x[3], in.x[5], in.joint[kAngle]);
        const double inner = pad_.force(std::max(0.0, at_inner));
        const double outer = pad_.force(std::max(0.0, at_outer));
        q[0] = inner;
        const double friction = friction_ * rubbing_.left(gates, kFade, in.joint[kHeat]);
        q[1] = disc_torque(friction, radius_, inner, outer);
        q[2] = std::max(0.0, -at_inner) + std::max(0.0, -at_outer);
        q[3] = in.x[0];
        q[4] = in.port[0].T;
        q[5] = in.x[5];
        q[6] = parked_ ? 1 : 0;
    }

  private:
    enum { kWheel, kHeat, kAngle, kWire };
    template <class S>
    struct Pressed {
        S inner, outer;
    };
    /// Give at which what was given slowly would stand still.
    template <class S>
    S evenly(const S& slow) const {
        return creep_.share > 0 && value_of(slow) > 0 ? slow * (1 / creep_.share) : S(0.0);
    }
    /// The seal's own shift under pressure, and what it is stretched by beyond that.
    template <class S>
    S shifted(const S& p) const {
        return rollback_ * shift_ * (1.0 - exponential(p * (-1 / shift_pressure_)));
    }
    template <class S>
    S stretched(const In<S, DiscCaliper>& in) const {
        return in.x[0] - in.x[1] - shifted(in.port[0].p);
    }
    /// How far each pad is pressed into its face of the disc; below zero it is clear of it.
    template <class S>
    Pressed<S> pressed(const S& x, const S& h, const S& slow, const S& angle) const {
        const S near = (opposed_ ? x : x - h) - slow, far = (opposed_ ? x : h) - slow;
        if (uneven_ == 0 && run_out_ == 0) return {near - inner_gap_, far - outer_gap_};
        const S thick = 0.25 * uneven_ * cosine(angle), aside = 0.5 * run_out_ * sine(angle);
        return {near - inner_gap_ + thick + aside, far - outer_gap_ + thick - aside};
    }
    enum { kSeal, kSealBack, kInner, kOuter, kPin, kPinBack, kFade };
    bool opposed_;
    double area_, moved_, friction_, radius_, inner_gap_, outer_gap_, uneven_, run_out_, dead_,
        stretch_, height_, damping_;
    double grip_, grip_rise_, shift_, shift_pressure_, rollback_, branch_, relaxation_,
        pin_friction_;
    Friction seal_, pin_;
    Progressive pad_;
    Creep creep_;
    Rubbing rubbing_;
    double metal_heat_; // J/K
    double lever_;      // N
    bool parked_;
};

} // namespace pedalbench
