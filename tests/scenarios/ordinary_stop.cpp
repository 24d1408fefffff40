// The sound car: force balance, stroke, hysteresis, order of events, release; and what holds in
// every scenario.
#include "circuit/model.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The demo car under another foot.
Played with_foot(const FootInput& foot, double duration,
                 const std::vector<std::string>& sets = {}) {
    Scenario s = load("ordinary_stop", sets);
    s.expectations.clear();
    s.foot = foot;
    s.duration = duration;
    return play(s);
}

} // namespace

TEST_CASE("ordinary stop: the file's own expectations hold") {
    check_own_expectations(play(load("ordinary_stop")));
}

TEST_CASE(
    "ordinary stop (a): slow hold, p1 = [R (F - F_r) - S1 - f1]/A and p2 - p1 = (S1 - S2 - f2)/A") {
    const Played run = with_foot(force({{0, 0}, {20, 300}, {22, 300}}), 22);
    const double A = master_area(run), p1 = run.held("master.primary.pressure"),
                 p2 = run.held("master.secondary.pressure");
    const double rod = run.field("pedal.ratio") * (300 - run.field("pedal.return_force"));
    CHECK(near(p1, (rod - primary_spring(run, 22) - cup_friction(run, p1)) / A, 0, 0.02));
    CHECK(near(p2 - p1,
               (primary_spring(run, 22) - secondary_spring(run, 22) - cup_friction(run, p2)) / A,
               10e3, 0));
    // The sign follows the springs: with the two exchanged (which needs a cylinder without a cage)
    // the difference moves by 2 (S1 - S2)/A, the rates being equal and the travels nearly.
    const Played other = with_foot(
        force({{0, 0}, {20, 300}, {22, 300}}), 22,
        {"master.caged=no", "master.primary_spring=85 N", "master.secondary_spring=125 N"});
    const double q1 = other.held("master.primary.pressure"),
                 q2 = other.held("master.secondary.pressure");
    CHECK(near((p2 - p1) - (q2 - q1), 2 * (125.0 - 85.0) / A, 15e3, 0.03));
}

TEST_CASE("ordinary stop (b): the stroke closes, x1 = x_p + (V1 + V2)/A") {
    // V1 and V2 from what the circuits hold more than at rest, counted part by part in the trace,
    // not from the pistons: swept by calipers and cylinders, stretch of walls, and compression of
    // fluid and air, by the parts' own laws.
    // So slowly that the port passes all that the piston displaces until the lip has covered it.
    Scenario slow = load("ordinary_stop");
    slow.expectations.clear();
    slow.foot = force({{0, 0}, {900, 300}, {905, 300}});
    slow.duration = 905;
    RunOptions coarse;
    coarse.sample = 0.5;
    const Played run = play(slow, coarse);
    const double A = master_area(run), t = 905;
    const Model model(run.hardware);
    double taken = 0;
    for (const char* wheel : {"front_left", "front_right"})
        taken += circle(run.field(std::string(wheel) + ".piston")) *
                 (run.at(std::string(wheel) + ".piston_travel", t) -
                  run.at(std::string(wheel) + ".piston_travel", 0));
    for (const char* wheel : {"rear_left", "rear_right"})
        taken += 2 * circle(run.field(std::string(wheel) + ".cylinder")) *
                 (run.at(std::string(wheel) + ".piston_travel", t) -
                  run.at(std::string(wheel) + ".piston_travel", 0));
    taken += circle(run.field("hold_off.rod_diameter")) * run.at("hold_off.rod_travel", t);
    // Walls and fluid, volume by volume: room(p) = V0 + walls(p), content at rest L0; what fits in
    // more at p.
    const Surroundings around = make_surroundings(run.hardware.fluid, run.hardware.surroundings);
    const double free_air = run.field("fluid.free_air");
    const auto squeezed = [&](double volume,
                              double p) { // by how much this much fluid and air at rest shrink
        const double air = free_air * volume;
        return (volume - air) * (1 - around.fluid.specific_volume(p, 293.15)) +
               air * (1 - kStandardPressure / (p + kStandardPressure));
    };
    for (std::size_t n = 0; n < run.hardware.parts.size(); ++n) {
        const PartSpec& spec = run.hardware.parts[n];
        const auto part = spec.kind->make(spec.values, around);
        std::vector<double> x(16, 0), volume(8, 0), slope(64, 0);
        part->start(x.data());
        part->swept(x.data(), volume.data(), slope.data());
        int lines = 0;
        for (const PortInfo& port : spec.kind->ports)
            lines += port.kind == PortKind::line;
        for (std::size_t port = 0; port < spec.kind->ports.size(); ++port) {
            if (spec.kind->ports[port].kind != PortKind::line || spec.kind->name == "tandem_master")
                continue;
            const std::string at =
                lines == 1 ? spec.name : spec.name + "." + std::string(spec.kind->ports[port].name);
            const double p = run.at(at + ".pressure", t);
            Walls walls;
            walls.add(part->wall(static_cast<int>(port)));
            taken += walls.stretch(p) + squeezed(volume[port], p);
        }
    }
    // The chambers themselves: half of their stroke's volume is left, with walls and fluid.
    for (const char* chamber : {"primary", "secondary"}) {
        const double p = run.at(std::string("master.") + chamber + ".pressure", t);
        const double stroke = run.field(std::string("master.") + chamber + "_stroke");
        taken += run.field("master.body_stretch") * p +
                 squeezed(run.field("master.dead_volume") + A * stroke, p);
    }
    CHECK(near(run.at("master.primary_travel", t), run.field("master.port_travel") + taken / A, 0,
               0.01));
}

