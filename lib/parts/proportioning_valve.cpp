#include "parts/proportioning_valve.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kOther = "from knee, slope and head_diameter";

constexpr Field kFields[] = {
    {"knee", Dimension::pressure, kUnset, 0.3e6, 10e6, Mark::published,
     "1.5-4.2 MPa, service data of several cars of 1997-2004",
     "pressure up to which the outlet equals the inlet, on application; or give spring"},
    {"slope", Dimension::number, kUnset, 0.05, 0.9, Mark::published,
     "0.24-0.40, service data of several cars of 1997-2004",
     "gain of the outlet over the inlet beyond the knee; or give inlet_area"},
    {"head_diameter", Dimension::length, 10e-3, 4e-3, 30e-3, Mark::judgement, "a small body",
     "diameter of the area A2 on which the outlet pushes the piston shut"},
    {"inlet_area", Dimension::area, kUnset, 0.5e-6, 700e-6, Mark::judgement, kOther,
     "area A1 on which the inlet pushes the piston open"},
    {"spring", Dimension::force, kUnset, 1, 6000, Mark::judgement, kOther,
     "force of the piston's spring at home"},
    {"rate", Dimension::stiffness, 1e4, 0, 2e5, Mark::judgement, "a spring of some 20 mm",
     "rate of the piston's spring"},
    {"piston_friction", Dimension::force, 6, 0, 100, Mark::judgement, "two small seals",
     "friction of the piston"},
    {"shut_travel", Dimension::length, 0.5e-3, 0.1e-3, 3e-3, Mark::judgement, "a small body",
     "travel of the piston after which its head has entered the lip"},
    {"end_travel", Dimension::length, 2.5e-3, 0.2e-3, 10e-3, Mark::judgement, "a small body",
     "travel of the piston to its end"},
    {"crack", Dimension::pressure, 3e3, 0, 1e5, Mark::judgement, "a soft lip",
     "outlet above inlet at which fluid returns past the lip"},
    {"bypass_front", Dimension::pressure, 0, 0, 3e6, Mark::practice, "valves without are common",
     "front pressure below which the by-pass opens; zero: there is none"},
    {"bypass", Dimension::choice, 0, 0, 2, Mark::practice, "a clean valve",
     "works; stuck open, so that nothing is held back from the rear; or stuck shut, so that it is "
     "held back although the front is lost",
     "works|stuck_open|stuck_shut"},
    {"bypass_hole", Dimension::length, 2e-3, 0.5e-3, 5e-3, Mark::judgement, "a drilled passage",
     "diameter of the by-pass"},
    {"damping", Dimension::damping, 2, 0.2, 1e3, Mark::judgement,
     "a film of 20 um round a small piston, 0.3 N s/m, and its seals",
     "resistance of the piston to speed"},
    {"height", Dimension::length, 0.5, 0, 3, Mark::judgement, "under the floor",
     "height above the road"},
};
constexpr PortInfo kPortTable[] = {
    {"inlet"}, {"outlet"}, {"front", PortKind::sensing, "bypass_front"}};
constexpr StateInfo kStateTable[] = {{"piston position", Dimension::length, 5e-9},
                                     {"piston seal anchor", Dimension::length, 5e-9}};
constexpr std::string_view kBoth = "inlet.pressure,outlet.pressure";
constexpr GuardInfo kGuardTable[] = {
    {"seal slips out", Dimension::force, 0.002, "", "", ""},
    {"seal slips home", Dimension::force, 0.002, "", "", ""},
    {"piston home", Dimension::length, 1e-8, "", "", ""},
    {"piston at its end", Dimension::length, 1e-8, "piston reaches its end", "", kBoth},
    {"lip", Dimension::length, 1e-8, "", "", ""},
    {"return", Dimension::pressure, 30, "fluid returns past the lip", "", kBoth},
    {"by-pass", Dimension::pressure, 30, "by-pass opens", "by-pass shuts",
     "front.pressure,inlet.pressure"},
    {"metering", Dimension::length, 1e-8, "begins to hold back", "way is open again", kBoth, true},
};
constexpr QuantityInfo kQuantities[] = {
    {"piston_travel", Dimension::length, "how far the piston has gone from home toward shut"},
    {"difference", Dimension::pressure, "inlet less outlet pressure"},
    {"flow", Dimension::flow, "flow to the rear brakes"},
};

