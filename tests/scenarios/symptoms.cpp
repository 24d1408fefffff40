// Every kind of fault has a test of its symptom; and what else a stop must show a workshop.
#include <fstream>
#include <regex>
#include <sstream>

#include "places.hpp"
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Where a kind's symptom is tested: file of this folder, and its test case.
struct Covered {
    const char *kind, *file, *name;
};
constexpr Covered kCovered[] = {
    {"leak", "circuit_lost",
     "front lost: the pedal is longer by what is left of the primary stroke, the rear is as "
     "before"},
    {"pedal_held_off", "pedal_held_off_its_stop",
     "pedal held off: more stays with each fast release, by less each time"},
    {"primary_port_blocked", "symptoms_master",
     "primary port blocked: the front keeps what the cup drew in, though the piston is home"},
    {"secondary_port_blocked", "symptoms_master",
     "secondary port blocked: the rear keeps what lets its piston slip back on the primary spring"},
    {"primary_cup_leak", "symptoms_master",
     "a cup leaks: at a steady pressure the pedal sinks by R q t/A, and the reservoir behind the "
     "cup rises"},
    {"secondary_front_cup_leak", "symptoms_master",
     "a cup leaks: at a steady pressure the pedal sinks by R q t/A, and the reservoir behind the "
     "cup rises"},
    {"secondary_rear_cup_leak", "symptoms_master",
     "a cup leaks: at a steady pressure the pedal sinks by R q t/A, and the reservoir behind the "
     "cup rises"},
    {"wrong_primary_stroke", "look_alike_cylinder",
     "look-alike cylinder: the capped circuit stops at V(p) = A (stroke - lost stroke)"},
    {"wrong_secondary_stroke", "look_alike_cylinder",
     "look-alike cylinder: the capped circuit stops at V(p) = A (stroke - lost stroke)"},
    {"residual_valve_missing", "residual_missing",
     "residual valve missing: the next application is longer by R V_air p/(p + p0)/A"},
    {"residual_valve_added", "residual_in_disc_circuit",
     "residual valve in the disc circuit: drag of the car's own calipers, whose seals shift"},
    {"residual_valve_holds", "symptoms_line",
     "a residual valve keeps 0.9-1.0 of the pressure that it holds after a slow release"},
    {"rod_wedged", "wedged_rod",
     "wedged rod: before the burst nothing is held off but what the flow costs"},
    {"rod_held", "pressure_bleeding",
     "pressure bleeding: with the rod held the flow is that of the resistances"},
    {"plate_spring", "symptoms_line", "the plate's spring: the discs come in at (F + A2 p_out)/A1"},
    {"proportioning_knee", "proportioning_valve",
     "proportioning valve: a knee that is off moves the line, whichever way the valve was "
     "described"},
    {"hose_flap", "symptoms_line",
     "a flap in the hose: its wheel keeps its pressure for R C, the other lets go"},
    {"hose_restriction", "symptoms_line",
     "a restricted hose: its wheel comes late by what passes the narrow place, and is equal in the "
     "hold"},
    {"soft_hose", "symptoms_line", "a soft hose: a stroke longer by R (its extra swelling)/A"},
    {"seal_without_rollback", "symptoms_wheel",
     "a seal without rollback leaves the wheel dragging by its own grip"},
    {"piston_sticking", "sticking_piston",
     "a sticking piston keeps its friction from both pads, and holds them on afterwards"},
    {"wrong_bore", "sticking_piston",
     "a look-alike cylinder with a wider bore: pressure falls by the areas, in both circuits"},
    {"port_travel_off", "sticking_piston",
     "ports that shut late cost R times the travel, once for a caged cylinder"},
    {"take_up_valve_open", "take_up",
     "take-up: a valve that hangs open gives the plain cylinder's long pedal"},
    {"take_up_valve_shut", "take_up",
     "take-up: a valve that sticks shut makes a hard pedal while it moves, by p_t a"},
    {"take_up_bypass_blocked", "take_up",
     "take-up: with its by-pass blocked the hold costs p_t a/A, and the front holds on"},
    {"pins_seized", "symptoms_wheel",
     "seized pins take their friction from the outer pad: the torque falls by mu r N"},
    {"shoe_springs", "symptoms_wheel",
     "strong return springs take shoe factor x radius x their force from the torque"},
    {"shoes_misadjusted", "symptoms_wheel",
     "shoes too far from the drum: a stroke longer by R 2 A_w (their clearance more)/A"},
    {"thickness_variation", "wheel_ends",
     "an uneven disc: pressure, torque and pedal pulsate once a turn, less than in proportion once "
     "the pedal moves"},
    {"run_out", "wheel_ends",
     "a disc that only runs out of true moves the floating housing, and little pressure"},
    {"hub_play", "wheel_ends",
     "hub play pushes the piston back where the housing cannot follow: a longer first stroke"},
    {"worn_pads", "wheel_ends",
     "worn pads leave clearance and pedal as they were, and more fluid behind the piston"},
    {"wrong_friction", "wheel_ends",
     "pads of a wrong friction: torque in proportion on that side, pedal as before"},
    {"booster_without_vacuum", "booster_reserve",
     "booster without vacuum: a hard pedal, the foot alone, at any size of the fault"},
    {"output_rod_misadjusted", "booster",
     "an output rod too short makes the pedal long by R times the gap, one too long holds the "
     "ports "
     "shut"},
    {"parking_cable_stuck", "wheel_ends",
     "a stuck parking cable: the drum drags by shoe factor x radius x what springs leave"},
    {"worn_linings", "wheel_ends",
     "worn linings cost 2 A x wear of fluid and its travel; an adjuster takes it back"},
    {"wrong_lining_friction", "wheel_ends",
     "a lining of another friction: the drum's torque follows the shoe factor of it"},
    {"caliper_cable_stuck", "parking_brake",
     "a caliper's cable that hangs: the disc drags by 2 mu r (P - F_s0), and no lamp tells"},
    {"warning_switch_stuck", "warning_lamp",
     "a stuck warning switch stays dark with one circuit lost, and costs its trip nothing"},
    {"warning_bulb_blown", "warning_lamp",
     "a blown bulb: every contact closes, the proof and the fault light nothing"},
    {"level_switch_stuck", "warning_lamp",
     "floats that hang up tell no low level; pressed down they light the lamp"},
    {"bleeder_open", "symptoms_wheel",
     "a bleed screw open under the foot: the pedal falls until the secondary piston bottoms, and "
     "what it sweeps lies in the jar"},
    {"air", "symptoms_fluid",
     "air anywhere costs the pedal what the gas law says: R V (p0/p_rest - p0/p)/A"},
    {"swollen_cups", "symptoms_master",
     "swollen cups: the pistons do not come home, and every wheel keeps what balances their "
     "friction"},
    {"reservoir_low", "symptoms_fluid",
     "a low reservoir gives air when the pistons run back: later strokes are longer by it"},
    {"residual_valve_stuck_shut", "symptoms_valves",
     "residual valve stuck on its seat: the rear keeps the whole pressure of the stop"},
    {"residual_valve_leaks", "symptoms_valves",
     "dirt under a residual valve: the line empties through the gap, and that is what comes back "
     "to the reservoir"},
    {"hold_off_stuck_open", "symptoms_valves",
     "hold-off valve stuck open: the discs wait for nothing"},
    {"hold_off_stuck_shut", "symptoms_valves",
     "hold-off valve stuck shut: the front keeps what the check shut in, lamp dark, pedal high"},
    {"bypass_stuck_open", "symptoms_valves",
     "by-pass stuck open: the rear gets everything though the front is whole"},
    {"bypass_stuck_shut", "symptoms_valves",
     "by-pass stuck shut: with the front lost the rear is still held back"},
    {"switch_springs", "symptoms_valves",
     "switch with wrong springs: the lamp lights at the difference that they bear"},
    {"shoe_spring_broken", "symptoms_wheel",
     "a broken shoe spring: the shoes stay on the drum by their cups, and brake a little more"},
    {"water_in_fluid", "symptoms_fluid",
     "water in the fluid: 3.7 % boil at 155 C, and after the descent nothing is in front"},
    {"thick_fluid", "symptoms_fluid",
     "thick fluid: in the cold the release slows in proportion to its viscosity"},
    {"hot_or_cold", "symptoms_fluid",
     "heat and frost: hot the pedal is longer by fluid and air, in frost the release is slow"},
    {"pressure_bleeding", "pressure_bleeding",
     "pressure bleeding: below shut or above F/A1 the front flows unheld"},
};

