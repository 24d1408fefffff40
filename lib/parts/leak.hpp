// A leak: a hole to the open air.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/orifice.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// No state. A round hole in a wall; below outside it draws in air. Size zero: no hole yet.
class Leak {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 2, kGuards = 0;
    static const PartKind kind;

    Leak(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    template <class S>
    Out<S, Leak> rates(const In<S, Leak>& in, Gates) const {
        Out<S, Leak> out;
        if (radius_ <= 0) return out;
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(in.port[0].T)};
        const S q = orifice_flow(in.port[0].p, S(radius_), wall_, stream);
        spill(in.port[0], out.port[0], out.port[1], q, air_);
        return out;
    }
    void quantities(const In<double, Leak>&, const Out<double, Leak>& out, Gates, double* q) const {
        q[0] = out.port[1].liquid;
    }

  private:
    World air_;
    BrakeFluid fluid_;
    double radius_, wall_;
};

} // namespace pedalbench
