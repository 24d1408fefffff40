// A hold-off valve whose rod was wedged: no hold-off, a burst at the stated pressure, a lost front.
#include "hydraulics/orifice.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const Played& wedged() {
    static const Played run = play(load("wedged_rod"));
    return run;
}

Scenario free_rod(const std::vector<std::string>& sets = {}) {
    Scenario scenario = load("wedged_rod", sets);
    std::erase_if(scenario.changes, [](const Change& c) { return c.field == "rod"; });
    scenario.expectations.clear();
    return scenario;
}

constexpr const char* kIn = "hold_off.inlet.pressure";
constexpr const char* kBurst = "hold_off: diaphragm bursts";

struct Stroke {
    double start, end; // the foot comes; it has held and is about to go
};
/// The presses that end after the burst.
std::vector<Stroke> strokes(const Played& run) {
    const FootInput& foot = run.scenario.foot;
    std::vector<Stroke> all;
    for (std::size_t i = 2; i < foot.time.size(); ++i)
        if (foot.time[i] > run.when(kBurst) && foot.value[i] > 0 &&
            foot.value[i] == foot.value[i - 1])
            all.push_back({foot.time[i - 2], foot.time[i]});
    return all;
}

} // namespace

TEST_CASE("wedged rod: the file's own expectations") {
    check_own_expectations(wedged());
}

TEST_CASE("wedged rod: before the burst nothing is held off but what the flow costs") {
    const Played& run = wedged();
    const double seat = M_PI * run.field("hold_off.check_seat") * run.field("hold_off.shut_travel");
    const double density = run.field("fluid.density");
    const auto difference = run.of("hold_off.difference"), flow = run.of("hold_off.flow");
    double most = 0;
    for (std::size_t i = 0; run.trace.time[i] < 2.4; ++i) {
        const double jet = flow[i] / (kDischarge * seat);
        most = std::max(most, std::abs(difference[i]) - 0.5 * density * jet * jet);
    }
    CHECK(most < 5e3); // the laminar part of the loss
    CHECK(run.count("hold_off: check shuts") == 0);
    // The free valve under the same foot holds its opening pressure off.
    const Played free = play(free_rod());
    CHECK(free.highest_between("hold_off.difference", 0, 2.4).first >
          0.8 * (free.field("hold_off.open") - free.field("hold_off.shut")));
}

TEST_CASE("wedged rod: bursts when the inlet first reaches the stated pressure") {
    const double stated = wedged().field("hold_off.burst");
    const double at = wedged().when(kBurst);
    CHECK(wedged().count(kBurst) == 1);
    CHECK(near(wedged().highest_between(kIn, 0, at).first, stated, 1e3, 0));
    CHECK(near(wedged().at(kIn, at), stated, 1e3, 0));

    // A stronger diaphragm bursts later in the same press, one above the whole press never.
    const Played strong = play([] {
        Scenario s = load("wedged_rod", {"hold_off.burst=3.8 MPa"});
        s.expectations.clear();
        return s;
    }());
    CHECK(near(strong.at(kIn, strong.when(kBurst)), 3.8e6, 1e3, 0));
    CHECK(strong.when(kBurst) > at);
    Scenario whole = load("wedged_rod", {"hold_off.burst=6 MPa"});
    whole.expectations.clear();
    const Played none = play(whole);
    CHECK(none.count(kBurst) == 0);
    CHECK(none.peak(kIn) < 6e6);
}

TEST_CASE("wedged rod: a free rod's outer stop carries the diaphragm at twice the burst pressure") {
    // A foot for that: R (F - F_r) = S1 + f1 + p1 A, the spring at most as in a whole stroke.
    const double twice = 2.05 * wedged().field("hold_off.burst");
    const double spring =
        wedged().field("master.primary_spring") +
        wedged().field("master.primary_rate") * wedged().field("master.primary_stroke");
    const double F = wedged().field("pedal.return_force") +
                     (twice * master_area(wedged()) + spring + cup_friction(wedged(), twice)) /
                         wedged().field("pedal.ratio");
    Scenario hard = free_rod();
    hard.foot = force({{0, 0}, {0.2, 0}, {1.2, F}, {2.2, F}, {2.6, 0}});
    hard.duration = 4;
    const Played run = play(hard);
    CHECK(run.held(kIn) > 2 * run.field("hold_off.burst"));
    CHECK(run.count(kBurst) == 0);
    CHECK(run.at("hold_off.rod_travel", 2.2) > run.field("hold_off.out_travel"));
    CHECK(std::abs(run.peak("hold_off.outside.fluid")) < 1e-12);
    // The same foot on the wedged rod.
    hard.changes = load("wedged_rod").changes;
    CHECK(play(hard).count(kBurst) == 1);
}

