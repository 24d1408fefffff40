#include "parts/warning_lamp.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr double kOff = 0, kOn = 1, kCranking = 2; // ignition

constexpr Field kFields[] = {
    {"ignition", Dimension::choice, kOn, 0, 2, Mark::practice, "the engine runs",
     "off: no current; on: any closed contact lights the lamp; cranking: it is lit to prove the "
     "bulb",
     "off|on|cranking"},
    {"bulb", Dimension::choice, 0, 0, 1, Mark::practice, "a sound bulb",
     "a blown one stays dark whatever the contacts say", "sound|blown"},
    {"bulb_time", Dimension::time, 0.05, 0.005, 0.5, Mark::judgement,
     "a filament of 1-3 W takes some hundredths of a second",
     "in which the bulb comes to 63 % of its light"},
};
constexpr JointInfo kJointTable[] = {{"wire", JointKind::wire, true}};
constexpr GuardInfo kGuardTable[] = {
    {"lit", Dimension::number, 0.01, "lamp lit", "lamp dark", "", true},
};
constexpr QuantityInfo kQuantities[] = {
    {"lit", Dimension::number, "1 while the lamp is lit"},
    {"glow", Dimension::number, "light of the bulb, as a share of all it gives"},
    {"proof_contact", Dimension::number, "1 while the engine is cranked, which lights the lamp"},
};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind WarningLamp::kind = {
    .name = "warning_lamp",
    .summary = "brake warning lamp: lit by any contact of the car, and while the engine is cranked",
    .fields = kFields,
    .ports = {},
    .states = {},
    .guards = kGuardTable,
    .quantities = kQuantities,
    .joints = kJointTable,
    .make = PartOf<WarningLamp>::make,
    .complete = complete};

WarningLamp::WarningLamp(const Values& v, const Surroundings&)
    : time_(v["bulb_time"]), powered_(v["ignition"] != kOff && !v.flag("bulb")),
      proof_(v["ignition"] == kCranking) {}

} // namespace pedalbench
