#include "parts/hose.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kCeiling =
    "about half of the ceiling of 49 CFR 571.106 table I for a 3 mm bore (from memory)";

constexpr Field kFields[] = {
    {"length", Dimension::length, kUnset, 0.02, 3, Mark::given, "", "length of the hose"},
    {"bore", Dimension::length, 3.2e-3, 1e-3, 8e-3, Mark::practice, "1/8 in", "inner diameter"},
    {"bore_out", Dimension::length, kUnset, 0.02e-3, 8e-3, Mark::practice, "the bore itself",
     "opening left for flow toward the wheel; smaller where the inner wall is swollen"},
    {"bore_back", Dimension::length, kUnset, 0.02e-3, 8e-3, Mark::practice, "the bore itself",
     "opening left for flow back; much smaller than bore_out where a flap hangs in the hose"},
    {"swelling", Dimension::number, 1, 0, 10, Mark::published, kCeiling,
     "share of the usual swelling; 3 is a soft old hose"},
    {"inertia", Dimension::number, 1, 1e-3, 1, Mark::practice, "the fluid column has its mass",
     "share of the fluid's mass that counts"},
};
constexpr PortInfo kPortTable[] = {{"inlet"}, {"outlet"}};
constexpr StateInfo kStateTable[] = {{"flow", Dimension::flow, 3e-8},
                                     {"flow memory", Dimension::flow, 3e-8}};
constexpr GuardInfo kGuardTable[] = {{"flow outward", Dimension::flow, 1e-10, "", "", ""}};
constexpr QuantityInfo kQuantities[] = {{"flow", Dimension::flow, "flow away from the cylinder"}};

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
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
                             .make = PartOf<Hose>::make,
                             .complete = complete};

Hose::Hose(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), length_(v["length"]), bore_(v["bore"]), bore_out_(v["bore_out"]),
      bore_back_(v["bore_back"]), half_(3e6), narrow_(bore_out_ < bore_ || bore_back_ < bore_) {
    const double section = 0.25 * M_PI * bore_ * bore_;
    volume_ = section * length_;
    // Per metre 0.09 cm3/MPa and 0.5 cm3 that yields early: 0.97 / 1.31 / 2.2 cm3 at 6.9 / 10.3 /
    // 20 MPa, against ceilings of 2.17 / 2.59 / 3.97.
    linear_ = v["swelling"] * 0.09e-12 * length_;
    soft_ = v["swelling"] * 0.5e-6 * length_;
    // Fluid of less mass finds its steady profile sooner by the same share.
    mass_share_ = v["inertia"];
    inertance_ = mass_share_ * around.fluid.density() * length_ / section;
}

} // namespace pedalbench
