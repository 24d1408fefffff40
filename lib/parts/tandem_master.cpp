#include "parts/tandem_master.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kSizes = "22.22 mm bore, 31-45 mm stroke in service data of small cars";

constexpr Field kFields[] = {
    {"bore", Dimension::length, kUnset, 10e-3, 50e-3, Mark::given, kSizes,
     "diameter of both pistons"},
    {"primary_stroke", Dimension::length, 16e-3, 3e-3, 60e-3, Mark::published, kSizes,
     "free stroke of the primary piston until it meets the secondary"},
    {"secondary_stroke", Dimension::length, 14e-3, 3e-3, 60e-3, Mark::published, kSizes,
     "free stroke of the secondary piston until it meets the end of the bore"},
    {"caged", Dimension::choice, 1, 0, 1, Mark::practice, "usual in tandem cylinders",
     "whether a cage holds the primary spring at a greatest length", "no|yes"},
    {"primary_spring", Dimension::force, 125, 1, 500, Mark::judgement, "110-150 N",
     "force of the primary spring at rest"},
    {"primary_rate", Dimension::stiffness, 3000, 0, 2e4, Mark::judgement, "2-6 N/mm",
     "rate of the primary spring"},
    {"secondary_spring", Dimension::force, 85, 1, 500, Mark::judgement, "70-100 N",
     "force of the secondary spring at rest; it returns both pistons"},
    {"secondary_rate", Dimension::stiffness, 3000, 0, 2e4, Mark::judgement, "2-6 N/mm",
     "rate of the secondary spring"},
    {"cup_friction", Dimension::force, 25, 0, 400, Mark::judgement, "20-35 N per piston",
     "friction of the cups of one piston without pressure"},
    {"cup_friction_rise", Dimension::number, 0.01, 0, 0.2, Mark::judgement,
     "0.5-2 % of pressure times area per piston", "growth of that friction, as a share of p A"},
    {"cup_swelling", Dimension::force, 0, 0, 1000, Mark::practice, "sound cups in the right fluid",
     "friction of each piston's cups besides, once the wrong fluid has swollen them"},
    {"cup_stiffness", Dimension::stiffness, 4e5, 5e4, 5e6, Mark::judgement,
     "a lip gives a few hundredths of a millimetre before it slides", "stiffness of a stuck cup"},
    {"port_travel", Dimension::length, 1.1e-3, 0.2e-3, 6e-3, Mark::judgement,
     "covered after 0.5-1.5 mm", "travel at which the lip has covered the compensating port"},
    {"secondary_port_travel", Dimension::length, kUnset, 0.2e-3, 6e-3, Mark::judgement,
     "the same as port_travel", "port travel of the secondary piston where it differs"},
    {"port", Dimension::length, 0.7e-3, 0.1e-3, 3e-3, Mark::judgement, "0.7 mm",
     "diameter of the compensating ports"},
    {"primary_port_open", Dimension::number, 1, 0, 1, Mark::practice, "a clean port",
     "share of the primary compensating port that is not blocked"},
    {"secondary_port_open", Dimension::number, 1, 0, 1, Mark::practice, "a clean port",
     "share of the secondary compensating port that is not blocked"},
    {"recuperation_hole", Dimension::length, 3e-3, 0.2e-3, 10e-3, Mark::judgement,
     "several holes in the piston head together",
     "diameter of one hole as large as the way past a cup"},
    {"lip_opening", Dimension::pressure, 3e3, 0, 1e5, Mark::judgement, "a soft lip",
     "difference at which fluid passes the cup from the reservoir"},
    {"leak_primary", Dimension::length, 0, 0, 3e-3, Mark::practice, "sound cups do not leak",
     "hole past the primary cup, from its chamber to its reservoir"},
    {"leak_secondary_front", Dimension::length, 0, 0, 3e-3, Mark::practice,
     "sound cups do not leak",
     "hole past the secondary front cup, from its chamber to its reservoir"},
    {"leak_secondary_rear", Dimension::length, 0, 0, 3e-3, Mark::practice, "sound cups do not leak",
     "hole past the secondary rear cup, from the primary chamber to the secondary reservoir"},
    {"leak_seals_at", Dimension::pressure, 0, 0, 2e7, Mark::practice, "0: a cut that never closes",
     "pressure that presses a leaking lip shut again"},
    {"reservoir_volume", Dimension::volume, 100e-6, 1e-6, 1e-3, Mark::judgement, "100 cm3 each",
     "fluid in each reservoir at the start", "", true},
    {"level_switch", Dimension::choice, 0, 0, 3, Mark::practice,
     "older cars have a pressure switch instead",
     "float in each reservoir: free; stuck up, it tells nothing; stuck down, it always tells",
     "none|free|stuck_up|stuck_down"},
    {"low_level", Dimension::volume, kUnset, 0, 1e-3, Mark::published,
     "a quarter of what is there at the start; 49 CFR 571.105 S5.3.1 asks for the larger of a "
     "quarter of the reservoir and the maker's safe level (from memory)",
     "fluid in a reservoir at which its float closes the contact"},
    {"dead_volume", Dimension::volume, 2e-6, 0.3e-6, 1e-4, Mark::judgement, "springs and drillings",
     "fluid in a chamber when its piston is at the end of its stroke"},
    {"body_stretch", Dimension::compliance, 4e-15, 0, 1e-12, Mark::judgement, "body and cups",
     "stretch of the wall of each chamber"},
    {"damping", Dimension::damping, 300, 20, 2e4, Mark::judgement,
     "nobody measures it; what a residual valve keeps depends on it",
     "resistance of a piston to speed"},
    {"height", Dimension::length, 0.75, 0, 3, Mark::judgement, "engine bay",
     "height above the road"},
    {"reservoir_height", Dimension::length, 0.85, 0, 3, Mark::judgement, "0.1 m above the cylinder",
     "height of the fluid level above the road"},
};
constexpr JointInfo kJointTable[] = {{"push rod", JointKind::rod, true}, {"wire", JointKind::wire}};
constexpr StateInfo kStateTable[] = {{"secondary piston position", Dimension::length, 2e-7},
                                     {"primary cup anchor", Dimension::length, 2e-7},
                                     {"secondary cup anchor", Dimension::length, 2e-7}};
