// The residual valve missing on the drums and the foot slipping off: the dip below outside, the air
// it draws, and the longer pedal after it. Formulas in the scenario's own parameters.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const char* const kLesson = "residual_missing_fast_release";
constexpr double kLetGo = 2.3; // s, in the lesson
const char* const kWheels[] = {"rear_left", "rear_right"};

/// The same setting of a field of both drums.
std::vector<std::string> drums(const std::string& set) {
    return {"rear_left." + set, "rear_right." + set};
}

/// The lesson with another time of release, with the valve or without.
Played slipped(double release, bool valve = false, const std::vector<std::string>& sets = {}) {
    Scenario s = load(kLesson, sets);
    s.expectations.clear();
    if (valve) s = intact(s);
    s.foot.time.back() = kLetGo + release;
    s.duration = kLetGo + release + 2;
    return play(s);
}

double air_drawn(const Played& run, const std::string& wheel) {
    return -run.at(wheel + ".outside.air", run.summary.simulated);
}
double dip(const Played& run, const std::string& wheel) {
    return run.lowest_between(wheel + ".pressure", kLetGo, run.summary.simulated).first;
}

/// When a channel first falls below a value after the foot has let go.
double falls_below(const Played& run, const std::string& channel, double value) {
    const std::size_t c = run.index(channel);
    for (std::size_t i = 0; i < run.trace.time.size(); ++i)
        if (run.trace.time[i] > kLetGo && run.trace.rows[i][c] < value) return run.trace.time[i];
    return kUnset;
}

/// The least of cylinder pressure over (spring - cup friction)/A_w while the shoes are off their
/// stops.
double least_share(const Played& run, const std::string& wheel) {
    const double area = circle(run.field(wheel + ".cylinder")),
                 cup = run.field(wheel + ".cup_friction"),
                 rise = run.field(wheel + ".cup_friction_rise");
    // The springs' force at home: the push-out pressure moves the shoes against it and the cups.
    const double spring = run.field(wheel + ".push_out") * area * (1 - rise) - cup;
    const double home = run.when(wheel + ": shoes are home", kLetGo);
    REQUIRE(home > kLetGo);
    const std::size_t c = run.index(wheel + ".pressure");
    double least = HUGE_VAL;
    long rows = 0;
    for (std::size_t i = 0; i < run.trace.time.size(); ++i) {
        if (run.trace.time[i] < kLetGo || run.trace.time[i] >= home) continue;
        const double p = run.trace.rows[i][c];
        least = std::min(least, p * area / (spring - cup - rise * p * area));
        ++rows;
    }
    REQUIRE(rows > 50);
    return least;
}

double last_home(const Played& run) {
    double last = 0;
    for (const std::string wheel : kWheels) {
        const double home = run.when(wheel + ": shoes are home", kLetGo);
        REQUIRE(home > kLetGo);
        last = std::max(last, home);
    }
    return last;
}

/// What holds of every fast release without the valve.
void check_order(const Played& run) {
    const double home = last_home(run);
    for (const std::string wheel : kWheels) {
        CHECK(run.lowest_between(wheel + ".pressure", kLetGo, run.summary.simulated).second > home);
        CHECK(falls_below(run, "master.secondary.pressure", 0) <
              falls_below(run, wheel + ".pressure", 0));
        CHECK(falls_below(run, wheel + ".pressure", 0) >
              run.when(wheel + ": shoes are home", kLetGo));
        CHECK(dip(run, wheel) <= -run.field(wheel + ".lip_bears"));
        CHECK(run.when(wheel + ": air passes the cups", kLetGo) > home);
        CHECK(air_drawn(run, wheel) > 0);
    }
}

} // namespace

TEST_CASE(
    "residual valve missing: the cylinder stays above (spring - cup friction)/A_w x 0.95 while "
    "a shoe is off its stop") {
    for (const double release : {0.02, 0.05, 0.1, 0.3}) {
        const Played run = slipped(release);
        for (const std::string wheel : kWheels) {
            const double share = least_share(run, wheel);
            MESSAGE(wheel << ", let go in " << release << " s: never below " << share << " of it");
            CHECK(share > 0.95);
        }
    }
    // What a moving shoe resists the fluid does not get, so the bound can be broken: by shoes that
    // drag.
    CHECK(least_share(slipped(0.05, false, drums("damping=3000 N s/m")), "rear_left") < 0.8);
}

TEST_CASE("residual valve missing: the dip comes after the last shoe is home, and earlier in the "
          "master cylinder; air enters and is counted") {
    const Played run = play(load(kLesson));
    check_own_expectations(run);
    check_order(run);
    // Counted: what the outside has lost is in the chambers (a little may have reached the tanks).
    double drawn = 0;
    for (const std::string wheel : kWheels)
        drawn += air_drawn(run, wheel);
    const Played dry = slipped(0.05, false, drums("lip_bears=85 kPa"));
    CHECK(near(run.summary.ledger.gas_chambers - dry.summary.ledger.gas_chambers, drawn, 0, 0.1));

    check_order(slipped(0.05, false, drums("damping=100 N s/m")));
    for (const double release : {0.02, 0.1})
        check_order(slipped(release));
}

