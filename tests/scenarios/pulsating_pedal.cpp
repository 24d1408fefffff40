// A measured disc goes into the run: it fails its limit, and the pedal pulses by what follows from
// its thickness and from the rest of the circuit.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

// The closed form knows no creep: what hoses and pads give slowly is left out beside it.
const std::vector<std::string> kNoCreep = {"left_hose.creep=0", "right_hose.creep=0",
                                           "rear_hose.creep=0", "front_left.pad_creep=0",
                                           "front_right.pad_creep=0"};

/// The same car driven with an even disc, and pressed slowly enough for quasi-static figures.
Scenario even() {
    Scenario s = load("pulsating_pedal", kNoCreep);
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "front_left")
            part.values.set("thickness_variation", 0), part.values.set("run_out", 0);
    return s;
}

/// Most less least in one turn of the wheel, in the mean of the turns from 3 s on: seals and cups
/// creep on under a held foot, and what creeps is no pulse.
double swing(const Played& run, const char* channel) {
    const double turn = 2 * M_PI / run.at("car.front_left_speed", 4);
    REQUIRE(turn < 0.6);
    double sum = 0;
    int turns = 0;
    for (double t = 3; t + turn <= 5; t += turn, ++turns)
        sum += run.highest_between(channel, t, t + turn).first -
               run.lowest_between(channel, t, t + turn).first;
    return sum / turns;
}

} // namespace

TEST_CASE("the pulsating pedal holds what it says") {
    const Played run = play(load("pulsating_pedal"));
    check_own_expectations(run);

    // Measured figures are the fields of the run: run-out at the linings' radius.
    CHECK(near(run.field("front_left.thickness_variation"), 0.1e-3, 1e-9, 0));
    CHECK(near(run.field("front_left.run_out"), 0.06e-3 * 108 / 90, 1e-9, 0));
    CHECK(run.field("front_right.thickness_variation") == 0);

    std::vector<std::string> failed;
    for (const ServiceLine& line : run.summary.service)
        if (!line.pass) failed.push_back(line.what);
    CHECK(run.summary.service.size() == 5);
    CHECK(failed == std::vector<std::string>{"thickness variation"});
    const auto warned = [&run](const char* words) {
        return std::any_of(
            run.summary.cautions.begin(), run.summary.cautions.end(),
            [words](const std::string& c) { return c.find(words) != std::string::npos; });
    };
    CHECK(warned("Outside the limits of service: thickness variation at front_left."));
}

TEST_CASE("the pedal pulses by what the cups and the circuit do not take up") {
    const Played run = play(load("pulsating_pedal", kNoCreep));
    // The circuits' compliance, C = dV/dp, from a slow press with an even disc over the pressures
    // of the pulse (front and rear: what the pistons displace).
    Scenario slow = even();
    slow.foot = force({{0, 0}, {4, 320}, {5, 320}});
    const Played pressed = play(slow);
    const double top = run.highest_between("master.primary.pressure", 3, 5).first;
    const double bottom = run.lowest_between("master.primary.pressure", 3, 5).first;
    const auto when = [&pressed](double p) {
        for (double t = 1; t < 4; t += 1e-3)
            if (pressed.at("master.primary.pressure", t) >= p) return t;
        FAIL("the slow press does not get that far");
        return 0.0;
    };
    const double from = when(bottom), to = when(top);
    const auto rise = [&](const char* channel) {
        return pressed.at(channel, to) - pressed.at(channel, from);
    };
    const double area = master_area(run);
    const double front = area * (rise("master.primary_travel") - rise("master.secondary_travel")) /
                         rise("master.primary.pressure");
    const double rear = area * rise("master.secondary_travel") / rise("master.secondary.pressure");
    MESSAGE("compliance " << front * 1e12 << " and " << rear * 1e12 << " cm3/MPa");

    // At both ends of its way the primary piston has its full cup friction against it.
    const double friction = cup_friction(run, 0.5 * (top + bottom));
    const double dp = 2 * friction / area;
    // The secondary piston does not slip: it goes as far as the give of its cups and its own
    // circuit let it, away from the primary.
    const double aside = area * dp /
                         (run.field("master.cup_stiffness") + run.field("master.secondary_rate") +
                          area * area / rear);
    const double fluid = circle(run.field("front_left.piston")) * 0.1e-3;
    const double wanted = run.field("pedal.ratio") * ((fluid - front * dp) / area - aside);
    // 0.1 mm of stretch in the caliper's seal (1 kN/mm) is 100 N that do not press the pads: 3 %.
    CHECK(near(swing(run, "pedal.travel"), wanted, 0, 0.05));
    CHECK(near(swing(run, "master.primary.pressure"), dp, 0, 0.06)); // spring and slip add a little
    // With an even disc nothing pulses.
    CHECK(swing(play(even()), "pedal.travel") < 0.01 * wanted);
    // A disc just within the limit moves no piston through its cups: what it displaces goes into
    // the circuit and into the give of the cups.
    Scenario good = even();
    for (PartSpec& part : good.hardware.parts)
        if (part.name == "front_left") part.values.set("thickness_variation", 12.7e-6);
    const double held = run.field("master.cup_stiffness") + run.field("master.primary_rate");
    const double held_aside =
        run.field("master.cup_stiffness") + run.field("master.secondary_rate") + area * area / rear;
    const double ripple =
        fluid * 12.7e-6 / 0.1e-3 / (front + area * area / held + area * area / held_aside);
    CHECK(ripple < dp);
    const Played within = play(good);
    CHECK(near(swing(within, "master.primary.pressure"), ripple, 0, 0.1));
    CHECK(near(swing(within, "pedal.travel"), run.field("pedal.ratio") * area * ripple / held, 0,
               0.1));
}
