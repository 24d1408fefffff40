// The tandem master cylinder: two pistons in one bore, their springs, ports, cups and reservoirs.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/one_way.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// Rod: primary piston x1. States: secondary piston x2, anchors of the two pistons' cup friction
/// [m]. Positions are 0 at rest and positive on application.
///
///   b x1' = push rod - p1 A - N - f1 + stop(-x1) - meet
///   b x2' = p1 A + N + meet - p2 A - S2 - k2 x2 - f2 - bottom (+ stop(-x2) if not caged)
///   N = S1 + k1 (x1 - x2) - cage(x2 - x1): the primary spring, held at its greatest length by the
///   cage
///
/// The compensating port of each chamber is a round hole that the cup lip has covered after the
/// port travel. When a chamber falls below its reservoir fluid passes the cup (recuperation). A
/// damaged cup leaks along one of three paths; with `leak_seals_at` the lip closes again under
/// pressure.
///
/// Each reservoir may have a float that closes a contact (latch) where its level falls below
/// `low_level`, and opens it 2 cm3 above: 1 on the lamp's wire for each.
class TandemMaster {
  public:
    static constexpr int kStates = 3, kJoints = 2, kPorts = 4, kGuards = 16;
    static constexpr std::array<PortInfo, kPorts> kPortTable = {
        {{"primary", PortKind::line},
         {"secondary", PortKind::line},
         {"primary_reservoir", PortKind::reservoir},
         {"secondary_reservoir", PortKind::reservoir}}};
    static const PartKind kind;

    TandemMaster(const Values& v, const Surroundings& around);

