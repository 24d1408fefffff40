// A pressure bleeder: a tank that puts its pressure on the reservoirs.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// No state, no flow of its own: the open reservoirs feel the tank's pressure instead of the air's.
/// The tank's fluid counts as the reservoirs'.
class PressureBleeder {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 2, kGuards = 0;
    static const PartKind kind;

    PressureBleeder(const Values& v, const Surroundings&) : pressure_(v["pressure"]) {}

    std::array<double, kPorts> volume() const { return {}; }
    double tank_pressure(int) const { return pressure_; }
    template <class S>
    Out<S, PressureBleeder> rates(const In<S, PressureBleeder>&, Gates) const {
        return {};
    }
    void quantities(const In<double, PressureBleeder>&, const Out<double, PressureBleeder>&, Gates,
                    double* q) const {
        q[0] = pressure_;
    }

  private:
    double pressure_;
};

} // namespace pedalbench
