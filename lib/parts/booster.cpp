#include "parts/booster.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"diameter", Dimension::length, kUnset, 80e-3, 500e-3, Mark::given, "",
     "diameter on which the pressure difference works; of two diaphragms in tandem, that of one "
     "with the area of both"},
    {"ratio", Dimension::number, 6, 1.5, 15, Mark::published,
     "6:1-9:1 in service data of small cars",
     "growth of the output per growth of the input, between jump-in and run-out"},
    {"cut_in", Dimension::force, 80, 5, 500, Mark::judgement, "60-100 N",
     "force on the input rod at which the valve lets air in"},
    {"jump_in", Dimension::force, 350, 0, 3000, Mark::judgement, "200-600 N",
     "output to which the booster goes at cut-in, before the reaction disc meets the plunger"},
    {"hysteresis", Dimension::force, 25, 1, 500, Mark::judgement, "20-40 N",
     "how much lower the input is on release than on application, at equal output"},
    {"vacuum", Dimension::pressure, 66.7e3, 0, 95e3, Mark::published,
     "66.7 kPa (500 mmHg) in service data", "depression that the engine or a pump supplies"},
    {"engine", Dimension::choice, 1, 0, 1, Mark::practice, "running",
     "whether vacuum is supplied; without, the check valve keeps what is there", "off|on"},
    {"recharge", Dimension::time, 0.2, 0.02, 20, Mark::judgement,
     "an idling engine empties it in about a second",
     "time constant with which the front chamber empties through the check valve"},
    {"reserve_volume", Dimension::volume, 1e-3, 1e-4, 20e-3, Mark::judgement,
     "front shell and hose", "room on the vacuum side that the power piston never takes"},
    {"lag", Dimension::time, 0.1, 0.01, 2, Mark::judgement, "0.1-0.2 s to full assist in a stab",
     "time constant with which the working chamber fills or empties through the wide open valve, "
     "at half stroke"},
    {"stroke", Dimension::length, 40e-3, 10e-3, 100e-3, Mark::published,
     "cylinder strokes of 31-45 mm in service data", "travel of the power piston to its end"},
    {"return_spring", Dimension::force, 150, 20, 800, Mark::judgement, "100-250 N",
     "force of the power piston's return spring at rest"},
    {"return_rate", Dimension::stiffness, 3000, 0, 2e4, Mark::judgement, "2-8 N/mm",
     "rate of that spring"},
    {"valve_travel", Dimension::length, 0.8e-3, 0.1e-3, 4e-3, Mark::judgement, "about 1 mm",
     "travel of the plunger in the power piston until the air valve opens"},
    {"plunger_travel", Dimension::length, 2.5e-3, 0.5e-3, 10e-3, Mark::judgement, "2-3 mm",
     "travel of the plunger until it bears on the power piston, metal on metal"},
    {"disc_rate", Dimension::stiffness, 1.5e5, 1e4, 3e6, Mark::judgement,
     "a rubber disc bulges 0.4 mm toward the plunger at jump-in",
     "stiffness of the reaction disc against the plunger"},
    {"rod_clearance", Dimension::length, 0.3e-3, -5e-3, 10e-3, Mark::judgement, "0.1-0.5 mm",
     "gap at rest between the output rod and the cylinder's piston; below zero the rod is too long "
     "and holds the piston off its stop"},
    {"damping", Dimension::damping, 100, 10, 5000, Mark::judgement, "nobody measures it",
     "resistance to speed of the input rod, and of the power piston"},
};
constexpr JointInfo kJointTable[] = {{"input rod", JointKind::rod, true},
                                     {"output rod", JointKind::rod}};
// 2e-8 m3 of air are 5 Pa in half a litre: 0.2 N on the diaphragm.
constexpr StateInfo kStateTable[] = {{"power piston position", Dimension::length, 2e-7},
                                     {"air in the front chamber", Dimension::volume, 2e-8},
                                     {"air in the rear chamber", Dimension::volume, 2e-8}};
