// The residual valve in the wrong place and missing from the right one. Formulas in the scenario's
// own parameters.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The wrong valve with another holding pressure, released slowly.
Played wrong(double holding) {
    Scenario s = load("residual_in_disc_circuit");
    s.expectations.clear();
    s.changes.push_back({"front_residual", "holding", holding, 0, 0});
    return play(s);
}

struct Disc {
    double area, lever, stiffness, shift, shift_pressure;
    explicit Disc(const Played& run)
        : area(circle(run.field("front_left.piston"))),
          lever(run.field("front_left.friction") * run.field("front_left.radius")),
          stiffness(run.field("front_left.seal_stiffness") *
                    (1 - run.field("front_left.seal_branch"))),
          shift(run.field("front_left.seal_shift")),
          shift_pressure(run.field("front_left.seal_shift_pressure")) {}
    /// What the relaxed seal takes of the piston's force over the clearance g: under pressure its
    /// own shift brings the piston forward by u(p) already.
    double seal(double g, double p) const {
        return stiffness * (g - shift * (1 - std::exp(-p / shift_pressure)));
    }
    /// 2 mu r max(0, p A - k g)
    double drag(double p, double g) const {
        return 2 * lever * std::max(0.0, p * area - seal(g, p));
    }
};

/// Clearance that the sound car has after the same stop.
double running_clearance() {
    return play(intact(load("residual_in_disc_circuit"))).residual("front_left.clearance");
}

Played slipped(bool valve, double release, const std::vector<std::string>& more = {}) {
    std::vector<std::string> sets = more;
    Scenario s = load("residual_missing_fast_release", sets);
    s.expectations.clear();
    if (valve) s = intact(s);
    s.foot = force({{0, 0}, {0.2, 0}, {1.7, 300}, {2.3, 300}, {2.3 + release, 0}});
    s.duration = 2.3 + release + 2;
    return play(s);
}

} // namespace

TEST_CASE("a residual valve in the disc circuit holds 0.9-1.0 of its pressure after a slow "
          "release, 0.3-1.0 after a fast one") {
    const Played slow = play(load("residual_in_disc_circuit"));
    check_own_expectations(slow);
    const double holding = slow.field("front_residual.holding");
    CHECK(slow.residual("front_residual.held_back") > 0.9 * holding);
    CHECK(slow.residual("front_residual.held_back") < 1.0 * holding + 50);
    Scenario s = load("residual_in_disc_circuit");
    s.expectations.clear();
    s.foot = force({{0, 0}, {1.5, 300}, {2.3, 300}, {2.4, 0}});
    s.duration = 6;
    const Played fast = play(s);
    CHECK(fast.residual("front_residual.held_back") > 0.3 * holding);
    CHECK(fast.residual("front_residual.held_back") < 1.0 * holding + 50);
}

TEST_CASE("the drag of a disc under residual pressure is 2 mu r max(0, p A_c - k g)") {
    const double g = running_clearance();
    const Played reference = wrong(100e3);
    const Disc disc(reference);
    const double pins =
        disc.lever * reference.field("front_left.pin_friction"); // the outer pad may keep this
    // The pressure that just brings the pads to the disc: k g = p A, with k g taken at that
    // pressure.
    double threshold = disc.stiffness * g / disc.area;
    for (int i = 0; i < 50; ++i)
        threshold = disc.seal(g, threshold) / disc.area;
    // Half of it gives none.
    CHECK(wrong(0.5 * threshold).residual("front_left.torque") < 1.01 * pins);
    // From 1.5 to 2.5 times it, within 25 %, and the slope is 2 mu A_c r (the seal's shift adds a
    // little to it).
    const Played low = wrong(1.7 * threshold), high = wrong(2.7 * threshold);
    const double p1 = low.residual("front_left.pressure"),
                 p2 = high.residual("front_left.pressure");
    const double t1 = low.residual("front_left.torque"), t2 = high.residual("front_left.torque");
    MESSAGE("threshold " << (threshold * 1e-3) << " kPa; " << (p1 * 1e-3) << " kPa: " << t1
                         << " N m against " << disc.drag(p1, g) << "; " << (p2 * 1e-3)
                         << " kPa: " << t2 << " against " << disc.drag(p2, g));
    CHECK(p1 > 1.3 * threshold);
    CHECK(near(t2, disc.drag(p2, g), 0, 0.25));
    CHECK(near((t2 - t1) / (p2 - p1), 2 * disc.lever * disc.area, 0, 0.1));
}

