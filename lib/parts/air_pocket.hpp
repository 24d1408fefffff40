// A pocket of air where none belongs.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// No state and no law of its own: at the start there is this much air at its point besides the
/// fluid's own. From then on it is part of what that point holds: it is pressed together, carried
/// along and let out like any other air there.
class AirPocket {
  public:
    static constexpr int kStates = 0, kJoints = 0, kPorts = 1, kGuards = 0;
    static const PartKind kind;

    AirPocket(const Values& v, const Surroundings&) : pocket_(v["pocket"]) {}

    std::array<double, kPorts> volume() const { return {}; }
    double pocket(int) const { return pocket_; }
    template <class S>
    Out<S, AirPocket> rates(const In<S, AirPocket>&, Gates) const {
        return {};
    }
    void quantities(const In<double, AirPocket>&, const Out<double, AirPocket>&, Gates,
                    double*) const {}

  private:
    double pocket_;
};

} // namespace pedalbench
