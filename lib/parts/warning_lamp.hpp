// The brake warning lamp: one bulb for every contact of the car, its ignition and its proof.
#pragma once

#include <algorithm>

#include "parts/part.hpp"

namespace pedalbench {

/// Wire w, followed in the bulb's time:
///
///   tau w' = number of closed contacts - w
///
/// Each part that has a contact gives 1 while it is closed; the lamp itself gives 1 while the
/// engine is cranked, the proof of its bulb. It is lit (latch) while w is above a half, the
/// ignition is not off and the bulb is sound. A second contact makes it no brighter.
class WarningLamp {
  public:
    static constexpr int kStates = 0, kJoints = 1, kPorts = 0, kGuards = 1;
    static const PartKind kind;

    WarningLamp(const Values& v, const Surroundings& around);

    std::array<double, kPorts> volume() const { return {}; }
    double capacity(int) const { return time_; }

    template <class S>
    Out<S, WarningLamp> rates(const In<S, WarningLamp>& in, Gates gates) const {
        const double w = value_of(in.joint[0]);
        gates.latch(kLit, powered_ ? w - 0.5 : -1.0);
        Out<S, WarningLamp> out;
        out.joint[0] = (proof_ ? 1.0 : 0.0) - in.joint[0];
        return out;
    }
    void quantities(const In<double, WarningLamp>& in, const Out<double, WarningLamp>&, Gates gates,
                    double* q) const {
        q[0] = gates.latched(kLit) ? 1 : 0;
        q[1] = powered_ ? std::clamp(in.joint[0], 0.0, 1.0) : 0;
        q[2] = proof_ ? 1 : 0;
    }

  private:
    enum { kLit };
    double time_;
    bool powered_, proof_;
};

} // namespace pedalbench
