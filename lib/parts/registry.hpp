// The list of all kinds of parts.
#pragma once

#include <span>
#include <string_view>

#include "parts/part.hpp"

namespace pedalbench {

/// All kinds, in the order in which a reader meets them from the pedal outward.
std::span<const PartKind* const> part_kinds();
/// The kind of that name, or null.
const PartKind* find_kind(std::string_view name);

/// Field tables of what is not a part but is set the same way.
std::span<const Field> fluid_fields();
std::span<const Field> surroundings_fields();
Surroundings make_surroundings(const Values& fluid, const Values& surroundings);

} // namespace pedalbench
