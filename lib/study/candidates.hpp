// Every fault that a car may have, one at a time.
#pragma once

#include <string>
#include <vector>

#include "system/faults.hpp"
#include "system/system.hpp"

namespace pedalbench::study {

/// A kind of fault at one place; without a kind the car as it is.
struct Candidate {
    const FaultKind* kind = nullptr;
    std::string at;
    /// Where it would be felt the same: a hole anywhere between two valves, a bubble at one point
    /// of the pipes. `at` is one of them, or the outlet at which they begin.
    std::vector<std::string> alike;
    /// Of a bubble: it is felt otherwise at each point between two valves, since what fluid comes
    /// back takes it along. Then `alike` are the parts of all of these.
    struct Spot {
        std::string at;
        std::vector<std::string> alike;
    };
    std::vector<Spot> spots;
    double sound = kUnset; // value of its field in the car as it is

    bool sized() const { return kind && kind->sizes.scale != Sizes::Scale::none; }
    /// Size at u from 0 (mild) to 1 (worst), within what the field allows; unset without a size.
    double size(double u) const;
};

/// The car as it is first, then every kind at every place that it can befall, in the order of the
/// table of faults; without those that are ruled out (of places felt alike, those that are), that
/// somebody would know of, and that change nothing here (a valve missing that was never fitted).
std::vector<Candidate> candidates_of(const Scenario& scenario);

/// The candidate at each of its spots, or as it is where it has none.
std::vector<Candidate> at_its_spots(const Candidate& candidate);

/// The scenario with that fault in it from the start. Throws InvalidHardware where there is no such
/// place.
Scenario with_fault(const Scenario& scenario, const Candidate& candidate, double u);

} // namespace pedalbench::study
