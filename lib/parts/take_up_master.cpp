#include "parts/take_up_master.hpp"

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kPractice = "0.5-0.7 MPa, common practice, no source";

/// The tables of the tandem cylinder, and what comes on top.
template <class T>
std::vector<T> with(std::span<const T> plain, std::initializer_list<T> more) {
    std::vector<T> all(plain.begin(), plain.end());
    all.insert(all.end(), more);
    return all;
}

const std::vector<Field> kFields = with<Field>(
    TandemMaster::kind.fields,
    {{"large_bore", Dimension::length, kUnset, 12e-3, 80e-3, Mark::given, "",
      "diameter of the rear end of the primary piston, which takes up the clearances"},
     {"valve_opens", Dimension::pressure, 0.6e6, 0.1e6, 25e6, Mark::practice, kPractice,
      "pressure of the take-up chamber at which its valve lets it go back to the reservoir"},
     {"valve_seat", Dimension::length, 5e-3, 1e-3, 15e-3, Mark::judgement, "a small ball or disc",
      "diameter of that valve's seat"},
     {"valve_rate", Dimension::stiffness, 10e3, 1e3, 200e3, Mark::judgement,
      "a short spring: ordinary flow within some 20 kPa of the opening pressure",
      "force of the valve's spring per lift"},
     {"valve_lift", Dimension::length, 0.5e-3, 0.05e-3, 3e-3, Mark::judgement, "a small body",
      "greatest lift of the valve"},
     {"bypass", Dimension::length, 0.4e-3, 0, 5e-3, Mark::judgement,
      "a groove: small against what a foot displaces, enough for what the calipers give back",
      "diameter of a hole as large as the groove in the valve's seat, which never shuts"},
     {"refill_hole", Dimension::length, 4e-3, 0.2e-3, 10e-3, Mark::judgement,
      "a lip that lifts all round",
      "diameter of one hole as large as the way back into the "
      "chamber"}});
constexpr PortInfo kPortTable[] = {TandemMaster::kPortTable[0],
                                   TandemMaster::kPortTable[1],
                                   TandemMaster::kPortTable[2],
                                   TandemMaster::kPortTable[3],
                                   {"take_up", PortKind::line, {}, true}};
const std::vector<GuardInfo> kGuardTable = [] {
    std::vector<GuardInfo> all =
        with<GuardInfo>(TandemMaster::kind.guards,
                        {{"take-up valve", Dimension::pressure, 30, "take-up valve opens",
                          "take-up valve shuts", "take_up.pressure,primary.pressure"},
                         {"take-up refill", Dimension::pressure, 30,
                          "fluid refills the take-up chamber", "", "take_up.pressure"}});
    for (GuardInfo& guard : all)
        if (guard.name == "primary recuperation")
            guard.on = "fluid passes the primary cup from the take-up chamber";
    return all;
}();
const std::vector<QuantityInfo> kQuantities = with<QuantityInfo>(
    TandemMaster::kind.quantities,
    {{"take_up_return", Dimension::flow, "flow from the take-up chamber back to the reservoir"}});

double ring_area(const Values& v) {
    return circle_area(v["large_bore"]) - circle_area(v["bore"]);
}

std::vector<Refusal> complete(Values& v, const Surroundings& around) {
    std::vector<Refusal> refused = TandemMaster::kind.complete(v, around);
    if (v["large_bore"] <= v["bore"])
        refused.push_back({"large_bore",
                           "not larger than bore; it would take nothing up: raise it, or use a "
                           "tandem_master"});
    else if (v["dead_volume"] < ring_area(v) * 0.6e-3)
        refused.push_back({"dead_volume",
                           "leaves no fluid in the take-up chamber when both pistons press their "
                           "stops: at least 0.6 mm of its ring"});
    if (v["valve_opens"] <= 2 * v["lip_opening"])
        refused.push_back({"valve_opens",
                           "not above twice lip_opening; nothing would pass the cup before the "
                           "valve opens: raise it or lower lip_opening"});
    return refused;
}

} // namespace

const PartKind TakeUpMaster::kind = {
    .name = "take_up_master",
    .summary = "tandem master cylinder with quick take-up: a large rear bore and its valve",
    .fields = kFields,
    .ports = kPortTable,
    .states = TandemMaster::kind.states,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .joints = TandemMaster::kind.joints,
    .like = "tandem_master",
    .make = PartOf<TakeUpMaster, kPortTable>::make,
    .complete = complete};

TakeUpMaster::TakeUpMaster(const Values& v, const Surroundings& around)
    : cylinder_(v, around), fluid_(around.fluid), density_(around.fluid.density()),
      ring_(ring_area(v)), strokes_(v["primary_stroke"] + v["secondary_stroke"]),
      dead_(v["dead_volume"]), opens_(v["valve_opens"]),
      valve_way_(M_PI * v["valve_seat"] * v["valve_lift"]),
      valve_spread_(v["valve_rate"] * v["valve_lift"] / circle_area(v["valve_seat"])),
      lip_(v["lip_opening"]), lip_spread_(5e3), refill_area_(circle_area(v["refill_hole"])),
      bypass_(0.5 * v["bypass"]), bypass_length_(1e-3) {}

} // namespace pedalbench
