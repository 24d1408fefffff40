// Old and new valve: what it changes for the car.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "study/executor.hpp"
#include "study/valve_drives.hpp"
#include "study/variants.hpp"

namespace pedalbench::study {

/// One figure of a valve: by its fields, and as the slow run shows it. Unset: it says nothing of
/// that, or it never came.
struct ValveFigure {
    std::string what; // "opens at"
    Dimension dimension;
    double stated = kUnset, found = kUnset; // SI
};

/// The range of a valve in one car; nothing where the car has no such valve.
using ValveRange = std::vector<ValveFigure>;

/// Under a foot that is held.
struct HeldFoot {
    double travel = kUnset;                              // m
    std::array<double, kAxles> pressure{kUnset, kUnset}; // Pa
};

struct PedalFeel {
    std::array<HeldFoot, kFeet> held;
    std::array<double, kAxles> begins{kUnset, kUnset}; // N of foot, slowly, for kBegins of torque
    double stiffness = kUnset;                         // N/m, from the ordinary to the firm foot
    /// With the foot off after the slow run.
    std::array<double, kAxles> left{kUnset, kUnset}; // Pa
    std::array<double, kAxles> drag{kUnset, kUnset}; // N m, of one wheel
};
/// A wheel has begun to brake [N m].
inline constexpr double kBegins = 10;

/// The first wheel of an axle that locks.
struct AxleLock {
    double time = kUnset, force = kUnset;                // s, N of foot
    std::array<double, kAxles> pressure{kUnset, kUnset}; // Pa, of both axles then
    double deceleration = kUnset;                        // m/s2, the most up to then
};

struct LockOrder {
    std::array<AxleLock, kAxles> axle;
    double force = kUnset;             // N, the foot's when the car stood or the run ended
    double deceleration = kUnset;      // m/s2, the most before any wheel locked, or at all
    std::vector<std::string> unlocked; // wheels that turned to the end

    enum class First { none, front, rear, together };
    First first() const;
};

/// What a screw gave while it stood open.
struct BledAxle {
    double fluid = kUnset; // m3
    double flow = kUnset;  // m3/s, at the end
};
/// A screw that gives less at the end has stopped [m3/s]: half a drop a second.
inline constexpr double kStopped = 0.02e-6;

struct BledCar {
    double tank = 0; // Pa at the reservoirs; 0: gravity alone
    bool held = false;
    std::array<BledAxle, kAxles> axle;
};

/// What the check finds in one car.
struct ValveAnswer {
    std::vector<ValveRange> range; // of each valve of the check
    PedalFeel feel;
    std::array<LockOrder, kRoads.size()> lock;
    std::vector<BledCar> bled; // by tank, the rod free before held
};

struct ValveCheck {
    std::array<Hardware, 2> cars; // as they stand at the start: old, new
    std::array<CarPlaces, 2> places;
    std::vector<std::string> valves;
    FootPlan plan;
    std::vector<Driven> drives; // with their traces
    std::array<ValveAnswer, 2> answer;
    std::string problem; // why there is nothing to say; empty: there is
    bool stopped = false;

    const PartKind* kind(std::size_t valve) const; // of the first car that has it
    const Driven& slow(std::size_t car) const;
    const Driven& road(std::size_t car, std::size_t which) const;
};

/// Runs both cars. They must differ in valves alone (valve_change()) and lack nothing
/// (refuse_car()). What a run could not answer stays unset.
ValveCheck check_valve(const Scenario& was, const Scenario& is, Executor& executor,
                       OutcomeSink& told, const RunOptions& options = {});

/// By the fields alone, in the order in which a bench would read them.
ValveRange stated_range(const PartSpec& valve);

} // namespace pedalbench::study
