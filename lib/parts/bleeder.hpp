// A bleed screw: an opening to the outside with a hose whose end stands in fluid or in air.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/orifice.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// Flow through a hole of the opening's diameter, driven by the pressure p where the screw stands
/// and by the vacuum v at the hose's end, q = orifice(p + v). Below that it draws back what the
/// end stands in: air, or fluid with a share of bubbles. What passes is counted at the port
/// `outside`, net.
///
/// Air above a screw that is not at the top stays: with a the share of bubbles in the volume and s
/// `space_above`, bubbles (a - s)+/(1 - s) reach it.
///
/// States [m3, reference]: fluid and air that were drawn back, so that what left is told apart
/// from what returned. Under a vacuum air comes past the threads of the open screw, behind its
/// seat: it shows in the jar and never was in the brake, so it is told and not counted.
class Bleeder {
  public:
    static constexpr int kStates = 2, kJoints = 0, kPorts = 2, kGuards = 2;
    static const PartKind kind;

    Bleeder(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    double pocket(int port) const { return port == 0 ? pocket_ : 0; }
    template <class S>
    Out<S, Bleeder> rates(const In<S, Bleeder>& in, Gates gates) const {
        Out<S, Bleeder> out;
        const S drop = in.port[0].p + vacuum_;
        const S back_by = gates.ramp(kBack, opening_ > 0 ? -drop : S(-kBar));
        if (opening_ <= 0) return out;
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(in.port[0].T)};
        const S radius(0.5 * opening_);
        spill(at_screw(in.port[0], gates), out.port[0], out.port[1],
              orifice_flow(drop, radius, length_, stream), beyond_);
        const S back = orifice_flow(back_by, radius, length_, stream);
        out.dx[0] = back * beyond_.liquid;
        out.dx[1] = back * beyond_.gas;
        return out;
    }
    /// The pump that draws.
    Exchange exchange(const In<double, Bleeder>& in, const Out<double, Bleeder>&,
                      const In<double, Bleeder>&, Gates) const {
        Exchange e;
        if (opening_ <= 0) return e;
        const Stream<double> stream{fluid_.density(), fluid_.viscosity(in.port[0].T)};
        e.supplied = e.lost =
            vacuum_ * orifice_flow(in.port[0].p + vacuum_, 0.5 * opening_, length_, stream);
        return e;
    }
    void quantities(const In<double, Bleeder>& in, const Out<double, Bleeder>& out, Gates,
                    double* q) const {
        q[0] = out.port[1].liquid;
        q[1] = in.x[0];
        q[2] = in.x[1];
        q[3] = false_air_;
    }

  private:
    enum { kBack, kAir };
    /// What stands at the screw of what the volume holds.
    template <class S>
    PortIn<S> at_screw(PortIn<S> port, Gates& gates) const {
        if (space_above_ <= 0) return port;
        const S room = port.liquid * fluid_.specific_volume(port.p, port.T), bubbles = 1.0 - room;
        const S reach = gates.ramp(kAir, bubbles - space_above_);
        const S more = value_of(reach) > 0 ? S(1 / (1 - space_above_)) : 1.0 / room;
        port.gas = value_of(reach) > 0 ? port.gas * more * reach / bubbles : S(0.0);
        port.liquid = port.liquid * more;
        port.dissolved = port.dissolved * more;
        return port;
    }
    static constexpr double kBar = 1e5; // Pa; nothing comes back through a screw that is shut
    BrakeFluid fluid_;
    double opening_, length_, vacuum_, space_above_, pocket_;
    World beyond_;
    double false_air_; // m3/s, reference
};

} // namespace pedalbench
