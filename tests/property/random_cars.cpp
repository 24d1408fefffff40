// ctest: physics,slow 300
// Cars with hardware drawn at random from wide ranges: what must hold whatever the sizes are.
//
// RC_PARAMS in the environment chooses another seed or number of cars: RC_PARAMS="seed=7
// max_success=100"
#include <rapidcheck.h>

#include <cstdlib>
#include <random>

#include "places.hpp"
#include "scenarios/scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// A field of one or more parts and the range that it is drawn from, in `unit`.
struct Range {
    std::vector<const char*> paths;
    double low, high;
    const char* unit;
};

// Wide, but of cars: no combination is unlike anything on the road.
const std::vector<Range> kRanges = {
    {{"pedal.ratio"}, 3.5, 6.5, ""},
    {{"pedal.free_play"}, 2, 10, "mm"},
    {{"master.bore"}, 17, 26, "mm"},
    {{"master.primary_stroke"}, 15, 24, "mm"},
    {{"master.secondary_stroke"}, 12, 20, "mm"},
    {{"master.port"}, 0.5, 1.0, "mm"},
    {{"master.cup_friction"}, 10, 40, "N"},
    {{"rear_residual.holding"}, 30, 120, "kPa"},
    {{"hold_off.open"}, 0.7, 1.2, "MPa"},
    {{"front_pipe.length"}, 0.3, 3, "m"},
    {{"rear_pipe.length"}, 1, 4, "m"},
    {{"left_hose.swelling", "right_hose.swelling", "rear_hose.swelling"}, 0.5, 2, ""},
    {{"front_left.piston", "front_right.piston"}, 42, 58, "mm"},
    {{"rear_left.cylinder", "rear_right.cylinder"}, 15, 23, "mm"},
    {{"fluid.free_air"}, 0, 1, "%"},
    {{"surroundings.temperature"}, -10, 45, "C"},
};

/// Sets of a random car; the words of each show when a property fails.
rc::Gen<std::vector<std::string>> any_car() {
    return rc::gen::exec([] {
        std::vector<std::string> sets;
        for (const Range& r : kRanges) {
            const int step = *rc::gen::inRange(0, 101);
            const double value = r.low + 0.01 * step * (r.high - r.low);
            for (const char* path : r.paths)
                sets.push_back(std::string(path) + "=" + std::to_string(value) + " " + r.unit);
        }
        return sets;
    });
}

/// That car, if its parts fit one another.
std::optional<Scenario> build(const std::vector<std::string>& sets) {
    runner::Findings findings;
    auto loaded = runner::read_scenario(source_folder() + "/scenarios/lessons/ordinary_stop.yaml",
                                        sets, findings);
    if (!loaded) return std::nullopt;
    Scenario s = loaded->scenario;
    s.expectations.clear();
    s.hardware = hardware_at(s); // so that a field that was drawn can be changed further
    s.changes.clear();
    return s;
}

void few(const char* how) {
    setenv("RC_PARAMS", how, 0); // a seed of the environment goes first
}

} // namespace

TEST_CASE("any car: ledgers close, nothing is below vapour pressure or outside its bore, all comes "
          "back to rest") {
    few("seed=20261126 max_success=25");
    CHECK(rc::check("a press, a hold and a release", [] {
        const std::vector<std::string> sets = *any_car();
        const double newton = *rc::gen::inRange(50, 501), up = 0.1 * *rc::gen::inRange(1, 21),
                     down = 0.05 * *rc::gen::inRange(1, 21);
        std::optional<Scenario> s = build(sets);
        RC_PRE(s.has_value());
        s->foot = force({{0, 0}, {up, newton}, {up + 1, newton}, {up + 1 + down, 0}});
        s->duration = up + 1 + down + 60;
        s->sample = 5e-3;
        const Played played = play(*s);

        const BrakeFluid fluid =
            make_surroundings(played.hardware.fluid, played.hardware.surroundings).fluid;
        const double vapour =
            fluid.vapour_pressure(played.field("surroundings.temperature")) - kStandardPressure;
        for (const ChannelFigures& f : played.summary.channels)
            if (f.channel.path.ends_with(".pressure")) RC_ASSERT(f.lowest > vapour);

        // Stops give a little: 20 kN/mm under what the foot brings, 0.2 mm.
        for (const std::string piston : {"primary", "secondary"}) {
            const ChannelFigures& travel = played.summary.of("master." + piston + "_travel");
            const double give = 0.2e-3;
            RC_ASSERT(travel.lowest > -give);
            RC_ASSERT(travel.peak <
                      played.field("master." + piston + "_stroke") + give +
                          (piston == "primary" ? played.field("master.secondary_stroke") : 0));
        }
        // A floating caliper's piston stands out by no more than clearances and what pads and
        // housing give: 3 mm; a wheel cylinder's by clearance and shoes.
        for (const std::string wheel : {"front_left", "rear_left"})
            RC_ASSERT(std::fabs(played.summary.of(wheel + ".piston_travel").peak) < 5e-3);

        // A minute later the head of the fluid stands on the calipers, and the residual valve's
        // pressure at most on the drums.
        const double head =
            fluid.density() * 9.80665 *
            (played.field("master.reservoir_height") - played.field("front_left.height"));
        RC_ASSERT(std::fabs(played.residual("master.primary.pressure")) < 5e3);
        RC_ASSERT(std::fabs(played.residual("front_left.pressure") - head) < 3e3);
        RC_ASSERT(played.residual("rear_left.pressure") <
                  played.field("rear_residual.holding") + head + 3e3);
        RC_ASSERT(played.residual("front_left.torque") < 4);
    }));
}

