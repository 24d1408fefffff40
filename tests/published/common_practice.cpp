// Values that the trade states without a source. Each is marked "common practice, no source". The
// demo cars have numbers of their own; here a car gets the trade's valve and must behave as the
// trade says.
#include "scenarios/scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kPsi = 6894.757293168; // Pa

/// The demo car with a hold-off valve of 10/115/500 psi, pressed and released slowly enough for a
/// balance.
Played trade_valve() {
    Scenario s = load("ordinary_stop",
                      {"hold_off.shut=10 psi", "hold_off.open=115 psi", "hold_off.full=500 psi"});
    s.expectations.clear();
    s.foot = force({{0, 0}, {40, 360}, {42, 360}, {60, 0}});
    s.duration = 62;
    return play(s);
}

/// First time at which a channel rises through a value.
double rises_through(const Played& run, const std::string& channel, double value) {
    const std::size_t c = run.index(channel);
    for (std::size_t i = 1; i < run.trace.time.size(); ++i)
        if (run.trace.rows[i - 1][c] < value && run.trace.rows[i][c] >= value)
            return run.trace.time[i];
    return kUnset;
}

} // namespace

TEST_CASE("common practice, no source: a hold-off valve shuts at 10 psi, opens at 115 psi, blends "
          "out at 500 psi") {
    const Played run = trade_valve();
    // Shut: the check sits. A few tenths of a psi of seal give are lost in 10 %; "about" allows no
    // less.
    const Event* shut = run.event("hold_off: check shuts");
    REQUIRE(shut != nullptr);
    CHECK(near(shut->readings.at(0).value / kPsi, 10, 1.5, 0));
    // Open: the balance is with the outlet pressure that is really there, about the shutting
    // pressure.
    const Event* open = run.event("hold_off: plate opens", shut->time);
    REQUIRE(open != nullptr);
    CHECK(near(open->readings.at(0).value / kPsi, 115, 3, 0));
    // Full: from 500 psi on inlet and outlet are equal; half way up the difference is half of what
    // it was.
    const auto difference = [&run](double psi) {
        return run.at("hold_off.difference",
                      rises_through(run, "hold_off.inlet.pressure", psi * kPsi)) /
               kPsi;
    };
    CHECK(difference(115) > 95);
    CHECK(near(difference(307.5), 0.5 * 105, 3, 0));
    CHECK(difference(505) < 3);
    CHECK(std::abs(difference(540)) < 1.5);
}

TEST_CASE("common practice, no source: the valve's rod moves out a little on application and back "
          "on release") {
    const Played run = trade_valve();
    CHECK(run.peak("hold_off.rod_travel") > 0.5e-3);
    CHECK(run.peak("hold_off.rod_travel") < 3e-3);
    CHECK(std::abs(run.residual("hold_off.rod_travel")) < 0.05e-3);
}

TEST_CASE("common practice, no source: a slight bump is felt as the plate opens") {
    // The pedal gives more for the same force once the discs take fluid: compliance over 5 N before
    // and after.
    const Played run = trade_valve();
    const double opens = run.when("hold_off: plate opens");
    const double travel = run.at("pedal.travel", opens);
    MESSAGE("plate opens at " << travel * 1e3 << " mm of pedal travel");
    CHECK(travel > 18e-3); // elsewhere 18-55 mm, on one car about one inch
    CHECK(travel < 55e-3);
    const double before = run.at("pedal.travel", opens) - run.at("pedal.travel", opens - 0.1);
    const double after = run.at("pedal.travel", opens + 0.1) - run.at("pedal.travel", opens);
    CHECK(after > 2 * before);
}

TEST_CASE("common practice, no source: a pressure bleeder at 30 psi is enough to shut the hold-off "
          "valve") {
    Scenario s = load("ordinary_stop",
                      {"hold_off.shut=10 psi", "hold_off.open=115 psi", "hold_off.full=500 psi"});
    s.expectations.clear();
    s.foot = force({{0, 0}, {6, 0}});
    s.duration = 6;
    s.changes = {{"tank", "pressure", 30 * kPsi, 0.5, 0},
                 {"front_left_bleeder", "opening", 2e-3, 2, 0}};
    const Played run = play(s);
    CHECK(run.count("hold_off: check shuts") >= 1);
    // So nothing to speak of comes out in front, until something holds the rod.
    const double shut_flow = run.at("front_left_bleeder.outside.fluid", 6) * 1e6;
    CHECK(shut_flow < 1.0); // cm3
    s.changes.push_back({"hold_off", "rod", 1, 0, 0});
    CHECK(play(s).at("front_left_bleeder.outside.fluid", 6) * 1e6 > 5 * (shut_flow + 0.1));
}

TEST_CASE("common practice, no source: residual pressure behind does not trip the lamp, even with "
          "no primary circuit") {
    // The primary outlet stands open to the air while the rear line holds its residual pressure.
    for (const char* centring : {"self", "detent"}) {
        Scenario s = load("ordinary_stop", {std::string("switch.centring=") + centring});
        s.expectations.clear();
        s.after_a_stop = true;
        s.foot = force({{0, 0}, {3, 0}});
        s.duration = 3;
        s.changes = {{"front_left_bleeder", "opening", 4e-3, 0.5, 0}};
        const Played run = play(s);
        CHECK(run.at("rear_left.pressure", 3) > 20e3); // it is there
        CHECK(run.at("master.primary.pressure", 3) < 2e3);
        CHECK(run.count("lamp lit") == 0);
    }
}

TEST_CASE("common practice, no source: the secondary spring is the weaker one, the primary piston "
          "serves the front") {
    const Scenario s = load("ordinary_stop");
    const Hardware car = hardware_at(s);
    const Values& master = *find_values(car, "master");
    CHECK(master["secondary_spring"] < master["primary_spring"]);
    // A caged cylinder with the springs exchanged is refused, with the reason.
    Hardware exchanged = s.hardware;
    Values& values = *find_values(exchanged, "master");
    const double stronger = values["primary_spring"];
    values.set("primary_spring", values["secondary_spring"]);
    values.set("secondary_spring", stronger);
    const auto refusals = complete(exchanged);
    REQUIRE(refusals.size() == 1);
    CHECK(refusals[0].field == "master.primary_spring");
    // Pressing the primary outlet's chamber moves the front brakes: its circuit is the one with the
    // discs.
    const Circuit* primary = nullptr;
    for (const Circuit& circuit : s.hardware.circuits)
        if (circuit.outlet == "primary") primary = &circuit;
    REQUIRE(primary != nullptr);
    bool front = false;
    for (const Run& branch : primary->run.branches)
        for (const std::string& part : branch.parts)
            front = front || part == "front_left";
    CHECK(front);
}
