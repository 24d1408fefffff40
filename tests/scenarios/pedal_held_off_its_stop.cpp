// A pedal that cannot come home: what passes the cups on each fast release is trapped.
#include "hydraulics/one_way.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const Played& fast() {
    static const Played run = play(load("pedal_held_off_its_stop"));
    return run;
}

/// Ends of the rests between applications: the instants at which the foot comes again, and the
/// setting right.
std::vector<double> rests(const Played& run) {
    const FootInput& foot = run.scenario.foot;
    std::vector<double> ends;
    for (std::size_t i = 3; i < foot.time.size(); ++i)
        if (foot.value[i - 1] == 0 && foot.value[i] > 0) ends.push_back(foot.time[i - 1]);
    for (const Change& change : run.scenario.changes)
        if (change.field == "held_off" && change.value == 0) ends.push_back(change.at);
    return ends;
}

/// The same presses; each let go so slowly, and slowest where the springs take over, that the
/// pistons never outrun the fluid.
Scenario slow(int presses) {
    Scenario scenario = load("pedal_held_off_its_stop");
    scenario.expectations.clear();
    std::vector<std::pair<double, double>> points{{0, 0}};
    double t = 0.2;
    for (int i = 0; i < presses; ++i) {
        for (const auto& [dt, f] :
             {std::pair{0.0, 0.0}, {0.3, 250.0}, {0.7, 250.0}, {1.7, 30.0}, {5.7, 8.0}, {6.0, 0.0}})
            points.emplace_back(t + dt, f);
        t += 7;
    }
    scenario.foot = force(points);
    for (Change& change : scenario.changes)
        if (change.value == 0) change.at = t;
    scenario.duration = t;
    return scenario;
}

double reservoirs(const Played& run, double t) {
    return run.at("master.primary_reservoir.fluid", t) +
           run.at("master.secondary_reservoir.fluid", t);
}
/// All liquid inside at time t, from a run that ends there.
double inside(double t) {
    Scenario scenario = load("pedal_held_off_its_stop");
    scenario.expectations.clear();
    scenario.duration = t;
    return play(scenario).summary.ledger.chambers;
}

/// Flow past a chamber's cup between two times, from the pressures and the law of the cup.
double past_cup(const Played& run, const std::string& chamber, double from, double to) {
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const double temperature = run.field("surroundings.temperature");
    const Stream<double> stream{fluid.density(), fluid.viscosity(temperature)};
    const double head = fluid.density() * 9.80665 *
                        (run.field("master.reservoir_height") - run.field("master.height"));
    const double lip = run.field("master.lip_opening"),
                 hole = circle(run.field("master.recuperation_hole"));
    const auto pressure = run.of("master." + chamber + ".pressure");
    double volume = 0, before = 0;
    for (std::size_t i = 1; i < pressure.size(); ++i) {
        const double t = run.trace.time[i], down = head - pressure[i];
        const double flow = down > lip ? check_flow(down - lip, down, hole, 5e3, stream) : 0.0;
        if (t > from && t <= to) volume += 0.5 * (flow + before) * (t - run.trace.time[i - 1]);
        before = flow;
    }
    return volume;
}

} // namespace

TEST_CASE("pedal held off: the file's own expectations") {
    check_own_expectations(fast());
}

TEST_CASE(
    "pedal held off: trapped content is the fall of the reservoirs is the inflow past the cups") {
    const std::vector<double> ends = rests(fast());
    const double first = inside(0.2), level = reservoirs(fast(), 0.2);
    for (const std::size_t n : {0u, 2u, 5u}) {
        CAPTURE(n);
        const double trapped = inside(ends[n]) - first;
        CHECK(trapped > 0.3e-6);
        // Both come from integrated states; levels are large beside what is trapped.
        CHECK(near(trapped, level - reservoirs(fast(), ends[n]), 1e-12, 1e-5));
    }
    RunOptions fine;
    fine.sample = 1e-4;
    Scenario scenario = load("pedal_held_off_its_stop");
    scenario.expectations.clear();
    scenario.duration = ends[3];
    const Played run = play(scenario, fine);
    for (const std::string chamber : {"primary", "secondary"})
        for (const std::size_t n : {0u, 1u, 2u}) {
            CAPTURE(chamber);
            CAPTURE(n);
            const double port = run.field(chamber == "primary" ? "master.port_travel"
                                                               : "master.secondary_port_travel");
            REQUIRE(
                run.lowest_between("master." + chamber + "_travel", ends[n], ends[n + 1]).first >
                port);
            const std::string reservoir = "master." + chamber + "_reservoir.fluid";
            const double fall = run.at(reservoir, ends[n]) - run.at(reservoir, ends[n + 1]);
            CHECK(fall > 0.01e-6);
            CHECK(near(past_cup(run, chamber, ends[n], ends[n + 1]), fall, 0, 0.02));
        }
}

