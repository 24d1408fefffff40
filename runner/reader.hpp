// FILE -> Scenario. Everything that can be wrong with the input is found here, before anything
// runs.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "findings.hpp"
#include "system/system.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// The format that this program reads; the first key of every file.
inline constexpr int kFormat = 1;

/// A step of a lesson: something to say at a moment, about a part; perhaps a question.
struct LessonStep {
    std::string event; // words of the event at whose first time it is said; empty: at `time`
    double time = kUnset;
    std::string part, say, ask, answer;
};

struct Loaded {
    Scenario scenario;
    std::vector<LessonStep> lesson; // for the page
    bool hardware_only = false;     // a file without a foot: it can be checked, not run
    OutputUnits units = OutputUnits::metric();
};

/// Reads a scenario or a hardware file, with `sets` ("front_left.piston=48 mm"; then `with`, the
/// same by another option) on top of it and less the faults named in `without` ("all": every one).
/// Nothing comes back when anything was refused.
std::optional<Loaded> read_scenario(const std::string& file, const std::vector<std::string>& sets,
                                    Findings& findings,
                                    const std::vector<std::string>& without = {},
                                    const std::vector<std::string>& with = {});

/// What a list of scenarios shows, read without checking the rest.
struct Glance {
    std::string title, text;
    bool hardware_only = false;
    std::string command = "run"; // what it is for: run, match, sweep or fit
};
std::optional<Glance> glance(const std::string& file, Findings& findings);

} // namespace pedalbench::runner
