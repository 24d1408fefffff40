#include "wheel/rotor.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"mass", Dimension::mass, kUnset, 0.5, 60, Mark::given, "", "of the disc or drum"},
    {"diameter", Dimension::length, 0.24, 0.1, 0.6, Mark::judgement, "a middling car",
     "outer diameter, for the radiating face"},
    {"specific_heat", Dimension::number, 500, 300, 1500, Mark::practice,
     "grey iron 460-540 J/(kg K)", "heat per mass and warmth, in J/(kg K)"},
    {"cooling_still", Dimension::conductance, 1.5, 0, 50, Mark::judgement,
     "about 10 W/(m2 K) on 0.15 m2", "to still air"},
    {"cooling_moving", Dimension::number, 0.12, 0, 5, Mark::judgement,
     "about 60 W/(m2 K) at 100 km/h on 0.15 m2", "more of it per speed, in W/K per rad/s"},
    {"emissivity", Dimension::number, 0.4, 0, 1, Mark::judgement, "bright iron 0.2, rusted 0.8",
     "of its face"},
};
constexpr JointInfo kJointTable[] = {{"wheel", JointKind::wheel},
                                     {"angle", JointKind::angle, true},
                                     {"heat", JointKind::heat, true}};
constexpr QuantityInfo kQuantities[] = {
    {"temperature", Dimension::temperature, "temperature of the disc or drum"},
    {"cooling", Dimension::power, "heat that it gives to the air"},
};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Rotor::kind = {.name = "rotor",
                              .summary =
                                  "disc or drum of one wheel: stores heat, gives it to the air",
                              .fields = kFields,
                              .ports = {},
                              .states = {},
                              .guards = {},
                              .quantities = kQuantities,
                              .joints = kJointTable,
                              .make = PartOf<Rotor>::make,
                              .complete = complete};

Rotor::Rotor(const Values& v, const Surroundings& around)
    : heat_(v["mass"] * v["specific_heat"]), still_(v["cooling_still"]),
      moving_(v["cooling_moving"]),
      // Both faces.
      radiation_(5.670374e-8 * v["emissivity"] * 0.5 * M_PI * v["diameter"] * v["diameter"]),
      air_(around.temperature) {}

} // namespace pedalbench
