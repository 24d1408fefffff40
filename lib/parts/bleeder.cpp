#include "parts/bleeder.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"opening", Dimension::length, 0, 0, 5e-3, Mark::practice, "shut",
     "diameter of the way out; 0: shut"},
    {"length", Dimension::length, 8e-3, 0.1e-3, 50e-3, Mark::judgement, "drilling of the screw",
     "length of the way out"},
    {"hose_end", Dimension::choice, 1, 0, 1, Mark::practice, "a jar with fluid",
     "what the end of the hose stands in", "air|fluid"},
};
constexpr PortInfo kPortTable[] = {{"line"}, {"outside", PortKind::outside}};
constexpr QuantityInfo kQuantities[] = {{"flow", Dimension::flow, "fluid that leaves"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Bleeder::kind = {.name = "bleeder",
                                .summary = "bleed screw with its hose",
                                .fields = kFields,
                                .ports = kPortTable,
                                .states = {},
                                .guards = {},
                                .quantities = kQuantities,
                                .make = PartOf<Bleeder>::make,
                                .complete = complete};

Bleeder::Bleeder(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), opening_(v["opening"]), length_(v["length"]),
      beyond_(v.flag("hose_end") ? around.jar() : around.air()) {}

} // namespace pedalbench
