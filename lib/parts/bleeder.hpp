// A bleed screw: an opening to the outside with a hose whose end stands in fluid or in air.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/orifice.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// No state. Flow through a hole of the opening's diameter; below outside it draws in what the hose
/// end stands in. What passes is counted at the port `outside`.
class Bleeder {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 2, kGuards = 0;
    static const PartKind kind;

    Bleeder(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    template <class S>
    Out<S, Bleeder> rates(const In<S, Bleeder>& in, Gates) const {
        Out<S, Bleeder> out;
        if (opening_ <= 0) return out;
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(in.port[0].T)};
        const S q = orifice_flow(in.port[0].p, S(0.5 * opening_), length_, stream);
        spill(in.port[0], out.port[0], out.port[1], q, beyond_);
        return out;
    }
    void quantities(const In<double, Bleeder>&, const Out<double, Bleeder>& out, Gates,
                    double* q) const {
        q[0] = out.port[1].liquid;
    }

  private:
    BrakeFluid fluid_;
    double opening_, length_;
    World beyond_;
};

} // namespace pedalbench
