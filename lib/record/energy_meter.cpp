#include "record/energy_meter.hpp"

#include <algorithm>
#include <cmath>

namespace pedalbench {

Energy EnergyMeter::at(double t, const double* y, const std::vector<char>& modes) {
    return plant_.model().energy(y, plant_.drive(t), modes.data(), plant_.located(), plant_.work());
}

void EnergyMeter::start(double t, const double* y) {
    const Energy e = at(t, y, plant_.modes());
    sum_ = {};
    sum_.known = true;
    sum_.stored = -e.stored;
    sum_.heat = -e.heat;
    done_ = t;
}

void EnergyMeter::step(const solve::Stepper& stepper, double t, const std::vector<char>& modes) {
    // Gauss-Legendre with three points: exact where powers are of the fifth degree in time.
    constexpr double kPlace = 0.7745966692414834, kSide = 5.0 / 9, kMiddle = 8.0 / 9;
    if (!(t > done_)) return; // the start of a stretch
    const double from = stepper.last_time(), half = 0.5 * (t - from);
    done_ = t;
    y_.resize(static_cast<std::size_t>(plant_.model().states()));
    for (const auto& [place, weight] :
         {std::pair(-kPlace, kSide), std::pair(0.0, kMiddle), std::pair(kPlace, kSide)}) {
        const double when = from + half * (1 + place), share = half * weight;
        stepper.interpolate(when, y_.data());
        const Energy e = at(when, y_.data(), modes);
        sum_.supplied += share * e.supplied;
        sum_.put_in += share * std::max(e.supplied, 0.0);
        sum_.lost += share * e.lost;
        sum_.unpaid += share * e.unpaid;
        sum_.rubbed += share * e.rubbed;
        sum_.cooled += share * e.cooled;
    }
}

void EnergyMeter::before(double t, const double* y, const std::vector<char>& modes) {
    const Energy e = at(t, y, modes);
    before_ = e.stored;
    heat_ = e.heat;
}

void EnergyMeter::after(double t, const double* y) {
    const Energy e = at(t, y, plant_.modes());
    sum_.changed += e.stored - before_;
    sum_.heat -= e.heat - heat_;
}

EnergyResult EnergyMeter::finish(double t, const double* y) {
    const Energy e = at(t, y, plant_.modes());
    EnergyResult result = sum_;
    result.stored += e.stored;
    result.heat += e.heat;
    return result;
}

} // namespace pedalbench
