// Every kind of fault, with the sizes between which a search looks.
#include "system/faults.hpp"

namespace pedalbench {
namespace {

constexpr Sizes kNoSizes;
constexpr Sizes linear(double mild, double worst) {
    return {Sizes::Scale::linear, mild, worst};
}
constexpr Sizes logarithmic(double mild, double worst) {
    return {Sizes::Scale::logarithmic, mild, worst};
}
constexpr Sizes times(double mild, double worst) {
    return {Sizes::Scale::times, mild, worst};
}

constexpr FaultKind kFaults[] = {
    {"leak", "", "", "leak", "hole", kUnset, "a hole to the outside at a part; size: its diameter",
     logarithmic(3e-5, 2e-3)},
    {"air", "", "", "air_pocket", "pocket", kUnset,
     "air at a point that was not bled or drew it in; size: its volume at 1 atm",
     logarithmic(1e-7, 8e-6)},
    {"pedal_held_off", "pedal", "held_off", "", "held_off", kUnset,
     "something keeps the pedal off its stop; size: travel at the pad", logarithmic(2e-3, 25e-3)},
    {"booster_without_vacuum", "booster", "vacuum", "", "vacuum", 0,
     "no vacuum comes to the booster; what its check valve still holds is used up first; size: the "
     "depression that is left",
     linear(5e4, 0)},
    {"output_rod_misadjusted", "booster", "rod_clearance", "", "rod_clearance", kUnset,
     "the booster's output rod is too short or too long; size: its gap to the cylinder's piston, "
     "below zero when too long",
     linear(-2e-3, 3e-3)},
    {"primary_port_blocked", "tandem_master", "primary_port_open", "", "primary_port_open", 0,
     "the primary compensating port is blocked; size: the share that stays open", linear(0.2, 0)},
    {"secondary_port_blocked", "tandem_master", "secondary_port_open", "", "secondary_port_open", 0,
     "the secondary compensating port is blocked; size: the share that stays open", linear(0.2, 0)},
    {"primary_cup_leak", "tandem_master", "leak_primary", "", "leak_primary", kUnset,
     "fluid passes the primary cup back to its reservoir; size: diameter of the hole",
     logarithmic(2e-5, 5e-4)},
    {"secondary_front_cup_leak", "tandem_master", "leak_secondary_front", "",
     "leak_secondary_front", kUnset,
     "fluid passes the secondary front cup to its reservoir; size: diameter of the hole",
     logarithmic(2e-5, 5e-4)},
    {"secondary_rear_cup_leak", "tandem_master", "leak_secondary_rear", "", "leak_secondary_rear",
     kUnset,
     "fluid passes the secondary rear cup to the secondary reservoir; size: diameter of the hole",
     logarithmic(2e-5, 5e-4)},
    {"swollen_cups", "tandem_master", "cup_swelling", "", "cup_swelling", kUnset,
     "mineral oil has swollen the cups, so that the pistons do not come home; size: what that adds "
     "to the friction of each piston's cups",
     logarithmic(10, 200)},
    {"reservoir_low", "tandem_master", "reservoir_volume", "", "reservoir_volume", kUnset,
     "nobody topped up; size: fluid that is left in each reservoir at the start",
     logarithmic(40e-6, 1e-6)},
    {"wrong_primary_stroke", "tandem_master", "primary_stroke", "", "primary_stroke", kUnset,
     "a look-alike cylinder with another primary stroke; size: that stroke", times(0.95, 0.5)},
    {"wrong_secondary_stroke", "tandem_master", "secondary_stroke", "", "secondary_stroke", kUnset,
     "a look-alike cylinder with another secondary stroke; size: that stroke", times(0.95, 0.5)},
    {"residual_valve_missing", "residual_valve", "fitted", "", "", 0,
     "the valve is not in its place"},
    {"residual_valve_added", "residual_valve", "fitted", "", "", 1,
     "a valve stands where none belongs"},
    {"residual_valve_holds", "residual_valve", "holding", "", "holding", kUnset,
     "the valve holds another pressure; size: that pressure", times(0.2, 4)},
    {"residual_valve_stuck_shut", "residual_valve", "stuck", "", "", 1,
     "the valve is stuck on its seat and lets nothing back"},
    {"residual_valve_leaks", "residual_valve", "dirt", "", "dirt", kUnset,
     "dirt holds the valve off its seat, so that the line empties by and by; size: diameter of one "
     "hole as large as the gap",
     logarithmic(2e-5, 1e-3)},
    {"rod_wedged", "hold_off_valve", "rod", "", "", 2,
     "the valve's rod is wedged in with something rigid"},
    {"rod_held", "hold_off_valve", "rod", "", "", 1,
     "the valve's rod is held in by hand, for bleeding", kNoSizes, true},
    {"plate_spring", "hold_off_valve", "plate_spring", "", "plate_spring", kUnset,
     "a weak or strong plate spring; size: its force", times(0.3, 3)},
    {"hold_off_stuck_open", "hold_off_valve", "plate", "", "", 1,
     "the valve's plate is stuck off its seat and holds nothing off"},
    {"hold_off_stuck_shut", "hold_off_valve", "plate", "", "", 2,
     "the valve's plate is stuck on its seat and never lets the front have its pressure"},
    {"proportioning_knee", "proportioning_valve", "knee", "", "knee", kUnset,
     "the valve bends at another pressure; size: that knee", times(0.4, 2.5)},
    {"bypass_stuck_open", "proportioning_valve", "bypass", "", "", 1,
     "the by-pass is stuck open and nothing is held back from the rear"},
    {"bypass_stuck_shut", "proportioning_valve", "bypass", "", "", 2,
     "the by-pass is stuck shut and holds the rear back though the front is lost"},
    {"switch_springs", "pressure_switch", "trip", "", "trip", kUnset,
     "wrong springs, or a wrong ball, in the warning switch; size: the difference that lights the "
     "lamp",
     times(0.3, 4)},
    {"hose_flap", "hose", "bore_back", "", "bore_back", kUnset,
     "a flap inside the hose lets fluid out but not back; size: the opening left for the way back",
     logarithmic(5e-4, 2e-5)},
    {"hose_restriction", "hose", "bore_out", "", "bore_out", kUnset,
     "the hose is swollen inside; size: the opening left toward the wheel",
     logarithmic(1e-3, 5e-5)},
    {"soft_hose", "hose", "swelling", "", "swelling", kUnset,
     "the hose swells more than it should; size: times the usual swelling", logarithmic(1.3, 8)},
    {"seal_without_rollback", "disc_caliper", "seal_rollback", "", "seal_rollback", 0,
     "a swollen, hard or worn seal no longer takes the piston back; size: share of the elastic "
     "return that is left",
     linear(0.8, 0)},
    {"piston_sticking", "disc_caliper", "sticking", "", "sticking", kUnset,
     "the piston rusts in its bore; size: the friction that holds it there, both ways",
     logarithmic(20, 1500)},
    {"wrong_bore", "tandem_master", "bore", "", "bore", kUnset,
     "a look-alike cylinder with another bore; size: that bore", times(0.8, 1.25)},
    {"port_travel_off", "tandem_master", "port_travel", "", "port_travel", kUnset,
     "the cups cover the compensating ports early or late; size: the travel that it takes",
     times(0.3, 3)},
    {"take_up_valve_open", "take_up_master", "bypass", "", "bypass", 2.5e-3,
     "the take-up valve does not shut; size: the hole that stays open", logarithmic(0.5e-3, 3e-3)},
    {"take_up_valve_shut", "take_up_master", "valve_opens", "", "valve_opens", 25e6,
     "the take-up valve opens too late or sticks shut; size: the pressure at which it opens",
     logarithmic(1e6, 25e6)},
    {"take_up_bypass_blocked", "take_up_master", "bypass", "", "bypass", 0,
     "the groove in the take-up valve's seat is blocked; size: the hole that is left",
     linear(0.3e-3, 0)},
    {"pins_seized", "disc_caliper", "pin_friction", "", "pin_friction", kUnset,
     "the housing sticks on its pins; size: their friction", logarithmic(50, 3000)},
    {"thickness_variation", "disc_caliper", "thickness_variation", "", "thickness_variation",
     kUnset, "a disc that is worn unevenly; size: thickest less thinnest", logarithmic(1e-5, 2e-4)},
    {"run_out", "disc_caliper", "run_out", "", "run_out", kUnset,
     "a disc that does not run true; size: from one side to the other in one turn",
     logarithmic(5e-5, 5e-4)},
    {"hub_play", "disc_caliper", "hub_deflection", "", "hub_deflection", kUnset,
     "a loose hub leans and pushes the disc against the piston; size: how far",
     logarithmic(1e-4, 1e-3)},
    {"worn_pads", "disc_caliper", "wear", "", "wear", kUnset,
     "worn linings; size: lining gone from both pads together", logarithmic(1e-3, 12e-3)},
    {"wrong_friction", "disc_caliper", "friction", "", "friction", kUnset,
     "pads of another friction; size: that friction", times(0.5, 1.6)},
    {"shoe_springs", "drum_brake", "push_out", "", "push_out", kUnset,
     "weak or strong return springs; size: the pressure that pushes the shoes out", times(0.3, 2)},
    {"shoe_spring_broken", "drum_brake", "springs_left", "", "springs_left", 0,
     "a return spring is broken or unhooked; size: share of their pull that is left",
     linear(0.7, 0)},
    {"shoes_misadjusted", "drum_brake", "clearance", "", "clearance", kUnset,
     "shoes too close or too far; size: travel of each piston before its lining touches, below "
     "zero where they press on the drum at rest",
     linear(-0.3e-3, 3e-3)},
    {"parking_cable_stuck", "drum_brake", "cable_hangs", "", "cable_hangs", kUnset,
     "the parking cable hangs or is adjusted too short; size: the force that it keeps on the tip "
     "of each shoe",
     logarithmic(10, 800)},
    {"caliper_cable_stuck", "disc_caliper", "cable_hangs", "", "cable_hangs", kUnset,
     "the parking cable of a caliper hangs; size: the force that it keeps on the piston",
     logarithmic(10, 800)},
    {"worn_linings", "drum_brake", "wear", "", "wear", kUnset,
     "linings worn and nobody adjusted; size: lining gone from each shoe, as travel of its piston",
     logarithmic(0.2e-3, 3e-3)},
    {"wrong_lining_friction", "drum_brake", "friction", "", "friction", kUnset,
     "linings of another friction, with shoes by geometry; size: that friction", times(0.5, 1.5)},
    {"bleeder_open", "bleeder", "opening", "", "opening", kUnset,
     "the bleed screw is open; size: diameter of the way out", logarithmic(5e-5, 1e-3)},
    {"warning_switch_stuck", "pressure_switch", "sticking", "", "sticking", kUnset,
     "the piston of the warning switch rusts in its bore; size: the friction that holds it there",
     logarithmic(5, 200)},
    {"warning_bulb_blown", "warning_lamp", "bulb", "", "", 1, "the lamp's bulb has blown"},
    {"level_switch_stuck", "tandem_master", "level_switch", "", "", 2,
     "the floats in the reservoirs hang up and tell no low level"},
    {"pressure_bleeding", "pressure_bleeder", "pressure", "", "pressure", kUnset,
     "the tank is connected to the reservoirs; size: its pressure", logarithmic(5e4, 3e5), true},
    {"water_in_fluid", "fluid", "water", "", "water", kUnset,
     "the fluid has drawn water from the air and boils earlier; size: share of water by mass",
     linear(0.005, 0.05)},
    {"thick_fluid", "fluid", "viscosity_cold", "", "viscosity_cold", kUnset,
     "old or wrong fluid that is stiff in the cold; size: its viscosity at -40 C", times(1.5, 10)},
    {"hot_or_cold", "surroundings", "temperature", "", "temperature", kUnset,
     "the car stands in heat or frost; size: temperature of the air and of everything at the "
     "start",
     linear(243.15, 318.15), true},
};

} // namespace

std::span<const FaultKind> fault_kinds() {
    return kFaults;
}

} // namespace pedalbench
