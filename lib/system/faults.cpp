#include "system/faults.hpp"

#include "parts/registry.hpp"

namespace pedalbench {
namespace {

constexpr FaultKind kFaults[] = {
    {"leak", "", "", "leak", "hole", kUnset, "a hole to the outside at a part; size: its diameter"},
    {"air", "", "", "air_pocket", "pocket", kUnset,
     "air at a point that was not bled or drew it in; size: its volume at 1 atm"},
    {"pedal_held_off", "pedal", "held_off", "", "held_off", kUnset,
     "something keeps the pedal off its stop; size: travel at the pad"},
    {"booster_without_vacuum", "booster", "vacuum", "", "vacuum", 0,
     "no vacuum comes to the booster; what its check valve still holds is used up first; size: the "
     "depression that is left"},
    {"output_rod_misadjusted", "booster", "rod_clearance", "", "rod_clearance", kUnset,
     "the booster's output rod is too short or too long; size: its gap to the cylinder's piston, "
     "below zero when too long"},
    {"primary_port_blocked", "tandem_master", "primary_port_open", "", "primary_port_open", 0,
     "the primary compensating port is blocked; size: the share that stays open"},
    {"secondary_port_blocked", "tandem_master", "secondary_port_open", "", "secondary_port_open", 0,
     "the secondary compensating port is blocked; size: the share that stays open"},
    {"primary_cup_leak", "tandem_master", "leak_primary", "", "leak_primary", kUnset,
     "fluid passes the primary cup back to its reservoir; size: diameter of the hole"},
    {"secondary_front_cup_leak", "tandem_master", "leak_secondary_front", "",
     "leak_secondary_front", kUnset,
     "fluid passes the secondary front cup to its reservoir; size: diameter of the hole"},
    {"secondary_rear_cup_leak", "tandem_master", "leak_secondary_rear", "", "leak_secondary_rear",
     kUnset,
     "fluid passes the secondary rear cup to the secondary reservoir; size: diameter of the hole"},
    {"swollen_cups", "tandem_master", "cup_swelling", "", "cup_swelling", kUnset,
     "mineral oil has swollen the cups, so that the pistons do not come home; size: what that adds "
     "to the friction of each piston's cups"},
    {"reservoir_low", "tandem_master", "reservoir_volume", "", "reservoir_volume", kUnset,
     "nobody topped up; size: fluid that is left in each reservoir at the start"},
    {"wrong_primary_stroke", "tandem_master", "primary_stroke", "", "primary_stroke", kUnset,
     "a look-alike cylinder with another primary stroke; size: that stroke"},
    {"wrong_secondary_stroke", "tandem_master", "secondary_stroke", "", "secondary_stroke", kUnset,
     "a look-alike cylinder with another secondary stroke; size: that stroke"},
    {"residual_valve_missing", "residual_valve", "fitted", "", "", 0,
     "the valve is not in its place"},
    {"residual_valve_added", "residual_valve", "fitted", "", "", 1,
     "a valve stands where none belongs"},
    {"residual_valve_holds", "residual_valve", "holding", "", "holding", kUnset,
     "the valve holds another pressure; size: that pressure"},
    {"residual_valve_stuck_shut", "residual_valve", "stuck", "", "", 1,
     "the valve is stuck on its seat and lets nothing back"},
    {"residual_valve_leaks", "residual_valve", "dirt", "", "dirt", kUnset,
     "dirt holds the valve off its seat, so that the line empties by and by; size: diameter of one "
     "hole as large as the gap"},
    {"rod_wedged", "hold_off_valve", "rod", "", "", 2,
     "the valve's rod is wedged in with something rigid"},
    {"rod_held", "hold_off_valve", "rod", "", "", 1,
     "the valve's rod is held in by hand, for bleeding"},
    {"plate_spring", "hold_off_valve", "plate_spring", "", "plate_spring", kUnset,
     "a weak or strong plate spring; size: its force"},
    {"hold_off_stuck_open", "hold_off_valve", "plate", "", "", 1,
     "the valve's plate is stuck off its seat and holds nothing off"},
    {"hold_off_stuck_shut", "hold_off_valve", "plate", "", "", 2,
     "the valve's plate is stuck on its seat and never lets the front have its pressure"},
    {"proportioning_knee", "proportioning_valve", "knee", "", "knee", kUnset,
     "the valve bends at another pressure; size: that knee"},
    {"bypass_stuck_open", "proportioning_valve", "bypass", "", "", 1,
     "the by-pass is stuck open and nothing is held back from the rear"},
    {"bypass_stuck_shut", "proportioning_valve", "bypass", "", "", 2,
     "the by-pass is stuck shut and holds the rear back though the front is lost"},
    {"switch_springs", "pressure_switch", "trip", "", "trip", kUnset,
     "wrong springs, or a wrong ball, in the warning switch; size: the difference that lights the "
     "lamp"},
    {"hose_flap", "hose", "bore_back", "", "bore_back", kUnset,
     "a flap inside the hose lets fluid out but not back; size: the opening left for the way back"},
    {"hose_restriction", "hose", "bore_out", "", "bore_out", kUnset,
     "the hose is swollen inside; size: the opening left toward the wheel"},
    {"soft_hose", "hose", "swelling", "", "swelling", kUnset,
     "the hose swells more than it should; size: times the usual swelling"},
    {"seal_without_rollback", "disc_caliper", "seal_rollback", "", "seal_rollback", 0,
     "a swollen, hard or worn seal no longer takes the piston back; size: share of the elastic "
     "return that is left"},
    {"piston_sticking", "disc_caliper", "sticking", "", "sticking", kUnset,
     "the piston rusts in its bore; size: the friction that holds it there, both ways"},
    {"wrong_bore", "tandem_master", "bore", "", "bore", kUnset,
     "a look-alike cylinder with another bore; size: that bore"},
    {"port_travel_off", "tandem_master", "port_travel", "", "port_travel", kUnset,
     "the cups cover the compensating ports early or late; size: the travel that it takes"},
    {"take_up_valve_open", "take_up_master", "bypass", "", "bypass", 2.5e-3,
     "the take-up valve does not shut; size: the hole that stays open"},
    {"take_up_valve_shut", "take_up_master", "valve_opens", "", "valve_opens", 25e6,
     "the take-up valve opens too late or sticks shut; size: the pressure at which it opens"},
    {"take_up_bypass_blocked", "take_up_master", "bypass", "", "bypass", 0,
     "the groove in the take-up valve's seat is blocked; size: the hole that is left"},
    {"pins_seized", "disc_caliper", "pin_friction", "", "pin_friction", kUnset,
     "the housing sticks on its pins; size: their friction"},
    {"thickness_variation", "disc_caliper", "thickness_variation", "", "thickness_variation",
     kUnset, "a disc that is worn unevenly; size: thickest less thinnest"},
    {"run_out", "disc_caliper", "run_out", "", "run_out", kUnset,
     "a disc that does not run true; size: from one side to the other in one turn"},
    {"hub_play", "disc_caliper", "hub_deflection", "", "hub_deflection", kUnset,
     "a loose hub leans and pushes the disc against the piston; size: how far"},
    {"worn_pads", "disc_caliper", "wear", "", "wear", kUnset,
     "worn linings; size: lining gone from both pads together"},
    {"wrong_friction", "disc_caliper", "friction", "", "friction", kUnset,
     "pads of another friction; size: that friction"},
    {"shoe_springs", "drum_brake", "push_out", "", "push_out", kUnset,
     "weak or strong return springs; size: the pressure that pushes the shoes out"},
    {"shoe_spring_broken", "drum_brake", "springs_left", "", "springs_left", 0,
     "a return spring is broken or unhooked; size: share of their pull that is left"},
    {"shoes_misadjusted", "drum_brake", "clearance", "", "clearance", kUnset,
     "shoes too close or too far; size: travel of each piston before its lining touches, below "
     "zero where they press on the drum at rest"},
    {"parking_cable_stuck", "drum_brake", "cable_hangs", "", "cable_hangs", kUnset,
     "the parking cable hangs or is adjusted too short; size: the force that it keeps on the tip "
     "of each shoe"},
    {"caliper_cable_stuck", "disc_caliper", "cable_hangs", "", "cable_hangs", kUnset,
     "the parking cable of a caliper hangs; size: the force that it keeps on the piston"},
    {"worn_linings", "drum_brake", "wear", "", "wear", kUnset,
     "linings worn and nobody adjusted; size: lining gone from each shoe, as travel of its piston"},
    {"wrong_lining_friction", "drum_brake", "friction", "", "friction", kUnset,
     "linings of another friction, with shoes by geometry; size: that friction"},
    {"bleeder_open", "bleeder", "opening", "", "opening", kUnset,
     "the bleed screw is open; size: diameter of the way out"},
    {"warning_switch_stuck", "pressure_switch", "sticking", "", "sticking", kUnset,
     "the piston of the warning switch rusts in its bore; size: the friction that holds it there"},
    {"warning_bulb_blown", "warning_lamp", "bulb", "", "", 1, "the lamp's bulb has blown"},
    {"level_switch_stuck", "tandem_master", "level_switch", "", "", 2,
     "the floats in the reservoirs hang up and tell no low level"},
    {"pressure_bleeding", "pressure_bleeder", "pressure", "", "pressure", kUnset,
     "the tank is connected to the reservoirs; size: its pressure"},
    {"water_in_fluid", "fluid", "water", "", "water", kUnset,
     "the fluid has drawn water from the air and boils earlier; size: share of water by mass"},
    {"thick_fluid", "fluid", "viscosity_cold", "", "viscosity_cold", kUnset,
     "old or wrong fluid that is stiff in the cold; size: its viscosity at -40 C"},
    {"hot_or_cold", "surroundings", "temperature", "", "temperature", kUnset,
     "the car stands in heat or frost; size: temperature of the air and of everything at the "
     "start"},
};

/// Puts `name` into a run behind (or, for an inlet, before) the part `at`.
bool insert(Run& run, const std::string& at, bool before, const std::string& name) {
    for (std::size_t i = 0; i < run.parts.size(); ++i)
        if (run.parts[i] == at) {
            run.parts.insert(run.parts.begin() + static_cast<std::ptrdiff_t>(i) + (before ? 0 : 1),
                             name);
            return true;
        }
    for (Run& branch : run.branches)
        if (insert(branch, at, before, name)) return true;
    return false;
}

bool insert(Hardware& hardware, const std::string& at, const std::string& name) {
    const std::size_t dot = at.find('.');
    const std::string part = at.substr(0, dot),
                      port = dot == std::string::npos ? "" : at.substr(dot + 1);
    for (Circuit& circuit : hardware.circuits) {
        const bool outlet = find_kind("tandem_master") && port == circuit.outlet;
        if (outlet) {
            circuit.run.parts.insert(circuit.run.parts.begin(), name);
            return true;
        }
        if (insert(circuit.run, part, port == "inlet", name)) return true;
    }
    return false;
}

} // namespace

std::span<const FaultKind> fault_kinds() {
    return kFaults;
}

const FaultKind* find_fault(std::string_view name) {
    for (const FaultKind& kind : kFaults)
        if (kind.name == name) return &kind;
    return nullptr;
}

std::span<const Field> fields_of(const FaultKind& kind) {
    const std::string_view owner = kind.inserts.empty() ? kind.part : kind.inserts;
    if (owner == "fluid") return fluid_fields();
    if (owner == "surroundings") return surroundings_fields();
    const PartKind* part = find_kind(owner);
    return part ? part->fields : std::span<const Field>{};
}

bool comes_later(const FaultKind& kind) {
    if (kind.part == "fluid" || kind.part == "surroundings") return false;
    const std::string_view name = kind.inserts.empty() ? kind.field : kind.size_field;
    for (const Field& field : fields_of(kind))
        if (field.name == name) return !field.at_start;
    return true;
}

std::vector<Refusal> apply_fault(Scenario& scenario, const Fault& fault) {
    const FaultKind& kind = *fault.kind;
    const bool sized = fault.size == fault.size;
    if (!sized && !kind.size_field.empty() && kind.value != kind.value)
        return {{"size", "needed: " + std::string(kind.help)}};
    if (!sized && kind.size_field.empty() && kind.value != kind.value)
        return {{"kind", "has neither a size nor a value"}};
    if (sized && kind.size_field.empty())
        return {{"size", "this kind of fault has none: leave it out"}};

    if (!comes_later(kind) && (fault.from > 0 || fault.over > 0))
        return {{fault.from > 0 ? "from" : "over",
                 "this kind of fault is there from the start: leave it out"}};

    Change change;
    change.at = fault.from;
    change.over = fault.over;
    if (!kind.inserts.empty()) {
        PartSpec spec;
        spec.name = fault.name;
        spec.kind = find_kind(kind.inserts);
        spec.values = Values(spec.kind->fields);
        for (const PartSpec& other : scenario.hardware.parts)
            if (other.name == fault.name) return {{"", "a part of this name exists already"}};
        if (!insert(scenario.hardware, fault.at, fault.name))
            return {{"at", "no circuit passes " + fault.at}};
        scenario.hardware.parts.push_back(std::move(spec));
        change.part = fault.name;
        change.field = kind.size_field;
    } else {
        change.part = fault.at;
        change.field = kind.field;
        if (kind.part == "fluid" || kind.part == "surroundings")
            if (fault.at != kind.part)
                return {{"at", "this fault befalls the " + std::string(kind.part)}};
        for (const PartSpec& spec : scenario.hardware.parts)
            if (spec.name == fault.at && !kind.befalls(*spec.kind))
                return {{"at", fault.at + " is a " + std::string(spec.kind->name) +
                                   "; this fault befalls a " + std::string(kind.part)}};
    }
    change.value = sized ? fault.size : kind.value;
    scenario.changes.push_back(change);
    return {};
}

} // namespace pedalbench
