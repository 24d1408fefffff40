// A cylinder with one chamber too short: hidden in light stops, one circuit capped in hard ones.
#include "hydraulics/mechanics.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

struct Case {
    const char *file, *bottoms, *capped, *other;
};
constexpr Case kCases[] = {
    {"look_alike_cylinder", "master: secondary piston bottoms", "master.secondary.pressure",
     "master.primary.pressure"},
    {"look_alike_cylinder_primary", "master: pistons meet", "master.primary.pressure",
     "master.secondary.pressure"},
};
constexpr double kLight = 10, kFull = 17; // ends of the light hold and of the hard press

Played right_one(const Case& c) {
    Scenario scenario = intact(load(c.file));
    scenario.expectations.clear();
    return play(scenario);
}

double slope(const Played& run, const char* channel, double from, double to) {
    return (run.at(channel, to) - run.at(channel, from)) /
           (run.at("pedal.force", to) - run.at("pedal.force", from));
}

/// What the rear circuit takes up at rest at pressure p, pressed from zero: its parts' laws added
/// up.
double rear_takes_up(const Played& run, double p) {
    double volume = 0, content = 0; // stretch and travel; fluid that is compressed
    for (const char* wheel : {"rear_left", "rear_right"}) {
        const auto f = [&](const char* field) {
            return run.field(std::string(wheel) + "." + field);
        };
        const double area = circle(f("cylinder")), cup = f("cup_friction"),
                     rise = f("cup_friction_rise");
        const double spring = f("push_out") * area * (1 - rise) - cup;
        const Progressive lining{f("lining_first"), f("lining_final"), f("lining_take_up")};
        double low = 0, high = 0.01; // shoe travel in balance, the cups dragging
        for (int i = 0; i < 100; ++i) {
            const double x = 0.5 * (low + high), gap = x - f("clearance");
            const double stop =
                std::max(0.0, spring - f("stop_stiffness") * x); // until the shoe leaves it
            const double hold =
                spring + f("spring_rate") * x + cup - stop + (gap > 0 ? lining.force(gap) : 0.0);
            (hold < p * area * (1 - rise) ? low : high) = x;
        }
        volume += 2 * area * low + f("stretch") * p;
        content += f("dead_volume");
    }
    for (const char* pipe : {"rear_pipe", "rear_left_pipe", "rear_right_pipe"}) {
        const auto f = [&](const char* field) {
            return run.field(std::string(pipe) + "." + field);
        };
        const double outer = f("outer_diameter"), bore = outer - 2 * f("wall_thickness");
        const double inside = circle(bore) * f("length");
        // Lame, steel
        volume += inside * 2 * p / 2.06e11 *
                  ((outer * outer + bore * bore) / (outer * outer - bore * bore) + 0.3);
        content += inside;
    }
    // Hose per metre: 0.09 cm3/MPa and 0.5 cm3 that yields with half at 3 MPa.
    const double hose = run.field("rear_hose.length") * run.field("rear_hose.swelling");
    volume += hose * (0.09e-12 * p + 0.5e-6 * p / (p + 3e6));
    content += circle(run.field("rear_hose.bore")) * run.field("rear_hose.length");
    const double area = circle(run.field("master.bore"));
    volume += run.field("master.body_stretch") * p;
    content += run.field("master.dead_volume") +
               area * (run.field("master.secondary_stroke") - run.field("master.port_travel"));
    const double air = kStandardPressure / (p + kStandardPressure);
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const double K = fluid.modulus(run.field("surroundings.temperature"));
    return volume +
           content * (p / (K + fluid.secant_slope() * p) + run.field("fluid.free_air") * (1 - air));
}

} // namespace

TEST_CASE("look-alike cylinder: the files' own expectations") {
    for (const Case& c : kCases)
        check_own_expectations(play(load(c.file)));
}

TEST_CASE("look-alike cylinder: a light stop hides it") {
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played run = play(load(c.file)), right = right_one(c);
        for (const char* channel :
             {"master.primary.pressure", "master.secondary.pressure", "pedal.travel",
              "front_left.pressure", "rear_left.pressure", "front_left.torque", "rear_left.torque"})
            CHECK(near(run.at(channel, kLight), right.at(channel, kLight), 0, 0.02));
        CHECK(run.count("lamp lit") == 1);
        CHECK(run.when("lamp lit") > kLight);
        CHECK(right.count("lamp lit") == 0);
    }
}

