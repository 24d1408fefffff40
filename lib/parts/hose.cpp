#include "parts/hose.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kCeiling =
    "about half of the ceiling of 49 CFR 571.106 table I for a 3 mm bore (from memory)";

constexpr std::string_view kCreep =
    "with that of the pads a held pedal sinks by about a millimetre in ten seconds";

constexpr Field kFields[] = {
    {"length", Dimension::length, kUnset, 0.02, 3, Mark::given, "", "length of the hose"},
    {"bore", Dimension::length, 3.2e-3, 1e-3, 8e-3, Mark::practice, "1/8 in", "inner diameter"},
    {"outer_diameter", Dimension::length, 10.5e-3, 5e-3, 20e-3, Mark::practice,
     "a 1/8 in brake hose", "outer diameter: its wall goes warm with the fluid"},
    {"bore_out", Dimension::length, kUnset, 0.02e-3, 8e-3, Mark::practice, "the bore itself",
     "opening left for flow toward the wheel; smaller where the inner wall is swollen"},
    {"bore_back", Dimension::length, kUnset, 0.02e-3, 8e-3, Mark::practice, "the bore itself",
     "opening left for flow back; much smaller than bore_out where a flap hangs in the hose"},
    {"swelling", Dimension::number, 1, 0, 10, Mark::published, kCeiling,
     "share of the usual swelling; 3 is a soft old hose"},
    {"creep", Dimension::number, 0.04, 0, 0.5, Mark::judgement, kCreep,
     "what the wall gives slowly under pressure, as a share of what it gives at once"},
    {"creep_time", Dimension::time, 4, 0.1, 600, Mark::judgement, kCreep,
     "time in which 63 % of that has come"},
    {"inertia", Dimension::number, 1, 1e-3, 1, Mark::practice, "the fluid column has its mass",
     "share of the fluid's mass that counts"},
};
constexpr PortInfo kPortTable[] = {{"inlet"}, {"outlet"}};
constexpr StateInfo kStateTable[] = {{"flow", Dimension::flow, 3e-8},
                                     {"flow memory", Dimension::flow, 3e-8},
                                     {"slow swelling", Dimension::volume, 1e-9}};
constexpr GuardInfo kGuardTable[] = {{"flow outward", Dimension::pressure, 100, "", "", ""}};
constexpr QuantityInfo kQuantities[] = {
    {"flow", Dimension::flow, "flow away from the cylinder"},
    {"creep", Dimension::volume, "what the wall has given slowly, beyond what pressure gives"}};

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (v["outer_diameter"] <= v["bore"])
        refused.push_back({"outer_diameter", "not wider than the bore: a hose has a wall"});
    for (const char* opening : {"bore_out", "bore_back"}) {
        if (!v.given(opening) && !v.changed(opening)) v.derive(opening, v["bore"]);
        if (v[opening] > v["bore"])
            refused.push_back({opening, "wider than the hose itself: at most bore"});
    }
    return refused;
}

} // namespace

const PartKind Hose::kind = {.name = "hose",
                             .summary = "flexible hose that swells, with inner openings each way",
                             .fields = kFields,
                             .ports = kPortTable,
                             .states = kStateTable,
                             .guards = kGuardTable,
                             .quantities = kQuantities,
                             .through = true,
                             .make = PartOf<Hose, kPortTable>::make,
                             .complete = complete};

Hose::Hose(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), length_(v["length"]), bore_(v["bore"]), bore_out_(v["bore_out"]),
      bore_back_(v["bore_back"]),
      both_resistances_(narrow_resistance(bore_out_) + narrow_resistance(bore_back_)),
      creep_{v["creep"], v["creep_time"]}, bubbles_(bore_, length_, around.fluid.density()),
      narrow_(bore_out_ < bore_ || bore_back_ < bore_) {
    const double section = 0.25 * M_PI * bore_ * bore_;
    volume_ = section * length_;
    // Per metre 0.09 cm3/MPa and 0.5 cm3 that yields early: 0.97 / 1.31 / 2.2 cm3 at 6.9 / 10.3 /
    // 20 MPa, against ceilings of 2.17 / 2.59 / 3.97.
    const double half = 0.5 * v["swelling"] * length_;
    half_wall_ = {half * 0.09e-12, half * 0.5e-6, 3e6};
    // Rubber and cord, 1150 kg/m3 and 1.7 kJ/(kg K): judgement. The whole wall counts as warm at
    // once; it takes a minute or two.
    const double outer = v["outer_diameter"];
    wall_heat_ = 2.0e6 * (0.25 * M_PI * outer * outer - section) * length_;
    // Fluid of less mass finds its steady profile sooner by the same share.
    mass_share_ = v["inertia"];
    inertance_ = mass_share_ * around.fluid.density() * length_ / section;
    memory_ = mass_share_ * UnsteadyFriction::inertance(bore_, length_, around.fluid.density());
}

} // namespace pedalbench
