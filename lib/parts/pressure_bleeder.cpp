#include "parts/pressure_bleeder.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"pressure", Dimension::pressure, 0, 0, 0.4e6, Mark::practice,
     "12-15 psi and 20-30 psi equipment, US Army TB 9-2320-335-13&P and vehicle manuals",
     "pressure of the tank; 0: not connected"},
    {"pour", Dimension::flow, 0, 0, 1e-3, Mark::practice, "nobody pours",
     "fluid that flows into the reservoirs from tank or bottle, half into each"},
    {"content", Dimension::volume, 0, 0, 20e-3, Mark::practice, "a tank as large as need be",
     "fluid in the tank at the start, with which it keeps the reservoirs at fill; 0: its pressure "
     "never falls and it feeds nothing",
     "", true},
    {"cushion", Dimension::volume, 3e-3, 0.1e-3, 50e-3, Mark::judgement, "a small tank of 5 litres",
     "air above the fluid at the start"},
    {"charge", Dimension::pressure, 0.1e6, 10e3, 0.4e6, Mark::practice,
     "12-15 psi, US Army TB 9-2320-335-13&P",
     "pressure of that air before fluid has left; pressure below it: a valve half open"},
    {"fill", Dimension::volume, 80e-6, 3e-6, 1e-3, Mark::judgement, "somewhat below the mark",
     "fluid in each reservoir at which the tank keeps it"},
};
constexpr PortInfo kPortTable[] = {{"primary_reservoir", PortKind::level},
                                   {"secondary_reservoir", PortKind::level},
                                   {"outside", PortKind::outside}};
constexpr StateInfo kStateTable[] = {{"fluid in the tank", Dimension::volume, 5e-9}};
constexpr GuardInfo kGuardTable[] = {
    {"feeds the primary reservoir", Dimension::volume, 1e-10, "", "", ""},
    {"feeds the secondary reservoir", Dimension::volume, 1e-10, "", "", ""},
    {"fluid is left", Dimension::volume, 1e-10, "", "", ""},
    {"nearly empty", Dimension::volume, 1e-9, "tank runs low: soon it blows air", "",
     "content,pressure", true},
};
constexpr QuantityInfo kQuantities[] = {
    {"pressure", Dimension::pressure, "pressure that the tank puts on the reservoirs"},
    {"content", Dimension::volume, "fluid in the tank, where its content is stated"},
};

std::vector<Refusal> complete(Values& v, const Surroundings& around) {
    std::vector<Refusal> refused;
    const double most = v["charge"] * v["cushion"] / around.pressure;
    if (v["content"] > most)
        refused.push_back({"content",
                           "more than its cushion presses out (charge x cushion over the pressure "
                           "of the air): lower it, or raise charge or cushion"});
    return refused;
}

} // namespace

const PartKind PressureBleeder::kind = {.name = "pressure_bleeder",
                                        .summary =
                                            "tank under pressure, or a bottle, at the reservoirs",
                                        .fields = kFields,
                                        .ports = kPortTable,
                                        .states = kStateTable,
                                        .guards = kGuardTable,
                                        .quantities = kQuantities,
                                        .make = PartOf<PressureBleeder, kPortTable>::make,
                                        .complete = complete};

PressureBleeder::PressureBleeder(const Values& v, const Surroundings& around)
    : pressure_(v["pressure"]), pour_(v["pour"]), content_(v["content"]), cushion_(v["cushion"]),
      charge_(v["charge"]), fill_(v["fill"]), outside_(around.pressure),
      in_solution_(around.jar().dissolved / around.jar().liquid) {}

} // namespace pedalbench