TEST_CASE("the first stroke after it is shorter by R (sum of A_c) min(p A_c/k, g)/A") {
    const double g = running_clearance();
    const auto second = [](bool valve) {
        Scenario s = load("residual_in_disc_circuit");
        s.expectations.clear();
        if (!valve) s = intact(s);
        s.foot = force({{0, 0}, {1.5, 300}, {2.3, 300}, {6.3, 0}, {12, 0}, {132, 250}, {133, 250}});
        s.duration = 133;
        return play(s);
    };
    const Played with = second(true), without = second(false);
    const double A = circle(with.field("master.bore")), R = with.field("pedal.ratio"),
                 Ac = circle(with.field("front_left.piston"));
    // Before the second stroke the pistons stand further out by the clearance, and by what pads
    // give.
    const double p = with.at("front_left.pressure", 11.9),
                 k = with.field("front_left.seal_stiffness");
    const double further =
        with.at("front_left.piston_travel", 11.9) - without.at("front_left.piston_travel", 11.9);
    CHECK(further > std::min(p * Ac / k, g));
    CHECK(further < 1.3 * std::min(p * Ac / k, g)); // pads: 150 N on 12 N/um, twice
    // That is the stroke saved, with what hoses and air have taken already: by the parts' own laws.
    double ready = 2 * Ac * further;
    ready += circle(with.field("hold_off.rod_diameter")) * // the valve's rod stands out already
             (with.at("hold_off.rod_travel", 11.9) - without.at("hold_off.rod_travel", 11.9));
    for (const char* hose : {"left_hose", "right_hose"}) {
        const PartSpec* spec = nullptr;
        for (const PartSpec& part : with.hardware.parts)
            if (part.name == hose) spec = &part;
        REQUIRE(spec != nullptr);
        const auto part = spec->kind->make(spec->values, Surroundings{});
        for (int port : {0, 1}) {
            Walls walls;
            walls.add(part->wall(port));
            ready += walls.stretch(p) - walls.stretch(without.at("front_left.pressure", 11.9));
        }
    }
    double air = 0;
    for (const char* at : {"front_residual.outlet", "front_pipe.outlet", "left_pipe.inlet",
                           "left_pipe.outlet", "right_pipe.outlet", "front_left", "front_right"})
        air += without.at(std::string(at) + ".free_air", 11.9);
    ready += air * (1 - kStandardPressure / (p + kStandardPressure));
    // And under a circuit that stands ready less passes the port before the lip has shut it.
    const auto passed = [](const Played& run) {
        return run.at("master.primary_reservoir.fluid", 133) -
               run.at("master.primary_reservoir.fluid", 11.9);
    };
    CHECK(near(without.at("pedal.travel", 133) - with.at("pedal.travel", 133),
               R * (ready + passed(without) - passed(with)) / A, 0, 0.1));
}

TEST_CASE("drums without their residual valve: the dip comes when the last shoe is home, earlier "
          "in the cylinder") {
    const Played run = play(load("residual_missing_fast_release"));
    check_own_expectations(run);
    const double let_go = 2.3, end = run.summary.simulated;
    double last_home = 0;
    for (const std::string wheel : {"rear_left", "rear_right"}) {
        const double home = run.when(wheel + ": shoes are home", let_go);
        REQUIRE(home > let_go);
        last_home = std::max(last_home, home);
        // While a shoe is off its stop its cylinder stays above what springs, less cup friction and
        // less the drag of the moving shoe, ask for.
        const double Aw = circle(run.field(wheel + ".cylinder")),
                     f = run.field(wheel + ".cup_friction");
        const double spring =
            run.field(wheel + ".push_out") * Aw * (1 - run.field(wheel + ".cup_friction_rise")) - f;
        for (double t = let_go + 0.01; t < home - 0.002; t += 0.002) {
            const double speed = (run.at(wheel + ".piston_travel", t + 0.001) -
                                  run.at(wheel + ".piston_travel", t - 0.001)) /
                                 0.002;
            // The piston with its shoe and its sliding cups resist with the same damping each.
            const double drag = 2 * run.field(wheel + ".damping") * std::max(0.0, -speed);
            CHECK(run.at(wheel + ".pressure", t) > 0.95 * (spring - f - drag) / Aw);
        }
    }
    const auto wheel_dip = run.lowest_between("rear_left.pressure", let_go, end);
    const auto master_dip = run.lowest_between("master.secondary.pressure", let_go, end);
    CHECK(wheel_dip.second > last_home - 0.005); // the stop takes the last tenth of a millimetre
    CHECK(master_dip.second < wheel_dip.second);
    CHECK(wheel_dip.first <= -run.field("rear_left.lip_bears"));
    CHECK(run.residual("rear_left.outside.air") < 0); // it went in, and it is counted
}

