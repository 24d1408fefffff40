// ctest: physics 300
// The energy account of whole runs: what goes in at the pad is stored or lost, to 0.1 %; what goes
// into the discs is there or has gone to the air, to 1 %.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Tight, since what a damper loses grows with the square of an error in its speed.
EnergyResult account(const Scenario& s) {
    Sink nowhere;
    RunOptions options;
    options.energy = true;
    options.tolerance_scale = 0.1;
    const Summary run = simulate(s, nowhere, options);
    REQUIRE_MESSAGE(run.complete, run.error);
    REQUIRE(run.energy.known);
    const EnergyResult& e = run.energy;
    MESSAGE(s.title << ": put in " << e.put_in << " J, supplied " << e.supplied << ", stored "
                    << e.stored << ", lost " << e.lost << ", unpaid " << e.unpaid << ", changed "
                    << e.changed << ", open " << e.open() << "; rubbed " << e.rubbed << ", heat "
                    << e.heat << ", cooled " << e.cooled << ", open " << e.heat_open());
    return e;
}

} // namespace

TEST_CASE("energy: the account closes to 0.1 % of the work put in") {
    for (const char* name :
         {"lessons/residual_in_disc_circuit", "lessons/front_lost", "lessons/rear_lost",
          "lessons/stab_on_hold_off", "lessons/warning_lamp", "lessons/wedged_rod",
          "lessons/residual_missing_fast_release", "lessons/look_alike_cylinder",
          "complaints/cut_primary_cup", "complaints/air_in_the_lines", "lessons/ordinary_stop"}) {
        CAPTURE(name);
        const EnergyResult e = account(load(name));
        CHECK(e.put_in > 1);
        CHECK(std::abs(e.open()) <= 1e-4 * e.put_in); // 0.1 % is asked for
    }
}

TEST_CASE("energy: what the brakes rub is in the discs and the fluid, or gone to the air, to 1 %") {
    for (const char* name : {"lessons/hard_stop_all_disc", "lessons/duo_servo_wet_lining"}) {
        CAPTURE(name);
        const EnergyResult e = account(load(name));
        CHECK(e.rubbed > 1e4);
        CHECK(std::abs(e.heat_open()) <= 1e-3 * e.rubbed); // 1 % is asked for
        // The car's own motion is the other side of it.
        CHECK(std::abs(e.open()) <= 1e-4 * e.lost);
    }
    // Minutes of it: the brake held lightly on a descent, until a good part has gone to the air.
    Scenario s = descent(100);
    const EnergyResult e = account(s);
    CHECK(e.cooled > 0.1 * e.rubbed);
    CHECK(std::abs(e.heat_open()) <= 1e-3 * e.rubbed);
}
