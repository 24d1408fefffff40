#include "parts/residual_valve.hpp"

#include <cmath>

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr double kDrilling = 10e-3; // m, length of the plain passage (judgement)

constexpr Field kFields[] = {
    {"fitted", Dimension::choice, 1, 0, 1, Mark::practice,
     "stands in the hardware because it is there",
     "whether the valve is in its place; without it the place is a plain passage", "no|yes"},
    {"holding", Dimension::pressure, 80e3, 5e3, 300e3, Mark::published,
     "6-18 psi (41-124 kPa), US Army TM 5-4210-230-14&P-1 p. 381",
     "pressure of the line above the cylinder at which the valve shuts on return"},
    {"stuck", Dimension::choice, 0, 0, 1, Mark::practice, "a clean valve",
     "whether it is stuck on its seat, so that nothing comes back past it", "no|yes"},
    {"dirt", Dimension::length, 0, 0, 2e-3, Mark::practice, "a clean seat",
     "diameter of one hole as large as the gap that dirt under the valve leaves; 0: none"},
    {"crack", Dimension::pressure, 2e3, 0, 5e4, Mark::judgement, "a soft lip",
     "pressure that opens it outward"},
    {"passage", Dimension::length, 1.2e-3, 0.3e-3, 6e-3, Mark::judgement, "a drilled outlet",
     "diameter of the way through"},
};
constexpr PortInfo kPortTable[] = {{"inlet"}, {"outlet"}};
constexpr GuardInfo kGuardTable[] = {
    {"passes outward", Dimension::pressure, 30, "", "", ""},
    {"lets back", Dimension::pressure, 30, "lets fluid back", "shuts and holds the line",
     "inlet.pressure,outlet.pressure"},
};
constexpr QuantityInfo kQuantities[] = {
    {"held_back", Dimension::pressure, "pressure of the line above the cylinder"}};

std::vector<Refusal> complete(Values&, const Surroundings&) {
    return {};
}

} // namespace

const PartKind ResidualValve::kind = {.name = "residual_valve",
                                      .summary =
                                          "residual check valve at an outlet of the cylinder",
                                      .fields = kFields,
                                      .ports = kPortTable,
                                      .states = {},
                                      .guards = kGuardTable,
                                      .quantities = kQuantities,
                                      .through = true,
                                      .make = PartOf<ResidualValve, kPortTable>::make,
                                      .complete = complete};

ResidualValve::ResidualValve(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), fitted_(v.flag("fitted")), stuck_(v.flag("stuck")),
      dirt_(0.5 * v["dirt"]), holding_(v["holding"]), crack_(v["crack"]),
      passage_(0.25 * M_PI * v["passage"] * v["passage"]),
      plain_(128 * kDrilling * around.fluid.density() / (M_PI * std::pow(v["passage"], 4))),
      lip_(5e3), spread_(20e3) {}

} // namespace pedalbench
