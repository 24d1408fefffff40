// What a car with a changed valve is put through: a slow foot, three feet, two roads, bleeding.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "record/record.hpp"

namespace pedalbench::study {

/// A part that regulates, holds off or holds back pressure, so that it can be a "changed valve".
bool is_valve(const PartKind& kind);

/// What is not the same in two cars.
struct ValveChange {
    std::vector<std::string> valves; // by name, in the order of the cars
    std::vector<std::string> others; // "front_left.piston", "circuits": no valve's
};
ValveChange valve_change(const Scenario& was, const Scenario& is);

enum Axle : std::size_t { kFrontAxle, kRearAxle, kAxles };

/// The names in a car that the check looks at.
struct CarPlaces {
    std::string pedal, master, vehicle;
    std::array<std::string, kAxles> brake; // one of the axle's, behind a changed valve if it can be
    std::array<std::string, kAxles> bleeder; // its screw; empty: it has none
    std::vector<std::string> wheels;         // "front_left"
    bool hold_off = false;
};
CarPlaces places_of(const Hardware& car, const std::vector<std::string>& valves);
/// What a car must have and this one has not; empty when the check can be made.
std::vector<Refusal> refuse_car(const Hardware& car);

/// Roads, each with the time in which the foot comes to what locks the wheels by the sum of both
/// axles: slow enough for every line and for the load to follow, and the car is still well under
/// way.
struct Road {
    const char* name;
    double adhesion, speed, time; // 1, m/s, s
};
inline constexpr std::array<Road, 2> kRoads = {
    {{"ice", 0.1, 30 / 3.6, 8}, {"a dry road", 0.8, 80 / 3.6, 4}}};

/// Pressures of the tank at the reservoirs; none: gravity alone. 12-15 psi and 20-30 psi equipment,
/// US Army TB 9-2320-335-13&P.
inline constexpr double kPsi = 6894.757293168361; // Pa
inline constexpr std::array<double, 3> kTanks = {0, 15 * kPsi, 30 * kPsi};
inline constexpr double kBleedTime = 10; // s for which each screw stands open

inline constexpr double kMostForce = 1000; // N, a very strong foot
inline constexpr std::size_t kFeet = 3;    // light, ordinary, firm

/// What the foot does, alike in both cars. Forces are the old car's, by a first press.
struct FootPlan {
    std::array<double, kFeet> feet{};    // N, the least of a ladder that gives kFootPressure
    FootInput slow;                      // up and back, at rest at every moment
    double turn = 0;                     // s, when it has come to its top
    FootInput steps;                     // the three feet, each held
    std::array<double, kFeet> held_at{}; // s, ends of these holds
    std::array<FootInput, kRoads.size()> rising;
};
/// Pressure in the cylinder that a light, an ordinary and a firm foot give at least.
inline constexpr std::array<double, kFeet> kFootPressure = {0.5e6, 2e6, 5e6};

/// The first press: a foot that rises to kMostForce.
Scenario first_press(const Hardware& car, const CarPlaces& places);
/// `was` and `is`: the cars; `press`: what became of the first press of the old one.
FootPlan plan_foot(const std::array<Hardware, 2>& cars, const CarPlaces& places,
                   const Trace& press);

/// One run of the check.
struct Driven {
    enum class Kind { slow, steps, road, bleeding } kind = Kind::slow;
    std::size_t car = 0;   // 0 the old one, 1 the new one
    std::size_t which = 0; // road, or pressure of the tank
    bool held = false;     // the rod of a hold-off valve, for bleeding
    Scenario scenario;
    Trace trace;
    std::string problem; // why it was not run to its end; empty: it was
    Summary summary;
};
std::vector<Driven> drives_of(const std::array<Hardware, 2>& cars,
                              const std::array<CarPlaces, 2>& places,
                              const std::vector<std::string>& valves, const FootPlan& plan);

} // namespace pedalbench::study
