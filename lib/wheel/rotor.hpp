// The disc or drum of one wheel: what stores the heat of friction and gives it to the air.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// No states of its own: its temperature T is the heat joint that it shares with the brake, its
/// angle the joint that thickness variation follows. Joint: speed w of the wheel [rad/s].
///
///   m c T' = friction heat (from the brake) - (still + moving |w|) (T - air) - radiation
///   radiation = e s A (T^4 - air^4), s = 5.670e-8 W/(m2 K4) (Stefan-Boltzmann)
class Rotor {
  public:
    static constexpr int kStates = 0, kJoints = 3, kPorts = 0, kGuards = 0;
    static const PartKind kind;

    Rotor(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    double capacity(int joint) const { return joint == 1 ? 1 : joint == 2 ? heat_ : 0; }

    template <class S>
    Out<S, Rotor> rates(const In<S, Rotor>& in, Gates) const {
        const S &w = in.joint[0], &T = in.joint[2];
        const S spin = square_root(w * w + 1.0); // rad/s, smooth where the wheel turns back
        const double air2 = air_ * air_;
        Out<S, Rotor> out;
        out.joint[1] = w;
        out.joint[2] =
            -(still_ + moving_ * spin) * (T - air_) - radiation_ * (T * T * T * T - air2 * air2);
        return out;
    }
    Exchange exchange(const In<double, Rotor>&, const Out<double, Rotor>& out,
                      const In<double, Rotor>&, Gates) const {
        Exchange e;
        e.cooled = -out.joint[2];
        return e;
    }
    void quantities(const In<double, Rotor>& in, const Out<double, Rotor>& out, Gates,
                    double* q) const {
        q[0] = in.joint[2];
        q[1] = -out.joint[2];
    }

  private:
    double heat_, still_, moving_, radiation_, air_;
};

} // namespace pedalbench
