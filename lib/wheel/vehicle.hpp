// The car as a whole: speed, axle loads, tyres on a stated road, four wheels that turn or lock.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// States: speed v [m/s], distance s [m], deceleration a as the springs let the load follow it
/// [m/s2]. Joints: the speed of each wheel [rad/s].
///
///   slip     l = (v - w r) / sqrt(v^2 + v0^2), u = l / l_p
///   tyre     F = mu N f(u), f = 2u/(1 + u^2) up to the peak; past it what slides keeps the share
///   k:
///            f = k + (1 - k) 2u/(1 + u^2). Level and slope agree at u = 1.
///   wheel    I w' = F r - R - brake torque, R = rolling x load x r: what turns resists, and what
///            is locked takes no more than the road gives
///   car      m v' = drive - sum F - air - m g sin(slope)
///   loads    front axle m g b + m a h / L, rear axle m g (1 - b) - m a h / L; a' = (-v' - a)/tau
///
/// The drive holds a stated speed as far as its force allows and knows nothing of wheels; braking
/// by the engine is not in it. A wheel is said to lock when it slips more than 60 %. Speeds below
/// zero go backward: every law is odd in v, and what counts as slip, lock or adhesion used is taken
/// the way the car goes.
class Vehicle {
  public:
    static constexpr int kWheels = 4;
    static constexpr int kStates = 3, kJoints = kWheels, kPorts = 0, kGuards = 12;
    static const PartKind kind;

    Vehicle(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    double capacity(int) const { return inertia_; }
    void set_off(double* x, double* joint) const {
        x[0] = start_;
        x[1] = x[2] = 0;
        for (int i = 0; i < kWheels; ++i)
            joint[i] = start_ / radius_;
    }

    template <class S>
    Out<S, Vehicle> rates(const In<S, Vehicle>& in, Gates gates) const {
        const S& v = in.x[0];
        const S rolled = square_root(v * v + kSlow * kSlow);
        const Axles<S> load = loads(in, gates);
        Out<S, Vehicle> out;
        S braking(0.0);
        for (int i = 0; i < kWheels; ++i) {
            const S slip = (v - in.joint[i] * radius_) / rolled;
            const S force =
                adhesion_ * 0.5 * (i < 2 ? load.front : load.rear) * grip(i, slip, gates);
            const bool locked = gates.latched(kLock + i);
            const S slow = value_of(v) < 0 ? -slip : slip; // slower than the road
            // Below walking pace slip says little, and a wheel that stands is not locked.
            gates.latch(kLock + i, locked ? slow - 0.3 : (slow - 0.6) * rolled / (rolled + 1.0));
            out.joint[i] = force * radius_ - resisting(load, i, in.joint[i]);
            braking += force;
        }
        gates.above(kStands, kStill - (value_of(v) < 0 ? -v : v));
        out.dx[0] = (drive(v, gates) - braking - air(v) - uphill_) * (1 / mass_);
        out.dx[1] = v;
        out.dx[2] = (-out.dx[0] - in.x[2]) * (1 / kPitch);
        return out;
    }
    /// The wheels' own is at their joints.
    template <class S>
    S stored(const In<S, Vehicle>& in, Gates) const {
        return 0.5 * mass_ * in.x[0] * in.x[0] + uphill_ * in.x[1];
    }
    Exchange exchange(const In<double, Vehicle>& in, const Out<double, Vehicle>& out,
                      const In<double, Vehicle>&, Gates gates) const {
        const double v = in.x[0];
        Exchange e;
        e.supplied = drive(v, gates) * v;
        e.lost = air(v) * v;
        const Axles<double> load = loads(in, gates);
        for (int i = 0; i < kWheels; ++i) // tyres that slip and are kneaded
            e.lost += out.joint[i] * (v / radius_ - in.joint[i]) +
                      resisting(load, i, in.joint[i]) * v / radius_;
        return e;
    }
    void quantities(const In<double, Vehicle>& in, const Out<double, Vehicle>& out, Gates gates,
                    double* q) const {
        const Axles<double> load = loads(in, gates);
        q[0] = in.x[0];
        q[1] = in.x[1];
        const double way = in.x[0] < -kStill ? -1 : 1;
        q[2] = -way * out.dx[0];
        q[3] = load.front;
        q[4] = load.rear;
        const auto road = [&](int i) { // torque of the road's force
            return out.joint[i] + resisting(load, i, in.joint[i]);
        };
        q[5] = used(way * (road(0) + road(1)), load.front);
        q[6] = used(way * (road(2) + road(3)), load.rear);
        for (int i = 0; i < kWheels; ++i)
            q[7 + i] = in.joint[i];
    }

  private:
    static constexpr double kSlow = 0.3;   // m/s, below which a slip ratio means nothing
    static constexpr double kStill = 0.05; // m/s: it stands
    static constexpr double kPitch = 0.15; // s, springs of the body, judgement
    enum { kPast, kLock = kPast + kWheels, kStands = kLock + kWheels, kDrive, kFull, kLift };

    template <class S>
    S drive(const S& v, Gates& gates) const {
        const double way = hold_ < 0 ? -1 : 1;
        const S lacking = hold_ == 0 ? S(-1.0) : way * (hold_ - v); // no drive: it only rolls
        const S wish = hold_gain_ * gates.ramp(kDrive, lacking);
        return way * (wish - gates.ramp(kFull, wish - drive_most_));
    }
    template <class S>
    struct Axles {
        S front, rear;
    };
    template <class S>
    S air(const S& v) const {
        return air_ * v * square_root(v * v + kSlow * kSlow);
    }
    /// Torque that a tyre takes as it rolls, against the way it turns.
    template <class S>
    S resisting(const Axles<S>& load, int i, const S& speed) const {
        const S rim = speed * radius_;
        return rolling_ * radius_ * 0.5 * (i < 2 ? load.front : load.rear) * rim /
               square_root(rim * rim + kSlow * kSlow);
    }
    template <class S>
    Axles<S> loads(const In<S, Vehicle>& in, Gates& gates) const {
        const S shift = in.x[2] * transfer_;
        // A rear axle in the air carries nothing, and the front no more than all.
        const S rear = gates.ramp(kLift, weight_ * (1 - front_) - shift);
        return {weight_ - rear, rear};
    }
    double used(double torque, double load) const {
        return load > 0 ? torque / radius_ / load : 0; // a wheel in the air uses none
    }
    /// Share of the road's adhesion that a tyre uses at a slip.
    template <class S>
    S grip(int i, const S& slip, Gates& gates) const {
        const S u = slip * (1 / peak_slip_);
        const S rise = 2.0 * u / (1.0 + u * u);
        if (!gates.above(kPast + i, u * u - 1.0)) return rise;
        return (value_of(u) > 0 ? slide_ : -slide_) + (1 - slide_) * rise;
    }

    double mass_, weight_, front_, transfer_, radius_, inertia_, adhesion_, peak_slip_, slide_,
        rolling_, air_, uphill_, start_, hold_, hold_gain_, drive_most_;
};

} // namespace pedalbench
