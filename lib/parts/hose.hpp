// A flexible hose: a pipe that swells, perhaps swollen shut inside or with a flap that passes one
// way.
#pragma once

#include "hydraulics/bubble_rise.hpp"
#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/tube.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// States: flow q, positive outward; its memory for unsteady friction [m3/s]; w, what the wall has
/// given slowly [m3]. As the pipe, with the wall V(p) per metre = linear p + soft p/(p + half),
/// which goes on giving by a share of V (Creep), and for each direction an inner opening of its own
/// diameter:
///
///   (rho L / A) q' = drop - tube friction(q) - unsteady friction - (a q + b q |q|) of the opening
///   for that direction
class Hose {
  public:
    static constexpr int kStates = 3, kJoints = 0, kPorts = 2, kGuards = 1;
    static const PartKind kind;

    Hose(const Values& v, const Surroundings& around);

    template <class S>
    std::array<S, kPorts> swept(const std::array<S, kStates>& x,
                                const std::array<S, kJoints>&) const {
        return {0.5 * (volume_ + x[2]), 0.5 * (volume_ + x[2])};
    }
    Wall wall(int) const { return half_wall_; }
    double heat_capacity(int) const { return 0.5 * wall_heat_; }

    template <class S>
    Out<S, Hose> rates(const In<S, Hose>& in, Gates gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const S& q = in.x[0];
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(0.5 * (a.T + b.T))};
        S drop = a.p - b.p + (a.head - b.head) - tube_drop(q, bore_, length_, stream) -
                 UnsteadyFriction::drop(q, in.x[1], bore_, length_, stream);
        if (narrow_) drop -= narrow_drop(q, outward(gates, q, stream), stream);
        Out<S, Hose> out;
        out.dx[0] = drop * (1 / inertance_);
        out.dx[1] = UnsteadyFriction::rate(q, in.x[1], bore_, stream) * (1 / mass_share_);
        out.dx[2] = creep_.rate(2.0 * half_wall_.stretch(0.5 * (a.p + b.p)), in.x[2]);
        carry(a, b, out.port[0], out.port[1], q);
        let_rise(fluid_, a, b, out.port[0], out.port[1],
                 bubbles_.flow(a.head, b.head, stream.viscosity));
        return out;
    }
    template <class S>
    S stored(const In<S, Hose>& in, Gates) const {
        const S& w = in.x[2];
        return 0.5 * (inertance_ * in.x[0] * in.x[0] + memory_ * in.x[1] * in.x[1]) +
               chain(w, slow_energy(value_of(w)), slow_pressure(value_of(w)));
    }
    Exchange exchange(const In<double, Hose>& in, const Out<double, Hose>& out,
                      const In<double, Hose>&, Gates gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const double q = in.x[0];
        const Stream<double> stream{fluid_.density(), fluid_.viscosity(0.5 * (a.T + b.T))};
        Exchange e;
        e.column = q * (a.p - b.p + (a.head - b.head));
        e.lost = q * tube_drop(q, bore_, length_, stream) +
                 UnsteadyFriction::lost(q, in.x[1], bore_, length_, stream) +
                 (0.5 * (a.p + b.p) - slow_pressure(in.x[2])) * out.dx[2];
        if (narrow_) e.lost += q * narrow_drop(q, outward(gates, q, stream), stream);
        return e;
    }
    void quantities(const In<double, Hose>& in, const Out<double, Hose>&, Gates, double* q) const {
        q[0] = in.x[0];
        q[1] = in.x[2];
    }

  private:
    enum { kOutward };
    /// Judged by the pressure that the flow costs in both openings: as a flow it would be too
    /// little to notice where the way back is all but shut, and the flap would never open.
    template <class S>
    bool outward(Gates& gates, const S& q, const Stream<S>& stream) const {
        return gates.above(kOutward, q * stream.viscosity * (stream.density * both_resistances_));
    }
    template <class S>
    S narrow_drop(const S& q, bool outward, const Stream<S>& stream) const {
        const double d = outward ? bore_out_ : bore_back_;
        return q * stream.viscosity * (stream.density * narrow_resistance(d)) +
               restriction_drop(q, circle_area(d), stream.density);
    }
    /// Pressure at which the slow swelling would stand still at w, and the energy that it holds: as
    /// of a spring beside its damper. Without creep there is neither.
    double slow_pressure(double w) const {
        if (creep_.share <= 0) return 0;
        // linear p + soft p/(p + half) = v: a quadratic, of which the root that grows with v.
        const double v = 0.5 * w / creep_.share, l = half_wall_.linear, h = half_wall_.half;
        const double b = 0.5 * (l * h + half_wall_.soft - v), root = std::sqrt(b * b + l * v * h);
        return b > 0 ? v * h / (b + root) : (root - b) / l;
    }
    double slow_energy(double w) const {
        const double p = slow_pressure(w);
        return w * p - 2 * creep_.share * half_wall_.integral(p);
    }
    /// Laminar resistance per dynamic viscosity of a short narrow place, as of a round hole [1/m3].
    static double narrow_resistance(double d) {
        const double r = 0.5 * d;
        return 3 / (r * r * r) + 8 * 5e-3 / (M_PI * r * r * r * r);
    }
    BrakeFluid fluid_;
    double length_, bore_, bore_out_, bore_back_, both_resistances_, volume_, inertance_, memory_,
        mass_share_, wall_heat_; // J/K
    Wall half_wall_;             // of half the hose
    Creep creep_;
    BubbleRise bubbles_;
    bool narrow_;
};

} // namespace pedalbench
