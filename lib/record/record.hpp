// What a run leaves behind: a trace that is streamed, events in words, and a summary of figures.
#pragma once

#include <functional>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "record/service.hpp"
#include "system/system.hpp"

namespace pedalbench {

struct Channel {
    std::string path; // "front_left.pressure", "hold_off.inlet.pressure", "pedal.travel"
    Dimension dimension;
};

struct Reading {
    std::string name;
    Dimension dimension;
    double value;
};

struct Event {
    double time;
    std::string part;
    std::string text;              // "plate opens"
    std::vector<Reading> readings; // the numbers that belong to it
    /// How far past its limit the guard went until it came back, in dead bands; small: a hair's
    /// breadth more or less, and it would not have happened. In Summary::events only.
    double cleared = kUnset;
};

/// Receives the trace row by row (1 ms grid and both sides of each event) and the events as they
/// happen.
class Sink {
  public:
    virtual ~Sink() = default;
    virtual void begin(const std::vector<Channel>&) {}
    virtual void row(double /*time*/, std::span<const double> /*values, SI, in channel order*/) {}
    virtual void event(const Event&) {}
};

/// Sink that keeps everything, for tests and studies.
struct Trace : Sink {
    std::vector<Channel> channels;
    std::vector<double> time;
    std::vector<std::vector<double>> rows;
    std::vector<Event> events;

    void begin(const std::vector<Channel>& c) override { channels = c; }
    void row(double t, std::span<const double> v) override {
        time.push_back(t);
        rows.emplace_back(v.begin(), v.end());
    }
    void event(const Event& e) override { events.push_back(e); }
    /// Index of a channel; throws std::out_of_range with the path.
    std::size_t index(const std::string& path) const;
    /// Values of one channel over time.
    std::vector<double> of(const std::string& path) const;
    /// Value of a channel at a time, straight line between rows.
    double at(const std::string& path, double t) const;
};

struct ChannelFigures {
    Channel channel;
    double settled = kUnset; // at the start, after settling
    double peak = kUnset;    // the largest value
    double lowest = kUnset;  // the smallest value
    double held = kUnset; // end of the last stretch >= 0.2 s with the foot constant and above zero
    double last = kUnset; // at the end of what was computed, whatever the foot does
    double residual = kUnset;    // end of the run if the foot has been off for 1 s
    std::map<double, double> at; // at times that expectations ask for
    bool recorded = false;       // part of the trace; figures exist for every channel
};

struct Ledger {
    double relative_error = 0; // |fluid now - fluid at the start| / total
    double gas_relative_error = 0;
    double chambers = 0, reservoirs = 0, outside = 0; // m3 of liquid at reference state
    double gas_chambers = 0;                          // m3 of free gas at 1 atm
};

/// Where the energy of a run came from and went [J], if RunOptions::energy asked for it. At one
/// temperature stored = supplied + unpaid + changed - lost; with heat heat = rubbed - cooled
/// besides.
struct EnergyResult {
    bool known = false;
    double stored = 0;   // more at the end than at the start
    double supplied = 0; // by foot, hand, engine, pump and baths, less what they took back
    double put_in = 0;   // what they gave while they gave
    double lost = 0;     // to friction and throttling
    double unpaid = 0;   // by simplifications, which the pages of the parts name
    double changed = 0;  // by latches that jumped and fields that were changed
    double heat = 0;     // more at the end than at the start
    double rubbed = 0;   // of what was lost, what went into discs and drums
    double cooled = 0;   // to the air and with fluid that left

