#include "parts/bleeder.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr Field kFields[] = {
    {"opening", Dimension::length, 0, 0, 5e-3, Mark::practice, "shut",
     "diameter of the way out; 0: shut"},
    {"length", Dimension::length, 8e-3, 0.1e-3, 50e-3, Mark::judgement, "drilling of the screw",
     "length of the way out"},
    {"hose_end", Dimension::choice, 1, 0, 1, Mark::practice, "a jar with fluid",
     "what the end of the hose stands in", "air|fluid"},
    {"bubbles", Dimension::number, 0, 0, 0.5, Mark::judgement,
     "the hose rises from the screw and its end stays under, so that bubbles are gone",
     "share of air, by volume, in what is drawn back from the jar"},
    {"vacuum", Dimension::pressure, 0, 0, 95e3, Mark::practice, "a free hose; pumps give 50-80 kPa",
     "how far a vacuum bleeder holds the end of the hose below outside"},
    {"thread_gap", Dimension::length, 0.15e-3, 0, 1e-3, Mark::judgement,
     "that threads leak is common practice, how much is not stated; grease on them helps",
     "hole as large as the way past the threads of an open screw, which a vacuum draws air "
     "through"},
    {"space_above", Dimension::number, 0, 0, 0.9, Mark::practice, "the screw sits at the top",
     "share of the room at the screw that lies above it, where air stays; a caliper fitted on the "
     "wrong side has its screw at the bottom"},
    {"pocket", Dimension::volume, 0, 0, 50e-6, Mark::practice, "a bled brake",
     "air at the screw at the start besides the fluid's own, as its volume at 1 atm", "", true},
};
constexpr PortInfo kPortTable[] = {{"line"}, {"outside", PortKind::outside}};
constexpr StateInfo kStateTable[] = {{"fluid drawn back", Dimension::volume, 5e-9},
                                     {"air drawn back", Dimension::volume, 5e-9}};
constexpr GuardInfo kGuardTable[] = {
    {"draws back", Dimension::pressure, 5, "draws back what its hose ends in", "", "pressure"},
    {"air reaches the screw", Dimension::number, 1e-6, "", "", ""}};
constexpr QuantityInfo kQuantities[] = {
    {"flow", Dimension::flow, "fluid that leaves"},
    {"fluid_back", Dimension::volume, "fluid drawn back so far"},
    {"air_back", Dimension::volume, "air drawn back so far, at 1 atm"},
    {"false_air", Dimension::flow,
     "air that comes past the threads into the hose, at 1 atm; it never was in the brake"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind Bleeder::kind = {.name = "bleeder",
                                .summary = "bleed screw with its hose",
                                .fields = kFields,
                                .ports = kPortTable,
                                .states = kStateTable,
                                .guards = kGuardTable,
                                .quantities = kQuantities,
                                .make = PartOf<Bleeder, kPortTable>::make,
                                .complete = complete};

Bleeder::Bleeder(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), opening_(v["opening"]), length_(v["length"]), vacuum_(v["vacuum"]),
      space_above_(v["space_above"]), pocket_(v["pocket"]), beyond_(around.air()), false_air_(0) {
    if (v.flag("hose_end")) {
        const double bubbles = v["bubbles"];
        beyond_ = {around.jar().liquid * (1 - bubbles), around.air().gas * bubbles,
                   around.jar().dissolved * (1 - bubbles)};
    }
    if (opening_ <= 0 || vacuum_ <= 0) return;
    const Stream<double> air{kAirDensity, kAirViscosity};
    false_air_ = orifice_flow(vacuum_, 0.5 * v["thread_gap"], length_, air) * around.air().gas;
}

} // namespace pedalbench