TEST_CASE("pedal held off: more stays with each fast release, by less each time") {
    const std::vector<double> ends = rests(fast());
    REQUIRE(ends.size() == 9);
    double level = reservoirs(fast(), 0.2), pressure = fast().at("front_left.pressure", 0.2);
    double last_fall = HUGE_VAL, last_rise = HUGE_VAL;
    for (const double end : ends) {
        CAPTURE(end);
        const double fall = level - reservoirs(fast(), end);
        const double rise = fast().at("front_left.pressure", end) - pressure;
        CHECK(fall > 0);
        CHECK(fall < last_fall);
        CHECK(rise > 0);
        // While the pads are clear; once they touch the same volume makes more pressure.
        if (fast().at("front_left.clearance", end) > 0) CHECK(rise < last_rise);
        level -= fall;
        pressure += rise;
        last_fall = fall;
        last_rise = rise;
    }
}

TEST_CASE("pedal held off: without hold-off the cylinder's pressure grows too, and what each "
          "release adds is less each time") {
    // With the check held open (never so in a car; the foot stays below the diaphragm's burst)
    // cylinder and calipers stand at one pressure, and no valve parts what they hold.
    const Played run = play([] {
        Scenario s = load("pedal_held_off_its_stop", {"hold_off.rod=wedged"});
        s.expectations.clear();
        return s;
    }());
    REQUIRE(run.count("hold_off: diaphragm bursts") == 0);
    const char* const reservoir = "master.primary_reservoir.fluid";
    double level = run.at(reservoir, 0.2), last_fall = HUGE_VAL;
    double pressure = run.at("master.primary.pressure", 0.2), last_rise = HUGE_VAL;
    const auto parted = [&](double t) { // of the two pistons
        return run.at("master.secondary_travel", t) - run.at("master.primary_travel", t);
    };
    double apart = parted(0.2), stiffness = 0;
    int stiffer = 0;
    for (const double end : rests(run)) {
        CAPTURE(end);
        const double t = end - 1e-3, fall = level - run.at(reservoir, t);
        CHECK(fall > 0);
        CHECK(fall < last_fall);
        const double rise = run.at("master.primary.pressure", t) - pressure;
        CHECK(rise > 0);
        const double below = run.field("master.height") - run.field("front_left.height");
        CHECK(near(run.at("front_left.pressure", t),
                   pressure + rise + run.field("fluid.density") * 9.80665 * below, 100, 0));
        // With the pads clear the pressure follows what was added. Then they stiffen the circuit,
        // one after the other and more the harder they are pressed.
        if (run.at("front_left.clearance", t) > 0) CHECK(rise < last_rise);
        // What the pistons make room for does not press.
        const double now = rise / (fall - master_area(run) * (parted(t) - apart));
        if (last_rise != HUGE_VAL) { // the first one began with an open port
            CHECK(now > stiffness);
            ++stiffer;
        }
        stiffness = now;
        apart = parted(t);
        level -= fall;
        pressure += rise;
        last_fall = fall;
        last_rise = rise;
    }
    CHECK(stiffer == 8);
}

TEST_CASE("pedal held off: slow releases leave under a fifth of that") {
    const Played run = play(slow(5));
    const std::vector<double> quick = rests(fast()), quiet = rests(run);
    REQUIRE(quiet.size() == 5);
    const auto more = [](const Played& r, const char* channel, const std::vector<double>& ends) {
        return r.at(channel, ends[4] - 1e-3) - r.at(channel, 0.2);
    };
    for (const char* channel : {"master.primary.pressure", "front_left.pressure"}) {
        CAPTURE(std::string(channel));
        CHECK(more(fast(), channel, quick) > 0);
        CHECK(more(run, channel, quiet) < 0.2 * more(fast(), channel, quick));
    }
    CHECK(-more(run, "master.primary_reservoir.fluid", quiet) <
          0.2 * -more(fast(), "master.primary_reservoir.fluid", quick));
    // The rear reservoir first gains what the shoes' first way home gives back; from then on its
    // fall is what is trapped.
    const auto trapped = [](const Played& r, const std::vector<double>& ends) {
        return r.at("master.secondary_reservoir.fluid", ends[0]) -
               r.at("master.secondary_reservoir.fluid", ends[4]);
    };
    CHECK(trapped(fast(), quick) > 0.05e-6);
    CHECK(trapped(run, quiet) < 0.2 * trapped(fast(), quick));
}

