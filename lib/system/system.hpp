// A whole scenario as plain data: hardware, what the foot does, what breaks, what should come out.
// Nothing here knows YAML, and nothing here computes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "parts/field.hpp"
#include "system/bleeding.hpp"
#include "system/service.hpp"

namespace pedalbench {

struct PartKind;

/// One part as the user named it. The fluid, the surroundings and the faults are written the same
/// way.
struct PartSpec {
    std::string name;
    const PartKind* kind = nullptr;
    Values values;
};

/// What stands behind a point of a circuit, from the cylinder outward: parts one after another, and
/// at the end perhaps branches that start at the same point.
struct Run {
    std::vector<std::string> parts;
    std::vector<Run> branches;
};

/// A circuit starts at an outlet of the master cylinder ("primary", "secondary").
struct Circuit {
    std::string outlet;
    Run run;
};

/// What sits on one wheel of the vehicle and turns with it or brakes it.
struct Wheel {
    std::string name; // as the vehicle calls it, "front_left"
    std::vector<std::string> parts;
};

struct Hardware {
    std::string title;
    Values fluid;        // table: fluid_fields()
    Values surroundings; // table: surroundings_fields()
    std::vector<PartSpec> parts;
    std::vector<Circuit> circuits;
    std::vector<Wheel> wheels;
};

struct FaultKind;

/// Who asked for something: the scenario, the command line on top of it, one of its faults, or its
/// bleeding procedure.
enum class Origin { scenario, command_line, fault, procedure };

/// A timed change of one field; `over` > 0 spreads it in equal steps from `at` to `at + over`.
struct Change {
    std::string part;
    std::string field;
    double value = 0; // SI
    double at = 0;    // s; at or before zero: before the start
    double over = 0;  // s
    Origin origin = Origin::scenario;
};

/// A fault as a scenario states it.
struct Fault {
    std::string name; // the user's name; also the name of an inserted part
    const FaultKind* kind = nullptr;
    std::string at;                   // part, or part.port
    double size = kUnset;             // SI of the size field
    double from = 0;                  // s
    double over = 0;                  // s
    Origin origin = Origin::scenario; // command_line: at least one of its numbers is from there
    bool left_out = false;            // what it inserts stands there, at size zero; no more happens
};

/// What the foot does: force at the pad or travel of the pad against time, straight lines between
/// points. A measured trace is a smooth curve through its samples instead (no stop at each sample).
struct FootInput {
    enum class Kind { force, travel };
    Kind kind = Kind::force;
    bool measured = false;
    std::vector<double> time;  // s, ascending
    std::vector<double> value; // N or m
};

/// A statement about the result that the scenario itself checks.
struct Expectation {
    /// What part of the trace is meant.
    enum class Moment { peak, lowest, held, residual, at_time, event_time, event_count };
    std::string text;    // in the author's words
    std::string channel; // "part.quantity", or for events the words to look for in "part: text"
    Moment moment = Moment::peak;
    double time = 0;                 // for at_time
    std::optional<double> since;     // the change since then [s], instead of the value
    std::optional<double> low, high; // SI of the channel (s for event_time, count for event_count)
    std::string before;              // for event_time: words of an event that must come later
};

/// Faults that somebody has already ruled out: of a kind, of a part, or of both.
struct RuledOut {
    std::string kind, part; // empty: any
};

struct Scenario {
    std::string title;
    std::string text; // for a reader: what it shows and why
    Hardware hardware;
    std::vector<Change> changes; // of the hardware and of the faults, sorted by time
    std::vector<Fault> faults;   // for a reader: their changes are among `changes`
    FootInput foot;
    Bleeding bleeding;               // no steps: none; what it does is among `changes` and `foot`
    double duration = 0;             // s
    bool after_a_stop = false;       // start: `new` (false) or `after a stop`
    double sample = 0;               // s between rows of the trace; 0: see sample_of()
    std::vector<std::string> record; // channels; empty: the main ones
    std::vector<Expectation> expectations;
    std::vector<Expectation> readings; // what somebody read on a car whose fault is wanted
    std::vector<RuledOut> ruled_out;   // what cannot be that fault
    std::vector<Service> service;      // what was measured on the car, and its limits
    double accuracy = 1e3;             // Pa, the aim for any line pressure
};

/// Time between rows of the trace: what the scenario says, or 1 ms, and in runs of more than a
/// minute as much as makes 60 000 rows [s].
inline double sample_of(const Scenario& scenario) {
    if (scenario.sample > 0) return scenario.sample;
    return scenario.duration > 60 ? scenario.duration / 60000 : 1e-3;
}

} // namespace pedalbench
