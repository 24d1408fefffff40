#include "wheel/vehicle.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"mass", Dimension::mass, kUnset, 300, 6000, Mark::given, "", "of the car as it is driven"},
    {"front_share", Dimension::number, 0.55, 0.2, 0.9, Mark::judgement, "engine in front",
     "share of the weight on the front axle when the car stands"},
    {"wheelbase", Dimension::length, 2.5, 1, 6, Mark::judgement, "a middling car",
     "distance of the axles"},
    {"centre_height", Dimension::length, 0.55, 0.1, 2, Mark::judgement, "0.5-0.6 m for cars",
     "height of the centre of mass above the road"},
    {"tyre_radius", Dimension::length, 0.3, 0.15, 0.6, Mark::judgement, "0.28-0.32 m for cars",
     "rolling radius of the tyres"},
    {"wheel_inertia", Dimension::inertia, 0.9, 0.1, 10, Mark::judgement, "0.6-1.2 kg m2",
     "of one wheel with tyre and disc or drum"},
    {"adhesion", Dimension::number, 0.8, 0.02, 1.3, Mark::practice, "dry road 0.8-1, ice 0.1",
     "greatest friction of tyre and road"},
    {"peak_slip", Dimension::number, 0.12, 0.03, 0.4, Mark::practice, "10-15 %",
     "slip at which the tyre holds most"},
    {"slide_share", Dimension::number, 0.75, 0.3, 1, Mark::judgement, "0.7-0.9 on a dry road",
     "what a sliding tyre keeps of that"},
    {"rolling", Dimension::number, 0.012, 0, 0.1, Mark::practice, "0.01-0.015 on asphalt",
     "rolling resistance over weight"},
    {"drag_area", Dimension::area, 0.75, 0, 8, Mark::judgement, "0.6-0.9 m2 for cars",
     "drag coefficient times frontal area"},
    {"grade", Dimension::number, 0, -0.4, 0.4, Mark::practice, "a level road",
     "climb over distance of the road; a descent is negative"},
    {"start_speed", Dimension::velocity, 0, -30, 80, Mark::practice, "the car stands",
     "speed at the start of the run; below zero: backward"},
    {"hold_speed", Dimension::velocity, 0, -30, 80, Mark::practice, "no drive",
     "speed that the drive keeps up, as far as its force allows; below zero: in reverse; 0: the "
     "car "
     "only rolls"},
    {"drive_force", Dimension::force, 3000, 0, 2e4, Mark::judgement, "a middling engine",
     "greatest force of the drive, either way"},
};
constexpr JointInfo kJointTable[] = {{"front_left", JointKind::wheel, true},
                                     {"front_right", JointKind::wheel, true},
                                     {"rear_left", JointKind::wheel, true},
                                     {"rear_right", JointKind::wheel, true}};
constexpr StateInfo kStateTable[] = {{"speed", Dimension::velocity, 1e-3},
                                     {"distance", Dimension::distance, 5e-3},
                                     {"load transfer", Dimension::acceleration, 1e-2}};
constexpr std::string_view kTell = "speed,deceleration";
constexpr GuardInfo kGuardTable[] = {
    {"front left tyre past its peak", Dimension::number, 1e-6, "", "", ""},
    {"front right tyre past its peak", Dimension::number, 1e-6, "", "", ""},
    {"rear left tyre past its peak", Dimension::number, 1e-6, "", "", ""},
    {"rear right tyre past its peak", Dimension::number, 1e-6, "", "", ""},
    {"front left locked", Dimension::number, 1e-3, "front left wheel locks", "", kTell, true},
    {"front right locked", Dimension::number, 1e-3, "front right wheel locks", "", kTell, true},
    {"rear left locked", Dimension::number, 1e-3, "rear left wheel locks", "", kTell, true},
    {"rear right locked", Dimension::number, 1e-3, "rear right wheel locks", "", kTell, true},
    {"stands", Dimension::velocity, 1e-3, "car stands still", "car moves", "distance"},
    {"drive pulls", Dimension::velocity, 1e-4, "", "", ""},
    {"drive at its limit", Dimension::force, 0.1, "", "", ""},
    {"rear axle on the road", Dimension::force, 0.1, "", "rear axle lifts", kTell},
};
constexpr QuantityInfo kQuantities[] = {
    {"speed", Dimension::velocity, "speed of the car; below zero: backward"},
    {"distance", Dimension::distance, "way since the start; below zero: behind it"},
    {"deceleration", Dimension::acceleration, "loss of speed in time"},
    {"front_load", Dimension::force, "load on the front axle"},
    {"rear_load", Dimension::force, "load on the rear axle"},
    {"front_adhesion", Dimension::number,
     "force by which the road holds back the front tyres, over their load"},
    {"rear_adhesion", Dimension::number,
     "force by which the road holds back the rear tyres, over their load"},
    {"front_left_speed", Dimension::rotation, "rotation of the front left wheel"},
    {"front_right_speed", Dimension::rotation, "rotation of the front right wheel"},
    {"rear_left_speed", Dimension::rotation, "rotation of the rear left wheel"},
    {"rear_right_speed", Dimension::rotation, "rotation of the rear right wheel"},
};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Vehicle::kind = {.name = "vehicle",
                                .summary = "the car: speed, axle loads, tyres, four wheels",
                                .fields = kFields,
                                .ports = {},
                                .states = kStateTable,
                                .guards = kGuardTable,
                                .quantities = kQuantities,
                                .joints = kJointTable,
                                .make = PartOf<Vehicle>::make,
                                .complete = complete};

Vehicle::Vehicle(const Values& v, const Surroundings& around)
    : mass_(v["mass"]), weight_(mass_ * kGravity), front_(v["front_share"]),
      transfer_(mass_ * v["centre_height"] / v["wheelbase"]), radius_(v["tyre_radius"]),
      inertia_(v["wheel_inertia"]), adhesion_(v["adhesion"]), peak_slip_(v["peak_slip"]),
      slide_(v["slide_share"]), rolling_(v["rolling"]),
      // Ideal gas, 287 J/(kg K).
      air_(0.5 * around.pressure / (287.05 * around.temperature) * v["drag_area"]),
      uphill_(weight_ * v["grade"] / std::sqrt(1 + v["grade"] * v["grade"])),
      start_(v["start_speed"]), hold_(v["hold_speed"]), hold_gain_(mass_), // 1 m/s2 per m/s
      drive_most_(v["drive_force"]) {}

} // namespace pedalbench
