#include "fluid/brake_fluid.hpp"

namespace pedalbench {

BrakeFluid::BrakeFluid(const Data& data) : data_(data) {
    // ln(log10(nu + 0.7)) = a - b ln T is the D341 line in natural logarithms.
    const double cold = std::log(std::log10(data.viscosity_cold * 1e6 + 0.7));
    const double hot = std::log(std::log10(data.viscosity_hot * 1e6 + 0.7));
    const double log_cold = std::log(233.15), log_hot = std::log(373.15);
    d341_b_ = (cold - hot) / (log_hot - log_cold);
    d341_a_ = cold + d341_b_ * log_cold;
}

} // namespace pedalbench
