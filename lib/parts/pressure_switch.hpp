// The pressure-differential switch that lights the warning lamp when one circuit is lost.
#pragma once

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// States: position x of the two-headed piston, anchor of its seal friction [m]. x > 0: the first
/// circuit stands higher. What it sweeps belongs to the circuits.
///
/// Self-centring: preloaded springs hold it in the middle, -(F0 + k |x|) outside a play of 10 um.
/// Detented: a ball in a notch, F(x) = k x (1 + (x/w)^2)^(-3/4), holds it in the middle. Its
/// greatest force and the seals' friction give way when the difference passes `trip`. Once out, the
/// piston has its notch at the end (latch) until both circuits stand above `recentre` (stepped
/// heads); from then on it is drawn to the middle, as far as the difference lets it.
///
/// The contact closes (latch) where |x| passes the contact travel: 1 on the lamp's wire.
class PressureSwitch {
  public:
    static constexpr int kStates = 2, kJoints = 1, kPorts = 2, kGuards = 9;
    static const PartKind kind;
    static constexpr double kNotch = 0.05e-3; // w of the ball's notch [m]

    PressureSwitch(const Values& v, const Surroundings& around);

    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + area_ * x[0], dead_ - area_ * x[0]};
    }
    template <class S>
    Out<S, PressureSwitch> rates(const In<S, PressureSwitch>& in, Gates gates) const {
        const S& x = in.x[0];
        const S push = (in.port[0].p - in.port[1].p) * area_;
        const S friction = seal_.force(x, in.x[1]);
        S spring(0.0);
        if (detented_) {
            const bool first = gates.latched(kOverFirst), second = gates.latched(kOverSecond);
            const double lower = std::min(value_of(in.port[0].p), value_of(in.port[1].p));
            const double low = recentre_ - lower, out = 0.9 * recentre_ - lower;
            const double beyond = detent_ / area_; // Pa per travel past the ball's rim
            const double at = value_of(x);
            gates.latch(kOverFirst, first ? low : std::min(out, beyond * (at - kRim)));
            gates.latch(kOverSecond, second ? low : std::min(out, beyond * (-at - kRim)));
            spring = ball(x - notch(gates));
        } else {
            const double play = this->play();
            spring = centring_ * x - (centring_ - rate_) * (gates.ramp(kSpringFirst, x - play) -
                                                            gates.ramp(kSpringSecond, -x - play));
        }
        const S ends = kContactStiffness *
                       (gates.ramp(kEndFirst, x - end_) - gates.ramp(kEndSecond, -x - end_));
        gates.latch(kContact, std::abs(value_of(x)) - contact_);

        Out<S, PressureSwitch> out;
        out.dx[0] = (push - spring - friction - ends) * (1 / damping_);
        out.dx[1] = seal_.slip(gates, kSlip, friction, S(friction_));
        out.joint[0] = gates.latched(kContact) ? 1.0 : 0.0;
        return out;
    }
    template <class S>
    S stored(const In<S, PressureSwitch>& in, Gates gates) const {
        const S& x = in.x[0];
        S energy = seal_.energy(x, in.x[1]) +
                   spring_energy(kContactStiffness, gates.ramp(kEndFirst, x - end_)) +
                   spring_energy(kContactStiffness, gates.ramp(kEndSecond, -x - end_));
        if (detented_) return energy + ball_energy(x - notch(gates));
        const double play = this->play();
        return energy + spring_energy(centring_, x) -
               spring_energy(centring_ - rate_, gates.ramp(kSpringFirst, x - play)) -
               spring_energy(centring_ - rate_, gates.ramp(kSpringSecond, -x - play));
    }
    Exchange exchange(const In<double, PressureSwitch>& in, const Out<double, PressureSwitch>& out,
                      const In<double, PressureSwitch>&, Gates) const {
        Exchange e;
        e.lost = damping_ * out.dx[0] * out.dx[0] + seal_.force(in.x[0], in.x[1]) * out.dx[1];
        return e;
    }
    void quantities(const In<double, PressureSwitch>& in, const Out<double, PressureSwitch>&,
                    Gates gates, double* q) const {
        q[0] = in.x[0];
        q[1] = in.port[0].p - in.port[1].p;
        q[2] = gates.latched(kContact) ? 1 : 0;
    }

  private:
    enum {
        kSlip,
        kSlipBack,
        kEndFirst,
        kEndSecond,
        kSpringFirst,
        kSpringSecond,
        kOverFirst,
        kOverSecond,
        kContact
    };
    static constexpr double kRim = 0.2e-3; // the ball is out, m
    /// Where the piston has its notch.
    double notch(const Gates& gates) const {
        return gates.latched(kOverFirst) ? end_ : gates.latched(kOverSecond) ? -end_ : 0;
    }
    double play() const { return preload_ / centring_; }
    template <class S>
    S ball_energy(const S& x) const {
        const S u = x * (1 / kNotch);
        return (2 * detent_ * kNotch * kNotch) * (square_root(square_root(1.0 + u * u)) - 1.0);
    }
    template <class S>
    S ball(const S& x) const {
        const S u = x * (1 / kNotch);
        return detent_ * x * exponential(-0.75 * logarithm(1.0 + u * u));
    }
    bool detented_;
    double area_, trip_, recentre_, contact_, end_, preload_, rate_, friction_, damping_, dead_;
    double centring_, detent_;
    Friction seal_;
};

} // namespace pedalbench
