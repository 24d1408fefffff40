// The quick take-up master cylinder: a tandem cylinder whose primary piston has a larger rear end.
#pragma once

#include "parts/tandem_master.hpp"

namespace pedalbench {

/// All of the tandem cylinder's law, with one volume more: the take-up chamber round the piston,
/// behind the primary cup and before the large rear bore. To the primary cup and its port it is
/// what the reservoir is to them in a plain cylinder. The valve above it keeps the reservoir apart.
///
///   ring     a = large bore area - A;  chamber = dead + a (both strokes - x1)
///   rod      bears p_t a besides what the tandem cylinder puts on it
///   valve    lift = (p_t - valve_opens)+ seat area/rate, the way round the seat pi seat lift
///   refill   from the reservoir when it stands `lip_opening` above the chamber
///   by-pass  a groove in the seat, always open: through it the chamber and, at rest, the primary
///            circuit breathe
class TakeUpMaster {
  public:
    static constexpr int kStates = TandemMaster::kStates, kJoints = TandemMaster::kJoints,
                         kPorts = TandemMaster::kPorts + 1, kGuards = TandemMaster::kGuards + 2;
    static const PartKind kind;

    TakeUpMaster(const Values& v, const Surroundings& around);

    double capacity(int joint) const { return cylinder_.capacity(joint); }
    double level(int port) const { return port < kChamber ? cylinder_.level(port) : 0; }
    double height(int port) const { return cylinder_.height(port == kChamber ? 0 : port); }
    Wall wall(int port) const { return cylinder_.wall(port == kChamber ? 0 : port); }

    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>& rod) const {
        const auto v = cylinder_.swept(x, rod);
        return {v[0], v[1], v[2], v[3], dead_ + ring_ * (strokes_ - rod[0])};
    }

    template <class S>
    Out<S, TakeUpMaster> rates(const In<S, TakeUpMaster>& in, Gates gates) const {
        const Out<S, TandemMaster> from = cylinder_.rates(inner(in), gates);

        Out<S, TakeUpMaster> out;
        out.dx = from.dx;
        out.joint = from.joint;
        out.port[0] = from.port[0];
        out.port[1] = from.port[1];
        out.port[kChamber] = from.port[kTank];
        out.port[kSecondaryTank] = from.port[kSecondaryTank];

        out.joint[0] -= ring_ * in.port[kChamber].p;
        carry(in.port[kChamber], in.port[kTank], out.port[kChamber], out.port[kTank],
              to_reservoir(in, gates));
        return out;
    }
    template <class S>
    S stored(const In<S, TakeUpMaster>& in, Gates gates) const {
        return cylinder_.stored(inner(in), gates);
    }
    Exchange exchange(const In<double, TakeUpMaster>& in, const Out<double, TakeUpMaster>& out,
                      const In<double, TakeUpMaster>& rate, Gates gates) const {
        Out<double, TandemMaster> from;
        from.dx = out.dx;
        return cylinder_.exchange(inner(in), from, inner(rate), gates);
    }
    void quantities(const In<double, TakeUpMaster>& in, const Out<double, TakeUpMaster>&,
                    Gates gates, double* q) const {
        cylinder_.quantities(inner(in), {}, gates, q);
        q[TandemMaster::kind.quantities.size()] = to_reservoir(in, gates);
    }

  private:
    enum { kTank = 2, kSecondaryTank = 3, kChamber = 4 };
    enum { kValve = TandemMaster::kGuards, kRefill };

    /// What the tandem cylinder sees: the chamber as its primary reservoir.
    template <class S>
    static In<S, TandemMaster> inner(const In<S, TakeUpMaster>& in) {
        In<S, TandemMaster> cylinder;
        cylinder.x = in.x;
        cylinder.joint = in.joint;
        cylinder.drive = in.drive;
        cylinder.port = {in.port[0], in.port[1], in.port[kChamber], in.port[kSecondaryTank]};
        cylinder.port[kTank].level = in.port[kTank].level; // its float hangs in the reservoir
        return cylinder;
    }
    template <class S>
    S to_reservoir(const In<S, TakeUpMaster>& in, Gates& gates) const {
        const auto &chamber = in.port[kChamber], &tank = in.port[kTank];
        const Stream<S> stream{density_, fluid_.viscosity(chamber.T)};
        const S up = chamber.p + chamber.head - tank.p - tank.head;
        S q = check_flow(gates.ramp(kValve, up - opens_), up, valve_way_, valve_spread_, stream);
        q -= check_flow(gates.ramp(kRefill, -up - lip_), -up, refill_area_, lip_spread_, stream);
        if (bypass_ > 0) q += orifice_flow(up, S(bypass_), bypass_length_, stream);
        return q;
    }

    TandemMaster cylinder_;
    BrakeFluid fluid_;
    double density_, ring_, strokes_, dead_;
    double opens_, valve_way_, valve_spread_, lip_, lip_spread_, refill_area_, bypass_,
        bypass_length_;
};

} // namespace pedalbench
