// A pedal that is held sinks a little without any leak: hoses and pads go on giving, and come back.
#include "hydraulics/orifice.hpp"
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Pressed within a second, held for `seconds` (standing still after 0.2 s), let go, left alone for
/// half a minute.
Played hold(double newton, double seconds, const std::vector<std::string>& sets = {},
            bool leak = false) {
    Scenario s = plain(sets);
    s.foot = force({{0, 0}, {1, newton}, {1.5 + seconds, newton}, {2 + seconds, 0}});
    s.duration = 31.5 + seconds;
    RunOptions coarse;
    coarse.sample = 10e-3;
    if (leak) // 0.5 mm/s of pedal is 32 mm3/s: a cut in the cup of 20 um at 6 MPa
        s.changes.push_back({"master", "leak_primary", 30e-6, 0, 0});
    return play(s, coarse);
}

double sinks(const Played& run, double from, double to) {
    return run.at("pedal.travel", to) - run.at("pedal.travel", from);
}

const std::vector<std::string> kNoCreep = {"left_hose.creep=0",         "right_hose.creep=0",
                                           "rear_hose.creep=0",         "front_left.pad_creep=0",
                                           "front_right.pad_creep=0",   "front_left.seal_branch=0",
                                           "front_right.seal_branch=0", "fluid.free_air=0"};

} // namespace

TEST_CASE("a pedal held at 300 to 500 N for ten seconds sinks 0.5 to 2 mm without leak or air, and "
          "comes back") {
    for (const double newton : {300.0, 400.0, 500.0}) {
        CAPTURE(newton);
        const Played run = hold(newton, 10, {"fluid.free_air=0"});
        const double sunk = sinks(run, 1.2, 11.2);
        CHECK(sunk > 0.5e-3);
        CHECK(sunk < 2e-3);
        // Nothing went anywhere: all of it is in hoses, pads and seals, and with the pedal off it
        // goes back within six times 4 s.
        CHECK(near(run.residual("pedal.travel"), 0, 0.05e-3, 0));
        for (const char* creep : {"left_hose.creep", "front_left.creep"}) {
            const double most = run.highest_between(creep, 0, 12).first;
            CHECK(near(run.residual(creep), 0, 0.01 * most, 0));
        }
    }
    // And without these elements it hardly sinks at all: cups and seals come to rest.
    const Played stiff = hold(400, 10, kNoCreep);
    CHECK(sinks(stiff, 1.2, 11.2) < 0.02e-3);
}

TEST_CASE("creep of a hose at a steady pressure is share V(p) (1 - exp(-t/time))") {
    // The foot is there within 20 ms; what it needs to stand still is over after 0.1 s.
    Scenario s = plain({"rear_hose.creep=20 %", "rear_hose.creep_time=3 s", "pedal.floor=200 mm"});
    s.foot = force({{0, 0}, {0.5, 400}, {12, 400}});
    s.duration = 12;
    const Played run = play(s);
    const double L = run.field("rear_hose.length");
    // The rest of the way is followed from 1 s on: w = w1 e^(-t/3 s) + share V (1 - e^(-t/3 s)).
    const double w1 = run.at("rear_hose.creep", 1);
    for (const double t : {2.0, 4.0, 7.0, 12.0}) {
        CAPTURE(t);
        const double p = run.at("rear_hose.inlet.pressure", t),
                     V = 0.09e-12 * L * p + 0.5e-6 * L * p / (p + 3e6);
        const double left = std::exp(-(t - 1) / 3);
        CHECK(near(run.at("rear_hose.creep", t), w1 * left + 0.2 * V * (1 - left), 0, 0.01));
    }
}

TEST_CASE("creep dies away, a leak goes on; the pedal tells them apart") {
    const Played creep = hold(400, 30, {"fluid.free_air=0"}),
                 leak = hold(400, 30, {"fluid.free_air=0"}, true);
    // One time of 4 s: what comes in the second ten seconds is e^-2.5 of the first, in the third
    // e^-5; the seal's half second is over long before.
    const double first = sinks(creep, 1.2, 11);
    CHECK(sinks(creep, 11, 21) < 0.12 * first);
    CHECK(sinks(creep, 21, 31) < 0.02 * first);
    // The hole: laminar and jet at the pressure that stands there; A dx = q dt, pedal R times it.
    const double p = leak.held("master.primary.pressure");
    const double q = Hole(leak, 30e-6, 1e-3, kDischarge).flow(p);
    const double rate = leak.field("pedal.ratio") * q / master_area(leak);
    CHECK(near(sinks(leak, 21, 31) - sinks(creep, 21, 31), 10 * rate, 0, 0.05));
    CHECK(near(sinks(leak, 11, 21) - sinks(creep, 11, 21), 10 * rate, 0, 0.05));
    CHECK(sinks(leak, 21, 31) > 10 * sinks(creep, 21, 31));
}