std::string read(const std::string& path) {
    std::ifstream in(source_folder() + "/" + path);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

/// Lessons whose name stands in quotation marks in a test file, joined with the file itself.
std::string with_lessons(const std::string& test) {
    std::string all = test;
    const std::regex quoted("\"([a-z_]+)\"");
    for (std::sregex_iterator i(test.begin(), test.end(), quoted), end; i != end; ++i)
        all += read("scenarios/lessons/" + (*i)[1].str() + ".yaml");
    return all;
}

} // namespace

TEST_CASE("every kind of fault has a test that shows its symptom") {
    for (const FaultKind& kind : fault_kinds()) {
        const std::string name(kind.name);
        CAPTURE(name);
        const auto* covered = std::find_if(std::begin(kCovered), std::end(kCovered),
                                           [&](const Covered& c) { return name == c.kind; });
        REQUIRE(covered != std::end(kCovered));
        // Names broken over lines are put together again.
        const std::string test =
            std::regex_replace(read(std::string("tests/scenarios/") + covered->file + ".cpp"),
                               std::regex("\"\\s*\n\\s*\""), "");
        CHECK_MESSAGE(std::regex_replace(test, std::regex("TEST_CASE\\(\\s*"), "TEST_CASE(")
                              .find(std::string("TEST_CASE(\"") + covered->name + "\")") !=
                          std::string::npos,
                      covered->file << " has no test \"" << covered->name << '"');
        const std::string used = with_lessons(test);
        CHECK_MESSAGE((used.find('"' + name + '"') != std::string::npos ||
                       used.find("kind: " + name + ",") != std::string::npos),
                      covered->file << " names no such fault");
    }
    CHECK(std::size(kCovered) == fault_kinds().size());
}

