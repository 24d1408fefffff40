// Pictures of an old and a new valve.
#pragma once

#include <filesystem>
#include <string>

#include "valve_answers.hpp"

namespace pedalbench::runner {

/// Numbers of the traces in the folder of the results: slow foot, ice, dry road, old before new.
inline constexpr int kSlowTrace = 1, kRoadTrace = 3;

/// trace_1.csv, events_1.csv and so on. Throws CannotWrite.
void write_valve_traces(const std::filesystem::path& dir, const CheckedValve& checked);
/// Outlet against inlet pressure of each valve, force against travel of the pedal, and the lock
/// order, from those traces. False when no picture could be made; `why_not` says so in words.
bool write_valve_plots(const std::filesystem::path& dir, const CheckedValve& checked,
                       std::string& why_not);

} // namespace pedalbench::runner
