// The vacuum booster: a diaphragm and a valve between two rods.
#pragma once

#include <algorithm>

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// Rods: x0 from the pedal, which carries the valve plunger, and x1 to the cylinder, which the
/// power piston moves; y = x0 - x1 [m]. States: air in the front (vacuum) and in the rear (working)
/// chamber, in m3 at outside pressure pa. Both chambers stay as warm as the air (isothermal):
///
///   pf = pa nf / (reserve + A (stroke - x1)),   pr = pa nr / (A (gap + x1))
///
///   b x0' = pedal - push                     push = S + k y + R + through (- rest stop)
///   to the cylinder: (pr - pf) A - return spring + push (+ stops)
///
/// The valve plunger lets air in from y = valve_travel on; less than `lap` before that it joins the
/// chambers. The reaction disc, rubber in a cup, is pressed by the output rod, shares that pressure
/// with the plunger in the ratio of their areas, and bulges toward it: R = F_out/ratio - k_d (gap
/// between them)+. With F_out = P + R that is
///
///   R = (P - jump_in + ratio k_d (y - valve_travel))+ / (ratio - 1)
///
/// so that with the valve balanced F_out = jump_in + ratio (F_in - cut_in). Lap: on the way back
/// the balance lies lower by `hysteresis` = (k + k_d) lap.
class Booster {
  public:
    static constexpr int kStates = 3, kJoints = 2, kPorts = 0, kGuards = 9;
    static const PartKind kind;

