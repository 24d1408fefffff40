#include "parts/drum_brake.hpp"

#include <algorithm>

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr double kDegree = 3.14159265358979323846 / 180; // rad

constexpr Field kFields[] = {
    {"cylinder", Dimension::length, kUnset, 10e-3, 50e-3, Mark::given, "",
     "bore of the wheel cylinder"},
    {"push_out", Dimension::pressure, 0.5e6, 0.05e6, 3e6, Mark::published,
     "65-85 psi (0.45-0.59 MPa) measured on one vehicle, hobby line-gauge measurement",
     "pressure that starts to move the shoes, against their springs and the cups"},
    {"springs_left", Dimension::number, 1, 0, 1, Mark::practice, "whole springs",
     "share of the return springs' pull that is left"},
    {"spring_rate", Dimension::stiffness, 1.5e4, 0, 2e5, Mark::judgement, "a pair of coil springs",
     "rate of the return springs at each piston"},
    {"stop_stiffness", Dimension::stiffness, 7e5, 5e4, 1e9, Mark::judgement,
     "webs, anchor and adjuster give a fifth of a millimetre",
     "stiffness of what a shoe comes home to"},
    {"clearance", Dimension::length, 0.5e-3, -0.5e-3, 5e-3, Mark::judgement, "a well-adjusted shoe",
     "travel of each piston before its lining touches; below zero: they press on the drum at rest"},
    {"wear", Dimension::length, 0, 0, 8e-3, Mark::practice, "new linings",
     "lining that is gone from each shoe, as travel of its piston"},
    {"adjuster", Dimension::choice, 0, 0, 1, Mark::practice, "adjusted by hand",
     "moves the shoes' home out after them when their travel grows; never back", "no|yes"},
    {"adjuster_travel", Dimension::length, 0.8e-3, 0.1e-3, 5e-3, Mark::judgement,
     "a notch beyond the usual clearance and give",
     "travel of each piston from home beyond which the adjuster takes up"},
    {"parking_brake", Dimension::force, 0, 0, 5e3, Mark::practice, "off",
     "force that cable and lever put on the tip of each shoe; the lever's contact lights the lamp"},
    {"cable_hangs", Dimension::force, 0, 0, 5e3, Mark::practice, "a free cable",
     "force that a hanging cable keeps on the tip of each shoe though the lever is down"},
    {"drum_radius", Dimension::length, 0.1, 0.05, 0.3, Mark::judgement, "a small car",
     "inner radius"},
    {"shoes", Dimension::choice, 0, 0, 3, Mark::practice, "the factor is what data sheets give",
     "how they stand, so that shoe_factor follows from friction and geometry; or it is stated",
     "stated|leading_trailing|two_leading|duo_servo"},
    {"shoe_factor", Dimension::number, 2.2, 0.5, 8, Mark::judgement,
     "leading and trailing shoe at friction 0.35-0.4",
     "drum force over the force at one shoe tip, both shoes together, cold, on the way forward"},
    {"shoe_factor_backward", Dimension::number, kUnset, 0.2, 8, Mark::judgement,
     "the same as shoe_factor, or from the geometry", "the same with the wheel turning backward"},
    {"friction", Dimension::number, 0.35, 0.05, 0.8, Mark::practice, "0.3-0.4",
     "friction of lining on drum, for shoes that are not stated"},
    {"anchor_radius", Dimension::length, 0.08, 0.02, 0.3, Mark::judgement,
     "four fifths of a small drum's radius", "of the shoes' anchor, from the drum's centre"},
    {"tip_arm", Dimension::length, 0.16, 0.03, 0.6, Mark::judgement, "cylinder opposite the anchor",
     "from the anchor to the line of the tip force"},
    {"lining_from", Dimension::angle, kDegree * 25, 0, kDegree * 85, Mark::judgement,
     "lining over 105 degrees", "where the lining begins, from the anchor about the drum's centre"},
    {"lining_to", Dimension::angle, kDegree * 130, kDegree * 95, kDegree * 180, Mark::judgement,
     "lining over 105 degrees", "where it ends"},
    {"lining_first", Dimension::stiffness, 3e6, 1e5, 1e9, Mark::judgement, "shoes bed in",
     "stiffness of one shoe and the drum at first touch"},
    {"lining_final", Dimension::stiffness, 1.5e7, 1e6, 1e10, Mark::judgement, "shoe and drum",
     "stiffness of the same at high force"},
    {"lining_take_up", Dimension::length, 0.1e-3, 0, 1e-3, Mark::judgement, "shoes bed in",
     "travel that the soft part takes"},
    {"cup_friction", Dimension::force, 15, 0, 200, Mark::judgement, "one cup per piston",
     "friction of one cup without pressure"},
    {"cup_friction_rise", Dimension::number, 0.01, 0, 0.2, Mark::judgement, "0.5-2 % of p A",
     "growth of that friction, as a share of p A"},
    {"cup_stiffness", Dimension::stiffness, 3e5, 5e4, 5e6, Mark::judgement, "a lip",
     "stiffness of a stuck cup"},
    {"lip_bears", Dimension::pressure, 20e3, 0, 9e4, Mark::judgement,
     "a bare lip; 60 kPa or more with cup expanders",
     "how far below outside the cylinder may fall before air passes the cups"},
    {"breath", Dimension::length, 0.3e-3, 0.02e-3, 2e-3, Mark::judgement,
     "a lip lifted on one side", "diameter of one hole as large as the way past both cups"},
    {"dead_volume", Dimension::volume, 2e-6, 0.2e-6, 5e-5, Mark::judgement, "a small cylinder",
     "fluid in the cylinder with the shoes at rest"},
    {"stretch", Dimension::compliance, 3e-15, 0, 1e-12, Mark::judgement, "a stiff casting",
     "stretch of the cylinder's wall"},
    {"damping", Dimension::damping, 250, 50, 5e4, Mark::judgement,
     "greased pads and a wet bore resist little, nobody measures it",
     "resistance of each piston with its shoe to speed, and of its sliding cup as well"},
    {"fade_from", Dimension::temperature, 623.15, 373.15, 1273.15, Mark::judgement,
     "350 C, road linings", "temperature of the drum from which friction falls off"},
    {"fade_loss", Dimension::number, 0.4, 0, 0.95, Mark::judgement, "a third to a half",
     "share of the friction that goes with more heat; half of it at 100 K beyond"},
    {"metal_heat", Dimension::heat_capacity, 400, 0, 2e4, Mark::judgement,
     "a cylinder and part of the plate", "metal that goes warm with the fluid"},
    {"conduction", Dimension::conductance, 0.3, 0, 50, Mark::judgement,
     "through shoes and pushrods", "from the drum through the lining to the fluid"},
    {"cooling", Dimension::conductance, 0.8, 0, 50, Mark::judgement, "about 30 W/(m2 K) on 0.03 m2",
     "from the cylinder to the air"},
    {"height", Dimension::length, 0.4, 0, 2, Mark::judgement, "above the hub",
     "height above the road"},
};
constexpr PortInfo kPortTable[] = {{"line"}, {"outside", PortKind::outside}};
constexpr JointInfo kJointTable[] = {
    {"wheel", JointKind::wheel}, {"heat", JointKind::heat}, {"wire", JointKind::wire}};