TEST_CASE("pedal held off: discs drag first, shoes hover until the volume passes their clearance") {
    const auto hover = [](const Played& run, double t) {
        const double area = circle(run.field("rear_left.cylinder"));
        const double push_out = run.field("rear_left.push_out"),
                     cup = run.field("rear_left.cup_friction");
        const double rise = run.field("rear_left.cup_friction_rise");
        const double spring =
            push_out * area * (1 - rise) - cup +
            run.field("rear_left.spring_rate") * run.at("rear_left.piston_travel", t);
        // The cups' friction helps the spring or the fluid.
        const double p = run.at("rear_left.pressure", t);
        CHECK(p * area * (1 - rise) < spring + cup + 0.5);
        CHECK(p * area * (1 + rise) > spring - cup - 0.5);
    };
    const std::vector<double> ends = rests(fast());
    for (const double end : ends) {
        CHECK(fast().at("rear_left.torque", end) < 1e-6);
        CHECK(fast().at("rear_left.piston_travel", end) < fast().field("rear_left.clearance"));
        hover(fast(), end);
    }
    CHECK(fast().at("front_left.torque", ends[0]) < 4);
    CHECK(fast().at("front_left.torque", ends.back() - 1e-3) > 4);

    // Held further off the rear traps more: when the shoes have used their clearance, they drag as
    // well.
    Scenario scenario = load("pedal_held_off_its_stop", {"switch_too_far.size=28 mm"});
    scenario.expectations.clear();
    const Played far = play(scenario);
    bool free = false, dragging = false;
    for (const double end : rests(far)) {
        const double t = end - 1e-3;
        const bool passed = far.at("rear_left.piston_travel", t) > far.field("rear_left.clearance");
        CHECK((far.at("rear_left.torque", t) > 1e-6) == passed);
        if (!passed) hover(far, t);
        (passed ? dragging : free) = true;
    }
    CHECK(free);
    CHECK(dragging);
}

TEST_CASE("pedal held off: freed, both circuits empty within trapped volume over port flow") {
    const Played& run = fast();
    const double freed = rests(run).back();
    const BrakeFluid fluid = make_surroundings(run.hardware.fluid, run.hardware.surroundings).fluid;
    const Stream<double> stream{fluid.density(),
                                fluid.viscosity(run.field("surroundings.temperature"))};
    const double area = master_area(run);
    const double port = orifice_flow(5e3, 0.5 * run.field("master.port"), 1e-3, stream);
    const auto head = [&](const char* part) {
        return fluid.density() * 9.80665 *
               (run.field("master.reservoir_height") - run.field(std::string(part) + ".height"));
    };
    struct Place {
        const char *channel, *reservoir, *travel;
        double head;
    };
    for (const Place& place :
         {Place{"front_left.pressure", "master.primary_reservoir.fluid", "master.primary_travel",
                head("front_left")},
          Place{"master.primary.pressure", "master.primary_reservoir.fluid",
                "master.primary_travel", head("master")},
          Place{"master.secondary.pressure", "master.secondary_reservoir.fluid",
                "master.secondary_travel", head("master")}}) {
        CAPTURE(std::string(place.channel));
        // What stands in lines and wheels above rest goes to the reservoir or fills the chamber as
        // its piston comes home.
        const double trapped = run.at(place.reservoir, run.scenario.duration) -
                               run.at(place.reservoir, freed) + area * run.at(place.travel, freed);
        CHECK(trapped > 0);
        const auto above = run.of(place.channel);
        double last = freed; // still above 5 kPa
        for (std::size_t i = 0; i < above.size(); ++i)
            if (run.trace.time[i] > freed && above[i] - place.head > 5e3) last = run.trace.time[i];
        CHECK(last - freed < trapped / port);
        CHECK(run.residual(place.channel) - place.head < 5e3);
    }
}
