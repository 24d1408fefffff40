// Faults inside the master cylinder, each by the reading that a workshop knows it by.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario fast_presses() {
    Scenario s = plain();
    s.foot = quick_presses();
    s.duration = 8;
    return s;
}

double gained(const Played& run, const char* channel) {
    return run.at(channel, run.scenario.duration) - run.at(channel, 0);
}

} // namespace

TEST_CASE("primary port blocked: the front keeps what the cup drew in, though the piston is home") {
    const Played sound = play(fast_presses()),
                 run = with_fault(fast_presses(), "primary_port_blocked", "master");
    // Home, the sound cylinder is as open as its reservoir: its pressure is the fluid's weight.
    CHECK(std::fabs(run.residual("master.primary_travel")) < 0.01e-3);
    CHECK(sound.residual("master.primary.pressure") < 2e3);
    CHECK(run.residual("master.primary.pressure") > 50e3);
    // Each caliper's piston stands out as far as its relaxed seal yields: p A/k' + u(p).
    const double p = run.residual("front_left.pressure"), area = circle(51e-3);
    const double out =
        p * area /
            (run.field("front_left.seal_stiffness") * (1 - run.field("front_left.seal_branch"))) +
        run.field("front_left.seal_shift") *
            (1 - std::exp(-p / run.field("front_left.seal_shift_pressure")));
    CHECK(near(run.residual("front_left.piston_travel"), out, 0, 0.05));
    CHECK(run.residual("front_left.clearance") <
          sound.residual("front_left.clearance") - 0.8 * out);
    // What the reservoir lost is there, in the calipers and behind the hold-off valve's rod; the
    // rest, less than a fifth, is air and hoses pressed together.
    const double lost = -gained(run, "master.primary_reservoir.fluid"),
                 found = 2 * area * gained(run, "front_left.piston_travel") +
                         circle(run.field("hold_off.rod_diameter")) *
                             gained(run, "hold_off.rod_travel");
    CHECK(found < lost);
    CHECK(found > 0.8 * lost);
    CHECK(near(gained(sound, "master.primary_reservoir.fluid"), 0, 0.02e-6, 0));
}

TEST_CASE("secondary port blocked: the rear keeps what lets its piston slip back on the primary "
          "spring") {
    const Played sound = play(fast_presses()),
                 run = with_fault(fast_presses(), "secondary_port_blocked", "master");
    CHECK(sound.residual("master.secondary.pressure") < 2e3);
    // What is trapped has pushed the secondary piston back, x < 0, against the primary spring and
    // its own cups, with the secondary spring's help:
    // p2 A (1 - rise) = p1 A + S1 - S2 + f2 - (k1 + k2) x2
    // That holds where it is furthest back; from there on its cups hold it.
    const double A = master_area(run);
    const auto [x, t] = run.lowest_between("master.secondary_travel", 3.05, 8);
    REQUIRE(x < -0.05e-3);
    const double p =
        (run.at("master.primary.pressure", t) * A + run.field("master.primary_spring") -
         run.field("master.secondary_spring") + run.field("master.cup_friction") -
         (run.field("master.primary_rate") + run.field("master.secondary_rate")) * x) /
        (A * (1 - run.field("master.cup_friction_rise")));
    CHECK(near(run.at("master.secondary.pressure", t), p, 0, 0.02));
    // What falls off later it keeps up to the friction the other way.
    const double found = run.residual("master.secondary.pressure");
    CHECK(found > p - 2 * run.field("master.cup_friction") / A);
    CHECK(found > 50e3);
    // Behind its residual valve the line stands at most that valve's holding above.
    CHECK(run.residual("rear_left.pressure") > sound.residual("rear_left.pressure") + 0.9 * found);
    CHECK(run.residual("rear_residual.held_back") <= run.field("rear_residual.holding") + 50);
    CHECK(gained(run, "master.secondary_reservoir.fluid") <
          gained(sound, "master.secondary_reservoir.fluid") - 0.1e-6);
}