constexpr GuardInfo kGuardTable[] = {
    {"pistons meet", Dimension::length, 1e-9, "pistons meet", "pistons part",
     "primary.pressure,secondary.pressure"},
    {"cage or rear stop", Dimension::length, 1e-9, "", "", ""},
    {"primary rest stop", Dimension::length, 1e-9, "primary piston is home", "",
     "primary.pressure"},
    {"secondary bottoms", Dimension::length, 1e-9, "secondary piston bottoms",
     "secondary piston leaves the end of the bore", "primary.pressure,secondary.pressure"},
    {"primary cup slips forward", Dimension::force, 0.005, "", "", ""},
    {"primary cup slips back", Dimension::force, 0.005, "", "", ""},
    {"secondary cup slips forward", Dimension::force, 0.005, "", "", ""},
    {"secondary cup slips back", Dimension::force, 0.005, "", "", ""},
    {"primary port", Dimension::length, 1e-7, "primary port shut", "primary port open",
     "primary_travel,primary.pressure"},
    {"primary port wholly open", Dimension::length, 1e-7, "", "", ""},
    {"primary recuperation", Dimension::pressure, 30,
     "fluid passes the primary cup from the reservoir", "", "primary.pressure"},
    {"secondary port", Dimension::length, 1e-7, "secondary port shut", "secondary port open",
     "secondary_travel,secondary.pressure"},
    {"secondary port wholly open", Dimension::length, 1e-7, "", "", ""},
    {"secondary recuperation", Dimension::pressure, 30,
     "fluid passes the secondary cup from the reservoir", "", "secondary.pressure"},
    {"primary float", Dimension::volume, 1e-9, "primary float closes its contact",
     "primary float opens its contact", "primary_reservoir.fluid", true},
    {"secondary float", Dimension::volume, 1e-9, "secondary float closes its contact",
     "secondary float opens its contact", "secondary_reservoir.fluid", true},
};
constexpr QuantityInfo kQuantities[] = {
    {"primary_travel", Dimension::length, "travel of the primary piston"},
    {"secondary_travel", Dimension::length, "travel of the secondary piston"},
    {"primary_contact", Dimension::number,
     "1 while the primary reservoir's float closes its contact, which lights the lamp"},
    {"secondary_contact", Dimension::number, "the same of the secondary reservoir's"},
};