TEST_CASE("look-alike cylinder: the capped circuit stops at V(p) = A (stroke - lost stroke)") {
    const Played run = play(load("look_alike_cylinder"));
    const double bottoms = run.when(kCases[0].bottoms);
    const double cap = run.at("master.secondary.pressure", bottoms);
    const double area = circle(run.field("master.bore"));
    const double given =
        area * (run.field("master.secondary_stroke") - run.field("master.port_travel"));
    // A port that closes slowly under the lip leaves some pressure at the instant when it is shut.
    const double shut =
        run.at("master.secondary.pressure", run.when("master: secondary port shut"));
    REQUIRE(shut < 0.1 * cap);
    CHECK(near(rear_takes_up(run, cap) - rear_takes_up(run, shut), given, 0, 0.02));

    // The right cylinder at that pressure has used the same stroke (its longer chamber compresses a
    // little more fluid); so has it in the case of the short primary chamber, whose caged spring
    // loses no stroke of its own.
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played wrong = play(load(c.file)), right = right_one(c);
        const bool rear = c.capped == kCases[0].capped;
        const double stroke =
            wrong.field(rear ? "master.secondary_stroke" : "master.primary_stroke");
        const double lost = rear ? wrong.field("master.port_travel") : 0.0;
        double t = kLight;
        while (right.at(c.capped, t) < wrong.at(c.capped, wrong.when(c.bottoms)))
            t += 1e-3;
        REQUIRE(t < kFull);
        const double used =
            rear ? right.at("master.secondary_travel", t)
                 : right.at("master.primary_travel", t) - right.at("master.secondary_travel", t);
        CHECK(near(used - lost, stroke - lost, 0, 0.02));
    }
}

TEST_CASE("look-alike cylinder: no slope in the capped circuit, R/A in the other") {
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played run = play(load(c.file));
        const bool rear = c.capped == kCases[0].capped;
        const double area = circle(run.field("master.bore")), ratio = run.field("pedal.ratio");
        const double bottoms = run.when(c.bottoms);
        // R dF = A dp + what the growing cup friction and the spring that still moves take.
        const auto follows = [&](double from, double to) {
            const double spring = rear ? run.field("master.primary_rate") *
                                             (slope(run, "master.primary_travel", from, to) -
                                              slope(run, "master.secondary_travel", from, to))
                                       : run.field("master.secondary_rate") *
                                             slope(run, "master.secondary_travel", from, to);
            return (ratio - spring) / (area * (1 + run.field("master.cup_friction_rise")));
        };
        CHECK(near(follows(bottoms + 0.5, bottoms + 0.8), ratio / area, 0, 0.03));
        // The press is a straight line of force; the switch's piston rests before its preload is
        // passed and at its end.
        const double end = run.field("switch.end_travel");
        const auto rests = [&](double t) {
            const double x = std::abs(run.at("switch.position", t));
            // What the switch pressed into the rear line stands behind the residual valve until the
            // chamber is level.
            return (x < 0.01e-3 || x > end) && run.at("rear_residual.held_back", t) <= 0;
        };
        int windows = 0;
        for (double t = bottoms + 0.3; t + 0.3 < kFull; t += 0.1) {
            if (!rests(t) || !rests(t + 0.3)) continue;
            CAPTURE(t);
            ++windows;
            // The end of the bore is a stiff spring, 1/k per newton, on a stiff circuit.
            const double p = run.at(c.capped, t), step = 1e4;
            const double compliance =
                rear ? (rear_takes_up(run, p + step) - rear_takes_up(run, p)) / step : HUGE_VAL;
            const double give = ratio * area / kContactStiffness / compliance;
            CHECK(std::abs(slope(run, c.capped, t, t + 0.3)) < give + 0.01 * ratio / area);
            CHECK(near(slope(run, c.other, t, t + 0.3), follows(t, t + 0.3), 0, 0.005));
        }
        CHECK(windows >= 5);
        // Before, the capped one rose as well.
        CHECK(slope(run, c.capped, bottoms - 1, bottoms - 0.1) > 0.9 * ratio / area);
    }
}

TEST_CASE("look-alike cylinder: the lamp lights when the difference passes the trip") {
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played run = play(load(c.file));
        const double lit = run.when("lamp lit");
        CHECK(lit > run.when(c.bottoms));
        CHECK(near(std::abs(run.at("switch.difference", lit)), run.field("switch.trip"), 0, 0.05));
    }
}
