#include "parts/leak.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"hole", Dimension::length, 0, 0, 5e-3, Mark::practice, "sound parts do not leak",
     "diameter of the hole; 0: none"},
    {"wall", Dimension::length, 0.7e-3, 0.02e-3, 20e-3, Mark::practice,
     "wall of a 4.76 x 0.71 mm tube", "thickness of the wall"},
};
constexpr PortInfo kPortTable[] = {{"line"}, {"outside", PortKind::outside}};
constexpr QuantityInfo kQuantities[] = {{"flow", Dimension::flow, "fluid that is lost"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Leak::kind = {.name = "leak",
                             .summary = "hole to the open air",
                             .fields = kFields,
                             .ports = kPortTable,
                             .states = {},
                             .guards = {},
                             .quantities = kQuantities,
                             .make = PartOf<Leak, kPortTable>::make,
                             .complete = complete};

Leak::Leak(const Values& v, const Surroundings& around)
    : air_(around.air()), fluid_(around.fluid), radius_(0.5 * v["hole"]), wall_(v["wall"]) {}

} // namespace pedalbench
