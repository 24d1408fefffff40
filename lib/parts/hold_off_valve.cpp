#include "parts/hold_off_valve.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kThree = "from shut, open, full and plate_diameter";
constexpr std::string_view kFour = "from the areas and springs";

constexpr Field kFields[] = {
    {"shut", Dimension::pressure, kUnset, 20e3, 0.6e6, Mark::published,
     "seal closes at 4-30 psi, a car manual of 1982",
     "inlet pressure at which the check sits, on application; or give rod_spring"},
    {"open", Dimension::pressure, kUnset, 0.1e6, 4e6, Mark::published,
     "front pressure released at 75-125 psi, repair and study guides",
     "inlet pressure at which the plate opens with the outlet at `shut`; or give plate_spring"},
    {"full", Dimension::pressure, kUnset, 0.2e6, 12e6, Mark::practice, "a few MPa",
     "pressure from which inlet and outlet are equal; or give outlet_area"},
    {"plate_diameter", Dimension::length, 14e-3, 4e-3, 40e-3, Mark::judgement, "a small body",
     "diameter of the area A1 on which the inlet pushes the plate open"},
    {"outlet_area", Dimension::area, kUnset, 1e-6, 2e-3, Mark::judgement, kThree,
     "area A2 on which the outlet pushes the plate shut"},
    {"plate_spring", Dimension::force, kUnset, 1, 3000, Mark::judgement, kThree,
     "force of the plate's spring when shut"},
    {"plate_rate", Dimension::stiffness, 2e5, 1e4, 2e6, Mark::judgement,
     "a short strong spring: full flow within some 10 kPa of the force balance",
     "force per lift of the plate"},
    {"plate_lift", Dimension::length, 0.4e-3, 0.05e-3, 3e-3, Mark::judgement, "a small body",
     "greatest lift of the plate"},
    {"rod_diameter", Dimension::length, 12e-3, 3e-3, 40e-3, Mark::judgement, "a small diaphragm",
     "diameter on which the inlet pushes the rod out"},
    {"rod_spring", Dimension::force, kUnset, 0.1, 300, Mark::judgement, kThree,
     "force of the rod's spring at home"},
    {"rod_rate", Dimension::stiffness, 1000, 0, 2e4, Mark::judgement, "a soft spring",
     "rate of the rod's spring"},
    {"rod_friction", Dimension::force, 1.5, 0, 50, Mark::judgement, "one small seal",
     "friction of the rod"},
    {"shut_travel", Dimension::length, 0.6e-3, 0.1e-3, 5e-3, Mark::judgement, "a small body",
     "rod travel after which the check sits"},
    {"out_travel", Dimension::length, 1.5e-3, 0.2e-3, 8e-3, Mark::judgement, "a small body",
     "rod travel at which its outer stop carries the diaphragm"},
    {"check_seat", Dimension::length, 5e-3, 1e-3, 15e-3, Mark::judgement, "a small body",
     "diameter of the check's seat"},
    {"crack", Dimension::pressure, 3e3, 0, 1e5, Mark::judgement, "a soft lip",
     "outlet above inlet at which fluid returns past the check"},
    {"rod", Dimension::choice, 0, 0, 2, Mark::practice, "free in service",
     "free; held in by hand or the proper tool for bleeding; wedged with something rigid (never do "
     "that: "
     "the diaphragm bursts)",
     "free|held|wedged"},
    {"plate", Dimension::choice, 0, 0, 2, Mark::practice, "a clean valve",
     "works; stuck off its seat, so that nothing is held off; or stuck on it, so that no more than "
     "the check lets by ever comes through",
     "works|stuck_open|stuck_shut"},
    {"holding_force", Dimension::force, 60, 5, 300, Mark::judgement, "a hand or a sprung tool",
     "force with which a held rod is held"},
    {"burst", Dimension::pressure, 3.5e6, 0.5e6, 2e7, Mark::judgement, "2-6 MPa",
     "inlet pressure at which an unsupported diaphragm bursts"},
    {"burst_hole", Dimension::length, 2.5e-3, 0.2e-3, 6e-3, Mark::judgement, "a torn diaphragm",
     "hole that a burst diaphragm leaves"},
    {"damping", Dimension::damping, 25, 2, 1e4, Mark::judgement, "a light rod in fluid",
     "resistance of the rod to speed"},
    {"height", Dimension::length, 0.6, 0, 3, Mark::judgement, "below the cylinder",
     "height above the road"},
};
constexpr PortInfo kPortTable[] = {{"inlet"}, {"outlet"}, {"outside", PortKind::outside}};
constexpr StateInfo kStateTable[] = {{"rod position", Dimension::length, 2e-8},
                                     {"rod seal anchor", Dimension::length, 2e-8},
                                     {"open tear", Dimension::number, 1e-5}};