    double capacity(int joint) const { return joint == kRod ? damping_ : 0; }
    double height(int port) const { return port < 2 ? height_ : reservoir_height_; }
    double level(int port) const { return port < 2 ? 0 : reservoir_volume_; }
    Wall wall(int port) const { return {port < 2 ? wall_ : 0.0, 0, 1e6}; }

    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>& joint) const {
        return {dead_ + area_ * (stroke1_ - joint[kRod] + x[0]), dead_ + area_ * (stroke2_ - x[0]),
                S(0.0), S(0.0)};
    }

    /// What `level_switch` may be.
    enum Float { kNone, kFree, kStuckUp, kStuckDown };

    template <class S>
    Out<S, TandemMaster> rates(const In<S, TandemMaster>& in, Gates gates) const {
        const S &x1 = in.joint[kRod], &x2 = in.x[0];
        const S &p1 = in.port[0].p, &p2 = in.port[1].p;
        const S friction1 = cup_.force(x1, in.x[1]), friction2 = cup_.force(x2, in.x[2]);
        const S meet = kContactStiffness * gates.ramp(kMeet, x1 - x2 - stroke1_);
        S spring = spring1_ + rate1_ * (x1 - x2);
        S rear_stop(0.0);
        if (caged_)
            spring -= kContactStiffness * gates.ramp(kCage, x2 - x1);
        else
            rear_stop = kContactStiffness * gates.ramp(kCage, -x2);

        Out<S, TandemMaster> out;
        out.joint[kRod] =
            kContactStiffness * gates.ramp(kStop, -x1) - p1 * area_ - spring - friction1 - meet;
        const S secondary = (p1 - p2) * area_ + spring + meet + rear_stop - friction2 - spring2_ -
                            rate2_ * x2 - kContactStiffness * gates.ramp(kBottom, x2 - stroke2_);
        out.dx[0] = secondary * (1 / damping_);
        out.dx[1] = cup_.slip(gates, kSlip1, friction1, friction_ + friction_rise_ * p1);
        out.dx[2] = cup_.slip(gates, kSlip2, friction2, friction_ + friction_rise_ * p2);

        chamber(in, out, gates, 0, x1, kPort1, kFull1, kRecuperate1);
        chamber(in, out, gates, 1, x2, kPort2, kFull2, kRecuperate2);
        leak(in, out, 0, 2, leak_primary_);
        leak(in, out, 1, 3, leak_front_);
        leak(in, out, 0, 3, leak_rear_);
        out.joint[kWire] = floats(in, gates, 2, kFloat1) + floats(in, gates, 3, kFloat2);
        return out;
    }
    template <class S>
    S stored(const In<S, TandemMaster>& in, Gates gates) const {
        const S &x1 = in.joint[kRod], &x2 = in.x[0], apart = x1 - x2;
        const double c = kContactStiffness;
        return spring1_ * apart + spring_energy(rate1_, apart) + spring2_ * x2 +
               spring_energy(rate2_, x2) + cup_.energy(x1, in.x[1]) + cup_.energy(x2, in.x[2]) +
               spring_energy(c, gates.ramp(kMeet, apart - stroke1_)) +
               spring_energy(c, gates.ramp(kCage, caged_ ? -apart : -x2)) +
               spring_energy(c, gates.ramp(kStop, -x1)) +
               spring_energy(c, gates.ramp(kBottom, x2 - stroke2_));
    }
    /// The rod's damping is counted at the rod.
    Exchange exchange(const In<double, TandemMaster>& in, const Out<double, TandemMaster>& out,
                      const In<double, TandemMaster>&, Gates) const {
        Exchange e;
        e.lost = damping_ * out.dx[0] * out.dx[0] +
                 cup_.force(in.joint[kRod], in.x[1]) * out.dx[1] +
                 cup_.force(in.x[0], in.x[2]) * out.dx[2];
        return e;
    }
    void quantities(const In<double, TandemMaster>& in, const Out<double, TandemMaster>&,
                    Gates gates, double* q) const {
        q[0] = in.joint[kRod];
        q[1] = in.x[0];
        q[2] = gates.latched(kFloat1) ? 1 : 0;
        q[3] = gates.latched(kFloat2) ? 1 : 0;
    }

  private:
    enum {
        kMeet,
        kCage,
        kStop,
        kBottom,
        kSlip1,
        kSlip1Back,
        kSlip2,
        kSlip2Back,
        kPort1,
        kFull1,
        kRecuperate1,
        kPort2,
        kFull2,
        kRecuperate2,
        kFloat1,
        kFloat2
    };
    enum { kRod, kWire };
    static constexpr double kFloatPlay = 2e-6; // m3 that a float takes to open its contact again

    /// What the contact of the float at a reservoir port gives to the wire.
    template <class S>
    double floats(const In<S, TandemMaster>& in, Gates& gates, int tank, int latch) const {
        const bool closed = gates.latched(latch);
        const double below = low_level_ + (closed ? kFloatPlay : 0) - in.port[tank].level;
        gates.latch(latch, float_ == kFree ? below : float_ == kStuckDown ? 1.0 : -1.0);
        return closed ? 1 : 0;
    }

    /// Compensating port and recuperation between chamber c and its reservoir.
    template <class S>
    void chamber(const In<S, TandemMaster>& in, Out<S, TandemMaster>& out, Gates& gates, int c,
                 const S& x, int port, int full, int recuperate) const {
        const auto &inside = in.port[c], &tank = in.port[2 + c];
        const Stream<S> stream{density_, fluid_.viscosity(inside.T)};
        const S up = inside.p + inside.head - tank.p - tank.head;
        const S uncovered = port_travel_[c] - x;
        S q(0.0);
        gates.above(full, uncovered - port_);
        if (gates.above(port, -uncovered)) {
        } else {
            q = opening_flow(up, port_share_[c] * hole_beyond_lip(uncovered, port_), port_wall_,
                             stream);
        }
        q -= check_flow(gates.ramp(recuperate, -up - lip_), -up, cup_area_, lip_spread_, stream);
        carry(inside, tank, out.port[c], out.port[2 + c], q);
    }

    template <class S>
    void leak(const In<S, TandemMaster>& in, Out<S, TandemMaster>& out, int c, int tank,
              double radius) const {
        if (radius <= 0) return;
        const Stream<S> stream{density_, fluid_.viscosity(in.port[c].T)};
        const S drop = in.port[c].p + in.port[c].head - in.port[tank].p - in.port[tank].head;
        S q = orifice_flow(drop, S(radius), port_wall_, stream);
        if (leak_seals_at_ > 0) {
            const S share = drop * (1 / leak_seals_at_);
            q = q / (1.0 + share * share);
        }
        carry(in.port[c], in.port[tank], out.port[c], out.port[tank], q);
    }

    BrakeFluid fluid_;
    double density_, area_, stroke1_, stroke2_, spring1_, rate1_, spring2_, rate2_, dead_, wall_;
    bool caged_;
    double port_, port_travel_[2], port_share_[2], port_wall_, cup_area_, lip_, lip_spread_;
    double friction_, friction_rise_, damping_, height_, reservoir_height_;
    double leak_primary_, leak_front_, leak_rear_, reservoir_volume_, leak_seals_at_, low_level_;
    int float_;
    Friction cup_;
};

} // namespace pedalbench