TEST_CASE("a cup leaks: at a steady pressure the pedal sinks by R q t/A, and the reservoir behind "
          "the cup rises") {
    struct Way {
        const char *kind, *chamber, *from, *to;
    };
    const double size = 0.06e-3, start = 4, end = 9;
    Scenario steady = plain({"pedal.floor=200 mm"});
    steady.foot = force({{0, 0}, {2, 450}, {9, 450}, {12, 0}});
    steady.duration = 16;
    const Played sound = play(steady);
    for (const Way& way : {Way{"primary_cup_leak", "master.primary", "master.primary_reservoir",
                               "master.primary_reservoir"},
                           Way{"secondary_front_cup_leak", "master.secondary",
                               "master.secondary_reservoir", "master.secondary_reservoir"},
                           Way{"secondary_rear_cup_leak", "master.primary",
                               "master.primary_reservoir", "master.secondary_reservoir"}}) {
        CAPTURE(std::string(way.kind));
        const Played run = with_fault(steady, way.kind, "master", size);
        const std::string pressure = std::string(way.chamber) + ".pressure";
        // A hole in a 1 mm wall. The pressure is that of the sound car: the foot says it.
        const double q = Hole(run, size, 1e-3, 0.65).flow(sound.held(pressure.c_str()));
        const auto over = [&](const Played& played, const std::string& channel) {
            return played.at(channel, end) - played.at(channel, start);
        };
        const std::string to = std::string(way.to) + ".fluid",
                          from = std::string(way.from) + ".fluid";
        CHECK(near(run.held(pressure), sound.held(pressure), 0, 0.01));
        CHECK(near(over(run, to) - over(sound, to), q * (end - start), 0, 0.02));
        // The springs, longer pressed, take up to 2 % of the pressure and with it of the fluid.
        CHECK(near(over(run, "pedal.travel") - over(sound, "pedal.travel"),
                   run.field("pedal.ratio") * q * (end - start) / master_area(run), 0, 0.05));
        // Released, a hole back into its own reservoir shows no loss; the rear cup's has moved
        // fluid from one reservoir to the other, at least what passed in the hold.
        const double lost = gained(sound, from.c_str()) - gained(run, from.c_str());
        if (way.from == way.to)
            CHECK(near(lost, 0, 0.02e-6, 0));
        else
            CHECK(lost > q * (end - start));
    }
}

TEST_CASE("swollen cups: the pistons do not come home, and every wheel keeps what balances their "
          "friction") {
    for (const double swelling : {5.0, 150.0, 250.0}) {
        CAPTURE(swelling);
        const Played run = with_fault(slow_stop(300), "swollen_cups", "master", swelling);
        const double A = master_area(run), end = run.scenario.duration;
        const double p1 = run.residual("master.primary.pressure"),
                     p2 = run.residual("master.secondary.pressure");
        // Both pistons go back together while p2 A + S2 + k2 x2 is more than both cups hold.
        const double both = 2 * swelling + cup_friction(run, p1) + cup_friction(run, p2);
        const double balance = (both - secondary_spring(run, end)) / A;
        CHECK(std::fabs(run.residual("pedal.travel")) < 0.1e-3); // the pedal has its own spring
        if (balance < 0) {
            CHECK(run.residual("master.primary_travel") < 0.3e-3);
            CHECK(p1 < 5e3);
            CHECK(p2 < 5e3);
            continue;
        }
        CHECK(run.residual("master.primary_travel") > run.field("master.port_travel"));
        CHECK(run.residual("master.secondary_travel") > run.field("master.port_travel"));
        MESSAGE(swelling << " N: " << p1 * 1e-6 << " and " << p2 * 1e-6 << " MPa stay, balance "
                         << balance * 1e-6);
        // The primary piston has slid back until p1 A and its spring just moved its cups.
        CHECK(near(p1 * A + primary_spring(run, end), swelling + cup_friction(run, p1), 0, 0.05));
        // So has the secondary, unless its stuck cups alone, which give by f2/k (0.7 mm at 277 N),
        // let the rear have its fluid back before that.
        CHECK(p2 <= balance * 1.01);
        if (swelling < 200) CHECK(p2 >= balance * 0.9);
        CHECK(run.residual("rear_left.torque") > kDragLimit);
        CHECK(run.residual("front_left.pressure") > 40e3);
    }
    // As hardware it is refused: nobody builds a cylinder that cannot come home.
    Hardware car = plain().hardware;
    complete(car);
    CHECK_THROWS_AS(apply(car, {"master", "cup_friction", 60, 0, 0}), std::invalid_argument);
}
