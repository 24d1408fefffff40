// What is said beside the figures of a run: on what ground they stand, and what to beware of.
#pragma once

#include <string>
#include <vector>

#include "record/record.hpp"

namespace pedalbench {

/// The part that a path such as "front_left.torque" belongs to; null for fluid and surroundings.
const PartKind* kind_of(const Hardware& hardware, const std::string& path);

/// Defaults that stand in complete hardware, in the order of Summary::assumed.
std::vector<Assumed> assumed_of(const Hardware& hardware);
/// Fields that follow from others.
std::vector<Reading> derived_of(const Hardware& hardware);
/// Cautions that hold whatever comes out of the run.
std::vector<std::string> cautions_of(const Scenario& scenario, const Hardware& hardware);
/// What a part lost or drew in [m3].
struct Amount {
    std::string part;
    double volume;
};
/// Fluid that left for good by other ways than a bleed screw.
std::vector<Amount> fluid_lost(const Summary& summary, const Hardware& hardware);
/// Air that came in from outside, at its most.
std::vector<Amount> air_drawn(const Summary& summary, const Hardware& hardware);
/// Fills in wheels and lamp from figures and events, and the caution that follows from them.
void judge_the_end(Summary& summary, const Hardware& hardware);

} // namespace pedalbench
