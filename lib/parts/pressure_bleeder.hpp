// A pressure bleeder: a tank that puts its pressure on the reservoirs.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// No state: the open reservoirs feel the tank's pressure instead of the air's. What is poured in
/// comes from `outside`, where it counts as below zero.
class PressureBleeder {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 3, kGuards = 0;
    static const PartKind kind;

    PressureBleeder(const Values& v, const Surroundings& around)
        : pressure_(v["pressure"]), pour_(v["pour"]),
          pour_dissolved_(pour_ * around.jar().dissolved / around.jar().liquid) {}

    std::array<double, kPorts> volume() const { return {}; }
    double tank_pressure(int port) const { return port < 2 ? pressure_ : 0; }
    template <class S>
    Out<S, PressureBleeder> rates(const In<S, PressureBleeder>&, Gates) const {
        Out<S, PressureBleeder> out;
        out.port[0].liquid = out.port[1].liquid = S(0.5 * pour_);
        out.port[2].liquid = S(-pour_);
        out.port[0].dissolved = out.port[1].dissolved = S(0.5 * pour_dissolved_);
        out.port[2].dissolved = S(-pour_dissolved_);
        return out;
    }
    void quantities(const In<double, PressureBleeder>&, const Out<double, PressureBleeder>&, Gates,
                    double* q) const {
        q[0] = pressure_;
    }

  private:
    double pressure_, pour_, pour_dissolved_;
};

} // namespace pedalbench