constexpr GuardInfo kGuardTable[] = {
    {"plunger at its rest stop", Dimension::length, 1e-8, "", "", ""},
    {"air valve", Dimension::length, 1e-7, "air valve opens", "", "input,output"},
    {"vacuum valve", Dimension::length, 1e-7, "vacuum valve opens", "", "input,output"},
    {"reaction disc", Dimension::force, 0.01, "reaction disc meets the plunger",
     "reaction disc leaves the plunger", "input,output"},
    {"plunger at the power piston", Dimension::length, 1e-8, "plunger bears on the power piston",
     "", "input,output"},
    {"power piston home", Dimension::length, 1e-8, "", "", ""},
    {"power piston at its end", Dimension::length, 1e-8, "power piston is at the end of its stroke",
     "", "input,output"},
    {"check valve", Dimension::pressure, 1, "", "", ""},
    {"output rod", Dimension::length, 1e-8, "output rod meets the cylinder's piston", "", "travel"},
};
constexpr QuantityInfo kQuantities[] = {
    {"input", Dimension::force, "force that the input rod bears"},
    {"output", Dimension::force, "force of the output rod on the cylinder's piston"},
    {"travel", Dimension::length, "travel of the power piston"},
    {"assist", Dimension::pressure, "pressure difference across the diaphragm"},
    {"vacuum_left", Dimension::pressure, "depression in the front chamber"},
    {"run_out", Dimension::force, "output at which the vacuum that is left would be used up"},
};

/// The plunger's spring gives this share of `cut_in` at rest and the rest over the valve travel.
constexpr double kPreload = 0.8;

double valve_rate(const Values& v) {
    return (1 - kPreload) * v["cut_in"] / v["valve_travel"];
}
/// Way between the vacuum valve shutting and the air valve opening [m].
double lap(const Values& v) {
    return v["hysteresis"] / (valve_rate(v) + v["disc_rate"]);
}

std::vector<Refusal> complete(Values& v, const Surroundings& around) {
    std::vector<Refusal> refused;
    if (v["vacuum"] > 0.98 * around.pressure)
        refused.push_back({"vacuum", "more than 98 % of the pressure of the air: lower it, or "
                                     "raise surroundings.pressure"});
    if (lap(v) > 0.8 * v["valve_travel"])
        refused.push_back({"hysteresis",
                           "leaves the vacuum valve shut, or nearly so, at rest; the booster would "
                           "not let go: lower it, or raise valve_travel or disc_rate"});
    if (v["plunger_travel"] < v["valve_travel"] + 0.1e-3)
        refused.push_back({"plunger_travel", "the plunger would bear on the power piston before "
                                             "the air valve is 0.1 mm open: raise it or lower "
                                             "valve_travel"});
    return refused;
}

} // namespace

const PartKind Booster::kind = {.name = "booster",
                                .summary = "vacuum booster between pedal and master cylinder",
                                .fields = kFields,
                                .ports = {},
                                .states = kStateTable,
                                .guards = kGuardTable,
                                .quantities = kQuantities,
                                .joints = kJointTable,
                                .make = PartOf<Booster>::make,
                                .complete = complete};

Booster::Booster(const Values& v, const Surroundings& around)
    : outside_(around.pressure), evacuated_(around.pressure - v["vacuum"]),
      supply_(v.flag("engine") ? evacuated_ : outside_), area_(circle_area(v["diameter"])),
      ratio_(v["ratio"]), cut_in_(v["cut_in"]), jump_in_(v["jump_in"]), disc_rate_(v["disc_rate"]),
      valve_travel_(v["valve_travel"]), plunger_travel_(v["plunger_travel"]), rate_(valve_rate(v)),
      spring_(kPreload * v["cut_in"]), lap_(lap(v)), return_spring_(v["return_spring"]),
      return_rate_(v["return_rate"]), rod_clearance_(v["rod_clearance"]), stroke_(v["stroke"]),
      reserve_(v["reserve_volume"]),
      valve_flow_(area_ * (kRearGap + 0.5 * stroke_) / (v["lag"] * outside_)),
      supply_flow_((reserve_ + area_ * stroke_) / (v["recharge"] * outside_)),
      damping_(v["damping"]) {}

} // namespace pedalbench
