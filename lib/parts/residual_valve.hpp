// The residual check valve: free outward, and on return it shuts at its holding pressure.
#pragma once

#include "hydraulics/carry.hpp"
#include "hydraulics/one_way.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// No state. Outward flow passes the lip of the valve; on return the whole valve lifts off its seat
/// only while the line stands above the cylinder by more than the holding pressure. Not fitted it
/// is a plain passage, so that the wrong place and the missing valve are changes of one field.
/// Stuck on its seat it never lifts; with dirt under it fluid seeps past in both directions.
class ResidualValve {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 2, kGuards = 2;
    static const PartKind kind;

    ResidualValve(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {0.1e-6, 0.1e-6}; }

    template <class S>
    Out<S, ResidualValve> rates(const In<S, ResidualValve>& in, Gates gates) const {
        const auto &a = in.port[0], &b = in.port[1];
        const Stream<S> stream{fluid_.density(), fluid_.viscosity(a.T)};
        const S drop = a.p - b.p + (a.head - b.head);
        S q(0.0);
        if (fitted_) {
            const S lift = stuck_ ? S(-holding_) : -drop - holding_;
            q = check_flow(gates.ramp(kOut, drop - crack_), drop, passage_, lip_, stream) -
                check_flow(gates.ramp(kBack, lift), -drop, passage_, spread_, stream);
            if (dirt_ > 0) q += orifice_flow(drop, S(dirt_), kSeat, stream);
        } else
            q = drop / (stream.viscosity * plain_);
        Out<S, ResidualValve> out;
        carry(a, b, out.port[0], out.port[1], q);
        return out;
    }
    void quantities(const In<double, ResidualValve>& in, const Out<double, ResidualValve>&, Gates,
                    double* q) const {
        q[0] = in.port[1].p - in.port[0].p;
    }

  private:
    enum { kOut, kBack };
    BrakeFluid fluid_;
    static constexpr double kSeat = 0.5e-3; // m, width of the seat (judgement)
    bool fitted_, stuck_;
    double dirt_, holding_, crack_, passage_, plain_, lip_, spread_;
};

} // namespace pedalbench