    Booster(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    double capacity(int joint) const { return joint == 0 ? damping_ : 0; }
    void start(double* x) const {
        x[1] = evacuated_ / outside_ * (reserve_ + area_ * stroke_);
        x[2] = evacuated_ / outside_ * area_ * kRearGap;
    }

    template <class S>
    Out<S, Booster> rates(const In<S, Booster>& in, Gates gates) const {
        const S& x = in.x[0];
        const S y = in.joint[0] - x;
        const S home = gates.ramp(kHome, -x), beyond = gates.ramp(kEnd, x - stroke_);
        const auto [front, rear] = pressures(in, home, beyond);

        const S spring = spring_ + rate_ * y;
        const S power = (rear - front) * area_ - return_spring_ - return_rate_ * x;
        const S push =
            spring + disc(x, y, front, rear, gates) +
            kContactStiffness * (gates.ramp(kThrough, y - plunger_travel_) - gates.ramp(kRest, -y));

        const S air = let_in(y, rear, gates), join = joined(y, front, rear, gates);

        Out<S, Booster> out;
        out.dx[1] = valve_flow_ * join - supply_flow_ * gates.ramp(kSupply, front - supply_);
        out.dx[2] = valve_flow_ * (air - join);
        out.joint[0] = -push;
        out.joint[1] = kContactStiffness * gates.ramp(kRod, x - in.joint[1] - rod_clearance_);
        out.dx[0] =
            (power + push + kContactStiffness * (home - beyond) - out.joint[1]) * (1 / damping_);
        return out;
    }
    template <class S>
    S stored(const In<S, Booster>& in, Gates gates) const {
        const S &x = in.x[0], y = in.joint[0] - x;
        const S home = gates.ramp(kHome, -x), beyond = gates.ramp(kEnd, x - stroke_);
        const auto [front, rear] = pressures(in, home, beyond);
        const double c = kContactStiffness;
        return air_energy(in.x[1], front) + air_energy(in.x[2], rear) + spring_ * y +
               spring_energy(rate_, y) + return_spring_ * x + spring_energy(return_rate_, x) +
               spring_energy(c, gates.ramp(kThrough, y - plunger_travel_)) +
               spring_energy(c, gates.ramp(kRest, -y)) + spring_energy(c, home) +
               spring_energy(c, beyond) +
               spring_energy(c, gates.ramp(kRod, x - in.joint[1] - rod_clearance_));
    }
    /// Unpaid: the output rod does not follow the bulge of the reaction disc; and where a stop
    /// gives, the chambers keep their room.
    Exchange exchange(const In<double, Booster>& in, const Out<double, Booster>& out,
                      const In<double, Booster>& rate, Gates gates) const {
        const double x = in.x[0], y = in.joint[0] - x, moves = out.dx[0];
        const double home = gates.ramp(kHome, -x), beyond = gates.ramp(kEnd, x - stroke_);
        const auto [front, rear] = pressures(in, home, beyond);
        const double join = valve_flow_ * joined(y, front, rear, gates);
        const double air = valve_flow_ * let_in(y, rear, gates);
        const double pumped = supply_flow_ * gates.ramp(kSupply, front - supply_);
        Exchange e;
        e.unpaid = -disc(x, y, front, rear, gates) * (rate.joint[0] - moves) -
                   (beyond > 0 ? (front - outside_) * area_ * moves : 0) +
                   (home > 0 ? (rear - outside_) * area_ * moves : 0);
        e.supplied = -potential(supply_) * pumped;
        e.lost = damping_ * moves * moves + (potential(rear) - potential(front)) * join -
                 potential(rear) * air + (potential(front) - potential(supply_)) * pumped;
        return e;
    }
    void quantities(const In<double, Booster>& in, const Out<double, Booster>& out, Gates gates,
                    double* q) const {
        const double x = in.x[0];
        const auto [front, rear] =
            pressures(in, gates.ramp(kHome, -x), gates.ramp(kEnd, x - stroke_));
        q[0] = -out.joint[0];
        q[1] = out.joint[1];
        q[2] = x;
        q[3] = rear - front;
        q[4] = outside_ - front;
        // Where the assist is used up: P = (outside - front) A - springs = F_out (1 - 1/ratio) +
        // ...
        q[5] = std::max(0.0, ((outside_ - front) * area_ - return_spring_ - return_rate_ * x +
                              cut_in_ - jump_in_ / ratio_) *
                                 ratio_ / (ratio_ - 1));
    }

  private:
    enum { kRest, kAir, kJoin, kDisc, kThrough, kHome, kEnd, kSupply, kRod };
    /// Room behind the diaphragm at rest, as a depth [m]; judgement.
    static constexpr double kRearGap = 5e-3;

    template <class S>
    struct Chambers {
        S front, rear; // Pa absolute
    };
    template <class S>
    Chambers<S> pressures(const In<S, Booster>& in, const S& home, const S& beyond) const {
        const S& x = in.x[0];
        return {outside_ * in.x[1] / (reserve_ + area_ * (stroke_ - x + beyond)),
                outside_ * in.x[2] / (area_ * (kRearGap + x + home))};
    }

    /// What the reaction disc puts on the plunger [N].
    template <class S>
    S disc(const S& x, const S& y, const S& front, const S& rear, Gates& gates) const {
        const S power = (rear - front) * area_ - return_spring_ - return_rate_ * x;
        const S spring = spring_ + rate_ * y;
        return gates.ramp(kDisc,
                          power + spring - jump_in_ + ratio_ * disc_rate_ * (y - valve_travel_)) *
               (1 / (ratio_ - 1));
    }
    /// Opening times pressure difference at the air valve and at the vacuum valve [Pa]. Each is
    /// wide open at the end of the plunger's way.
    template <class S>
    S let_in(const S& y, const S& rear, Gates& gates) const {
        return gates.ramp(kAir, y - valve_travel_) * (1 / (plunger_travel_ - valve_travel_)) *
               (outside_ - rear);
    }
    template <class S>
    S joined(const S& y, const S& front, const S& rear, Gates& gates) const {
        return gates.ramp(kJoin, valve_travel_ - lap_ - y) * (1 / (valve_travel_ - lap_)) *
               (rear - front);
    }
    /// Air as warm as outside: work per m3 (at outside pressure) to bring it to a pressure [Pa],
    /// and what n of it holds there [J].
    template <class S>
    S potential(const S& pressure) const {
        return outside_ * logarithm(pressure * (1 / outside_));
    }
    template <class S>
    S air_energy(const S& n, const S& pressure) const {
        return n * (potential(pressure) - outside_ + outside_ * outside_ / pressure);
    }

    double outside_, evacuated_, supply_; // Pa absolute; supply: behind the check valve
    double area_, ratio_, cut_in_, jump_in_, disc_rate_, valve_travel_, plunger_travel_;
    double rate_, spring_, lap_, return_spring_, return_rate_, rod_clearance_, stroke_, reserve_;
    double valve_flow_, supply_flow_; // m3 at outside pressure per s and Pa
    double damping_;
};

} // namespace pedalbench
