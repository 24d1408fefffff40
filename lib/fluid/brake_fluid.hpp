// Brake fluid: density, compression, expansion, viscosity and vapour pressure.
#pragma once

#include <cmath>

#include "fluid/dual.hpp"

namespace pedalbench {

inline constexpr double kStandardPressure = 101325.0; // Pa absolute; zero of all gauge pressures
inline constexpr double kReferenceTemperature =
    293.15;                                 // K; liquid and gas contents are counted here
inline constexpr double kGravity = 9.80665; // m/s2
inline constexpr double kHeatContent =
    2.5e6; // J/K per reference m3 of liquid: 2.4 kJ/(kg K), glycol ethers, judgement

/// Laws of one fluid. Contents are volumes at the reference state (standard pressure, 20 C), so
/// that content is mass in a more readable unit.
class BrakeFluid {
  public:
    struct Data {
        double density = 1060;           // kg/m3 at the reference state
        double bulk_modulus = 1.8e9;     // Pa, K0 at 25 C
        double modulus_slope = 10;       // K' = dK/dp
        double expansion = 8.5e-4;       // 1/K
        double viscosity_cold = 1200e-6; // m2/s at -40 C
        double viscosity_hot = 2.5e-6;   // m2/s at 100 C
        double boiling_point = 503.15;   // K at standard pressure, dry
        double water = 0;                // share by mass
        double free_air = 0.002;         // share of volume at the reference state
        double solubility = 0.05;        // air in solution at standard pressure, share of volume
        double take_up_time = 600;       // s in which bubbles go into fresh liquid
        double release_time = 30;        // s in which too much of it comes out
    };

    BrakeFluid() : BrakeFluid(Data{}) {}
    explicit BrakeFluid(const Data& data);

    const Data& data() const { return data_; }
    double density() const { return data_.density; }

    /// Bulk modulus at standard pressure, K0(T) = K0 exp(-0.005 (T - 25 C)) [Pa].
    template <class S>
    S modulus(const S& T) const {
        return data_.bulk_modulus * exponential((T - 298.15) * kModulusFalls);
    }
    /// Its slope by temperature, from its value [Pa/K].
    template <class S>
    static S modulus_T(const S& modulus) {
        return kModulusFalls * modulus;
    }
    /// Slope m of the secant form below: dK/dp = K' at p = 0.
    double secant_slope() const { return 0.5 * (data_.modulus_slope + 1); }
    /// Volume of one reference m3 of liquid at standard pressure and T: 1 + alpha (T - T0).
    template <class S>
    S expansion(const S& T) const {
        return 1.0 + data_.expansion * (T - kReferenceTemperature);
    }
    /// Its slope by temperature [1/K].
    double expansion_T() const { return data_.expansion; }
    /// Volume of one reference m3 of liquid at gauge p: e(T) (1 - p / (K0(T) + m p)), m = (K'+1)/2.
    /// Rational in p, so that the pressure of a volume costs no power; the tangent modulus at p = 0
    /// is K0 with slope K' as in the power law, from which it differs by 1e-6 at 10 MPa.
    template <class S>
    S specific_volume(const S& p, const S& T) const {
        return expansion(T) * (1.0 - p / (modulus(T) + secant_slope() * p));
    }

    /// Kinematic viscosity [m2/s]: log10 log10(nu + 0.7) = A - B log10 T, nu in mm2/s, T in K
    /// (form of ASTM D341) through the two points of the data.
    template <class S>
    S viscosity(const S& T) const {
        const S inner = exponential(d341_a_ - d341_b_ * logarithm(T)); // log10(nu + 0.7)
        return 1e-6 * (exponential(std::log(10.0) * inner) - 0.7);
    }
    /// Boiling point at standard pressure with the water that is in the fluid [K]: the bubble point
    /// of the mixture, where the partial pressures of the dry fluid and of the water reach 1 atm,
    ///
    ///   (1 - x) p_dry(T) + g x p_water(T) = 1 atm,  x the share of water by molecules,
    ///
    /// both p on Clausius-Clapeyron lines, water through 100 C with 4890 K (40.7 kJ/mol). g < 1,
    /// since glycol ethers hold on to water; it is such that 3.7 % of water bring 230 C down to
    /// 155 C, the DOT 4 minima of 49 CFR 571.116. 180 g/mol for the fluid is judgement (triglycol
    /// ethers: 164 to 220).
    double boiling_point() const { return boiling_point_; }
    /// Vapour pressure [Pa absolute], Clausius-Clapeyron line through the boiling point. The slope
    /// 5500 K (about 46 kJ/mol) is judgement for glycol ethers.
    template <class S>
    S vapour_pressure(const S& T) const {
        return kStandardPressure *
               exponential(kVapourSlope * (1 / boiling_point_) - kVapourSlope / T);
    }

    /// Its slope by temperature, from its value [Pa/K].
    template <class S>
    static S vapour_pressure_T(const S& vapour, const S& T) {
        return vapour * (kVapourSlope / (T * T));
    }

  private:
    static constexpr double kModulusFalls = -0.005; // 1/K
    static constexpr double kVapourSlope = 5500;    // K
    Data data_;
    double boiling_point_ = 0;
    double d341_a_ = 0, d341_b_ = 0; // natural-log form of A and B
};

} // namespace pedalbench
