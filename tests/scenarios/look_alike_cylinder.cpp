// A cylinder with one chamber too short: hidden in light stops, one circuit capped in hard ones.
#include "hydraulics/control_volume.hpp"
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

/// Root of a growing function between low and high.
template <class F>
double root(F f, double low, double high) {
    for (int i = 0; i < 80; ++i) {
        const double x = 0.5 * (low + high);
        (f(x) < 0 ? low : high) = x;
    }
    return low;
}

/// Travel of a caliper's piston in balance at p, pressed slowly from zero: the seal is stretched to
/// what it can bear (its soft branch has relaxed), then the piston slides through it; what the
/// inner pad bears the outer one and the pins hold.
double disc_travel(const PartSpec& disc, double p) {
    const Values& f = disc.values;
    const Progressive pad{f["pad_first"], f["pad_final"], f["pad_take_up"]};
    const double half = 0.5 * f["clearance"];
    const auto bears = [&](double d) { return d > 0 ? pad.force(d) : 0.0; };
    const auto inner = [&](double x) {
        const double h = root(
            [&](double slid) {
                return bears(slid - half) + std::min(f["pin_friction"], f["pin_stiffness"] * slid) -
                       bears(x - slid - half);
            },
            0, 0.01);
        return bears(x - h - half);
    };
    const double shift = f["seal_shift"] * (1 - std::exp(-p / f["seal_shift_pressure"]));
    const auto seal = [&](double x) {
        return std::min(f["seal_grip"] + f["seal_grip_rise"] * p,
                        f["seal_stiffness"] * (1 - f["seal_branch"]) * (x - shift));
    };
    return root([&](double x) { return seal(x) + inner(x) - p * circle(f["piston"]); }, 0, 0.01);
}

/// Travel of a wheel cylinder's pistons in balance at p, the cups dragging.
double shoe_travel(const PartSpec& drum, double p) {
    const Values& f = drum.values;
    const double area = circle(f["cylinder"]), cup = f["cup_friction"],
                 push = p * area * (1 - f["cup_friction_rise"]);
    const double spring = f["push_out"] * area * (1 - f["cup_friction_rise"]) - cup;
    const Progressive lining{f["lining_first"], f["lining_final"], f["lining_take_up"]};
    return root(
        [&](double x) {
            const double gap = x - f["clearance"]; // the stop carries until the shoe has left it
            const double stop = std::max(0.0, spring - f["stop_stiffness"] * x);
            return spring + f["spring_rate"] * x + cup - stop + (gap > 0 ? lining.force(gap) : 0) -
                   push;
        },
        0, 0.01);
}

void list_parts(const Run& run, std::vector<std::string>& names) {
    names.insert(names.end(), run.parts.begin(), run.parts.end());
    for (const Run& branch : run.branches)
        list_parts(branch, names);
}

