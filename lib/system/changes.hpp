// Timed changes of fields, applied to hardware.
#pragma once

#include <string>
#include <vector>

#include "system/system.hpp"

namespace pedalbench {

/// What stands behind "fluid", "surroundings" or the name of a part; null if nothing does.
Values* find_values(Hardware& hardware, const std::string& part);
const Values* find_values(const Hardware& hardware, const std::string& part);

/// The part of that name; null if there is none.
const PartSpec* find_part(const Hardware& hardware, const std::string& name);

/// Spreads every change with `over` > 0 into equal steps, from the value that stood before; sorted
/// by time.
std::vector<Change> in_steps(const Scenario& scenario);

/// Derives what was not given, on every part. Returns what cannot work, as "part.field".
std::vector<Refusal> complete(Hardware& hardware);

/// Changes one field of complete hardware and derives again what follows from it. Throws
/// std::invalid_argument for a name that does not exist and for a value that cannot work.
void apply(Hardware& hardware, const Change& change);

} // namespace pedalbench