TEST_CASE("residual valve missing: with the valve the dip is higher, a slow release draws no air, "
          "without inertia there is no dip") {
    const Played missing = slipped(0.05), fitted = slipped(0.05, true), slow = slipped(3);
    const Played massless =
        slipped(0.05, false,
                {"rear_pipe.inertia=0.001", "rear_hose.inertia=0.001",
                 "rear_left_pipe.inertia=0.001", "rear_right_pipe.inertia=0.001"});
    for (const std::string wheel : kWheels) {
        MESSAGE(wheel << ": lowest without the valve " << (dip(missing, wheel) * 1e-3)
                      << " kPa, with it " << (dip(fitted, wheel) * 1e-3) << " kPa, slow "
                      << (dip(slow, wheel) * 1e-3) << " kPa, without inertia "
                      << (dip(massless, wheel) * 1e-3) << " kPa");
        CHECK(dip(missing, wheel) < 0);
        CHECK(dip(fitted, wheel) > dip(missing, wheel) + 20e3);
        CHECK(dip(massless, wheel) > 0); // the fluid above stands on it
        CHECK(air_drawn(missing, wheel) > 0);
        for (const Played* run : {&fitted, &slow, &massless})
            CHECK(air_drawn(*run, wheel) == 0);
    }
}

namespace {

/// Eight slips of the foot, so that there is enough air to measure, then a last application in
/// `last` seconds. By travel, so that the speed at which the ports are shut is known. Without air
/// in solution: in 1000 s bubbles come and go by their own law.
Played pumped(double last, std::vector<std::string> sets) {
    sets.push_back("fluid.solubility=0");
    Scenario s = load(kLesson, sets);
    s.expectations.clear();
    std::vector<std::pair<double, double>> points{{0, 0}};
    double t = 0;
    const double pressed = 80e-3;
    for (int i = 0; i < 8; ++i, t += 2)
        for (const auto& [dt, x] : std::vector<std::pair<double, double>>{
                 {0.8, pressed}, {1.0, pressed}, {1.05, 0}, {2, 0}})
            points.push_back({t + dt, x});
    points.push_back({t + last, pressed});
    s.foot = travel(points);
    s.duration = t + last;
    return play(s);
}
constexpr double kLast = 16; // s, eight slips

/// Pedal travel, and what the reservoirs have got, when the rear pressure has risen to p in the
/// last application.
struct Stroke {
    double pedal, returned;
};
Stroke stroke(const Played& run, double p) {
    const std::size_t c = run.index("rear_left.pressure");
    for (std::size_t i = 1; i < run.trace.time.size(); ++i) {
        const double before = run.trace.rows[i - 1][c], after = run.trace.rows[i][c];
        if (run.trace.time[i - 1] < kLast || after < p) continue;
        const double t = run.trace.time[i - 1] + (p - before) / (after - before) *
                                                     (run.trace.time[i] - run.trace.time[i - 1]);
        double returned = 0;
        for (const char* tank :
             {"master.primary_reservoir.fluid", "master.secondary_reservoir.fluid"})
            returned += run.at(tank, t) - run.at(tank, kLast);
        return {run.at("pedal.travel", t), returned};
    }
    FAIL("the rear pressure does not get there");
    return {kUnset, kUnset};
}

} // namespace

TEST_CASE("residual valve missing: the next application is longer by R V_air p/(p + p0)/A") {
    for (const double last : {1000.0, 10.0}) {
        const Played airy = pumped(last, {});
        const Played dry = pumped(last, drums("lip_bears=85 kPa")); // as with cup expanders
        for (const std::string wheel : kWheels) {
            REQUIRE(air_drawn(airy, wheel) > 0.02e-6);
            REQUIRE(air_drawn(dry, wheel) == 0);
        }
        const double air = airy.summary.ledger.gas_chambers - dry.summary.ledger.gas_chambers;
        const double A = master_area(airy), R = airy.field("pedal.ratio");
        for (const double p : {0.3e6, 1e6, 2e6}) {
            const Stroke with = stroke(airy, p), without = stroke(dry, p);
            const double longer = with.pedal - without.pedal,
                         formula = R * air * p / (p + kStandardPressure) / A,
                         port = R * (without.returned - with.returned) / A;
            MESSAGE((air * 1e6) << " cm3, " << last << " s to " << (p * 1e-6) << " MPa: longer by "
                                << (longer * 1e3) << " mm, formula " << (formula * 1e3)
                                << ", saved at the port " << (port * 1e3));
            // As written where the lips cover the ports so slowly that nothing is pressed before. A
            // quicker foot presses a little while they close: air yields then already, less fluid
            // goes back to the reservoir, and that much stroke is saved.
            if (last > 100 && p >= 1e6) CHECK(near(longer, formula, 0, 0.1));
            CHECK(port > 0);
            CHECK(near(longer, formula - port, 0, 0.1));
        }
    }
}