/// V(p): what a circuit with its chamber takes up at rest at p, pressed slowly from zero, its
/// parts' laws added up: travel of pistons and rods, stretch of walls, fluid and air that shrink.
double takes_up(const Played& run, const std::string& circuit, double p) {
    const Surroundings around = make_surroundings(run.hardware.fluid, run.hardware.surroundings);
    const double free_air = run.field("fluid.free_air"),
                 temperature = run.field("surroundings.temperature");
    const auto shrinks = [&](double volume, double at) {
        const double air = free_air * volume;
        return (volume - air) * (1 - around.fluid.specific_volume(at, temperature)) +
               air * (1 - kStandardPressure / (at + kStandardPressure));
    };
    std::vector<std::string> names;
    for (const Circuit& c : run.hardware.circuits)
        if (c.outlet == circuit) list_parts(c.run, names);
    double taken = 0, beyond = p; // pressure behind the valve passed last
    for (const std::string& name : names) {
        const auto part = std::find_if(run.hardware.parts.begin(), run.hardware.parts.end(),
                                       [&](const PartSpec& spec) { return spec.name == name; });
        REQUIRE_MESSAGE(part != run.hardware.parts.end(), name);
        const Values& f = part->values;
        const std::string kind(part->kind->name);
        const double before = beyond;
        double travelled = 0; // fluid that fills what a piston or rod has left
        if (kind == "disc_caliper")
            travelled = circle(f["piston"]) * disc_travel(*part, beyond);
        else if (kind == "drum_brake")
            travelled = 2 * circle(f["cylinder"]) * shoe_travel(*part, beyond);
        else if (kind == "hold_off_valve") {
            const double rod = circle(f["rod_diameter"]);
            travelled = rod * std::clamp((p * rod - f["rod_spring"] - f["rod_friction"]) /
                                             std::max(f["rod_rate"], 1.0),
                                         0.0, f["out_travel"]);
            // Above the plate's balance the outlet follows; below it has what it had when the
            // check sat.
            const double outlet =
                (circle(f["plate_diameter"]) * p - f["plate_spring"]) / f["outlet_area"];
            beyond = std::clamp(outlet, std::min(p, f["shut"]), p);
        }
        taken += travelled + shrinks(travelled, before);
        const auto made = part->kind->make(f, around);
        std::vector<double> x(16, 0), volume(8, 0), slope(64, 0);
        made->start(x.data());
        made->swept(x.data(), volume.data(), slope.data());
        for (std::size_t port = 0; port < part->kind->ports.size(); ++port) {
            if (part->kind->ports[port].kind != PortKind::line) continue;
            // The switch has one connection in each circuit.
            if (kind == "pressure_switch" && port != (circuit == "primary" ? 0u : 1u)) continue;
            const double at = port == 0 ? before : beyond;
            Walls walls;
            walls.add(made->wall(static_cast<int>(port)));
            taken += walls.stretch(at) + shrinks(volume[port], at);
        }
    }
    // The chamber as it is when its port shuts.
    const double stroke =
        run.field("master." + circuit + "_stroke") -
        (circuit == "secondary" ? run.field("master.secondary_port_travel") : 0.0);
    return taken + run.field("master.body_stretch") * p +
           shrinks(run.field("master.dead_volume") + master_area(run) * stroke, p);
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
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played run = play(without_creep(load(c.file)));
        const bool rear = c.capped == kCases[0].capped;
        const std::string circuit = rear ? "secondary" : "primary";
        const double cap = run.at(c.capped, run.when(c.bottoms));
        // Until its port shuts the secondary loses what it travels; the primary, whose caged spring
        // carries the secondary along, loses nothing of the distance between the two.
        const double lost = rear ? run.field("master.secondary_port_travel") : 0.0;
        const double given = master_area(run) * (run.field("master." + circuit + "_stroke") - lost);
        // A port that closes slowly under the lip leaves some pressure at the instant when it is
        // shut.
        const double shut = run.at(c.capped, run.when("master: " + circuit + " port shut"));
        REQUIRE(shut < 0.1 * cap);
        CHECK(near(takes_up(run, circuit, cap) - takes_up(run, circuit, shut), given, 0, 0.02));
    }

    // The right cylinder at that pressure has used the same stroke (its longer chamber compresses a
    // little more fluid); so has it in the case of the short primary chamber, whose caged spring
    // loses no stroke of its own.
    for (const Case& c : kCases) {
        CAPTURE(std::string(c.file));
        const Played wrong = play(load(c.file)), right = right_one(c);
        const bool rear = c.capped == kCases[0].capped;
        const double stroke =
            wrong.field(rear ? "master.secondary_stroke" : "master.primary_stroke");
        const double lost = rear ? wrong.field("master.secondary_port_travel") : 0.0;
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
        const double area = master_area(run), ratio = run.field("pedal.ratio");
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
            // Not while the wave of the switch's own stop is still about.
            if (!rests(t - 0.05) || !rests(t) || !rests(t + 0.3)) continue;
            CAPTURE(t);
            ++windows;
            // The end of the bore is a stiff spring, 1/k per newton, on a stiff circuit; so is the
            // other piston.
            const double p = run.at(c.capped, t), step = 1e4;
            const std::string circuit = rear ? "secondary" : "primary";
            const double compliance =
                (takes_up(run, circuit, p + step) - takes_up(run, circuit, p)) / step;
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
        // The contact closes there; the bulb takes some hundredths of a second.
        const double closes = run.when("switch: contact closes"), lit = run.when("lamp lit");
        CHECK(closes > run.when(c.bottoms));
        CHECK(
            near(std::abs(run.at("switch.difference", closes)), run.field("switch.trip"), 0, 0.05));
        CHECK(near(lit, closes + 0.035, 0.005, 0));
    }
}
