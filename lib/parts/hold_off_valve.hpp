// The front hold-off (metering) valve: keeps the discs waiting until the drums' shoes touch.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/one_way.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// States: rod position x, 0 home and positive outward; anchor of its friction [m]; share of
/// the tear in a burst diaphragm that is open.
///
/// Rod: the diaphragm feels the inlet, b x' = p_in A_rod - (F0 + k x) - friction - stops - hand.
/// Within its first travel the rod holds the check open; beyond `shut travel` the check sits. On
/// the way home it pushes the check off its seat again, so that release is complete. Plate: lifts
/// in proportion to A1 p_in - F - A2 p_out, where A1 - A2 is vented to atmosphere: opens at (F + A2
/// p_out)/A1, slope A1/A2, equal pressures from F/(A1 - A2) on. Check: fluid returns freely past it
/// when the outlet stands above the inlet. An outer stop carries the diaphragm. Wedged, the rod
/// cannot reach it and the bare diaphragm bursts. A plate that is stuck hangs off its seat or sits
/// on it for good; the rod and its check go on working.
class HoldOffValve {
  public:
    static constexpr int kStates = 3, kJoints = 0, kPorts = 3, kGuards = 8;
    static const PartKind kind;

    HoldOffValve(const Values& v, const Surroundings& around);

    double height(int port) const { return port < 2 ? height_ : kUnset; }
    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + rod_area_ * x[0], S(dead_), S(0.0)};
    }
    template <class S>
    Out<S, HoldOffValve> rates(const In<S, HoldOffValve>& in, Gates gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const S& x = in.x[0];
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(a.T)};
        const S drop = a.p - b.p;

        const S friction = seal_.force(x, in.x[1]);
        S push = a.p * rod_area_ - rod_spring_ - rod_rate_ * x - friction -
                 kContactStiffness * (gates.ramp(kOuter, x - out_travel_) - gates.ramp(kHome, -x));
        if (rod_ == kHeld) push -= hand_;
        if (rod_ == kWedged) push -= kContactStiffness * x;

        const S gap = gates.ramp(kGap, shut_travel_ - x) * (M_PI * check_seat_);
        S surplus = area1_ * a.p - plate_spring_ - area2_ * b.p;
        if (plate_ == kStuckOpen) surplus = S(plate_spread_);
        if (plate_ == kStuckShut) surplus = S(-plate_spread_);
        surplus = gates.ramp(kPlate, surplus);
        const S back = gates.ramp(kReturn, -drop - crack_);
        const S q = opening_flow(drop, gap, 1e-3, stream) +
                    check_flow(surplus, drop, plate_full_, plate_spread_, stream) -
                    check_flow(back, -drop, return_area_, return_spread_, stream);

        Out<S, HoldOffValve> out;
        out.dx[0] = push * (1 / damping_);
        out.dx[1] = seal_.slip(gates, kSlip, friction, S(friction_));
        carry(a, b, out.port[0], out.port[1], q);
        const bool burst = gates.latched(kBurst);
        gates.latch(kBurst, burst || rod_ != kWedged ? (burst ? 1.0 : -1.0) * burst_pressure_
                                                     : value_of(a.p) - burst_pressure_);
        if (burst) { // it tears open within milliseconds
            out.dx[2] = (1.0 - in.x[2]) * (1 / kTearing);
            spill(a, out.port[0], out.port[2],
                  orifice_flow(a.p, burst_hole_ * in.x[2], 1e-3, stream), air_);
        }
        return out;
    }
    template <class S>
    S stored(const In<S, HoldOffValve>& in, Gates gates) const {
        const S& x = in.x[0];
        S energy = rod_spring_ * x + spring_energy(rod_rate_, x) + seal_.energy(x, in.x[1]) +
                   spring_energy(kContactStiffness, gates.ramp(kOuter, x - out_travel_)) +
                   spring_energy(kContactStiffness, gates.ramp(kHome, -x));
        if (rod_ == kWedged) energy += spring_energy(kContactStiffness, x);
        return energy;
    }
    Exchange exchange(const In<double, HoldOffValve>& in, const Out<double, HoldOffValve>& out,
                      const In<double, HoldOffValve>&, Gates) const {
        Exchange e;
        if (rod_ == kHeld) e.supplied = -hand_ * out.dx[0];
        e.lost = damping_ * out.dx[0] * out.dx[0] + seal_.force(in.x[0], in.x[1]) * out.dx[1];
        return e;
    }
    void quantities(const In<double, HoldOffValve>& in, const Out<double, HoldOffValve>& out, Gates,
                    double* q) const {
        q[0] = in.x[0];
        q[1] = plate_ == kWorks
                   ? std::max(0.0, area1_ * in.port[0].p - plate_spring_ - area2_ * in.port[1].p) /
                         plate_rate_
                   : (plate_ == kStuckOpen ? plate_spread_ / plate_rate_ : 0);
        q[2] = in.port[0].p - in.port[1].p;
        q[3] = out.port[1].liquid;
    }

  private:
    static constexpr double kTearing = 2e-3; // s, judgement
    World air_;
    enum { kSlip, kSlipBack, kHome, kOuter, kGap, kPlate, kReturn, kBurst };
    enum { kFree, kHeld, kWedged };
    enum { kWorks, kStuckOpen, kStuckShut };
    BrakeFluid fluid_;
    int rod_, plate_;
    double area1_, area2_, plate_spring_, plate_rate_, plate_full_, plate_spread_;
    double rod_area_, rod_spring_, rod_rate_, shut_travel_, out_travel_, friction_, damping_, hand_;
    double check_seat_, crack_, return_area_, return_spread_, burst_pressure_, burst_hole_, dead_,
        height_;
    Friction seal_;
};

} // namespace pedalbench
