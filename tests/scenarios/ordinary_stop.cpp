// The sound car: force balance, stroke, hysteresis, order of events, release.
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

/// The springs' rest forces exchanged, which only a cylinder without a cage allows.
std::vector<std::string> springs_exchanged() {
    const Scenario s = load("ordinary_stop");
    const Hardware hardware = hardware_at(s);
    const Values& master = *find_values(hardware, "master");
    const auto newton = [&](const char* field) { return std::to_string(master[field]) + " N"; };
    return {"master.caged=no", "master.primary_spring=" + newton("secondary_spring"),
            "master.secondary_spring=" + newton("primary_spring")};
}

/// V1 + V2: what both circuits hold more at t than at rest, part by part, by the parts' own laws
/// and not from the pistons: swept by calipers and cylinders, stretch of walls, compression of
/// fluid and air.
double taken_up(const Played& run, double t) {
    const double A = master_area(run);
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
    const double free_air = run.field("fluid.free_air"),
                 temperature = run.field("surroundings.temperature");
    const auto squeezed = [&](double volume,
                              double p) { // by how much this much fluid and air at rest shrink
        const double air = free_air * volume;
        return (volume - air) * (1 - around.fluid.specific_volume(p, temperature)) +
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
    return taken;
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
    const double S1 = run.field("master.primary_spring"), S2 = run.field("master.secondary_spring");
    const Played other = with_foot(force({{0, 0}, {20, 300}, {22, 300}}), 22, springs_exchanged());
    const double q1 = other.held("master.primary.pressure"),
                 q2 = other.held("master.secondary.pressure");
    CHECK(near((p2 - p1) - (q2 - q1), 2 * (S1 - S2) / A, 10e3, 0));
}

TEST_CASE("ordinary stop (b): the stroke closes, x1 = x_p + (V1 + V2)/A, without a cage 2 x_p") {
    // So slowly, and by travel, that the port passes all that the piston displaces until the lip
    // has covered it.
    RunOptions coarse;
    coarse.sample = 0.5;
    const auto creep = [&](const std::vector<std::string>& sets) {
        Scenario slow = load("ordinary_stop", sets);
        slow.expectations.clear();
        slow.foot = travel({{0, 0}, {900, 80e-3}});
        slow.duration = 900;
        return play(slow, coarse);
    };
    const double t = 900;
    const Played caged = creep({});
    const double x_p = caged.field("master.port_travel"), A = master_area(caged);
    CHECK(near(caged.at("master.primary_travel", t), x_p + taken_up(caged, t) / A, 0, 0.01));
    // A cage carries the secondary along while the primary shuts its port: one x_p, through the
    // secondary's port alone. Without a cage each piston shuts its own.
    const auto passed = [&](const Played& run, const std::string& chamber) {
        const std::string tank = "master." + chamber + "_reservoir.fluid";
        return run.at(tank, t) - run.at(tank, 0);
    };
    CHECK(std::abs(passed(caged, "primary")) < 0.02 * A * x_p);
    const Played loose = creep(springs_exchanged());
    double through = 0;
    for (const char* chamber : {"primary", "secondary"}) {
        // The last sliver of a port resists, and a soft circuit takes a tenth of the stroke
        // instead.
        CHECK(passed(loose, chamber) > 0.85 * A * x_p);
        CHECK(passed(loose, chamber) <= A * x_p);
        through += passed(loose, chamber);
    }
    CHECK(near(loose.at("master.primary_travel", t), (through + taken_up(loose, t)) / A, 0, 0.01));
}

TEST_CASE(
    "ordinary stop (c): at equal force, release stands above application by 2 (f1 [+ f2])/A") {
    const Played run = with_foot(force({{0, 0}, {20, 300}, {21, 300}, {41, 0}}), 45);
    const double A = master_area(run);
    // Well away from the turning point, where the lips of stuck cups first spring back.
    for (const double F : {120.0, 160.0, 200.0}) {
        CAPTURE(F);
        const double up = 20 * F / 300, down = 21 + 20 * (300 - F) / 300;
        const auto mean_and_rise = [&](const char* channel) {
            const double p = run.at(channel, up), q = run.at(channel, down);
            return std::pair{0.5 * (p + q), q - p};
        };
        const auto [p1, rise1] = mean_and_rise("master.primary.pressure");
        const auto [p2, rise2] = mean_and_rise("master.secondary.pressure");
        const double f1 = cup_friction(run, p1), f2 = cup_friction(run, p2);
        CHECK(near(rise1, 2 * f1 / A, 0, 0.2));
        CHECK(near(rise2, 2 * (f1 + f2) / A, 0, 0.2));
    }
}

TEST_CASE("ordinary stop (d): order of events, and what is left after the release") {
    // So slowly that nothing rings and each event is the first of its kind.
    const Played run = with_foot(force({{0, 0}, {30, 300}, {31, 300}, {37, 0}}), 41);
    const double ports =
        std::max(run.when("master: primary port shut"), run.when("master: secondary port shut"));
    const double shut = run.when("hold_off: check shuts"), touch = run.when("shoes touch the drum");
    const double open = run.when("hold_off: plate opens");
    CHECK(ports < shut);
    CHECK(shut < touch);
    CHECK(run.last_time_of("shoes touch the drum") < open);
    const double let_go = 31;
    const double plate = run.when("hold_off: plate shuts", let_go),
                 check = run.when("hold_off: rod pushes the check open", let_go);
    const double uncovered = std::min(run.when("master: primary port open", let_go),
                                      run.when("master: secondary port open", let_go));
    CHECK(plate < check);
    CHECK(check < uncovered);
    CHECK(run.residual("master.primary.pressure") < 5e3);
    CHECK(run.at("master.primary.pressure", uncovered) > 5e3); // the port lets the last of it out
    const double holding = run.field("rear_residual.holding");
    CHECK(run.residual("rear_residual.outlet.pressure") > 0.3 * holding);
    CHECK(run.residual("rear_residual.outlet.pressure") < 1.0 * holding);
    for (const char* wheel : {"front_left", "front_right"})
        CHECK(run.residual(std::string(wheel) + ".torque") < 4);
    CHECK(run.count("lamp lit") == 0);
}

TEST_CASE("ordinary stop (e): after any stop from 0.3 to 10 MPa the discs are clear and drag under "
          "4 N m") {
    // The foot that the force balance asks for, with the springs half-way down their strokes.
    const Played car = with_foot(force({{0, 0}, {0.1, 0}}), 0.1);
    const double A = master_area(car),
                 S1 = car.field("master.primary_spring") +
                      0.5 * car.field("master.primary_rate") * car.field("master.primary_stroke");
    double least = HUGE_VAL, most = 0;
    for (const double p : {0.35e6, 0.5e6, 1e6, 2e6, 4e6, 7e6, 10.5e6})
        for (const double ramp : {0.15, 1.0}) {
            CAPTURE(p);
            CAPTURE(ramp);
            const double F = car.field("pedal.return_force") +
                             (p * A + S1 + cup_friction(car, p)) / car.field("pedal.ratio");
            const Played run =
                with_foot(force({{0, 0}, {ramp, F}, {ramp + 1, F}, {2 * ramp + 1, 0}}), 5);
            CHECK(run.count("master: pistons meet") == 0);
            for (const char* wheel : {"front_left", "front_right"}) {
                const std::string name = wheel;
                least = std::min(least, run.held(name + ".pressure"));
                most = std::max(most, run.held(name + ".pressure"));
                CHECK(run.residual(name + ".clearance") > 0);
                CHECK(run.residual(name + ".torque") < 4);
            }
        }
    CHECK(least < 0.3e6); // behind the hold-off valve a light stop is lighter still
    CHECK(most > 10e6);
}
