// The stop-lamp switch at the pedal: where it closes, and how a switch that is set too far and
// something else that holds the pedal off are told apart.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

TEST_CASE("stop lamps: lit where the arm has gone their travel, before any lining touches") {
    const Played run = play(plain());
    const double at = run.field("pedal.stop_lamp_travel"), flex = run.field("pedal.flex");
    REQUIRE(run.count("stop lamps lit") == 1);
    REQUIRE(run.count("stop lamps dark") == 1);
    const double on = run.when("stop lamps lit"), off = run.when("stop lamps dark");
    const auto arm = [&](double t) {
        return run.at("pedal.travel", t) - flex * run.at("pedal.force", t);
    };
    CHECK(near(arm(on), at, 0.02e-3, 0));
    CHECK(near(arm(off), at - 0.5e-3, 0.02e-3, 0)); // pressed again half a millimetre nearer
    for (const char* touch : {"front_left: inner pad touches", "rear_left: shoes touch"})
        CHECK(on < run.when(touch));
    CHECK(run.at("pedal.stop_lamps", 0) == 0);
    CHECK(run.held("pedal.stop_lamps") == 1);
    CHECK(run.residual("pedal.stop_lamps") == 0);
}

TEST_CASE("a switch set too far holds the pedal off with the lamps dark, and lights them later by "
          "as much; what else holds it off leaves them lit") {
    for (const double off : {5e-3, 12e-3}) {
        CAPTURE(off);
        const Played by_switch = with_fault(plain(), "pedal_held_off", "pedal", off);
        const double travel = by_switch.field("pedal.stop_lamp_travel");
        // The springs press it on the switch by some 5 um of arm, 0.03 mm at the pad.
        CHECK(near(by_switch.at("pedal.travel", 0), off, 0.05e-3, 0));
        CHECK(by_switch.at("pedal.stop_lamps", 0) == 0);
        CHECK(by_switch.residual("pedal.stop_lamps") == 0);
        const double on = by_switch.when("stop lamps lit");
        CHECK(near(by_switch.at("pedal.travel", on) -
                       by_switch.field("pedal.flex") * by_switch.at("pedal.force", on),
                   off + travel, 0.02e-3, 0));
        // A mat: the switch stays where it was, let go of once the pedal rests past its travel.
        const Played by_mat =
            with_fault(plain({"pedal.held_by=other"}), "pedal_held_off", "pedal", off);
        CHECK(by_mat.at("pedal.stop_lamps", 0) == (off > travel ? 1 : 0));
        CHECK(by_mat.residual("pedal.stop_lamps") == (off > travel ? 1 : 0));
        // The hydraulics know no difference.
        CHECK(near(by_mat.residual("front_left.pressure"),
                   by_switch.residual("front_left.pressure"), 1e3, 0));
        CHECK(near(by_mat.held("front_left.pressure"), by_switch.held("front_left.pressure"), 1e3,
                   0));
    }
}

TEST_CASE("a switch set too far out never lets the lamps go dark and holds nothing off") {
    const Played run = play(plain({"pedal.stop_lamp_travel=-1 mm"}));
    CHECK(run.lowest("pedal.stop_lamps") == 1);
    CHECK(run.count("stop lamps") == 0);
    CHECK(run.residual("pedal.travel") < 0.01e-3);
}
