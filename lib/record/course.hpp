// What a run goes through, whoever integrates it: the rest before it, what is changed, and where it
// has to stop.
#pragma once

#include <vector>

#include "circuit/model.hpp"
#include "solve/stepper.hpp"
#include "system/foot.hpp"

namespace pedalbench {

struct Course {
    Hardware hardware;           // complete, as it stands at t = 0
    std::vector<Change> changes; // all, in steps, by time
    std::size_t first = 0;       // the first of them that comes after the start
    Foot foot;
    std::vector<double> stops; // s, ascending, above 0: corners of the foot, changes, the end

    /// The rest before the start: from when, the foot's input (a stop, where the run starts after
    /// one), and where to stop on the way to 0.
    double rest_from = 0; // s
    Foot rest;
    std::vector<double> rest_stops;
};

/// Throws std::invalid_argument for a change that cannot be made.
Course course_of(const Scenario& scenario);

/// The local error that a step may have, so that the whole run keeps the scenario's accuracy [Pa];
/// `scale` 0.01: a hundred times tighter.
ErrorScale error_scale(double accuracy, double scale);

/// How every run steps.
solve::Options step_options();

} // namespace pedalbench
