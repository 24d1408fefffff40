// Where the texts beside the points of a panel stand, so that they lie neither on each other nor on
// the curves, as far as there is room.
#pragma once

#include <utility>
#include <vector>

#include "picture.hpp"

namespace pedalbench::runner {

/// A curve of a panel, in the units of its axes.
using Trail = std::pair<const std::vector<double>*, const std::vector<double>*>;

/// Half of what the text of a point takes, in pixels.
inline constexpr int kLabelHalfHeight = 10;
int label_half_width(const std::string& text);

/// Puts the text of each point that has one, with all arrows and points in place.
void place_labels(Panel& panel, const std::vector<Trail>& trails);

} // namespace pedalbench::runner
