#include "parts/air_pocket.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"pocket", Dimension::volume, 0, 0, 50e-6, Mark::practice, "a bled brake",
     "air there at the start besides the fluid's own, as its volume at 1 atm and 20 C", "", true},
};
constexpr PortInfo kPortTable[] = {{"line"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind AirPocket::kind = {.name = "air_pocket",
                                  .summary = "air at a point of a circuit at the start",
                                  .fields = kFields,
                                  .ports = kPortTable,
                                  .states = {},
                                  .guards = {},
                                  .quantities = {},
                                  .make = PartOf<AirPocket, kPortTable>::make,
                                  .complete = complete};

} // namespace pedalbench
