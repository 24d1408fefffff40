// The brake pedal: arm, flex, free play, return spring and stop.
#pragma once

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"

namespace pedalbench {

/// State: position x of the arm at the push rod, 0 on the stop [m]. Rod: primary piston.
///
///   b x' = R (F_arm - F_r - k_r R x) + stop - contact with the rod after the free play
///   travel at the pad = R x + flex F_arm, F_arm = F_foot - F_floor
///
/// Driven by force F_foot is the input; driven by travel s it is max(0, s - R x) / flex: a foot
/// pushes only. What the foot gives beyond the floor the floor bears: F_floor = c (travel - floor)+
/// with the travel above, solved for F_floor. The return spring pulls the pedal, not the piston.
///
/// The arm lets go of the stop-lamp switch (latch) where R x passes the switch's travel, counted
/// from where the switch sits: a switch that holds the pedal off its stop has moved along with it.
class Pedal {
  public:
    static constexpr int kStates = 1, kJoints = 1, kPorts = 0, kGuards = 5;
    static constexpr bool kDriven = true;
    static const PartKind kind;

    Pedal(const Values& v, const Surroundings&);

    std::array<double, kPorts> volume() const { return {}; }
    double capacity(int) const { return 0; }
    void start(double* x) const { x[0] = stop_; }

    template <class S>
    Out<S, Pedal> rates(const In<S, Pedal>& in, Gates gates) const {
        const S& x = in.x[0];
        const S contact = kContactStiffness * gates.ramp(kTouch, x - in.joint[0] - play_);
        const S arm = load(in, gates).arm;
        const S net = ratio_ * (arm - return_force_ - return_rate_ * ratio_ * x) - contact +
                      kContactStiffness * gates.ramp(kStop, stop_ - x);
        Out<S, Pedal> out;
        // Back in the switch by half a millimetre before it opens, or a resting foot would flicker.
        const double to_go = gates.latched(kLamps) ? lamps_at_ - kSwitchPlay : lamps_at_;
        gates.latch(kLamps, ratio_ * value_of(x) - to_go);
        out.dx[0] = net * (1 / damping_);
        out.joint[0] = contact;
        return out;
    }
    template <class S>
    S stored(const In<S, Pedal>& in, Gates gates) const {
        const S &x = in.x[0], pad = ratio_ * x;
        const auto [arm, floor] = load(in, gates);
        return spring_energy(kContactStiffness, gates.ramp(kTouch, x - in.joint[0] - play_)) +
               spring_energy(kContactStiffness, gates.ramp(kStop, stop_ - x)) +
               return_force_ * pad + spring_energy(return_rate_, pad) +
               0.5 * (flex_ * arm * arm + floor * floor * (1 / kContactStiffness));
    }
    /// The foot's force goes with the pad, what the floor bears of it with the floor.
    Exchange exchange(const In<double, Pedal>& in, const Out<double, Pedal>& out,
                      const In<double, Pedal>& rate, Gates gates) const {
        using D = Dual<1>;
        In<D, Pedal> moving;
        moving.x[0] = D::moving(in.x[0], rate.x[0]);
        moving.joint[0] = D::moving(in.joint[0], rate.joint[0]);
        moving.drive = D::moving(in.drive, rate.drive);
        const auto [arm, floor] = load(moving, gates);
        Exchange e;
        e.supplied = arm.v * (ratio_ * rate.x[0] + flex_ * arm.d[0]) +
                     floor.v * floor.d[0] / kContactStiffness;
        e.lost = damping_ * out.dx[0] * out.dx[0];
        return e;
    }
    void quantities(const In<double, Pedal>& in, const Out<double, Pedal>& out, Gates gates,
                    double* q) const {
        const auto [arm, floor] = load(in, gates);
        q[0] = arm + floor;
        q[1] = ratio_ * in.x[0] + flex_ * arm;
        q[2] = out.joint[0];
        q[3] = gates.latched(kLamps) ? 1 : 0;
    }

  private:
    enum { kTouch, kStop, kFloor, kFoot, kLamps };
    static constexpr double kSwitchPlay = 0.5e-3; // m at the pad
    template <class S>
    struct Load {
        S arm, floor; // what each bears of the foot's force [N]
    };
    /// Bending arm and floor are in series: the floor bears what passes it as a spring c / (1 + c
    /// flex).
    template <class S>
    Load<S> load(const In<S, Pedal>& in, Gates& gates) const {
        const double stiffness = kContactStiffness / (1 + kContactStiffness * flex_);
        const S arm = ratio_ * in.x[0];
        if (!by_travel_) {
            const S floor = gates.ramp(kFloor, arm + flex_ * in.drive - floor_) * stiffness;
            return {in.drive - floor, floor};
        }
        const S beyond = gates.ramp(kFloor, in.drive - floor_);
        const S pad = in.drive - (stiffness * flex_) * beyond;
        return {gates.ramp(kFoot, pad - arm) * (1 / flex_), stiffness * beyond};
    }
    double ratio_, play_, flex_, return_force_, return_rate_, stop_, floor_, damping_, lamps_at_;
    bool by_travel_;
};

} // namespace pedalbench