TEST_CASE("the floor stops the pad, whether the foot gives force or travel") {
    Scenario s = plain({"pedal.floor=50 mm"});
    const Played pressed = play(s);
    CHECK(near(pressed.peak("pedal.travel"), 50e-3, 0.05e-3, 0));
    CHECK(pressed.count("pedal: pedal meets the floor") == 1);
    CHECK(pressed.held("pedal.force") == 300); // the foot's; the floor bears what the arm does not
    CHECK(pressed.held("master.primary.pressure") <
          0.6 * play(plain()).held("master.primary.pressure"));
    // Until it is there nothing differs.
    const double t = pressed.when("pedal: pedal meets the floor");
    CHECK(near(pressed.at("pedal.travel", t), 50e-3, 0.05e-3, 0));
    s.foot = travel({{0, 0}, {1, 60e-3}, {2, 60e-3}, {3, 0}});
    const Played pushed = play(s);
    CHECK(
        near(pushed.peak("pedal.travel"), 50e-3, 0.4e-3, 0)); // 10 mm / flex on a floor of 30 kN/mm
    CHECK(near(pushed.held("master.primary.pressure"), pressed.held("master.primary.pressure"), 0,
               0.03));
}

TEST_CASE(
    "what was set before the start is told, and a wedged rod in the hardware brings its caution") {
    Scenario s = plain();
    s.changes = {{"hold_off", "rod", 2, 0, 0}};
    const Summary changed = play(s).summary;
    REQUIRE_FALSE(changed.events.empty());
    CHECK(changed.events.front().part == "hold_off");
    CHECK(changed.events.front().text == "rod becomes wedged");
    const auto warns = [](const Summary& summary) {
        return std::any_of(summary.cautions.begin(), summary.cautions.end(),
                           [](const std::string& c) {
                               return c.find("Never wedge a hold-off valve") != std::string::npos;
                           });
    };
    CHECK(warns(changed));
    CHECK(warns(play(plain({"hold_off.rod=wedged"})).summary));
    CHECK_FALSE(warns(play(plain()).summary));
}