constexpr StateInfo kStateTable[] = {{"piston position", Dimension::length, 2e-7},
                                     {"cup anchor", Dimension::length, 2e-7},
                                     {"adjuster", Dimension::length, 2e-7}};
constexpr GuardInfo kGuardTable[] = {
    {"cups slip out", Dimension::force, 0.005, "", "", ""},
    {"cups slip back", Dimension::force, 0.005, "", "", ""},
    {"shoes touch", Dimension::length, 1e-8, "shoes touch the drum", "shoes leave the drum",
     "pressure"},
    {"shoe stop", Dimension::length, 1e-8, "shoes are home", "shoes leave their stops", "pressure"},
    {"air passes the cups", Dimension::pressure, 30, "air passes the cups", "", "pressure"},
    {"lining fades", Dimension::temperature, 1e-3, "lining fades", "", "torque"},
    {"cable holds the shoes", Dimension::length, 1e-8, "cable holds the shoes off their pistons",
     "shoes are back on their pistons", "clearance,torque"},
    {"adjuster takes up", Dimension::length, 1e-8, "adjuster takes up", "", "piston_travel"},
    {"turns backward", Dimension::rotation, 1e-2, "", "", ""},
};
constexpr QuantityInfo kQuantities[] = {
    {"tip_force", Dimension::force, "force of each lining on the drum, at the piston"},
    {"torque", Dimension::torque, "brake torque of both shoes"},
    {"clearance", Dimension::length, "travel of each piston before its lining touches"},
    {"piston_travel", Dimension::length, "travel of each piston"},
    {"fluid_temperature", Dimension::temperature, "temperature of the fluid in the cylinder"},
    {"parking_contact", Dimension::number,
     "1 while the lever of the parking brake is pulled, which lights the lamp"},
};

