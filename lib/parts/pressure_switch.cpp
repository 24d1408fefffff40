#include "parts/pressure_switch.hpp"

#include <algorithm>
#include <cmath>

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"centring", Dimension::choice, 0, 0, 1, Mark::practice, "both kinds are common",
     "self: springs bring it back when the pressure goes; detent: it stays over", "self|detent"},
    {"trip", Dimension::pressure, 0.8e6, 0.3e6, 2e6, Mark::published,
     "80-150 psi (0.55-1.0 MPa), a maker's technical page", "difference at which it makes contact"},
    {"recentre", Dimension::pressure, 3.1e6, 0.5e6, 10e6, Mark::published,
     "about 450 psi, repair guides",
     "pressure that both circuits must pass to bring a detented switch back"},
    {"bore", Dimension::length, 8e-3, 3e-3, 20e-3, Mark::judgement, "a small body",
     "diameter of the piston"},
    {"contact_travel", Dimension::length, 1e-3, 0.2e-3, 5e-3, Mark::judgement, "a small body",
     "travel from the middle at which the contact closes"},
    {"end_travel", Dimension::length, 2e-3, 0.4e-3, 10e-3, Mark::judgement, "a small body",
     "travel from the middle to the end"},
    {"rate", Dimension::stiffness, 3000, 0, 3e4, Mark::judgement, "a short spring",
     "rate of the centring springs"},
    {"seal_friction", Dimension::force, 4, 0, 50, Mark::judgement, "two small seals",
     "friction of the seals"},
    {"sticking", Dimension::force, 0, 0, 5000, Mark::practice, "a clean bore",
     "friction by rust or dirt, both ways, beside the seals'"},
    {"damping", Dimension::damping, 200, 20, 2e4, Mark::judgement,
     "a small piston in its seals, nobody measures it", "resistance to speed"},
};
constexpr PortInfo kPortTable[] = {{"first"}, {"second"}};
constexpr JointInfo kJointTable[] = {{"wire", JointKind::wire}};
constexpr StateInfo kStateTable[] = {{"piston position", Dimension::length, 1e-8},
                                     {"seal anchor", Dimension::length, 1e-8}};
constexpr GuardInfo kGuardTable[] = {
    {"seal slips to the first side", Dimension::force, 0.002, "", "", ""},
    {"seal slips to the second side", Dimension::force, 0.002, "", "", ""},
    {"first end", Dimension::length, 1e-9, "", "", ""},
    {"second end", Dimension::length, 1e-9, "", "", ""},
    {"first spring", Dimension::length, 1e-9, "", "", ""},
    {"second spring", Dimension::length, 1e-9, "", "", ""},
    {"over, first circuit higher", Dimension::pressure, 1, "switch goes over: second circuit low",
     "switch recentres", "first.pressure,second.pressure", true},
    {"over, second circuit higher", Dimension::pressure, 1, "switch goes over: first circuit low",
     "switch recentres", "first.pressure,second.pressure", true},
    // A bulb takes some hundredths of a second to glow: a shorter contact nobody sees.
    {"contact", Dimension::length, 1e-6, "contact closes", "contact opens",
     "first.pressure,second.pressure", true, 0.03, "lamp lit", "lamp dark"},
};
constexpr QuantityInfo kQuantities[] = {
    {"position", Dimension::length,
     "position of the piston, positive when the first circuit is higher"},
    {"difference", Dimension::pressure, "pressure of the first circuit less that of the second"},
    {"contact", Dimension::number, "1 while the contact is closed, which lights the lamp"},
};

double piston_area(const Values& v) {
    return circle_area(v["bore"]);
}
/// The springs' preload such that the contact closes at the trip difference, friction included.
double preload(const Values& v) {
    return v["trip"] * piston_area(v) - v["rate"] * v["contact_travel"] - v["seal_friction"];
}

/// The ball's stiffness in its notch, such that it gives way at the trip difference. Its greatest
/// force, at x = sqrt(2) w, is sqrt(2) 3^(-3/4) k w = 0.6204 k w.
double ball_stiffness(const Values& v) {
    return (v["trip"] * piston_area(v) - v["seal_friction"]) / (0.6204 * PressureSwitch::kNotch);
}

/// Rust gives little before it slips.
double stuck_stiffness(const Values& v) {
    return std::max(2e5, v["sticking"] / 0.02e-3);
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (v["contact_travel"] >= v["end_travel"])
        refused.push_back({"contact_travel", "the piston meets its end before the contact closes: "
                                             "lower it or raise end_travel"});
    if (!v.flag("centring") && preload(v) < 0.25e6 * piston_area(v))
        refused.push_back({"trip",
                           "leaves the centring springs less than 0.25 MPa of preload, which "
                           "residual pressure in one circuit could overcome: raise trip or "
                           "lower rate, contact_travel or seal_friction"});
    const double end = v["end_travel"] / PressureSwitch::kNotch;
    const double home = ball_stiffness(v) * v["end_travel"] * std::pow(1 + end * end, -0.75);
    if (v.flag("centring") && home <= v["seal_friction"])
        refused.push_back({"trip", "leaves the ball too weak to draw the piston home against "
                                   "seal_friction: raise it or lower seal_friction"});
    return refused;
}

} // namespace

const PartKind PressureSwitch::kind = {
    .name = "pressure_switch",
    .summary = "pressure-differential switch between two circuits, for the warning lamp",
    .fields = kFields,
    .ports = kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .joints = kJointTable,
    .make = PartOf<PressureSwitch, kPortTable>::make,
    .complete = complete};

PressureSwitch::PressureSwitch(const Values& v, const Surroundings&)
    : detented_(v.flag("centring")), area_(piston_area(v)), trip_(v["trip"]),
      recentre_(v["recentre"]), contact_(v["contact_travel"]), end_(v["end_travel"]),
      preload_(preload(v)), rate_(v["rate"]), friction_(v["seal_friction"] + v["sticking"]),
      damping_(v["damping"]), dead_(2 * area_ * v["end_travel"]), centring_(preload_ / 10e-6),
      detent_(ball_stiffness(v)), seal_{stuck_stiffness(v), v["damping"]} {}

} // namespace pedalbench