TEST_CASE(
    "ordinary stop (c): at equal force, release stands above application by 2 (f1 [+ f2])/A") {
    const Played run = with_foot(force({{0, 0}, {20, 300}, {21, 300}, {41, 0}}), 45);
    const double F = 200, up = 20 * F / 300, down = 21 + 20 * (300 - F) / 300;
    const double p1 = run.at("master.primary.pressure", up),
                 q1 = run.at("master.primary.pressure", down);
    const double wanted = 2 * cup_friction(run, 0.5 * (p1 + q1)) / master_area(run);
    CHECK(near(q1 - p1, wanted, 0, 0.2));
}

TEST_CASE("ordinary stop (d): order of events, and what is left after the release") {
    // So slowly that nothing rings and each event is the first of its kind.
    const Played run = with_foot(force({{0, 0}, {30, 300}, {31, 300}, {37, 0}}), 41);
    const double ports =
        std::max(run.when("master: primary port shut"), run.when("master: secondary port shut"));
    const double shut = run.when("hold_off: check shuts"), touch = run.when("shoes touch the drum");
    const double open = run.when("hold_off: plate opens");
    CHECK(ports < shut + 0.1); // the secondary's last tenths may close with the valve
    CHECK(run.when("master: primary port shut") < shut);
    CHECK(shut < touch);
    CHECK(touch < open);
    const double plate_shuts = run.when("hold_off: plate shuts", 31);
    CHECK(plate_shuts < run.when("port open", 31));
    CHECK(run.residual("master.primary.pressure") < 5e3);
    const double holding = run.field("rear_residual.holding"), head = 1060 * 9.80665 * 0.45;
    CHECK(run.residual("rear_left.pressure") - head > 0.3 * holding);
    CHECK(run.residual("rear_left.pressure") - head < 1.0 * holding + 2e3);
    for (const char* wheel : {"front_left", "front_right"})
        CHECK(run.residual(std::string(wheel) + ".torque") < 4);
    CHECK(run.count("lamp lit") == 0);
}

TEST_CASE("ordinary stop (e): after any stop from 0.3 to 10 MPa the discs are clear and drag under "
          "4 N m") {
    for (const double F : {105.0, 120.0, 250.0, 450.0, 750.0}) {
        CAPTURE(F);
        const Played run = with_foot(force({{0, 0}, {1, F}, {2, F}, {3, 0}}), 6);
        MESSAGE((run.peak("front_left.pressure") * 1e-6)
                << " MPa: clearance " << (run.residual("front_left.clearance") * 1e3)
                << " mm, drag " << run.residual("front_left.torque") << " N m");
        for (const char* wheel : {"front_left", "front_right"}) {
            CHECK(run.residual(std::string(wheel) + ".clearance") > 0);
            CHECK(run.residual(std::string(wheel) + ".torque") < 4);
        }
    }
}

TEST_CASE("everywhere: parts in another order, same answer") {
    Scenario s = load("ordinary_stop");
    s.expectations.clear();
    const Played a = play(s);
    std::reverse(s.hardware.parts.begin(), s.hardware.parts.end());
    const Played b = play(s);
    for (const char* channel :
         {"master.primary.pressure", "front_left.pressure", "rear_right.pressure"}) {
        CHECK(near(b.held(channel), a.held(channel), 200, 0)); // a fifth of the accuracy
        CHECK(near(b.residual(channel), a.residual(channel), 1000, 0));
    }
    CHECK(near(b.held("pedal.travel"), a.held("pedal.travel"), 0.01e-3, 0));
}

TEST_CASE("everywhere: a slow cup leak leaves both pressures unchanged until a piston bottoms, and "
          "the pedal sinks") {
    for (const char* leak : {"leak_primary", "leak_secondary_front", "leak_secondary_rear"}) {
        CAPTURE(leak);
        const auto foot = force({{0, 0}, {2, 450}, {14, 450}});
        const Played sound = with_foot(foot, 14);
        const Played leaking = with_foot(foot, 14, {std::string("master.") + leak + "=0.06 mm"});
        double end = 14; // the springs grow with the sinking stroke, by 3 N/mm: 1 % of this foot
        for (const char* event : {"master: pistons meet", "master: secondary piston bottoms"})
            if (const double t = leaking.when(event); t < end) end = t;
        REQUIRE(end > 5);
        for (const double t : {3.0, 4.0, 0.95 * end})
            for (const char* channel : {"master.primary.pressure", "master.secondary.pressure"})
                CHECK(near(leaking.at(channel, t), sound.at(channel, t), 0, 0.02));
        CHECK(leaking.at("pedal.travel", 0.95 * end) - sound.at("pedal.travel", 0.95 * end) > 5e-3);
    }
}