TEST_CASE("any car: twice the area at twice the force has the same pressures at half the stroke") {
    // Of the cylinder's area, springs and friction; lengths that the pistons travel are halved, so
    // rates and dampings are four times as large. Stops keep their own stiffness.
    few("seed=20261126 max_success=25");
    CHECK(rc::check("a slow press", [] {
        const std::vector<std::string> sets = *any_car();
        const double newton = *rc::gen::inRange(120, 401);
        std::optional<Scenario> one = build(sets);
        RC_PRE(one.has_value());
        one->foot = force({{0, 0}, {8, newton}, {10, newton}});
        one->duration = 10;
        one->sample = 0.05;
        for (PartSpec& spec : one->hardware.parts)
            if (spec.name == "master") spec.values.set("port", 0.5e-3); // fits half the travel too
        Scenario two = *one;
        const auto scale = [&two](const char* part, const char* field, double factor) {
            for (PartSpec& spec : two.hardware.parts)
                if (spec.name == part) spec.values.set(field, factor * spec.values[field]);
        };
        scale("master", "bore", std::sqrt(2.0));
        for (const char* field : {"primary_spring", "secondary_spring", "cup_friction"})
            scale("master", field, 2);
        for (const char* field : {"primary_rate", "secondary_rate", "cup_stiffness", "damping"})
            scale("master", field, 4);
        for (const char* field :
             {"primary_stroke", "secondary_stroke", "port_travel", "secondary_port_travel"})
            scale("master", field, 0.5);
        scale("pedal", "return_force", 2);
        scale("pedal", "free_play", 0.5);
        scale("pedal", "flex", 0.25);
        scale("pedal", "damping", 4);
        two.foot = force({{0, 0}, {8, 2 * newton}, {10, 2 * newton}});

        const Played a = play(*one), b = play(two);
        for (const char* channel : {"master.primary.pressure", "master.secondary.pressure",
                                    "front_left.pressure", "rear_left.pressure"})
            for (const double t : {4.0, 6.0, 8.0, 10.0}) {
                RC_LOG() << channel << " at " << t << " s: " << a.at(channel, t) << " and "
                         << b.at(channel, t) << '\n';
                RC_ASSERT(near(b.at(channel, t), a.at(channel, t), 2e3, 2e-3));
            }
        // From when the ports are shut: how much escapes before hangs on the size of a port, which
        // is the same in both.
        const double shut = std::max(a.last_time_of("port shut"), b.last_time_of("port shut"));
        RC_ASSERT(shut < 7);
        const auto advance = [shut](const Played& played) {
            return played.at("master.primary_travel", 10) -
                   played.at("master.primary_travel", shut + 0.1);
        };
        RC_LOG() << "advance " << advance(a) << " and " << advance(b) << '\n';
        RC_ASSERT(near(advance(b), 0.5 * advance(a), 5e-6, 5e-3));
    }));
}

TEST_CASE("any car: its parts in another order give the same bits") {
    few("seed=20261126 max_success=25");
    CHECK(rc::check("a stab", [] {
        const std::vector<std::string> sets = *any_car();
        const int seed = *rc::gen::inRange(0, 1000);
        std::optional<Scenario> s = build(sets);
        RC_PRE(s.has_value());
        s->foot = force({{0, 0}, {0.3, 200}, {0.6, 0}});
        s->duration = 1;
        Scenario other = *s;
        std::mt19937 shuffle(static_cast<unsigned>(seed));
        std::shuffle(other.hardware.parts.begin(), other.hardware.parts.end(), shuffle);
        const Played a = play(*s), b = play(other);
        for (const ChannelFigures& f : a.summary.channels) {
            const ChannelFigures& g = b.summary.of(f.channel.path);
            RC_ASSERT(f.peak == g.peak);
            RC_ASSERT(f.lowest == g.lowest);
            RC_ASSERT(f.last == g.last);
        }
    }));
}
