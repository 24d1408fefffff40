// A steel pipe: fluid column with inertia and friction, half of its volume at each end.
#pragma once

#include "hydraulics/bubble_rise.hpp"
#include "hydraulics/carry.hpp"
#include "hydraulics/tube.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// States [m3/s]: flow q through the pipe, positive from the cylinder outward; its memory for
/// unsteady friction.
///
///   (rho L / A) q' = drop of pressure and height - tube friction(q) - unsteady friction
///
/// Bubbles rise to its higher end, as fluid runs past them. The wall stretches by the thick-walled
/// tube (Lame): dV/V = 2 p/E ((b2+a2)/(b2-a2) + nu).
class Line {
  public:
    static constexpr int kStates = 2, kJoints = 0, kPorts = 2, kGuards = 0;
    static const PartKind kind;

    Line(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {0.5 * volume_, 0.5 * volume_}; }
    Wall wall(int) const { return {0.5 * stretch_, 0, 1e6}; }
    double heat_capacity(int) const { return 0.5 * metal_heat_; }
    double height(int port) const {
        return port == 1 && outlet_height_ > 0 ? outlet_height_ : kUnset;
    }

    template <class S>
    Out<S, Line> rates(const In<S, Line>& in, Gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const S& q = in.x[0];
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(0.5 * (a.T + b.T))};
        const S drop = a.p - b.p + (a.head - b.head) - tube_drop(q, bore_, length_, stream) -
                       UnsteadyFriction::drop(q, in.x[1], bore_, length_, stream);
        Out<S, Line> out;
        out.dx[0] = drop * (1 / inertance_);
        out.dx[1] = UnsteadyFriction::rate(q, in.x[1], bore_, stream) * (1 / mass_share_);
        carry(a, b, out.port[0], out.port[1], q);
        let_rise(fluid_, a, b, out.port[0], out.port[1],
                 bubbles_.flow(a.head, b.head, stream.viscosity));
        return out;
    }
    template <class S>
    S stored(const In<S, Line>& in, Gates) const {
        return 0.5 * (inertance_ * in.x[0] * in.x[0] + memory_ * in.x[1] * in.x[1]);
    }
    Exchange exchange(const In<double, Line>& in, const Out<double, Line>&, const In<double, Line>&,
                      Gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const double q = in.x[0];
        const Stream<double> stream{fluid_.density(), fluid_.viscosity(0.5 * (a.T + b.T))};
        Exchange e;
        e.column = q * (a.p - b.p + (a.head - b.head));
        e.lost = q * tube_drop(q, bore_, length_, stream) +
                 UnsteadyFriction::lost(q, in.x[1], bore_, length_, stream);
        return e;
    }
    void quantities(const In<double, Line>& in, const Out<double, Line>&, Gates, double* q) const {
        q[0] = in.x[0];
    }

  private:
    BrakeFluid fluid_;
    double length_, bore_, volume_, stretch_, inertance_, memory_, mass_share_, metal_heat_,
        outlet_height_;
    BubbleRise bubbles_;
};

} // namespace pedalbench
