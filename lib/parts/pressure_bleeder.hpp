// A pressure bleeder: a tank that puts its pressure on the reservoirs and feeds them.
#pragma once

#include "parts/part.hpp"

namespace pedalbench {

/// The open reservoirs feel the tank's pressure instead of the air's. With `content` zero it is as
/// large as need be: its pressure stays and the reservoirs fall as they empty. With a content the
/// tank keeps them at `fill` while it lasts, and its cushion of air grows by what has left it:
///
///   tank      c' = -feed, feed = (fill - level)+ x what is left, per reservoir
///   (charge + P) cushion = (own + P) (cushion + content - c), P outside, isothermal (Boyle)
///   on the reservoirs: own x pressure/charge; a pressure below charge: a valve half open
///
/// State: fluid c in the tank [m3]. What it gives, and what is poured, comes from `outside`, where
/// it counts as below zero. Empty, it blows its air into the reservoirs.
class PressureBleeder {
  public:
    static constexpr int kStates = 1, kJoints = 0, kPorts = 3, kGuards = 4;
    static const PartKind kind;

    PressureBleeder(const Values& v, const Surroundings& around);

    void start(double* x) const { x[0] = content_; }
    std::array<double, kPorts> volume() const { return {}; }
    template <class S>
    S tank_pressure(int port, const std::array<S, kStates>& x) const {
        if (port > 1) return S(0.0);
        if (content_ <= 0) return S(pressure_);
        const S used = content_ - x[0];
        return (charge_ * cushion_ - outside_ * used) / (cushion_ + used) * (pressure_ / charge_);
    }
    template <class S>
    Out<S, PressureBleeder> rates(const In<S, PressureBleeder>& in, Gates gates) const {
        Out<S, PressureBleeder> out;
        give(out, 0, S(0.5 * pour_));
        give(out, 1, S(0.5 * pour_));
        if (content_ <= 0) return out;
        gates.latch(kLow, (gates.latched(kLow) ? 2 : 1) * kNearlyEmpty - value_of(in.x[0]));
        if (pressure_ <= 0) return out;
        const S content = gates.ramp(kLeft, in.x[0]), left = content / (content + kLast);
        for (int i = 0; i < 2; ++i) {
            const S lack = gates.ramp(kFeed + i, fill_ - in.port[i].p);
            const S feed = kFeedRate * lack / (1.0 + lack * (1 / kFlood)) * left;
            give(out, i, feed);
            out.dx[0] -= feed;
        }
        return out;
    }
    void quantities(const In<double, PressureBleeder>& in, const Out<double, PressureBleeder>&,
                    Gates, double* q) const {
        q[0] = tank_pressure(0, in.x);
        q[1] = in.x[0];
    }

  private:
    enum { kFeed, kLeft = 2, kLow };
    /// Fluid that has stood open to the air, with what it holds in solution.
    template <class S>
    void give(Out<S, PressureBleeder>& out, int port, const S& fluid) const {
        out.port[port].liquid += fluid;
        out.port[2].liquid -= fluid;
        out.port[port].dissolved += fluid * in_solution_;
        out.port[2].dissolved -= fluid * in_solution_;
    }
    static constexpr double kFeedRate = 20;      // 1/s: half a cubic centimetre low at 10 cm3/s
    static constexpr double kFlood = 5e-6;       // m3 beyond which the hose limits it, 100 cm3/s
    static constexpr double kLast = 1e-6;        // m3, what the outlet no longer catches well
    static constexpr double kNearlyEmpty = 5e-5; // m3
    double pressure_, pour_, content_, cushion_, charge_, fill_, outside_;
    double in_solution_; // air per fluid
};

} // namespace pedalbench
