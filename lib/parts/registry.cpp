#include "parts/registry.hpp"

#include "parts/air_pocket.hpp"
#include "parts/bleeder.hpp"
#include "parts/booster.hpp"
#include "parts/disc_caliper.hpp"
#include "parts/drum_brake.hpp"
#include "parts/hold_off_valve.hpp"
#include "parts/hose.hpp"
#include "parts/leak.hpp"
#include "parts/line.hpp"
#include "parts/pedal.hpp"
#include "parts/pressure_bleeder.hpp"
#include "parts/pressure_switch.hpp"
#include "parts/proportioning_valve.hpp"
#include "parts/residual_valve.hpp"
#include "parts/take_up_master.hpp"
#include "parts/tandem_master.hpp"
#include "parts/warning_lamp.hpp"
#include "wheel/rotor.hpp"
#include "wheel/vehicle.hpp"

namespace pedalbench {
namespace {

constexpr const PartKind* kKinds[] = {
    &Pedal::kind,
    &Booster::kind,
    &TandemMaster::kind,
    &TakeUpMaster::kind,
    &ResidualValve::kind,
    &PressureSwitch::kind,
    &WarningLamp::kind,
    &HoldOffValve::kind,
    &ProportioningValve::kind,
    &Line::kind,
    &Hose::kind,
    &DiscCaliper::kind,
    &DrumBrake::kind,
    &Bleeder::kind,
    &Leak::kind,
    &AirPocket::kind,
    &PressureBleeder::kind,
    &Rotor::kind,
    &Vehicle::kind,
};

constexpr std::string_view kBubbleTimes =
    "nobody publishes it; diffusion to bubbles of a few tenths of a millimetre takes minutes";

constexpr Field kFluidFields[] = {
    {"density", Dimension::density, 1060, 900, 1200, Mark::published,
     "1050-1100 kg/m3 at 20 C, a maker's data sheet", "density at 20 C"},
    {"bulk_modulus", Dimension::pressure, 1.8e9, 0.8e9, 3e9, Mark::judgement, "1.8 GPa",
     "bulk modulus at 25 C without pressure"},
    {"modulus_slope", Dimension::number, 10, 4, 14, Mark::judgement, "usual for liquids",
     "growth of the bulk modulus with pressure"},
    {"expansion", Dimension::expansion, 8.5e-4, 1e-4, 2e-3, Mark::judgement, "8.5e-4 /K",
     "growth of volume with temperature"},
    {"viscosity_cold", Dimension::viscosity, 1200e-6, 50e-6, 20000e-6, Mark::published,
     "one DOT 4 product, typical; 49 CFR 571.116 allows 1800 mm2/s",
     "kinematic viscosity at -40 C"},
    {"viscosity_hot", Dimension::viscosity, 2.5e-6, 1.5e-6, 10e-6, Mark::published,
     "one DOT 4 product, typical; 49 CFR 571.116 asks for 1.5 mm2/s",
     "kinematic viscosity at 100 C"},
    {"boiling_point", Dimension::temperature, 503.15, 373.15, 573.15, Mark::published,
     "230 C dry, DOT 4 minimum of 49 CFR 571.116 (seen in secondary copies)",
     "boiling point at standard pressure, without water"},
    {"water", Dimension::number, 0, 0, 0.1, Mark::practice, "fluid from a can just opened",
     "share of water by mass, which lowers the boiling point"},
    {"free_air", Dimension::number, 0.002, 0, 0.2, Mark::judgement, "0.2 % after good bleeding",
     "share of free air in every closed volume at the start, at standard pressure"},
    {"solubility", Dimension::number, 0.05, 0, 0.3, Mark::published,
     "5 +/- 2 % by volume for glycol ethers, 16 +/- 3 % for silicone (SAE J1705 appendix A)",
     "air that the fluid holds in solution at standard pressure; in proportion to the pressure"},
    {"take_up_time", Dimension::time, 600, 0.1, 1e5, Mark::judgement, kBubbleTimes,
     "time in which 63 % of the bubbles go into solution under high pressure"},
    {"release_time", Dimension::time, 30, 0.1, 1e5, Mark::judgement, kBubbleTimes,
     "time in which 63 % of the air that is too much comes out of solution"},
};
constexpr Field kSurroundingsFields[] = {
    {"temperature", Dimension::temperature, 293.15, 223.15, 343.15, Mark::practice, "a workshop",
     "temperature of everything at the start"},
    {"pressure", Dimension::pressure, kStandardPressure, 50e3, 110e3, Mark::practice, "sea level",
     "absolute pressure of the air; every gauge pressure counts from it"},
};

} // namespace

std::span<const PartKind* const> part_kinds() {
    return kKinds;
}

const PartKind* find_kind(std::string_view name) {
    for (const PartKind* kind : kKinds)
        if (kind->name == name) return kind;
    return nullptr;
}

std::span<const Field> fluid_fields() {
    return kFluidFields;
}
std::span<const Field> surroundings_fields() {
    return kSurroundingsFields;
}

Surroundings make_surroundings(const Values& fluid, const Values& surroundings) {
    BrakeFluid::Data data;
    data.density = fluid["density"];
    data.bulk_modulus = fluid["bulk_modulus"];
    data.modulus_slope = fluid["modulus_slope"];
    data.expansion = fluid["expansion"];
    data.viscosity_cold = fluid["viscosity_cold"];
    data.viscosity_hot = fluid["viscosity_hot"];
    data.boiling_point = fluid["boiling_point"];
    data.water = fluid["water"];
    data.free_air = fluid["free_air"];
    data.solubility = fluid["solubility"];
    data.take_up_time = fluid["take_up_time"];
    data.release_time = fluid["release_time"];
    Surroundings around;
    around.fluid = BrakeFluid(data);
    around.temperature = surroundings["temperature"];
    around.pressure = surroundings["pressure"];
    return around;
}

} // namespace pedalbench
