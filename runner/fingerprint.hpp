// What a scenario computes, in sixteen letters: two that would give other numbers have other ones.
#pragma once

#include <string>
#include <vector>

#include "study/measurements.hpp"
#include "system/system.hpp"

namespace pedalbench::runner {

/// Of the car, what is done with it, how well it is computed, what is looked at, and this program.
/// Titles, texts and bounds are no part of it.
std::string fingerprint(const Scenario& scenario, const std::vector<study::Measurement>& columns);

} // namespace pedalbench::runner
