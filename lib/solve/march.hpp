// One smooth stretch of a run, between two stops.
#pragma once

#include "solve/stepper.hpp"

namespace pedalbench::solve {

/// Called at the start, at the end and after every accepted step in between; the stepper's dense
/// output holds for the step that ended at t.
using Observer = std::function<void(const std::vector<double>& y, double t)>;

/// Takes y from t0 to exactly t1 > t0 [s] with Odeint's integrate_adaptive. The problem may have
/// changed at t0 (corner of an input, fault): rates and Jacobian are taken anew, the step-size
/// estimate is kept. An empty stretch (t1 == t0) only calls the observer. Throws Failure, and
/// std::invalid_argument for t1 < t0.
void march(Problem& problem, std::vector<double>& y, double t0, double t1, Stepper& stepper,
           const Observer& observer = {});

} // namespace pedalbench::solve
