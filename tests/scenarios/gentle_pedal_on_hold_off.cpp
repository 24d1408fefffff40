// The hold-off valve under a gentle pedal: shut, open, blend, release, loop; and under a stab.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Areas and forces of the valve from its fields.
struct Balance {
    double a1, a2, spring;    // plate
    double rod_area, rod_out; // rod, and the force that has it shut the check on the way out

    explicit Balance(const Played& run)
        : a1(circle(run.field("hold_off.plate_diameter"))), a2(run.field("hold_off.outlet_area")),
          spring(run.field("hold_off.plate_spring")),
          rod_area(circle(run.field("hold_off.rod_diameter"))),
          rod_out(run.field("hold_off.rod_spring") +
                  run.field("hold_off.rod_rate") * run.field("hold_off.shut_travel") +
                  run.field("hold_off.rod_friction")) {}

    double opens_at(double outlet) const { return (spring + a2 * outlet) / a1; }
};

const Played& gentle() {
    static const Played run = play(load("gentle_pedal_on_hold_off"));
    return run;
}

double slope(const Played& run, const char* y, const char* x, double from, double to) {
    return (run.at(y, to) - run.at(y, from)) / (run.at(x, to) - run.at(x, from));
}

constexpr const char* kIn = "hold_off.inlet.pressure";
constexpr const char* kOut = "hold_off.outlet.pressure";

} // namespace

TEST_CASE("gentle pedal: the file's own expectations") {
    check_own_expectations(gentle());
}

TEST_CASE("gentle pedal: the stated pressures and the areas are the same valve") {
    const Balance valve(gentle());
    const double full = valve.spring / (valve.a1 - valve.a2);
    CHECK(near(valve.rod_out / valve.rod_area, gentle().field("hold_off.shut"), 0, 1e-12));
    CHECK(near(valve.opens_at(gentle().field("hold_off.shut")), gentle().field("hold_off.open"), 0,
               1e-12));
    CHECK(near(full, gentle().field("hold_off.full"), 0, 1e-12));
}

TEST_CASE("gentle pedal: the check sits at rod force over rod area and the outlet waits") {
    const Balance valve(gentle());
    const double shut = gentle().when("hold_off: check shuts");
    const double opens = gentle().when("hold_off: plate opens");
    REQUIRE(shut < opens);
    CHECK(near(gentle().at(kIn, shut), valve.rod_out / valve.rod_area, 0, 0.02));

    const double waiting = gentle().at(kOut, shut);
    CHECK(gentle().highest_between(kOut, shut, opens).first - waiting < 5e3);
    CHECK(waiting - gentle().lowest_between(kOut, shut, opens).first < 5e3);
    CHECK(near(gentle().at(kIn, opens), valve.opens_at(gentle().at(kOut, opens)), 0, 0.02));
}

TEST_CASE("gentle pedal: outlet over inlet has the slope A1/A2, then both are equal") {
    const Balance valve(gentle());
    const double opens = gentle().when("hold_off: plate opens");
    const double full = valve.spring / (valve.a1 - valve.a2), open = gentle().at(kIn, opens);
    // Instants of the first press at which the inlet passes stated parts of the blend.
    const auto passes = [&](double p) {
        double t = opens;
        while (gentle().at(kIn, t) < p)
            t += 1e-3;
        return t;
    };
    for (const double part : {0.1, 0.3, 0.5, 0.7}) {
        const double from = passes(open + part * (full - open));
        const double to = passes(open + (part + 0.2) * (full - open));
        CAPTURE(part);
        CHECK(near(slope(gentle(), kOut, kIn, from, to), valve.a1 / valve.a2, 0, 0.02));
    }
    const double later = passes(1.02 * full), end = 38;
    REQUIRE(later < end);
    CHECK(gentle().highest_between("hold_off.difference", later, end).first < 5e3);
    CHECK(gentle().lowest_between("hold_off.difference", later, end).first > -5e3);
}