/// Derives the set that the user did not give: A2 knee = F + k x_shut + friction + A1 knee where
/// the piston, going out, shuts the way; A1 = slope A2.
void derive(Values& v, bool by_areas) {
    const double a2 = circle_area(v["head_diameter"]);
    const double more = v["rate"] * v["shut_travel"] + v["piston_friction"];
    if (by_areas) {
        v.derive("slope", v["inlet_area"] / a2);
        v.derive("knee", (v["spring"] + more) / (a2 - v["inlet_area"]));
    } else {
        v.derive("inlet_area", v["slope"] * a2);
        v.derive("spring", v["knee"] * (a2 - v["inlet_area"]) - more);
    }
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    const bool new_areas = v.changed("inlet_area") || v.changed("spring");
    const bool new_curve = v.changed("knee") || v.changed("slope");
    if (new_areas && new_curve)
        return {{v.changed("spring") ? "spring" : "inlet_area",
                 "changed beside knee or slope; change one set, the other follows"}};
    bool by_areas = new_areas;
    if (!new_areas && !new_curve) {
        by_areas = v.given("inlet_area") && v.given("spring");
        const bool by_curve = v.given("knee") && v.given("slope");
        if (by_areas == by_curve || v.given("knee") != v.given("slope") ||
            v.given("inlet_area") != v.given("spring"))
            return {{"knee", "give either knee and slope, or inlet_area and spring; the others "
                             "follow"}};
    }
    if (by_areas && v["inlet_area"] >= circle_area(v["head_diameter"]))
        return {{"inlet_area", "not smaller than the area of head_diameter; the piston would never "
                               "shut: lower it"}};
    derive(v, by_areas);

    std::vector<Refusal> refused;
    const std::string strength = by_areas ? "spring" : "knee";
    const double friction = v["piston_friction"];
    if (v["spring"] <= friction)
        refused.push_back({strength,
                           "leaves a spring no stronger than piston_friction; the piston would "
                           "never come home: raise it or lower piston_friction, rate or "
                           "shut_travel"});
    else if (circle_area(v["head_diameter"]) * v["crack"] >=
             v["spring"] + v["rate"] * v["shut_travel"] - friction)
        refused.push_back({"crack", "holds the piston shut against its spring, so that release "
                                    "would not be complete: lower it"});
    if (v["end_travel"] <= v["shut_travel"])
        refused.push_back({"end_travel", "not beyond shut_travel; the piston could not shut"});
    if (v["bypass"] != 0 && v["bypass_front"] <= 0)
        refused.push_back({"bypass", "stuck, but this valve has none: set bypass_front as well"});
    if (v["bypass_front"] >= v["knee"])
        refused.push_back({"bypass_front", "not below knee; a sound front would leave the by-pass "
                                           "open beyond it: lower it"});
    return refused;
}

} // namespace

const PartKind ProportioningValve::kind = {
    .name = "proportioning_valve",
    .summary = "proportioning valve of the rear circuit: stepped piston, free return, by-pass",
    .fields = kFields,
    .ports = kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .through = true,
    .make = PartOf<ProportioningValve, kPortTable>::make,
    .complete = complete};

ProportioningValve::ProportioningValve(const Values& v, const Surroundings& around)
    : fluid_(around.fluid), bypass_(static_cast<int>(v["bypass"])), inlet_area_(v["inlet_area"]),
      outlet_area_(circle_area(v["head_diameter"])), spring_(v["spring"]), rate_(v["rate"]),
      friction_(v["piston_friction"]), damping_(v["damping"]), shut_travel_(v["shut_travel"]),
      end_travel_(v["end_travel"]), edge_(M_PI * v["head_diameter"]), crack_(v["crack"]),
      return_area_(edge_ * 0.2e-3), return_spread_(10e3), bypass_front_(v["bypass_front"]),
      bypass_area_(circle_area(v["bypass_hole"])), bypass_spread_(50e3), dead_(1e-6),
      height_(v["height"]), seal_{2e5, v["damping"]} {}

} // namespace pedalbench