TEST_CASE("wedged rod: the rear holds as in the intact car, and the pistons meet before the lamp") {
    const Played free = play(free_rod());
    const double A = master_area(wedged());
    for (const char* rear : {"master.secondary.pressure", "rear_left.pressure"}) {
        // In the stroke of the burst the pistons fall and overshoot; the cups' friction may hold
        // some of that, up to its full reversal.
        const double sound = free.at(rear, 4.0), found = wedged().at(rear, 4.0);
        CHECK(found > 0.98 * sound);
        CHECK(found < sound + 2 * (cup_friction(wedged(), 0) + cup_friction(wedged(), sound)) / A);
        // Without a burst on the way down it is the same pressure.
        for (const Stroke& stroke : strokes(wedged()))
            if (stroke.start > 4)
                CHECK(near(wedged().at(rear, stroke.end), free.at(rear, stroke.end), 0, 0.02));
    }
    // The rod pushes piston on piston now: R (F - F_r) = p1 A + f1 + f2 + S2 + p2 A.
    for (const Stroke& stroke : strokes(wedged())) {
        if (stroke.start < 4) continue;
        CAPTURE(stroke.end);
        const double p1 = wedged().at("master.primary.pressure", stroke.end),
                     p2 = wedged().at("master.secondary.pressure", stroke.end);
        const double rod = wedged().field("pedal.ratio") * (wedged().at("pedal.force", stroke.end) -
                                                            wedged().field("pedal.return_force"));
        CHECK(near(p2,
                   (rod - cup_friction(wedged(), p1) - cup_friction(wedged(), p2) -
                    secondary_spring(wedged(), stroke.end)) /
                       A,
                   0, 0.02));
    }
    const double meet = wedged().when("master: pistons meet");
    CHECK(meet > wedged().when(kBurst));
    CHECK(meet < wedged().when("lamp: lamp lit"));
    CHECK(near(wedged().at("master.primary_travel", 4.0) -
                   wedged().at("master.secondary_travel", 4.0),
               wedged().field("master.primary_stroke"), 0, 0.01));
    CHECK(free.count("lamp lit") == 0);
}

TEST_CASE("wedged rod: a stroke spills at most a chamber and what the calipers give back") {
    const Played& run = wedged();
    const double area = master_area(run);
    const double chamber = area * run.field("master.primary_stroke");
    const double port = area * run.field("master.port_travel");
    const std::vector<Stroke> all = strokes(run);
    REQUIRE(all.size() >= 7);

    double before = all[0].start, most_back = 0;
    int full = 0; // strokes that start with fluid in the reservoir
    for (const Stroke& stroke : all) {
        CAPTURE(stroke.end);
        double back = 0;
        for (const std::string wheel : {"front_left", "front_right"})
            back += circle(run.field(wheel + ".piston")) *
                    (run.highest_between(wheel + ".piston_travel", before, stroke.end).first -
                     run.at(wheel + ".piston_travel", stroke.end));
        const double spilled =
            run.at("hold_off.outside.fluid", stroke.end) - run.at("hold_off.outside.fluid", before);
        CHECK(spilled < chamber + back);
        if (run.at("master.primary_reservoir.fluid", stroke.start) > 2e-6) {
            CHECK(spilled > chamber - port);
            most_back = std::max(most_back, back);
            ++full;
        }
        before = stroke.end;
    }
    // The reservoir lasts for its volume over that, in whole strokes.
    const double volume = run.field("master.reservoir_volume");
    CHECK(full >= std::floor(volume / (chamber + most_back)));
    CHECK(full <= std::ceil(volume / (chamber - port)));
    // Then air.
    const double empty = all[static_cast<std::size_t>(full)].start;
    CHECK(run.highest_between("master.primary.free_air", 0, all[3].end).first < 0.1e-6);
    CHECK(run.highest_between("master.primary.free_air", empty, 100).first > 0.2 * chamber);
    CHECK(run.lowest("master.primary_reservoir.air") < -0.2 * chamber);
}
