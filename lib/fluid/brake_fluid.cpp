#include "fluid/brake_fluid.hpp"

namespace pedalbench {

namespace {

constexpr double kWaterBoils = 373.15, kWaterSlope = 4890; // K

/// Share of water by molecules in a fluid of 180 g/mol.
double by_molecules(double water) {
    return water / 18 / (water / 18 + (1 - water) / 180);
}
double line(double slope, double boils, double T) { // over 1 atm
    return std::exp(slope * (1 / boils - 1 / T));
}

/// T between the boiling points of water and of the dry fluid at which the mixture boils.
double bubble_point(double water, double dry, double slope) {
    if (water <= 0 || dry <= kWaterBoils) return dry;
    constexpr double wet = 428.15, published_dry = 503.15, share = 0.037; // 49 CFR 571.116, DOT 4
    const double x = by_molecules(water), published = by_molecules(share);
    const double held = (1 - (1 - published) * line(slope, published_dry, wet)) /
                        (published * line(kWaterSlope, kWaterBoils, wet));
    double low = kWaterBoils, high = dry;
    for (int i = 0; i < 60; ++i) {
        const double T = 0.5 * (low + high);
        const double p =
            (1 - x) * line(slope, dry, T) + held * x * line(kWaterSlope, kWaterBoils, T);
        (p < 1 ? low : high) = T;
    }
    return high;
}

} // namespace

BrakeFluid::BrakeFluid(const Data& data)
    : data_(data), boiling_point_(bubble_point(data.water, data.boiling_point, kVapourSlope)) {
    // ln(log10(nu + 0.7)) = a - b ln T is the D341 line in natural logarithms.
    const double cold = std::log(std::log10(data.viscosity_cold * 1e6 + 0.7));
    const double hot = std::log(std::log10(data.viscosity_hot * 1e6 + 0.7));
    const double log_cold = std::log(233.15), log_hot = std::log(373.15);
    d341_b_ = (cold - hot) / (log_hot - log_cold);
    d341_a_ = cold + d341_b_ * log_cold;
}

} // namespace pedalbench
