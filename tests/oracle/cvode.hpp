// A whole run by SUNDIALS CVODE instead of our own stepper: the same rates, another integrator.
#pragma once

#include <string>
#include <vector>

#include "record/record.hpp"

namespace pedalbench::oracle {

struct CvodeOptions {
    /// true: modes located by CVODE's root finder; false: every valve follows its sign, only
    /// latches are located.
    bool located = true;
    /// Local error allowed per step, as a share of what simulate() allows at the scenario's
    /// accuracy.
    double tolerance_scale = 1;
    double sample = 1e-3; // s between rows
};

struct Turn {
    double time;
    std::string guard; // "hold_off plate"
    bool on;
};

struct CvodeRun {
    Trace trace; // the channels that the scenario records
    std::vector<Turn> turns;
    long steps = 0, rate_calls = 0, jacobians = 0;
};

/// Plays a scenario from its settling to its end. Throws std::runtime_error where CVODE gives up,
/// with its own words.
CvodeRun cvode_run(const Scenario& scenario, const CvodeOptions& options = {});

} // namespace pedalbench::oracle