TEST_CASE(
    "gentle pedal: the pedal softens where the plate opens; the shoes' take-up came earlier") {
    const double opens = gentle().when("hold_off: plate opens");
    const auto give = [&](double from, double to) {
        return slope(gentle(), "pedal.travel", "pedal.force", from, to);
    };
    const double hard = give(opens - 0.3, opens - 0.1), soft = give(opens + 0.1, opens + 0.2);
    CHECK(soft > 4 * hard);

    const double leave = gentle().when("rear_right: shoes leave their stops");
    const double touch = std::max(gentle().when("rear_left: shoes touch the drum"),
                                  gentle().when("rear_right: shoes touch the drum"));
    REQUIRE(leave < touch);
    REQUIRE(touch < opens - 0.3);
    CHECK(give(leave, touch) > 4 * hard);
    // Between the two zones no third one.
    for (double t = touch + 0.2; t < opens - 0.2; t += 0.1)
        CHECK(give(t, t + 0.1) < 2 * hard);
}

TEST_CASE(
    "gentle pedal: on release the outlet stands above the inlet by the crack and little more") {
    const double crack = gentle().field("hold_off.crack");
    const double head =
        gentle().field("fluid.density") * 9.80665 *
        (gentle().field("master.reservoir_height") - gentle().field("front_left.height"));
    const double pushed = gentle().when("hold_off: rod pushes the check open");
    for (const auto& [from, to] : {std::pair{41.5, 46.0}, std::pair{59.5, pushed}}) {
        CAPTURE(from);
        // Flow loss: what the return spends beyond its crack at under 0.5 cm3/s.
        CHECK(-gentle().lowest_between("hold_off.difference", from, to).first < crack + 2e3);
        CHECK(gentle().highest_between("hold_off.difference", from, to - 0.1).first < 0);
    }
    CHECK(std::abs(gentle().residual("hold_off.difference")) < 5e3);
    CHECK(gentle().residual("front_left.pressure") - head < 5e3);
    CHECK(pushed > 59.5);
}

TEST_CASE("gentle pedal: pressed again from half, the outlet waits at what it kept") {
    const Balance valve(gentle());
    const double again = gentle().when("hold_off: plate opens", 47);
    REQUIRE(again < 55);
    const double kept = gentle().at(kOut, 47);
    CHECK(near(gentle().at(kIn, again), valve.opens_at(kept), 0, 0.02));
    CHECK(near(gentle().at(kOut, again), kept, 5e3, 0));
    // A loop: the same inlet pressure, on the way up in the first press, gave less.
    double t = gentle().when("hold_off: plate opens");
    while (gentle().at(kIn, t) < gentle().at(kIn, 47))
        t += 1e-3;
    CHECK(kept - gentle().at(kOut, t) > 0.1e6);
}

TEST_CASE("stab: the plate opens by the pressure that is behind it, between F/A1 and the opening "
          "pressure once the fluid has no inertia") {
    const Played run = play(load("stab_on_hold_off"));
    check_own_expectations(run);
    const Balance valve(run);
    const double opens = run.when("hold_off: plate opens");
    CHECK(near(run.at(kIn, opens), valve.opens_at(run.at(kOut, opens)), 0, 0.02));
    CHECK(run.at(kIn, opens) <= valve.opens_at(run.field("hold_off.shut")));
    CHECK(run.at(kIn, opens) > valve.opens_at(-run.field("surroundings.pressure")));

    std::vector<std::string> light;
    for (const char* part : {"front_pipe", "left_pipe", "right_pipe", "left_hose", "right_hose"})
        light.push_back(std::string(part) + ".inertia=0.001");
    for (const char* ramp : {"", "faster", "slower"}) {
        CAPTURE(std::string(ramp));
        Scenario scenario = load("stab_on_hold_off", light);
        scenario.expectations.clear();
        if (*ramp) scenario.foot.time[2] = *ramp == 'f' ? 0.23 : 0.5;
        const Played quick = play(scenario);
        const double at = quick.at(kIn, quick.when("hold_off: plate opens"));
        CHECK(at > valve.spring / valve.a1);
        CHECK(at < valve.opens_at(quick.field("hold_off.shut")));
    }
}