/// Told as derived only where there are floats that it says something about.
void derive_low_level(Values& v) {
    const double quarter = 0.25 * v["reservoir_volume"];
    if (!v.flag("level_switch"))
        v.assume(v.find("low_level"), quarter);
    else
        v.derive("low_level", quarter);
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (!v.given("secondary_port_travel") && !v.changed("secondary_port_travel"))
        v.derive("secondary_port_travel", v["port_travel"]);
    if (!v.given("low_level") && !v.changed("low_level")) derive_low_level(v);
    // A piston presses its end stop by up to 0.2 mm (some kilonewtons on 3e7 N/m); room must be
    // left for it.
    if (v["dead_volume"] < circle_area(v["bore"]) * 0.3e-3)
        refused.push_back({"dead_volume",
                           "leaves no fluid when a piston presses its end stop: at least 0.3 mm of "
                           "the bore"});
    const double friction = 2 * v["cup_friction"];
    if (v["secondary_spring"] < friction)
        refused.push_back({"secondary_spring",
                           "weaker than the cup friction of both pistons together; it could never "
                           "bring them back to their ports: raise it or lower cup_friction"});
    if (v.flag("caged") && v["primary_spring"] <= v["secondary_spring"])
        refused.push_back({"primary_spring",
                           "a caged primary spring must be stronger than secondary_spring, or its "
                           "cage is never tight: raise it, or state caged: no"});
    if (!v.flag("caged") && v["primary_spring"] >= v["secondary_spring"])
        refused.push_back(
            {"primary_spring",
             "without a cage a primary spring as strong as secondary_spring holds the "
             "secondary port shut at rest: lower it, or state caged: yes"});
    for (const char* travel : {"port_travel", "secondary_port_travel"})
        if (v[travel] <= v["port"])
            refused.push_back({travel,
                               "not longer than the port's diameter; the port would be partly "
                               "covered at rest: raise it or lower port"});
    return refused;
}

} // namespace

// Known before any other table is made, so that a kind like it can take up its tables.
constinit const PartKind TandemMaster::kind = {
    .name = "tandem_master",
    .summary = "tandem master cylinder with springs, cups, compensating ports and two reservoirs",
    .fields = kFields,
    .ports = TandemMaster::kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .joints = kJointTable,
    .make = PartOf<TandemMaster, TandemMaster::kPortTable>::make,
    .complete = complete};

TandemMaster::TandemMaster(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), density_(around.fluid.density()), area_(circle_area(v["bore"])),
      stroke1_(v["primary_stroke"]), stroke2_(v["secondary_stroke"]), spring1_(v["primary_spring"]),
      rate1_(v["primary_rate"]), spring2_(v["secondary_spring"]), rate2_(v["secondary_rate"]),
      dead_(v["dead_volume"]), wall_(v["body_stretch"]), caged_(v.flag("caged")),
      port_(v["port"]), port_travel_{v["port_travel"], v["secondary_port_travel"]},
      port_share_{v["primary_port_open"], v["secondary_port_open"]}, port_wall_(1e-3),
      cup_area_(circle_area(v["recuperation_hole"])), lip_(v["lip_opening"]), lip_spread_(5e3),
      friction_(v["cup_friction"] + v["cup_swelling"]),
      friction_rise_(v["cup_friction_rise"] * area_), damping_(v["damping"]), height_(v["height"]),
      reservoir_height_(v["reservoir_height"]), leak_primary_(0.5 * v["leak_primary"]),
      leak_front_(0.5 * v["leak_secondary_front"]), leak_rear_(0.5 * v["leak_secondary_rear"]),
      reservoir_volume_(v["reservoir_volume"]), leak_seals_at_(v["leak_seals_at"]),
      low_level_(v["low_level"]),
      float_(static_cast<int>(v["level_switch"])), cup_{v["cup_stiffness"], v["damping"]} {}

} // namespace pedalbench
