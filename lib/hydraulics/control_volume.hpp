// The pressure of a control volume from what it contains.
#pragma once

#include <cmath>
#include <span>
#include <vector>

#include "fluid/brake_fluid.hpp"

namespace pedalbench {

/// Stretch of walls with pressure: V(p) = linear p + sum soft p / (p + half), p gauge. Strictly
/// growing and flattening, which keeps the pressure equation simple. `half` is the pressure at half
/// of `soft`.
struct Wall {
    double linear = 0; // m3/Pa
    double soft = 0;   // m3
    double half = 1e6; // Pa, well above standard pressure so that V stays finite in a vacuum

    template <class S>
    S stretch(const S& p) const {
        return linear * p + soft * p / (p + half);
    }
    /// Integral of V over p [J]: what the wall would still give back is p V less that.
    double integral(double p) const {
        return 0.5 * linear * p * p + soft * (p - half * std::log1p(p / half));
    }
};

/// All walls round one control volume.
struct Walls {
    double linear = 0;
    std::vector<Wall> soft;

    void add(const Wall& w) {
        linear += w.linear;
        if (w.soft > 0) soft.push_back({0, w.soft, w.half});
    }
    double stretch(double p) const {
        double v = linear * p;
        for (const Wall& w : soft)
            v += w.stretch(p);
        return v;
    }
    double integral(double p) const {
        double e = 0.5 * linear * p * p;
        for (const Wall& w : soft)
            e += w.integral(p);
        return e;
    }
    double slope(double p) const {
        double s = linear;
        for (const Wall& w : soft)
            s += w.soft * w.half / ((p + w.half) * (p + w.half));
        return s;
    }
};

/// What a volume is filled with: liquid and gas in reference m3, T in K, between its walls and what
/// moves in and out of it [m3].
struct VolumeContent {
    const Walls* walls = nullptr;
    double swept = 0, liquid = 0, gas = 0, T = 0;
};

/// Pressure and composition of a volume and how they follow its content.
struct VolumeState {
    double p = 0;      // Pa gauge
    double volume = 0; // m3 between the walls
    double liquid = 0; // reference m3 of liquid per m3 of volume
    double gas = 0;    // reference m3 of gas per m3 of volume
    // Derivatives of p by liquid content, gas content, temperature and swept volume.
    double p_L = 0, p_G = 0, p_T = 0, p_V = 0;
    double volume_p = 0; // stretch of the walls, dV/dp
    // Pa absolute, the gas's own share of the pressure; by temperature (else it follows as p does).
    double gas_p = 0, gas_p_T = 0;
};

/// Solves  V_swept + V_wall(p) = L v(p, T) + V_gas(p, G, T)  for the p of each volume.
///
/// The gas shares the space with vapour (Dalton): V_gas = (G + g) p0 (T/T0) / (p_abs -
/// p_vapour(T)), so that the absolute pressure never reaches the vapour pressure. `nucleus` g is
/// the trace of gas that every surface holds; it keeps the law defined when a volume has none
/// [reference m3].
///
/// The left minus the right side grows with p and is concave, so Newton's method from a start left
/// of the root climbs to it without overshooting. The start is the root with liquid and walls on
/// their tangents at p = 0, a quadratic: fixed by the content, never by history. `outside` is the
/// absolute pressure from which gauge pressures count [Pa].
///
/// Volumes do not know of each other. They are solved side by side only because a processor has
/// several divisions under way in the time that it waits for one.
void solve_volumes(const BrakeFluid& fluid, std::span<const VolumeContent> contents, double nucleus,
                   double outside, VolumeState* states);

/// One volume alone.
inline VolumeState solve_volume(const BrakeFluid& fluid, const Walls& walls, double swept,
                                double liquid, double gas, double T, double nucleus,
                                double outside) {
    const VolumeContent content{&walls, swept, liquid, gas, T};
    VolumeState state;
    solve_volumes(fluid, {&content, 1}, nucleus, outside, &state);
    return state;
}

} // namespace pedalbench
