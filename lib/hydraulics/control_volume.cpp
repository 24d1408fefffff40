#include "hydraulics/control_volume.hpp"

#include <Eigen/Core>

#include <algorithm>
#include <cmath>

namespace pedalbench {

namespace {

constexpr int kLanes = 4;
using Lanes = Eigen::Array<double, kLanes, 1>;

/// The volume of a lane; lanes that are left over repeat the last one.
const VolumeContent& of_lane(std::span<const VolumeContent> contents, int i) {
    return contents[std::min<std::size_t>(i, contents.size() - 1)];
}

/// The walls of volumes side by side. More than a few that are soft round one volume are rare:
/// such a volume is asked by itself.
class WallLanes {
  public:
    explicit WallLanes(std::span<const VolumeContent> contents) {
        for (int s = 0; s < kSoft; ++s)
            soft_[s].setZero(), half_[s].setConstant(Wall{}.half);
        for (int i = 0; i < kLanes; ++i) {
            const Walls& walls = *(walls_[i] = of_lane(contents, i).walls);
            const int count = static_cast<int>(walls.soft.size());
            most_ = std::max(most_, count);
            linear_[i] = walls.linear;
            for (int s = 0; s < std::min(count, kSoft); ++s)
                soft_[s][i] = walls.soft[s].soft, half_[s][i] = walls.soft[s].half;
        }
    }
    void at(const Lanes& p, Lanes& stretch, Lanes& slope) const {
        stretch = linear_ * p;
        slope = linear_;
        for (int s = 0; s < std::min(most_, kSoft); ++s) {
            const Lanes per = 1.0 / (p + half_[s]), share = soft_[s] * per;
            stretch += share * p;
            slope += share * (half_[s] * per);
        }
        if (most_ <= kSoft) return;
        for (int i = 0; i < kLanes; ++i)
            if (walls_[i]->soft.size() > kSoft)
                stretch[i] = walls_[i]->stretch(p[i]), slope[i] = walls_[i]->slope(p[i]);
    }

  private:
    static constexpr int kSoft = 3;
    const Walls* walls_[kLanes];
    Lanes linear_, soft_[kSoft], half_[kSoft];
    int most_ = 0; // soft walls of one volume
};

/// As many volumes as there are lanes, or fewer.
void solve_lanes(const BrakeFluid& fluid, std::span<const VolumeContent> contents, double nucleus,
                 double outside, VolumeState* states) {
    const WallLanes walls(contents);
    Lanes swept, liquid, gas, T, stretch, wall_slope;
    for (int i = 0; i < kLanes; ++i) {
        const VolumeContent& c = of_lane(contents, i);
        swept[i] = c.swept, liquid[i] = c.liquid, gas[i] = c.gas, T[i] = c.T;
    }
    walls.at(Lanes::Zero(), stretch, wall_slope);
    const Lanes expand = fluid.expansion(T), modulus = fluid.modulus(T);
    const Lanes vapour = fluid.vapour_pressure(T);
    const double m = fluid.secant_slope();
    const Lanes full = liquid * expand;  // liquid at standard pressure
    const Lanes lift = outside - vapour; // q = p + lift = p_abs - p_vapour
    // A trial step may ask for less gas than none: the nucleus then shrinks smoothly and never
    // goes.
    const Lanes kept = (gas >= 0).select(1.0, nucleus / (nucleus - gas));
    const Lanes present = gas.max(0.0) + nucleus * kept, present_G = kept * kept;
    const Lanes pv = T * (kStandardPressure / kReferenceTemperature); // of one reference m3 of gas
    const Lanes gas_pv = present * pv;

    // Start: a + b p = gas_pv / q with tangents at p = 0; b q^2 + (a - b lift) q = gas_pv.
    const Lanes a = swept - full, b = wall_slope + full / modulus;
    const Lanes half = 0.5 * (a - b * lift), root = (half * half + b * gas_pv).sqrt();
    const Lanes sum = half.abs() + root, small = gas_pv / sum, large = sum / b;
    Lanes q, on;
    for (int i = 0; i < kLanes; ++i)
        q[i] = half[i] > 0 ? small[i] : large[i];

    on.setOnes();
    for (int round = 0; round < 60; ++round) {
        const Lanes p = q - lift;
        walls.at(p, stretch, wall_slope);
        const Lanes per_stiff = 1.0 / (modulus + m * p), per_q = 1.0 / q,
                    gas_volume = gas_pv * per_q;
        const Lanes surplus = a + stretch + full * (p * per_stiff) - gas_volume;
        const Lanes now =
            wall_slope + full * modulus * (per_stiff * per_stiff) + gas_volume * per_q;
        const Lanes step = surplus / now;
        // No term of the surplus bends more than the gas, so that a step is followed by one of at
        // most step^2 / q: that one need not be taken where it would be round-off. Ends on NaN,
        // too.
        bool any = false;
        for (int i = 0; i < kLanes; ++i) {
            if (on[i] == 0) continue;
            q[i] -= step[i];
            if (step[i] * step[i] > 1e-16 * q[i] * (std::abs(p[i]) + lift[i]))
                any = true;
            else
                on[i] = 0;
        }
        if (!any) break;
    }

    const Lanes p = q - lift;
    walls.at(p, stretch, wall_slope);
    const Lanes volume = swept + stretch, per_volume = 1.0 / volume;
    const Lanes per_stiff = 1.0 / (modulus + m * p), specific = expand * (1.0 - p * per_stiff);
    const Lanes specific_T = fluid.expansion_T() * (1.0 - p * per_stiff) +
                             expand * p * (per_stiff * per_stiff) * BrakeFluid::modulus_T(modulus);
    const Lanes vapour_T = BrakeFluid::vapour_pressure_T(vapour, T);
    const Lanes per_q = 1.0 / q, gas_volume = gas_pv * per_q;
    const Lanes others = wall_slope + full * modulus * (per_stiff * per_stiff); // than the gas
    const Lanes per_slope = 1.0 / (others + gas_volume * per_q);
    const Lanes p_G = present_G * pv * per_q * per_slope;
    // Of the gas's share itself: where vapour rules, p_T - vapour_T would have no digits left.
    const Lanes gas_p_T = (liquid * specific_T + gas_volume / T - vapour_T * others) * per_slope;
    for (std::size_t i = 0; i < contents.size(); ++i) {
        VolumeState& s = states[i];
        const auto k = static_cast<Eigen::Index>(i);
        s.p = p[k];
        s.gas_p = q[k];
        s.volume_p = wall_slope[k];
        s.volume = volume[k];
        s.liquid = liquid[k] * per_volume[k];
        s.gas = gas[k] * per_volume[k];
        s.p_V = -per_slope[k];
        s.p_L = specific[k] * per_slope[k];
        s.p_G = p_G[k];
        s.p_T = gas_p_T[k] + vapour_T[k];
        s.gas_p_T = gas_p_T[k];
    }
}

} // namespace

void solve_volumes(const BrakeFluid& fluid, std::span<const VolumeContent> contents, double nucleus,
                   double outside, VolumeState* states) {
    for (std::size_t first = 0; first < contents.size(); first += kLanes) {
        const std::size_t count = std::min<std::size_t>(kLanes, contents.size() - first);
        solve_lanes(fluid, contents.subspan(first, count), nucleus, outside, states + first);
    }
}

} // namespace pedalbench
