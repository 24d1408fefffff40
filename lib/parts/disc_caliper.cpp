#include "parts/disc_caliper.hpp"

#include <algorithm>

namespace pedalbench {
namespace {

constexpr std::string_view kSeal =
    "nobody publishes seals; these leave 0.2 mm and no drag after a stop";

constexpr Field kFields[] = {
    {"piston", Dimension::length, kUnset, 20e-3, 90e-3, Mark::given,
     "54-60 mm in service data of small cars", "diameter of the piston"},
    {"radius", Dimension::length, 0.11, 0.05, 0.25, Mark::judgement, "a 230-260 mm disc",
     "effective radius of the linings"},
    {"friction", Dimension::number, 0.4, 0.05, 0.8, Mark::practice, "0.35-0.45",
     "friction of lining on disc"},
    {"clearance", Dimension::length, 0.2e-3, 0.02e-3, 2e-3, Mark::judgement,
     "running clearance 0.10-0.35 mm",
     "room between both pads and the disc at the start, together"},
    {"seal_stiffness", Dimension::stiffness, 1e6, 1e5, 1e7, Mark::judgement, kSeal,
     "stiffness of the seal while it grips"},
    {"seal_grip", Dimension::force, 200, 10, 2000, Mark::judgement, kSeal,
     "force at which the piston slips in the seal, without pressure"},
    {"seal_grip_rise", Dimension::area, 50e-6, 0, 500e-6, Mark::judgement, "50-80 N/MPa",
     "growth of that force with pressure, as an area: 50 mm2 is 50 N per MPa"},
    {"seal_shift", Dimension::length, 0.3e-3, 0, 1.5e-3, Mark::judgement, kSeal,
     "elastic shift of the seal under high pressure"},
    {"seal_shift_pressure", Dimension::pressure, 0.8e6, 0.1e6, 1e7, Mark::judgement, kSeal,
     "pressure that brings 63 % of the shift"},
    {"seal_branch", Dimension::number, 0.2, 0, 0.9, Mark::judgement, kSeal,
     "share of the stiffness that relaxes"},
    {"seal_relaxation", Dimension::time, 0.5, 0.01, 60, Mark::judgement, kSeal,
     "time of that relaxation"},
    {"pad_first", Dimension::stiffness, 1.2e7, 5e5, 1e9, Mark::judgement,
     "front caliper about 0.6 (1 - exp(-p/0.6)) + 0.15 p cm3, p in MPa",
     "stiffness of one pad with its share of the housing, at first touch"},
    {"pad_final", Dimension::stiffness, 7e7, 5e6, 1e10, Mark::judgement,
     "front caliper about 0.6 (1 - exp(-p/0.6)) + 0.15 p cm3, p in MPa",
     "stiffness of the same at high force"},
    {"pad_take_up", Dimension::length, 0.08e-3, 0, 1e-3, Mark::judgement, "shims and uneven faces",
     "travel that the soft part of one pad takes"},
    {"pin_friction", Dimension::force, 30, 0, 5000, Mark::judgement, "10-60 N good",
     "friction of the housing on its pins"},
    {"pin_stiffness", Dimension::stiffness, 5e5, 5e4, 1e7, Mark::judgement,
     "rubber boots and bushes", "give of the pins before the housing slides"},
    {"dead_volume", Dimension::volume, 15e-6, 1e-6, 2e-4, Mark::judgement, "new linings",
     "fluid behind the piston at the start"},
    {"stretch", Dimension::compliance, 2e-14, 0, 1e-12, Mark::judgement, "0.02 cm3/MPa",
     "bulging of the housing that does not move the piston"},
    {"damping", Dimension::damping, 2000, 100, 1e5, Mark::judgement,
     "residual pressures move by a few kPa over a factor of 100",
     "resistance of the piston to speed"},
    {"height", Dimension::length, 0.4, 0, 2, Mark::judgement, "above the hub",
     "height above the road"},
};
constexpr PortInfo kPortTable[] = {{"line"}};
constexpr StateInfo kStateTable[] = {{"piston position", Dimension::length, 2e-7},
                                     {"seal grip position", Dimension::length, 2e-7},
                                     {"seal relaxed stretch", Dimension::length, 2e-7},
                                     {"housing position", Dimension::length, 2e-7},
                                     {"pin anchor", Dimension::length, 2e-7}};
constexpr GuardInfo kGuardTable[] = {
    {"piston slips out through the seal", Dimension::force, 0.02, "", "", ""},
    {"piston slips back through the seal", Dimension::force, 0.02, "", "", ""},
    {"inner pad touches", Dimension::length, 1e-8, "inner pad touches the disc",
     "inner pad leaves the disc", "pressure"},
    {"outer pad touches", Dimension::length, 1e-8, "outer pad touches the disc",
     "outer pad leaves the disc", "pressure"},
    {"housing slides in", Dimension::force, 0.02, "", "", ""},
    {"housing slides out", Dimension::force, 0.02, "", "", ""},
};
constexpr QuantityInfo kQuantities[] = {
    {"clamp", Dimension::force, "force of the inner pad on the disc"},
    {"torque", Dimension::torque, "brake torque of both pads"},
    {"clearance", Dimension::length, "room between both pads and the disc, together"},
    {"piston_travel", Dimension::length, "travel of the piston out of the housing"},
};

/// Seized pins are not soft rubber: before they slide they give 0.06 mm at most (judgement).
double pin_stiffness(const Values& v) {
    return std::max(v["pin_stiffness"], v["pin_friction"] / 0.06e-3);
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (v["pad_first"] > v["pad_final"])
        refused.push_back(
            {"pad_first", "stiffer than pad_final; pads stiffen under load: lower it"});
    // What the seal can take back after a light stop: its stretch at the grip force.
    if (v["seal_grip"] / v["seal_stiffness"] < 0.02e-3)
        refused.push_back({"seal_grip",
                           "lets the seal take the piston back by less than 0.02 mm: raise "
                           "it or lower seal_stiffness"});
    return refused;
}

} // namespace

const PartKind DiscCaliper::kind = {
    .name = "disc_caliper",
    .summary = "floating caliper with one piston, seal, two pads and sliding pins",
    .fields = kFields,
    .ports = kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .make = PartOf<DiscCaliper>::make,
    .complete = complete};

DiscCaliper::DiscCaliper(const Values& v, const Surroundings&)
    : area_(0.25 * M_PI * v["piston"] * v["piston"]), friction_(v["friction"]),
      radius_(v["radius"]), half_gap_(0.5 * v["clearance"]), dead_(v["dead_volume"]),
      stretch_(v["stretch"]), height_(v["height"]), damping_(v["damping"]), grip_(v["seal_grip"]),
      grip_rise_(v["seal_grip_rise"]), shift_(v["seal_shift"]),
      shift_pressure_(v["seal_shift_pressure"]), branch_(v["seal_branch"]),
      relaxation_(v["seal_relaxation"]),
      pin_friction_(v["pin_friction"]), seal_{v["seal_stiffness"], v["damping"]},
      pin_{pin_stiffness(v), v["damping"]}, pad_{v["pad_first"], v["pad_final"], v["pad_take_up"]} {
}

} // namespace pedalbench