double return_spring(const Values& v) {
    const double area = circle_area(v["cylinder"]);
    return v["push_out"] * area * (1 - v["cup_friction_rise"]) - v["cup_friction"];
}

Shoes shoes(const Values& v) {
    return {static_cast<Shoes::Kind>(static_cast<int>(v["shoes"])),
            v["drum_radius"],
            v["anchor_radius"],
            v["tip_arm"],
            v["lining_from"],
            v["lining_to"]};
}

/// The factor follows from the geometry, or the geometry says nothing.
void complete_factor(Values& v, std::vector<Refusal>& refused) {
    const auto set = [&](const char* name) { return v.given(name) || v.changed(name); };
    const Shoes s = shoes(v);
    if (s.kind == Shoes::stated) {
        if (!set("shoe_factor_backward")) v.derive("shoe_factor_backward", v["shoe_factor"]);
        for (const char* name :
             {"friction", "anchor_radius", "tip_arm", "lining_from", "lining_to"})
            if (set(name))
                refused.push_back({name,
                                   "does nothing while shoe_factor is stated: say how the shoes "
                                   "stand with shoes, or change shoe_factor"});
        return;
    }
    const bool backward = set("shoe_factor_backward");
    if (set("shoe_factor") || backward)
        refused.push_back({backward ? "shoe_factor_backward" : "shoe_factor",
                           "follows from friction and geometry: leave it out, or let shoes be "
                           "stated"});
    else if (v["anchor_radius"] >= v["drum_radius"])
        refused.push_back({"anchor_radius", "not inside the drum: lower it"});
    else if (v["tip_arm"] <= v["anchor_radius"])
        refused.push_back({"tip_arm",
                           "leaves the tip on the anchor's side of the drum's centre: raise it or "
                           "lower anchor_radius"});
    else if (s.locks(v["friction"]))
        refused.push_back({"friction",
                           "draws a leading shoe in by itself, so that it locks: lower it, raise "
                           "anchor_radius or let the lining begin later"});
    else {
        v.derive("shoe_factor", s.both(v["friction"], false));
        v.derive("shoe_factor_backward", s.both(v["friction"], true));
    }
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    complete_factor(v, refused);
    if (return_spring(v) <= v["cup_friction"])
        refused.push_back({"push_out",
                           "leaves return springs weaker than the cup friction; the shoes "
                           "would not come home: raise it or lower cup_friction"});
    if (v["lining_first"] > v["lining_final"])
        refused.push_back(
            {"lining_first", "stiffer than lining_final; linings stiffen under load: lower it"});
    return refused;
}

} // namespace

const PartKind DrumBrake::kind = {.name = "drum_brake",
                                  .summary =
                                      "drum brake: wheel cylinder, two shoes, return springs",
                                  .fields = kFields,
                                  .ports = kPortTable,
                                  .states = kStateTable,
                                  .guards = kGuardTable,
                                  .quantities = kQuantities,
                                  .joints = kJointTable,
                                  .make = PartOf<DrumBrake, kPortTable>::make,
                                  .complete = complete};

DrumBrake::DrumBrake(const Values& v, const Surroundings& around)
    : air_(around.air()), shoes_(shoes(v)), friction_(v["friction"]),
      area_(circle_area(v["cylinder"])), radius_(v["drum_radius"]), shoe_factor_(v["shoe_factor"]),
      factor_back_(v["shoe_factor_backward"]), clearance_(v["clearance"] + v["wear"]),
      spring_(v["springs_left"] * return_spring(v)), rate_(v["springs_left"] * v["spring_rate"]),
      cup_friction_(v["cup_friction"]), cup_friction_rise_(v["cup_friction_rise"] * area_),
      lip_(v["lip_bears"]), stop_stiffness_(v["stop_stiffness"]),
      rest_give_(return_spring(v) / stop_stiffness_), breath_radius_(0.5 * v["breath"]),
      dead_(v["dead_volume"]), stretch_(v["stretch"]), height_(v["height"]),
      damping_(v["damping"]), cup_{v["cup_stiffness"], v["damping"]}, lining_{v["lining_first"],
                                                                              v["lining_final"],
                                                                              v["lining_take_up"]},
      rubbing_{v["fade_from"], v["fade_loss"], v["conduction"], v["cooling"], around.temperature},
      metal_heat_(v["metal_heat"]), growth_(11e-6 * v["drum_radius"]),
      cable_(std::max(v["parking_brake"], v["cable_hangs"])),
      adjuster_travel_(v["adjuster_travel"]), adjusts_(v.flag("adjuster")),
      one_way_(shoe_factor_ != factor_back_), parked_(v["parking_brake"] > 0) {}

} // namespace pedalbench
