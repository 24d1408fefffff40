// Air in solution: goes in while the foot presses, comes back when it is off.
#include <set>

#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The car without creep; wheels and cylinder at one height,
/// so that no bubble climbs from one to the other.
Scenario level_car(std::vector<std::string> sets) {
    sets.insert(sets.end(), {"front_left.height=750 mm", "front_right.height=750 mm",
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
    Scenario s =
        level_car({"fluid.take_up_time=20 s", "fluid.release_time=5 s", "fluid.free_air=0.5 %"});
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

    // Half a minute later the front has its bubbles back. Behind the residual valve, where pressure
    // stands, the fluid can hold what went in, and the later stroke is shorter by those.
    const auto bubbles = [&run](const char* point, double t) {
        return run.at(std::string(point) + ".free_air", t);
    };
    for (const char* point : {"front_left", "front_right", "hold_off.outlet"})
        CHECK(near(bubbles(point, 146), bubbles(point, 40), 0, 0.06));
    double stay = 0;
    for (const char* point : {"rear_residual.outlet", "rear_hose.inlet", "rear_hose.outlet",
                              "rear_left", "rear_right"}) {
        CHECK(bubbles(point, 146) < 0.15 * bubbles(point, 22) + 1e-9);
        const std::string pressure = std::string(point) + ".pressure";
        stay += (bubbles(point, 22) - bubbles(point, 148)) * kStandardPressure *
                (1 / absolute(run.at(pressure, 20)) - 1 / absolute(run.at(pressure, 22)));
    }
    const double later = run.at("pedal.travel", 148);
    CHECK(near(before - later, run.field("pedal.ratio") * stay / area, 0.5e-3, 0));
}

TEST_CASE("let go, what is too much comes out in proportion to it, by the release time") {
    // Bubbles that come out push fluid through the pipe and lift the pressure by a part of a
    // kilopascal, so that the liquid may hold a little more for as long: the excess is taken
    // against the pressure of the moment. One bubble in two hundred goes with the fluid that is
    // pushed out.
    const Played run =
        coarse(hold(300, 60, 60,
                    {"fluid.take_up_time=20 s", "fluid.release_time=5 s", "fluid.free_air=0.5 %"}));
    const double time = run.field("fluid.release_time"), end = 121;
    for (const char* at : {"front_left", "front_right"}) {
        CAPTURE(at);
        const std::string point = at;
        const auto excess = [&](double t) {
            const double air = run.at(point + ".free_air", t),
                         last = run.at(point + ".free_air", end);
            return run.at(point + ".dissolved_air", t) -
                   run.at(point + ".dissolved_air", end) *
                       absolute(run.at(point + ".pressure", t)) /
                       absolute(run.at(point + ".pressure", end)) -
                   run.field("fluid.solubility") * (last - air);
        };
        const double from = 66, to = 80, step = 0.1;
        double came = 0;
        for (double t = from; t < to - 0.5 * step; t += step)
            came += 0.5 * step * (excess(t) + excess(t + step)) / time;
        CHECK(excess(from) > 4 * excess(to));
        CHECK(excess(to) > 0);
        const double grown = run.at(point + ".free_air", to) - run.at(point + ".free_air", from);
        MESSAGE(point << ": " << grown * 1e9 << " mm3 of bubbles, by hand " << came * 1e9);
        CHECK(near(grown, came, 0, 0.02));
    }
}