constexpr std::string_view kBoth = "inlet.pressure,outlet.pressure";
constexpr GuardInfo kGuardTable[] = {
    {"rod slips out", Dimension::force, 0.002, "", "", ""},
    {"rod slips home", Dimension::force, 0.002, "", "", ""},
    {"rod home", Dimension::length, 1e-8, "", "", ""},
    {"rod at its outer stop", Dimension::length, 1e-8, "", "", ""},
    {"check", Dimension::length, 2e-7, "rod pushes the check open", "check shuts", kBoth},
    {"plate", Dimension::force, 0.005, "plate opens", "plate shuts", kBoth},
    {"return", Dimension::pressure, 30, "fluid returns past the check", "", kBoth},
    {"burst", Dimension::pressure, 1, "diaphragm bursts", "", "inlet.pressure", true},
};
constexpr QuantityInfo kQuantities[] = {
    {"rod_travel", Dimension::length, "how far the rod stands out"},
    {"plate_lift", Dimension::length, "lift of the plate that the force balance asks for"},
    {"difference", Dimension::pressure, "inlet less outlet pressure"},
    {"flow", Dimension::flow, "flow to the front brakes"},
};

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    const double a1 = circle_area(v["plate_diameter"]), rod = circle_area(v["rod_diameter"]);
    const double shut_force = v["rod_rate"] * v["shut_travel"] + v["rod_friction"];
    // The check sits where p A_rod has driven the rod, against its friction, over the shut travel.
    if (v.changed("rod_spring")) {
        v.derive("shut", (v["rod_spring"] + shut_force) / rod);
    } else if (v.given("shut") == v.given("rod_spring")) {
        refused.push_back({"shut", "give either shut or rod_spring, the other follows"});
        return refused;
    } else if (v.given("shut"))
        v.derive("rod_spring", v["shut"] * rod - shut_force);
    else
        v.derive("shut", (v["rod_spring"] + shut_force) / rod);
    // A part that is changed leaves the others as they are, and the pressures follow.
    const bool later = v.changed("outlet_area") || v.changed("plate_spring") ||
                       (v.changed("rod_spring") && !v.changed("open") && !v.changed("full"));
    const bool pressures = !later && v.given("open") && v.given("full");
    const bool areas = later || (v.given("outlet_area") && v.given("plate_spring"));
    if (!later && (pressures == areas || v.given("open") != v.given("full") ||
                   v.given("outlet_area") != v.given("plate_spring"))) {
        refused.push_back({"open",
                           "give either open and full, or outlet_area and plate_spring; the "
                           "others follow"});
        return refused;
    }
    if (pressures) {
        if (!(v["shut"] < v["open"] && v["open"] < v["full"])) {
            refused.push_back({"open", "must lie between shut and full"});
            return refused;
        }
        // A1 open = F + A2 shut and A1 full = F + A2 full.
        v.derive("outlet_area", a1 * (v["full"] - v["open"]) / (v["full"] - v["shut"]));
        v.derive("plate_spring", v["full"] * (a1 - v["outlet_area"]));
    } else {
        if (v["outlet_area"] >= a1) {
            refused.push_back({"outlet_area",
                               "not smaller than the inlet area of plate_diameter; the "
                               "valve would never blend to full"});
            return refused;
        }
        v.derive("open", (v["plate_spring"] + v["outlet_area"] * v["shut"]) / a1);
        v.derive("full", v["plate_spring"] / (a1 - v["outlet_area"]));
        if (v["open"] <= v["shut"])
            refused.push_back({"plate_spring",
                               "opens the plate before the check has shut, so that the "
                               "valve holds nothing off: raise it"});
    }
    if (v["rod_spring"] <= v["rod_friction"])
        refused.push_back(
            {v.given("rod_spring") ? "rod_spring" : "shut",
             "leaves a rod spring no stronger than rod_friction; the rod would never come "
             "home: raise it or lower rod_friction, rod_rate or shut_travel"});
    else if (v["crack"] >=
             (v["rod_spring"] + v["rod_rate"] * v["shut_travel"] - v["rod_friction"]) / rod)
        refused.push_back({"crack",
                           "not below the pressure at which the rod re-opens the check, so that "
                           "release would not be complete: lower it"});
    if (v["out_travel"] <= v["shut_travel"])
        refused.push_back({"out_travel", "not beyond shut_travel; the check could not sit"});
    return refused;
}

} // namespace

const PartKind HoldOffValve::kind = {
    .name = "hold_off_valve",
    .summary = "front hold-off (metering) valve: rod and check, spring-loaded plate, free return",
    .fields = kFields,
    .ports = kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .through = true,
    .make = PartOf<HoldOffValve, kPortTable>::make,
    .complete = complete};

HoldOffValve::HoldOffValve(const Values& v, const Surroundings& around)
    : air_(around.air()), fluid_(around.fluid), rod_(static_cast<int>(v["rod"])),
      plate_(static_cast<int>(v["plate"])), area1_(circle_area(v["plate_diameter"])),
      area2_(v["outlet_area"]), plate_spring_(v["plate_spring"]), plate_rate_(v["plate_rate"]),
      plate_full_(M_PI * v["plate_diameter"] * v["plate_lift"]),
      plate_spread_(v["plate_rate"] * v["plate_lift"]), rod_area_(circle_area(v["rod_diameter"])),
      rod_spring_(v["rod_spring"]), rod_rate_(v["rod_rate"]), shut_travel_(v["shut_travel"]),
      out_travel_(v["out_travel"]), friction_(v["rod_friction"]), damping_(v["damping"]),
      hand_(v["holding_force"]), check_seat_(v["check_seat"]), crack_(v["crack"]),
      return_area_(circle_area(v["check_seat"])), return_spread_(10e3), burst_pressure_(v["burst"]),
      burst_hole_(0.5 * v["burst_hole"]), dead_(1.5e-6),
      height_(v["height"]), seal_{3e4, v["damping"]} {}

} // namespace pedalbench
