// Air in solution: goes in while the foot presses, comes out afterwards, each in its own time.
#include "hydraulics/bubble_rise.hpp"
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Pressed within a second, held, let go, and left alone.
Scenario hold(double newton, double seconds, double after, std::vector<std::string> sets) {
    Scenario s = without_creep(plain(sets));
    s.foot = force({{0, 0}, {1, newton}, {1 + seconds, newton}, {1.5 + seconds, 0}});
    s.duration = 1.5 + seconds + after;
    return s;
}

Played coarse(const Scenario& s) {
    RunOptions options;
    options.sample = 20e-3;
    return play(s, options);
}

double absolute(double p) {
    return p + kStandardPressure;
}

} // namespace

TEST_CASE("under pressure bubbles go into solution with the take-up time") {
    // Saturated at rest, the fluid could hold p/p0 times as much: the rate is G/time (1 -
    // p_rest/p).
    const Played run = coarse(hold(300, 30, 1, {"fluid.take_up_time=20 s"}));
    for (const char* at : {"front_left", "rear_left", "master.primary"}) {
        CAPTURE(at);
        const std::string point = at;
        const double p = absolute(run.at(point + ".pressure", 15)),
                     rest = absolute(run.at(point + ".pressure", 0));
        const double from = run.at(point + ".free_air", 5), to = run.at(point + ".free_air", 25);
        CHECK(from > 1e-9);
        // What dissolved meanwhile takes up some of the room that is left: a few parts in a
        // thousand.
        CHECK(near(std::log(from / to), 20 / 20.0 * (1 - rest / p), 0, 0.01));
        // What the bubbles lost the liquid has.
        CHECK(near(run.at(point + ".dissolved_air", 25) - run.at(point + ".dissolved_air", 5),
                   from - to, 0, 0.01));
    }
}

TEST_CASE("after pressure the air comes back with the release time") {
    const Played run = coarse(hold(300, 60, 40, {"fluid.take_up_time=20 s"}));
    const double time = run.field("fluid.release_time");
    CHECK(time == 5);
    for (const char* at : {"front_left", "master.primary"}) {
        CAPTURE(at);
        const std::string free = std::string(at) + ".free_air";
        const double t = 64, first = run.at(free, t + time) - run.at(free, t),
                     second = run.at(free, t + 2 * time) - run.at(free, t + time);
        CHECK(first > 1e-9);
        CHECK(near(first / second, std::exp(1), 0, 0.02));
        CHECK(near(run.residual(free), run.at(free, 0), 0.02 * run.at(free, 0), 0));
    }
}

TEST_CASE(
    "the stroke after a long hold is shorter by the bubbles that are gone, the next one is not") {
    // 60 s at 300 N with a take-up time of 20 s leave a twentieth of the bubbles. Without them the
    // pistons need not travel what those would give from rest to the pressure: G (p0/p_rest -
    // p0/p).
    Scenario s = without_creep(plain({"fluid.take_up_time=20 s", "fluid.free_air=0.5 %"}));
    s.foot = force({{0, 0},
                    {1, 300},
                    {2, 300},
                    {3, 0},
                    {20, 0}, // as it was
                    {21, 300},
                    {81, 300},
                    {82, 0}, // the long one
                    {82.5, 0},
                    {83.5, 300},
                    {84.5, 300},
                    {85.5, 0},
                    {125, 0}, // at once
                    {126, 300},
                    {127, 300},
                    {128, 0}}); // half a minute later
    s.duration = 130;
    const Played run = coarse(s);
    double less = 0, gone = 0;
    for (const ChannelFigures& f : run.summary.channels) {
        const std::string& path = f.channel.path;
        if (!path.ends_with(".free_air")) continue;
        // Each volume once: by the part that is furthest in, the points of a car are
        // the chambers, the ends of pipes and hoses.
        const std::string point = path.substr(0, path.size() - 9);
        if (point.ends_with(".inlet") || point.find("bleeder") != std::string::npos) continue;
        const double p = absolute(run.at(point + ".pressure", 84.4)),
                     rest = absolute(run.at(point + ".pressure", 82.5));
        const double dG = run.at(path, 2) - run.at(path, 84.4);
        gone += dG;
        less += dG * kStandardPressure * (1 / rest - 1 / p);
    }
    CAPTURE(gone);
    const double area = circle(run.field("master.bore"));
    const double before = run.at("pedal.travel", 1.95), at_once = run.at("pedal.travel", 84.45),
                 later = run.at("pedal.travel", 126.95);
    CHECK(gone > 0.2e-6);
    CHECK(near(before - at_once, run.field("pedal.ratio") * less / area, 0, 0.1));
    CHECK(near(later, before, 0.1e-3, 0));
}

TEST_CASE(
    "left alone, a bubble climbs out of a wheel through a steep hose at the speed of the law") {
    // 2 cm3 in a caliper, hose hanging from the pipe: area x speed x slope x share of bubbles below
    // x share of liquid above.
    Scenario s = without_creep(
        plain({"front_left_bleeder.pocket=2 cm3", "fluid.free_air=0", "left_hose.bore=5 mm"}));
    s.foot = force({{0, 0}, {60, 0}});
    s.duration = 60;
    const Played run = coarse(s);
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const double bore = run.field("left_hose.bore"), length = run.field("left_hose.length"),
                 drop = run.field("master.height") - run.field("front_left.height");
    const double speed = BubbleRise(bore, length, fluid.density()).speed(fluid.viscosity(293.15));
    const double rise = circle(bore) * speed * std::min(1.0, drop / length);
    const double gas = run.at("front_left.free_air", 1);
    const double climbed =
        run.at("left_hose.inlet.free_air", 3) - run.at("left_hose.inlet.free_air", 1);
    // One m3 of what stands in the caliper holds share x p/p0 of gas at 1 atm.
    const double p = absolute(run.at("front_left.pressure", 1)) / kStandardPressure;
    const double liquid = run.at("front_left.dissolved_air", 1) /
                          (run.field("fluid.solubility") * p); // reference m3 that are full at p
    const double share = gas / p / (gas / p + liquid);
    CHECK(share > 0.05);
    CHECK(near(climbed, 2 * rise * share * p, 0, 0.05));
    CHECK(near(run.at("front_left.free_air", 1) - run.at("front_left.free_air", 3), climbed, 0,
               0.05));
}
