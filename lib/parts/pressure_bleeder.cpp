#include "parts/pressure_bleeder.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"pressure", Dimension::pressure, 0, 0, 0.4e6, Mark::practice,
     "12-15 psi and 20-30 psi equipment, US Army TB 9-2320-335-13&P and vehicle manuals",
     "pressure of the tank; 0: not connected"},
    {"pour", Dimension::flow, 0, 0, 1e-3, Mark::practice, "nobody pours",
     "fluid that flows into the reservoirs from tank or bottle, half into each"},
};
constexpr PortInfo kPortTable[] = {{"primary_reservoir", PortKind::reservoir},
                                   {"secondary_reservoir", PortKind::reservoir},
                                   {"outside", PortKind::outside}};
constexpr QuantityInfo kQuantities[] = {{"pressure", Dimension::pressure, "pressure of the tank"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind PressureBleeder::kind = {.name = "pressure_bleeder",
                                        .summary =
                                            "tank under pressure, or a bottle, at the reservoirs",
                                        .fields = kFields,
                                        .ports = kPortTable,
                                        .states = {},
                                        .guards = {},
                                        .quantities = kQuantities,
                                        .make = PartOf<PressureBleeder>::make,
                                        .complete = complete};

} // namespace pedalbench
