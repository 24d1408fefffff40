// Air in solution: goes in while the foot presses. How it comes back is not held to a figure yet.
#include <set>

#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The car with the solubility of glycol ethers, without creep; wheels and cylinder at one height,
/// so that no bubble climbs from one to the other.
Scenario level_car(std::vector<std::string> sets) {
    sets.insert(sets.end(),
                {"fluid.solubility=5 %", "front_left.height=750 mm", "front_right.height=750 mm",
                 "rear_left.height=750 mm", "rear_right.height=750 mm"});
    return without_creep(plain(sets));
}

/// Pressed within a second, held, let go, and left alone.
Scenario hold(double newton, double seconds, double after, const std::vector<std::string>& sets) {
    Scenario s = level_car(sets);
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

TEST_CASE("the stroke after a long hold is shorter by the bubbles that are gone") {
    // 60 s at 300 N with a take-up time of 20 s leave a twentieth of the bubbles. Without them the
    // pistons need not travel what those would give from rest to the pressure: G (p0/p_rest -
    // p0/p).
    Scenario s = level_car({"fluid.take_up_time=20 s", "fluid.free_air=0.5 %"});
    s.foot = force({{0, 0},   {1, 300},   {2, 300},   {3, 0},   // a new car's first, for the seals
                    {20, 0},  {21, 300},  {22, 300},  {23, 0},  // as it was
                    {40, 0},  {41, 300},  {101, 300}, {102, 0}, // the long one
                    {103, 0}, {104, 300}, {105, 300}, {106, 0}, // at once
                    {146, 0}, {147, 300}, {148, 300}, {149, 0}}); // half a minute later
    s.duration = 150;
    const Played run = coarse(s);
    double less = 0, gone = 0;
    std::set<double> seen; // of each volume, which several parts tell, by what it holds
    for (const ChannelFigures& f : run.summary.channels) {
        const std::string& path = f.channel.path;
        if (!path.ends_with(".free_air") || !seen.insert(run.at(path, 22)).second) continue;
        const std::string point = path.substr(0, path.size() - 9);
        const double p = absolute(run.at(point + ".pressure", 105)),
                     rest = absolute(run.at(point + ".pressure", 103));
        const double dG = run.at(path, 22) - run.at(path, 105);
        gone += dG;
        less += dG * kStandardPressure * (1 / rest - 1 / p);
    }
    CAPTURE(gone);
    const double area = circle(run.field("master.bore"));
    const double before = run.at("pedal.travel", 22), at_once = run.at("pedal.travel", 105);
    CHECK(gone > 0.2e-6);
    CHECK(near(before - at_once, run.field("pedal.ratio") * less / area, 0, 0.1));
}
