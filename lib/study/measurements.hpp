// What a workshop can read on a car while a foot does what a scenario says, and how well.
#pragma once

#include <vector>

#include "record/record.hpp"
#include "system/system.hpp"

namespace pedalbench::study {

/// A reading that somebody may take; `what` has no bounds.
struct Measurement {
    Expectation what;
    Dimension dimension = Dimension::number;
};

/// Standard error of a reading of that value [SI]: a floor and a share of the value, together in
/// quadrature. By judgement, after what gauges, rulers, rollers and a level mark in a workshop
/// give.
double reading_error(Dimension dimension, double value);

/// Where the foot is still for 0.2 s or more: from and to [s]. `pressed`: the foot is on the pad.
struct Rest {
    double from = 0, to = 0;
    bool pressed = false;
};
std::vector<Rest> rests_of(const FootInput& foot, double duration);

/// At the end of every rest: gauges at the cylinder and at each valve, hose and wheel, travel of
/// the pedal, torque of each wheel, rod of the hold-off valve, levels of the reservoirs against the
/// start, and the lamps; the pedal as it comes to rest, too, and how far it has sunk from there.
std::vector<Measurement> measurements_of(const Scenario& scenario);

} // namespace pedalbench::study
