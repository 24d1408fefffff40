// The proportioning valve: beyond its knee the rear gets only a share of what the pressure gains.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/one_way.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// States: travel x of the stepped piston, 0 home and positive toward shut; anchor of its friction
/// [m].
///
/// Piston: the outlet drives it out on its head A2, the inlet back on the smaller ring A1, the stem
/// A2 - A1 stands in the air: b x' = A2 p_out - A1 p_in - (F0 + k x) - friction - stops. Over its
/// first travel the way past its head is open; at `shut travel` the head has entered a lip. It then
/// meters: it leaves the lip by as much as the forces have in surplus over their rate (spring and
/// seal), so that A2 p_out = F + A1 p_in, slope A1/A2 from the knee F/(A2 - A1) on. On release it
/// goes on into the lip and makes room behind itself, up to its end. Fluid returns freely past the
/// lip when the outlet stands above the inlet. A by-pass, which the front circuit's pressure holds
/// shut, gives the rear everything when the front is lost; it may be stuck either way.
class ProportioningValve {
  public:
    static constexpr int kStates = 2, kJoints = 0, kPorts = 3, kGuards = 8;
    static const PartKind kind;

    ProportioningValve(const Values& v, const Surroundings& around);

    double height(int port) const { return port < 2 ? height_ : kUnset; }
    /// The two sides together grow by the stem that leaves the body.
    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {dead_ + inlet_area_ * (end_travel_ - x[0]), dead_ + outlet_area_ * x[0], S(0.0)};
    }
    template <class S>
    Out<S, ProportioningValve> rates(const In<S, ProportioningValve>& in, Gates gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const S& x = in.x[0];
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(a.T)};
        const S drop = a.p - b.p;

        const S friction = seal_.force(x, in.x[1]);
        const S push =
            outlet_area_ * b.p - inlet_area_ * a.p - spring_ - rate_ * x - friction -
            kContactStiffness * (gates.ramp(kEnd, x - end_travel_) - gates.ramp(kHome, -x));

        const S gap = gates.ramp(kLip, shut_travel_ - x) * edge_;
        const S back = gates.ramp(kReturn, -drop - crack_);
        S q = opening_flow(drop, gap, 1e-3, stream) -
              check_flow(back, -drop, return_area_, return_spread_, stream);
        if (bypass_front_ > 0) {
            S lift = bypass_front_ - in.port[2].p;
            if (bypass_ == kStuckOpen) lift = S(bypass_front_);
            if (bypass_ == kStuckShut) lift = S(-bypass_front_);
            q += check_flow(gates.ramp(kBypass, lift), drop, bypass_area_, bypass_spread_, stream);
        }

        // For the list of events alone: at the lip itself a resting piston moves by nanometres, and
        // which of them are the last is chance.
        const double open = shut_travel_ - value_of(x);
        gates.latch(kMeters, (gates.latched(kMeters) ? kFarFromLip : kNearLip) - open);

        Out<S, ProportioningValve> out;
        out.dx[0] = push * (1 / damping_);
        out.dx[1] = seal_.slip(gates, kSlip, friction, S(friction_));
        carry(a, b, out.port[0], out.port[1], q);
        return out;
    }
    template <class S>
    S stored(const In<S, ProportioningValve>& in, Gates gates) const {
        const S& x = in.x[0];
        return spring_ * x + spring_energy(rate_, x) + seal_.energy(x, in.x[1]) +
               spring_energy(kContactStiffness, gates.ramp(kEnd, x - end_travel_)) +
               spring_energy(kContactStiffness, gates.ramp(kHome, -x));
    }
    Exchange exchange(const In<double, ProportioningValve>& in,
                      const Out<double, ProportioningValve>& out,
                      const In<double, ProportioningValve>&, Gates) const {
        Exchange e;
        e.lost = damping_ * out.dx[0] * out.dx[0] + seal_.force(in.x[0], in.x[1]) * out.dx[1];
        return e;
    }
    void quantities(const In<double, ProportioningValve>& in,
                    const Out<double, ProportioningValve>& out, Gates, double* q) const {
        q[0] = in.x[0];
        q[1] = in.port[0].p - in.port[1].p;
        q[2] = out.port[1].liquid;
    }

  private:
    enum { kSlip, kSlipBack, kHome, kEnd, kLip, kReturn, kBypass, kMeters };
    static constexpr double kNearLip = 10e-6, kFarFromLip = 50e-6; // m
    enum { kWorks, kStuckOpen, kStuckShut };
    BrakeFluid fluid_;
    int bypass_;
    double inlet_area_, outlet_area_, spring_, rate_, friction_, damping_, shut_travel_,
        end_travel_, edge_, crack_, return_area_, return_spread_, bypass_front_, bypass_area_,
        bypass_spread_, dead_, height_;
    Friction seal_;
};

} // namespace pedalbench
