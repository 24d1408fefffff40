// The brake pedal: arm, flex, free play, return spring and stop.
#pragma once

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// State: position x of the arm at the push rod, 0 on the stop [m]. Rod: primary piston.
///
///   b x' = R (F_foot - F_r - k_r R x) + stop - floor - contact with the rod after the free play
///   travel at the pad = R x + flex F_foot
///
/// Driven by force F_foot is the input; driven by travel s it is max(0, s - R x) / flex: a foot
/// pushes only. The return spring pulls the pedal, not the piston.
class Pedal {
  public:
    static constexpr int kStates = 1, kRods = 1, kPorts = 0, kGuards = 4;
    static const PartKind kind;

    Pedal(const Values& v, const Surroundings&);

    std::array<double, kPorts> volume() const { return {}; }
    double rod_damping(int) const { return 0; }
    void start(double* x) const { x[0] = stop_; }

    template <class S>
    Out<S, Pedal> rates(const In<S, Pedal>& in, Gates gates) const {
        const S& x = in.x[0];
        const S contact = kContactStiffness * gates.ramp(kTouch, x - in.rod[0] - play_);
        const S foot = foot_force(in, gates);
        const S net =
            ratio_ * (foot - return_force_ - return_rate_ * ratio_ * x) - contact +
            kContactStiffness * (gates.ramp(kStop, stop_ - x) - gates.ramp(kFloor, x - floor_));
        Out<S, Pedal> out;
        out.dx[0] = net * (1 / damping_);
        out.force[0] = contact;
        return out;
    }
    void quantities(const In<double, Pedal>& in, const Out<double, Pedal>& out, Gates gates,
                    double* q) const {
        const double foot = foot_force(in, gates);
        q[0] = foot;
        q[1] = ratio_ * in.x[0] + flex_ * foot;
        q[2] = out.force[0];
    }

  private:
    enum { kTouch, kStop, kFloor, kFoot };
    template <class S>
    S foot_force(const In<S, Pedal>& in, Gates& gates) const {
        if (!by_travel_) return in.drive;
        return gates.ramp(kFoot, in.drive - ratio_ * in.x[0]) * (1 / flex_);
    }
    double ratio_, play_, flex_, return_force_, return_rate_, stop_, floor_, damping_;
    bool by_travel_;
};

} // namespace pedalbench
