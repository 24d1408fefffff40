// Worn pads draw the reservoir down by what their pistons have come out.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kWear = 10e-3; // m, of both pads of a caliper together

/// Both front calipers wear while the pedal is free, then the worn car brakes. What takes a year is
/// pressed into 40 s here, and the fluid drawn after it would give off air that it keeps in truth.
Played wearing(std::vector<std::string> sets = {}) {
    sets.push_back("fluid.solubility=0");
    Scenario s = plain(sets);
    for (const char* caliper : {"front_left", "front_right"})
        s.changes.push_back({caliper, "wear", kWear, 1, 40});
    s.foot = force({{0, 0}, {50, 0}, {53, 300}, {54, 300}, {57, 0}});
    s.duration = 62;
    s.sample = 0.01;
    return play(s);
}

} // namespace

TEST_CASE("worn pads draw the reservoir down by A x wear, and the pedal stays") {
    const Played sound = play(plain()), run = wearing();
    const double area = circle(run.field("front_left.piston"));
    const auto fell = [&](double t) {
        return run.at("master.primary_reservoir.fluid", 0) -
               run.at("master.primary_reservoir.fluid", t);
    };
    CHECK(near(fell(49.9), 2 * area * kWear, 0, 0.01));
    CHECK(near(run.held("pedal.travel"), sound.held("pedal.travel"), 3e-3, 0));
    CHECK(near(run.held("front_left.torque"), sound.held("front_left.torque"), 0, 0.01));
    // 49 CFR 571.105 S5.4.2: a reservoir holds at least what all pistons it serves displace from
    // new linings fully retracted to worn linings fully applied.
    const double needed = 2 * area * (kWear + run.peak("front_left.piston_travel"));
    MESSAGE("needs " << needed * 1e6 << " cm3");
    CHECK(run.field("master.reservoir_volume") > needed);
    CHECK(run.lowest("master.primary_reservoir.fluid") > 0);
    // No air comes in: what the caliper has gained lay in the pipe, the hose and the cylinder.
    const double stroke = run.field("master.primary_stroke"), bore = 3.34e-3;
    const double before =
        circle(bore) * (run.field("front_pipe.length") + run.field("left_pipe.length")) +
        circle(run.field("left_hose.bore")) * run.field("left_hose.length") +
        master_area(run) * stroke + run.field("master.dead_volume");
    CHECK(run.residual("front_left.free_air") <=
          sound.residual("front_left.free_air") + run.hardware.fluid["free_air"] * before);
}

TEST_CASE("a reservoir smaller than the worn linings need runs empty, and air comes in") {
    // 30 cm3, where 2 x 2043 mm2 x 10 mm = 41 cm3 are asked for.
    const Played run = wearing({"master.reservoir_volume=30 cm3"}), good = wearing();
    CHECK(run.at("master.primary_reservoir.fluid", 49.9) < 1e-6);
    CHECK(run.held("pedal.travel") > good.held("pedal.travel") + 20e-3);
}