    double open() const { return stored - supplied - unpaid - changed + lost; }
    double heat_open() const { return heat - rubbed + cooled; }
};

struct SolverCounts {
    long steps = 0, rejected = 0, events = 0, rate_calls = 0, jacobians = 0;
    int states = 0;
};

struct ExpectationResult {
    std::string text;
    bool held = false;
    Dimension dimension = Dimension::number;
    double found = kUnset; // SI; unset: nothing to compare
    std::optional<double> low, high;
    std::string remark; // "no such event", "the foot was never constant for 0.2 s"
};

/// A default that the file left as it is.
struct Assumed {
    std::string path; // "front_left.seal_stiffness"
    const Field* field;
    double value;
};

/// From when to when the lamp was lit [s].
struct Lit {
    double from = 0;
    double to = kUnset; // unset: still lit at the end
};

/// At most 69 N at the hub bolts, about 4 N m: a limit for a free wheel found in service data.
inline constexpr double kDragLimit = 4;

/// A wheel brake at the end of the run, and what it did before while nobody was braking.
struct WheelEnd {
    std::string part;
    double torque = kUnset; // N m, residual; unset while the foot is on
    bool parked = false;    // its parking brake is on: it is meant to hold
    /// The most, and when, with the foot off for a second at least and the parking brake too.
    double most = kUnset, most_at = kUnset; // N m, s
    bool drags() const { return torque > kDragLimit && !parked; }
    bool dragged() const { return most > kDragLimit && !drags(); }
};

/// One line of a bleeding card, as it went. Fluid and air in reference m3; what came back counts
/// in `back` only.
struct BledWheel {
    std::string at, bleeder;
    BleedMethod method = BleedMethod::gravity;
    double from = 0, to = 0; // s
    double fluid_out = 0, air_out = 0, fluid_back = 0, air_back = 0;
    double false_air = 0;        // past the threads into the hose; it never was in the brake
    double air_left = 0;         // at the screw when it was shut for good
    std::vector<Reading> levels; // of the reservoirs then [m3]
    bool ran_dry = false;        // a reservoir gave air meanwhile
};

/// Free air in one volume of a circuit at the end.
struct AirPlace {
    std::string circuit, name;
    double air; // m3 at 1 atm
};

struct BleedingResult {
    std::vector<BledWheel> wheels; // none: nothing was bled
    std::vector<AirPlace> left;
    double used = 0;                                    // m3 that left for good
    double pedal_before = kUnset, pedal_after = kUnset; // m of travel under the test force
};

struct Summary {
    std::string title;
    bool complete = false;
    std::string error;    // why the run could not go on
    double simulated = 0; // s
    double wall = 0;      // s
    SolverCounts solver;
    Ledger ledger;
    EnergyResult energy;
    std::vector<ChannelFigures> channels;
    std::vector<WheelEnd> wheels;
    bool has_lamp = false;
    bool lamp_lit_at_end = false;
    std::vector<Lit> lamp_lit;
    std::vector<double> lamp_on, lamp_off; // times
    BleedingResult bleeding;
    std::vector<Event> events;
    std::vector<ExpectationResult> expectations;
    /// Weakest ground first: judgement, practice, published; among equals those whose allowed range
    /// is wide for their value come first. Nothing here says how much they move the answers.
    std::vector<Assumed> assumed;
    std::vector<ServiceLine> service;
    std::vector<std::string> cautions;
    /// Derived hardware figures: path, dimension, value ("hold_off.full_pressure").
    std::vector<Reading> derived;

    const ChannelFigures& of(const std::string& path) const; // throws std::out_of_range
};

struct RunOptions {
    bool located = true;        // false: the continuous model with plain error control
    double tolerance_scale = 1; // 0.01: hundred times tighter than the scenario's accuracy
    bool energy = false;        // keep the energy account; the run takes longer
    double sample = 0;          // s between rows; 0: as the scenario says
    std::function<bool()> stop; // asked now and then; true ends the run as incomplete
};

/// Runs a scenario. Throws InvalidHardware (see circuit.hpp) if it cannot be built; everything that
/// goes wrong later is in Summary::error and what was computed is kept.
Summary simulate(const Scenario& scenario, Sink& sink, const RunOptions& options = {});

/// All channels that a scenario can record, with their dimension.
std::vector<Channel> channels_of(const Scenario& scenario);
/// Those that a run of it records: what it names, or the main ones.
std::vector<std::string> recorded_of(const Scenario& scenario);

} // namespace pedalbench
