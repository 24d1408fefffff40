#include "parts/line.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr double kYoung = 2.06e11, kPoisson = 0.3; // steel

constexpr Field kFields[] = {
    {"length", Dimension::length, kUnset, 0.01, 20, Mark::given, "", "length of the pipe"},
    {"outer_diameter", Dimension::length, 4.76e-3, 2e-3, 15e-3, Mark::practice,
     "4.76 x 0.71 mm (3/16 in) steel tube", "outer diameter"},
    {"wall_thickness", Dimension::length, 0.71e-3, 0.2e-3, 3e-3, Mark::practice,
     "4.76 x 0.71 mm (3/16 in) steel tube", "thickness of the wall"},
    {"outlet_height", Dimension::length, 0, 0, 3, Mark::practice,
     "0: that of the wheel it leads to, or of the next point toward the cylinder",
     "height of its outer end above the road"},
    {"inertia", Dimension::number, 1, 1e-3, 1, Mark::practice, "the fluid column has its mass",
     "share of the fluid's mass that counts; 0.001 leaves inertia out, and with it the dip of a "
     "fast "
     "release"},
    {"segments", Dimension::number, 1, 1, 256, Mark::judgement, "one is enough for pedal work",
     "number of equal pieces that the pipe is cut into; more show the pulse of a suddenly shut "
     "valve"},
};
constexpr PortInfo kPortTable[] = {{"inlet"}, {"outlet"}};
constexpr StateInfo kStateTable[] = {{"flow", Dimension::flow, 3e-8},
                                     {"flow memory", Dimension::flow, 3e-8}};
constexpr QuantityInfo kQuantities[] = {{"flow", Dimension::flow, "flow away from the cylinder"}};

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (v["outer_diameter"] <= 2 * v["wall_thickness"])
        refused.push_back({"wall_thickness", "leaves no bore: lower it or raise outer_diameter"});
    if (v["segments"] != std::floor(v["segments"]))
        refused.push_back({"segments", "must be a whole number"});
    return refused;
}

} // namespace

const PartKind Line::kind = {.name = "line",
                             .summary = "steel pipe with friction, inertia and wall stretch",
                             .fields = kFields,
                             .ports = kPortTable,
                             .states = kStateTable,
                             .guards = {},
                             .quantities = kQuantities,
                             .through = true,
                             .make = PartOf<Line, kPortTable>::make,
                             .complete = complete};

Line::Line(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), length_(v["length"] / v["segments"]),
      bore_(v["outer_diameter"] - 2 * v["wall_thickness"]), outlet_height_(v["outlet_height"]),
      bubbles_(bore_, length_, around.fluid.density()) {
    const double section = 0.25 * M_PI * bore_ * bore_;
    const double inner = 0.25 * bore_ * bore_,
                 outer = 0.25 * v["outer_diameter"] * v["outer_diameter"];
    volume_ = section * length_;
    // Steel, 7850 kg/m3 and 470 J/(kg K), goes warm with the fluid that comes.
    metal_heat_ =
        3.7e6 * (0.25 * M_PI * v["outer_diameter"] * v["outer_diameter"] - section) * length_;
    stretch_ = volume_ * (2 / kYoung) * ((outer + inner) / (outer - inner) + kPoisson);
    // Fluid of less mass finds its steady profile sooner by the same share.
    mass_share_ = v["inertia"];
    inertance_ = mass_share_ * around.fluid.density() * length_ / section;
    memory_ = mass_share_ * UnsteadyFriction::inertance(bore_, length_, around.fluid.density());
}

} // namespace pedalbench
