// The rows: pairs of faults that look alike. Bounds come from the demo cars' own sizes: a held line
// stands at 4 MPa, a sound disc gives 651 N m and a drum 221 N m there, the head of the reservoir
// is 4.7 kPa, a free wheel has under 4 N m, and a hole of 0.06 mm lets 0.06 cm3/s through.
#include "neighbours.hpp"

namespace pedalbench::test {
namespace {

constexpr double kMPa = 1e6, kPa = 1e3, kMm = 1e-3, kCm3 = 1e-6;
constexpr double kFree = 4;       // N m, of a wheel that does not drag
constexpr double kAny = HUGE_VAL; // no bound on that side

Side hose(const char* kind, double size) {
    return {kind, "left_hose", size};
}
Side disc(const char* kind, double size) {
    return {kind, "front_left", size};
}
Side drum(const char* kind, double size) {
    return {kind, "rear_left", size};
}
Side master(const char* kind, double size = kUnset) {
    return {kind, "master", size};
}

std::vector<Row> wheels() {
    const Alike drags{left("front_left.torque"), 10, kAny};
    const Alike no_line{left("left_hose.inlet.pressure"), -5 * kPa, 10 * kPa, true};
    const Alike weak_disc{held("front_left.torque"), 400, 600};
    return {
        {hose("hose_flap", 0.05 * kMm),
         disc("piston_sticking", 1000),
         Drive::stop,
         "one front wheel drags after the stop, and the line to its hose is empty",
         {drags, no_line},
         "pressure at the wheel with the foot off",
         "stays",
         "gone",
         left("front_left.pressure"),
         3 * kMPa,
         10 * kPa},
        // A seal that only fails to spring back is pushed home by the pads and asks nothing on the
        // way out: 2 mu r (F_s0) = 16 N m at the end; rust takes mu r 2 S = 82 N m from the stop.
        {{"seal_without_rollback", "front_left"},
         disc("piston_sticking", 1000),
         Drive::stop,
         "one front wheel drags with no pressure at it",
         {drags, {left("front_left.pressure"), 0, 10 * kPa, true}},
         "torque of that wheel in the hold",
         "as before or a little more",
         "less than the other side's",
         held("front_left.torque"),
         645,
         600},
        {disc("pins_seized", 4000),
         disc("piston_sticking", 1000),
         Drive::stop,
         "one disc brakes less and drags afterwards",
         {weak_disc, drags},
         "force of the inner pad in the hold (afterwards: which pad is worn)",
         "full",
         "less, as the outer pad's",
         held("front_left.clamp"),
         7800,
         7200},
        {disc("pins_seized", 4000),
         disc("wrong_friction", 0.29),
         Drive::stop,
         "one disc brakes less at the same pressure",
         {weak_disc, {held("front_left.pressure"), 3.9 * kMPa, 4.1 * kMPa, true}},
         "drag of that wheel after the stop",
         "there",
         "none",
         left("front_left.torque"),
         10,
         kFree},
        {hose("hose_flap", 0.05 * kMm),
         hose("hose_restriction", 0.25 * kMm),
         Drive::stop,
         "pressure and torque in the hold are as they should be",
         {{held("front_left.pressure"), 3.9 * kMPa, 4.1 * kMPa, true},
          {held("front_left.torque"), 640, 660, true}},
         "pressure at the wheel with the foot off",
         "stays",
         "gone; but the wheel came late",
         left("front_left.pressure"),
         3 * kMPa,
         10 * kPa},
        // The hose takes (4 - 1) x 0.38 m x (0.09 p + 0.5 p/(p + 3)) cm3: 0.74 at 4 MPa, and 0.32
        // at the 1.4 MPa behind the hold-off valve at 150 N, so 6.5 mm at the pad between. By then
        // the shoes' 1.15 mm have long been paid; a sound car goes 27 mm.
        {hose("soft_hose", 4),
         drum("shoes_misadjusted", 1.6 * kMm),
         Drive::slow,
         "the pedal goes further and pressures are as before",
         {{held("pedal.travel"), 86 * kMm, 97 * kMm},
          {held("front_left.pressure"), 3.9 * kMPa, 4.1 * kMPa, true}},
         "travel from a light foot (150 N) to a firm one (300 N)",
         "longer",
         "as before",
         change("pedal.travel", 4, 11),
         33 * kMm,
         28 * kMm},
        // Caliper pistons follow their pads and stay out; shoes go home. 10 mm of pads only give
        // 20 cm3 more fluid to press together.
        {drum("worn_linings", 1 * kMm),
         disc("worn_pads", 10 * kMm),
         Drive::stop,
         "linings are worn, and brakes pull as before",
         {{held("front_left.torque"), 640, 660, true}, {held("rear_left.torque"), 210, 225, true}},
         "pedal travel",
         "longer by 2 A x wear",
         "nearly as before; the reservoir stands lower",
         held("pedal.travel"),
         89 * kMm,
         84 * kMm},
        {{"thickness_variation", "front_left", 50e-6},
         {"run_out", "front_left", 50e-6},
         Drive::rolling,
         "the disc is not as it should be under a dial gauge",
         {},
         "pressure over a turn of the wheel",
         "pulsates",
         "hardly: the housing goes to and fro",
         swing("front_left.pressure", 2, 5),
         20 * kPa,
         6 * kPa},
        // Knocked back once, the first stroke brings the piston out again.
        {drum("shoes_misadjusted", 1.6 * kMm),
         {"hub_play",
          "front_left",
          0.6 * kMm,
          {"front_left.pin_friction=1500 N"},
          {{"front_left", "hub_deflection", 0, 1, 0.5}}},
         Drive::twice,
         "the first stroke is longer",
         {{at("pedal.travel", 3.4), 84 * kMm, kAny}},
         "second stroke less the first",
         "the same again",
         "shorter by what was knocked back",
         [](const Played& run) {
             return run.at("pedal.travel", 6.4) - run.at("pedal.travel", 3.4);
         },
         -3 * kMm,
         -5 * kMm},
        // The shoes leave when the pressure passes push-out.
        {drum("shoe_springs", 1.2 * kMPa),
         {"wrong_lining_friction", "rear_left", 0.27, {"rear_left.shoes=leading_trailing"}},
         Drive::stop,
         "one drum brakes less at the same pressure",
         {{held("rear_left.torque"), 130, 205},
          {held("rear_left.pressure"), 3.9 * kMPa, 4.2 * kMPa, true}},
         "pressure at which that drum's shoes touch",
         "higher",
         "as before",
         [](const Played& run) {
             return run.at("rear_left.pressure", run.when("rear_left: shoes touch"));
         },
         1.1 * kMPa,
         0.8 * kMPa},
        {{"hose_flap", "rear_hose", 0.05 * kMm},
         drum("parking_cable_stuck", 400),
         Drive::stop,
         "a rear drum drags after the stop",
         {{left("rear_left.torque"), 10, kAny}},
         "pressure in the rear with the foot off",
         "stays",
         "at what the residual valve keeps",
         left("rear_left.pressure"),
         1 * kMPa,
         80 * kPa},
    };
}

std::vector<Row> cylinder() {
    const Alike sinks{change("pedal.travel", 3, 9), 5 * kMm, kAny};
    const Alike steady{held("master.primary.pressure"), 3.8 * kMPa, 4.1 * kMPa, true};
    return {
        {master("primary_cup_leak", 0.06 * kMm),
         master("secondary_front_cup_leak", 0.06 * kMm),
         Drive::creep,
         "the pedal sinks under a steady foot, both pressures stay, nothing is lost",
         {sinks, steady, {change("master.primary_reservoir.fluid", 0, 15), -0.15 * kCm3, 1, true}},
         "level of the primary reservoir during the hold",
         "rises",
         "stays; the secondary's rises",
         change("master.primary_reservoir.fluid", 3, 9),
         0.3 * kCm3,
         0.05 * kCm3},
        {master("secondary_front_cup_leak", 0.06 * kMm),
         master("secondary_rear_cup_leak", 0.06 * kMm),
         Drive::creep,
         "the pedal sinks and the secondary reservoir rises",
         {sinks, steady, {change("master.secondary_reservoir.fluid", 3, 9), 0.3 * kCm3, kAny}},
         "level of the primary reservoir after the release",
         "as before",
         "lower: its fluid is in the other",
         change("master.primary_reservoir.fluid", 0, 15),
         -0.15 * kCm3,
         -0.4 * kCm3},
        {master("primary_cup_leak", 0.06 * kMm),
         {"leak", "front_left", 0.06 * kMm},
         Drive::creep,
         "the pedal sinks under a steady foot and pressures stay",
         {sinks, steady},
         "level of the primary reservoir after the release",
         "as before",
         "lower",
         change("master.primary_reservoir.fluid", 0, 15),
         -0.15 * kCm3,
         -0.4 * kCm3},
        // 0.06 mm lose 0.06 cm3/s, and R/A = 15.5 mm/cm3 at the pad.
        {{"leak", "front_left", 0.06 * kMm},
         {"", "air in the lines", kUnset, {"fluid.free_air=0.7 %"}},
         Drive::creep,
         "the pedal is lower than it was",
         {{at("pedal.travel", 9), 88 * kMm, kAny}, steady},
         "pedal under a steady foot",
         "sinks on",
         "stands: an extra stroke, no creep",
         change("pedal.travel", 3, 9),
         5 * kMm,
         1 * kMm},
        {master("primary_port_blocked"),
         master("secondary_port_blocked"),
         Drive::stop,
         "pressure stays though the pedal is home",
         {{left("pedal.travel"), -0.1 * kMm, 0.1 * kMm, true},
          {[](const Played& run) {
               return run.residual("master.primary.pressure") +
                      run.residual("master.secondary.pressure");
           },
           40 * kPa, kAny}},
         "pressure at the cylinder's primary outlet with the foot off",
         "stays",
         "gone; the secondary's stays",
         left("master.primary.pressure"),
         40 * kPa,
         5 * kPa},
        {{"pedal_held_off", "pedal", 12 * kMm},
         master("primary_port_blocked"),
         Drive::stop,
         "the front keeps pressure with the foot off",
         {{left("front_left.pressure"), 40 * kPa, 100 * kPa}},
         "pedal with the foot off",
         "off its stop; the rear's pressure stays as well",
         "on its stop",
         left("pedal.travel"),
         5 * kMm,
         0.1 * kMm},
        {master("primary_port_blocked"),
         {"residual_valve_added", "front_residual"},
         Drive::stop,
         "the front keeps pressure with the foot off, the pedal is home",
         {{left("front_left.pressure"), 40 * kPa, 130 * kPa},
          {left("pedal.travel"), -0.1 * kMm, 0.1 * kMm, true}},
         "pressure at the cylinder's primary outlet with the foot off",
         "stays, behind the valve and before it",
         "gone",
         left("master.primary.pressure"),
         40 * kPa,
         5 * kPa},
        {master("wrong_secondary_stroke", 3.6 * kMm),
         master("wrong_primary_stroke", 9 * kMm),
         Drive::firm,
         "light stops are right; under a firm foot the lamp lights",
         {{times("switch: lamp lit"), 1, kAny}},
         "front pressure under the firm foot",
         "follows the foot; the rear stops",
         "stops",
         held("master.primary.pressure"),
         5 * kMPa,
         4.2 * kMPa},
        // R F/A: by the area, 388 to 335 mm2.
        {disc("wrong_friction", 0.33),
         master("wrong_bore", 22.22 * kMm),
         Drive::stop,
         "the front brakes less at the same foot",
         {{held("front_left.torque"), 500, 600}},
         "line pressure in the hold",
         "as before",
         "lower by the areas, in both circuits; the pedal is higher",
         held("master.primary.pressure"),
         3.9 * kMPa,
         3.6 * kMPa},
        // The ports take the first (3 - 1.1) mm of both pistons before any pressure.
        {master("port_travel_off", 3 * kMm),
         drum("shoes_misadjusted", 1.6 * kMm),
         Drive::slow,
         "the pedal goes further and pressures are as before",
         {{held("pedal.travel"), 86 * kMm, 110 * kMm},
          {held("master.primary.pressure"), 3.8 * kMPa, 4.1 * kMPa, true}},
         "travel at the first 0.1 MPa",
         "longer",
         "as before",
         when("pedal.travel", "master.primary.pressure", 0.1 * kMPa),
         28 * kMm,
         24 * kMm},
        {{"pedal_held_off", "pedal", 20 * kMm},
         {"output_rod_misadjusted", "booster", -1.8 * kMm},
         Drive::booster,
         "both circuits keep pressure with the foot off",
         {{left("master.primary.pressure"), 10 * kPa, kAny}},
         "pedal with the foot off",
         "off its stop",
         "on its stop",
         left("pedal.travel"),
         5 * kMm,
         1 * kMm},
        {disc("wrong_friction", 0.1),
         {"booster_without_vacuum", "booster"},
         Drive::booster,
         "the front brakes far less at the same foot",
         {{held("front_left.torque"), -1, 350}},
         "line pressure in the hold",
         "as before",
         "the foot's alone, on a high and hard pedal",
         held("master.primary.pressure"),
         2 * kMPa,
         0.8 * kMPa},
    };
}

std::vector<Row> valves() {
    return {
        {{"residual_valve_holds", "rear_residual", 30 * kPa},
         {"residual_valve_missing", "rear_residual"},
         Drive::slow,
         "the rear line keeps too little with the foot off",
         {{left("rear_left.pressure"), 0, 45 * kPa}},
         "pressure across the valve's seat with the foot off",
         "what that valve holds",
         "none: the head of the fluid",
         left("rear_residual.held_back"),
         25 * kPa,
         2 * kPa},
        {{"rod_held", "hold_off"},
         {"rod_wedged", "hold_off"},
         Drive::stop,
         "nothing is held off: the discs come in with the first pressure",
         {{when("front_left.pressure", "hold_off.inlet.pressure", 0.8 * kMPa), 0.5 * kMPa, kAny}},
         "front pressure under a firm foot",
         "as before: a hand gives way",
         "lost: the diaphragm has burst",
         held("front_left.pressure"),
         3.9 * kMPa,
         0.1 * kMPa},
        // 70 N on 154 mm2: 0.45 MPa. The check shuts at 90 kPa.
        {{"rod_held", "hold_off"},
         {"plate_spring", "hold_off", 70},
         Drive::slow,
         "the discs come in before 0.8 MPa",
         {{when("front_left.pressure", "hold_off.inlet.pressure", 0.8 * kMPa), 0.3 * kMPa, kAny}},
         "pressure behind the valve at 0.4 MPa before it",
         "the same: nothing waits",
         "waits at what the check shut in",
         when("front_left.pressure", "hold_off.inlet.pressure", 0.4 * kMPa),
         0.3 * kMPa,
         0.15 * kMPa},
        {drum("shoe_springs", 1.2 * kMPa),
         {"proportioning_knee", "rear_valve", 1 * kMPa},
         Drive::van,
         "the rear brakes less at the same foot",
         {{held("rear_left.torque"), 20, 110}},
         "rear pressure in the hold",
         "as before",
         "lower",
         held("rear_left.pressure"),
         2.4 * kMPa,
         2.2 * kMPa},
        {master("secondary_front_cup_leak", 1.5 * kMm),
         {"bleeder_open", "rear_left_bleeder", 1.5 * kMm},
         Drive::stop,
         "the rear builds nothing, the secondary piston bottoms, the lamp lights",
         {{held("rear_left.pressure"), -10 * kPa, 0.2 * kMPa},
          {times("switch: lamp lit"), 1, kAny}},
         "level of the secondary reservoir after the release",
         "as before",
         "lower: it lies in the jar",
         change("master.secondary_reservoir.fluid", 0, 5),
         -0.5 * kCm3,
         -2 * kCm3},
        {{"pressure_bleeding", "tank", 100 * kPa},
         {"pedal_held_off", "pedal", 12 * kMm},
         Drive::stop,
         "the front keeps pressure with the foot off",
         {{left("front_left.pressure"), 40 * kPa, 130 * kPa}},
         "pressure before the first stroke",
         "there: the tank's",
         "little: it comes with the strokes",
         at("front_left.pressure", 0.15),
         70 * kPa,
         40 * kPa},
    };
}

} // namespace

const std::vector<Row>& rows() {
    static const std::vector<Row> all = [] {
        std::vector<Row> list = wheels();
        for (auto more : {cylinder(), valves()})
            list.insert(list.end(), more.begin(), more.end());
        return list;
    }();
    return all;
}

} // namespace pedalbench::test

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("every kind of fault has a neighbour, and a reading that tells them apart") {
    for (const FaultKind& kind : fault_kinds())
        CHECK_MESSAGE(std::any_of(rows().begin(), rows().end(),
                                  [&kind](const Row& row) {
                                      return row.first.kind == kind.name ||
                                             row.second.kind == kind.name;
                                  }),
                      kind.name << " has no neighbour");
}
