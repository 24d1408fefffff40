// Numbers and units as every JSON answer writes them: what is not a number is null, what has no
// unit has "1".
#pragma once

#include <cmath>
#include <string>

#include <nlohmann/json.hpp>

#include "units.hpp"

namespace pedalbench::runner {

inline nlohmann::ordered_json json_number(double x) {
    if (!std::isfinite(x)) return nullptr;
    return x;
}

inline nlohmann::ordered_json json_value(const OutputUnits& units, Dimension d, double si) {
    return json_number(units.number(d, si));
}

inline std::string json_unit(const Unit& unit) {
    return unit.name.empty() ? "1" : std::string(unit.name);
}

} // namespace pedalbench::runner
