// What two or more scenarios state differently: the car, its faults, what the foot does.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "system/system.hpp"

namespace pedalbench::study {

/// A field of a part that all cars have, as it stands at the start.
struct SetupField {
    std::string path; // "hold_off.open"
    const Field* field = nullptr;
    std::vector<double> value; // SI, one per scenario
};

/// A fault by its name; empty where a scenario has none of that name.
struct SetupFault {
    std::string name;
    std::vector<std::optional<Fault>> in; // one per scenario
};

/// Only what is not the same in all of them. What follows from other fields, and what a fault sets,
/// is not told again.
struct Setup {
    std::vector<SetupField> fields;
    std::vector<SetupFault> faults;
    std::vector<std::string> parts; // that not all cars have, or that are of another kind
    bool foot = false, duration = false, start = false;
    bool later = false; // what is changed during the run

    bool none() const {
        return fields.empty() && faults.empty() && parts.empty() && !foot && !duration && !start &&
               !later;
    }
};

/// The complete car as the scenario has it at the start, without its faults.
Hardware car_at_start(const Scenario& scenario);
Setup setup_of(const std::vector<const Scenario*>& scenarios);

} // namespace pedalbench::study
