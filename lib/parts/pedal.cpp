#include "parts/pedal.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"ratio", Dimension::number, kUnset, 1, 12, Mark::given, "",
     "pad travel over push-rod travel; 4-7 is usual"},
    {"free_play", Dimension::length, 5e-3, 0, 40e-3, Mark::published,
     "3-8 mm in service data; about 1/4 in in US Army TB 9-2300-426-20",
     "travel at the pad before the push rod meets the piston"},
    {"flex", Dimension::flexibility, 1e-5, 1e-6, 1e-4, Mark::judgement, "0.005-0.02 mm/N",
     "give of arm and bulkhead, at the pad"},
    {"return_force", Dimension::force, 5, 0, 100, Mark::judgement, "a light spring at the arm",
     "pull of the pedal's own return spring, at the pad"},
    {"return_rate", Dimension::stiffness, 0, 0, 2000, Mark::judgement,
     "a long soft spring changes little", "rate of the return spring, at the pad"},
    {"held_off", Dimension::length, 0, 0, 60e-3, Mark::practice, "a free pedal rests on its stop",
     "travel at the pad at which something, such as a stop-lamp switch set too far, stops its "
     "return"},
    {"held_by", Dimension::choice, 0, 0, 1, Mark::practice, "the usual cause",
     "what holds it off: the stop-lamp switch, which then is pressed there and the lamps are dark; "
     "or something else, and they stay lit if it is past stop_lamp_travel",
     "stop_lamp_switch|other"},
    {"stop_lamp_travel", Dimension::length, 8e-3, -20e-3, 60e-3, Mark::practice,
     "no source: the lamps come on before the brakes do",
     "travel at the pad, without flex, from where the switch is pressed home to where the stop "
     "lamps light; below zero: set so far out that they are never dark"},
    {"floor", Dimension::length, 150e-3, 30e-3, 300e-3, Mark::judgement, "room under the pad",
     "travel at the pad at which it meets the floor"},
    {"damping", Dimension::damping, 100, 10, 5000, Mark::judgement,
     "pivot friction, nobody measures it", "resistance of the arm to speed, at the push rod"},
    {"driven_by", Dimension::choice, 0, 0, 1, Mark::practice, "set by the scenario's foot input",
     "what the foot imposes", "force|travel"},
};
constexpr JointInfo kJointTable[] = {{"push rod", JointKind::rod}};
// Of a contact that gives 20 kN/mm, 0.02 um are 0.4 N: with ten times more the pedal left its stop
// 2 N too early and then fell through it for some milliseconds.
constexpr StateInfo kStateTable[] = {{"arm position", Dimension::length, 2e-8}};
constexpr GuardInfo kGuardTable[] = {
    {"push rod meets piston", Dimension::length, 1e-8, "push rod meets the piston",
     "push rod leaves the piston", "force,travel"},
    {"return stop", Dimension::length, 1e-8, "pedal is back on its stop", "", "travel"},
    {"floor", Dimension::length, 1e-8, "pedal meets the floor", "", "force,travel"},
    {"foot on pad", Dimension::length, 1e-8, "", "", ""},
    {"stop-lamp switch", Dimension::length, 1e-6, "stop lamps lit", "stop lamps dark", "travel",
     true},
};
constexpr QuantityInfo kQuantities[] = {
    {"force", Dimension::force, "force of the foot at the pad"},
    {"travel", Dimension::length, "travel of the pad from its rest stop"},
    {"rod_force", Dimension::force, "force of the push rod on the piston"},
    {"stop_lamps", Dimension::number, "1 while the stop lamps are lit"},
};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Pedal::kind = {.name = "pedal",
                              .summary = "pedal arm with flex, free play, return spring and stop",
                              .fields = kFields,
                              .ports = {},
                              .states = kStateTable,
                              .guards = kGuardTable,
                              .quantities = kQuantities,
                              .joints = kJointTable,
                              .driven = kDriven,
                              .make = PartOf<Pedal>::make,
                              .complete = complete};

Pedal::Pedal(const Values& v, const Surroundings&)
    : ratio_(v["ratio"]), play_(v["free_play"] / ratio_), flex_(v["flex"]),
      return_force_(v["return_force"]), return_rate_(v["return_rate"]),
      stop_(v["held_off"] / ratio_), floor_(v["floor"]), damping_(v["damping"]),
      lamps_at_(v["stop_lamp_travel"] + (v.flag("held_by") ? 0 : v["held_off"])),
      by_travel_(v.flag("driven_by")) {}

} // namespace pedalbench