TEST_CASE("with the valve the dip is higher, a slow release draws no air, and without inertia "
          "there is none") {
    const Played missing = slipped(false, 0.05), fitted = slipped(true, 0.05),
                 slow = slipped(false, 3);
    const Played massless =
        slipped(false, 0.05,
                {"rear_pipe.inertia=0.001", "rear_hose.inertia=0.001",
                 "rear_left_pipe.inertia=0.001", "rear_right_pipe.inertia=0.001"});
    const auto dip = [](const Played& run) {
        return run.lowest_between("rear_left.pressure", 2.3, run.summary.simulated).first;
    };
    CHECK(dip(fitted) > dip(missing) + 20e3);
    for (const Played* run : {&fitted, &slow, &massless})
        for (const char* wheel : {"rear_left.outside.air", "rear_right.outside.air"})
            CHECK(run->at(wheel, run->summary.simulated) == 0);
    CHECK(dip(massless) > -2e3); // within the lip that lets fluid in from the reservoir
}

TEST_CASE("the next application is longer by R V_air p/(p + p0)/A") {
    // The last application is slow, so that the ports are shut before the air takes anything. Eight
    // slips of the foot, so that there is enough to measure; beside it the same car with cup
    // expanders.
    const auto pumped = [](const std::vector<std::string>& sets) {
        Scenario s = load("residual_missing_fast_release", sets);
        s.expectations.clear();
        s.foot.time = {0};
        s.foot.value = {0};
        double t = 0;
        for (int i = 0; i < 8; ++i) {
            for (const auto& [dt, f] : std::vector<std::pair<double, double>>{
                     {0.8, 300}, {1.0, 300}, {1.05, 0}, {2, 0}}) {
                s.foot.time.push_back(t + dt);
                s.foot.value.push_back(f);
            }
            t += 2;
        }
        s.foot.time.insert(s.foot.time.end(), {t + 120, t + 121});
        s.foot.value.insert(s.foot.value.end(), {300, 300});
        s.duration = t + 121;
        return play(s);
    };
    const Played airy = pumped({});
    const Played dry = pumped({"rear_left.lip_bears=85 kPa", "rear_right.lip_bears=85 kPa"});
    const double end = airy.summary.simulated, p = airy.at("rear_left.pressure", end);
    // What came in, less what later strokes have carried back to the reservoir.
    const double drawn =
        -(airy.at("rear_left.outside.air", end) + airy.at("rear_right.outside.air", end));
    const double air = airy.summary.ledger.gas_chambers - dry.summary.ledger.gas_chambers;
    CHECK(air < 1.01 * drawn);
    REQUIRE(drawn > 0.05e-6);
    REQUIRE(dry.at("rear_left.outside.air", end) == 0);
    const double A = circle(airy.field("master.bore")), R = airy.field("pedal.ratio");
    const double longer = R * air * p / (p + kStandardPressure) / A;
    MESSAGE((air * 1e6) << " cm3 of air: "
                        << ((airy.at("pedal.travel", end) - dry.at("pedal.travel", end)) * 1e3)
                        << " mm against " << (longer * 1e3));
    // Air yields at low pressure already, so that less passes the port before the lip has shut it:
    // the stroke saved there is part of the balance.
    const auto passed = [end](const Played& run) {
        return run.at("master.secondary_reservoir.fluid", end) -
               run.at("master.secondary_reservoir.fluid", 16.5);
    };
    const double saved = R * (passed(dry) - passed(airy)) / A;
    CHECK(saved > 0);
    CHECK(near(airy.at("pedal.travel", end) - dry.at("pedal.travel", end), longer - saved, 0, 0.1));
}
