// Our own curves for the plots of docs/verification.md, through the library's public calls: prints
// name, x, y as CSV.
#include <cmath>
#include <cstdio>

#include "hydraulics/control_volume.hpp"

using namespace pedalbench;

namespace {

/// V dp/dV of 0.5 % air (at 1 atm) in 1 ml at an absolute pressure [Pa], K0 1.8 GPa at 20 C.
double effective_modulus(double absolute) {
    BrakeFluid::Data data;
    data.bulk_modulus = 1.8e9 * std::exp(0.005 * (kReferenceTemperature - 298.15));
    const BrakeFluid fluid(data);
    const double liquid = 0.995e-6, air = 0.005e-6, T = kReferenceTemperature;
    // The room in which it stands at that pressure, by bisection on the public law.
    double low = 0.5e-6, high = 10e-6;
    const auto p = [&](double room) {
        return solve_volume(fluid, {}, room, liquid, air, T, 1e-18, kStandardPressure).p;
    };
    for (int i = 0; i < 100; ++i) {
        const double room = 0.5 * (low + high);
        (p(room) + kStandardPressure > absolute ? low : high) = room;
    }
    const double h = 1e-7 * low;
    return -low * (p(low + h) - p(low - h)) / (2 * h);
}

} // namespace

int main() {
    for (int i = 0; i <= 200; ++i) {
        const double absolute = 0.1e6 * std::pow(150.0, i / 200.0);
        std::printf("stiffness,%.6g,%.6g\n", absolute * 1e-6, effective_modulus(absolute) * 1e-9);
    }
    const BrakeFluid fluid;
    for (int celsius = -40; celsius <= 100; ++celsius)
        std::printf("viscosity,%d,%.6g\n", celsius, fluid.viscosity(celsius + 273.15) * 1e6);
}
