// ctest: physics,slow 900
// What holds in every scenario: the order of parts changes nothing, and a slow cup leak shows in
// the pedal and in the reservoir long before it shows in a pressure. (Ledgers: play() checks them
// in every run.)
#include "traces.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

void reverse_branches(Run& run) {
    std::reverse(run.branches.begin(), run.branches.end());
    for (Run& branch : run.branches)
        reverse_branches(branch);
}

/// The same car with its parts, circuits, branches and wheels written down from the other end.
Scenario reversed(Scenario s) {
    std::reverse(s.hardware.parts.begin(), s.hardware.parts.end());
    std::reverse(s.hardware.circuits.begin(), s.hardware.circuits.end());
    std::reverse(s.hardware.wheels.begin(), s.hardware.wheels.end());
    for (Circuit& circuit : s.hardware.circuits)
        reverse_branches(circuit.run);
    return s;
}

/// Neither forward nor backward: the odd ones first.
Scenario interleaved(Scenario s) {
    const std::vector<PartSpec> parts = s.hardware.parts;
    s.hardware.parts.clear();
    for (const std::size_t first : {1u, 0u})
        for (std::size_t i = first; i < parts.size(); i += 2)
            s.hardware.parts.push_back(parts[i]);
    return s;
}

/// Events by name; among those of one name, time decides.
std::vector<std::pair<std::string, double>> by_name(const Played& run) {
    std::vector<std::pair<std::string, double>> events;
    for (const Event& event : run.summary.events)
        events.emplace_back(event.part + ": " + event.text, event.time);
    std::sort(events.begin(), events.end());
    return events;
}

bool same(double a, double b) {
    return a == b || (std::isnan(a) && std::isnan(b));
}

/// The last digit included: the circuit goes by names, never by the order of a file.
void check_same(const Played& a, const Played& b) {
    CHECK(a.summary.solver.steps == b.summary.solver.steps);
    for (const ChannelFigures& f : a.summary.channels) {
        const ChannelFigures& g = b.summary.of(f.channel.path);
        for (const auto figure :
             {&ChannelFigures::settled, &ChannelFigures::peak, &ChannelFigures::lowest,
              &ChannelFigures::held, &ChannelFigures::residual})
            CHECK_MESSAGE(same(g.*figure, f.*figure),
                          f.channel.path << ' ' << g.*figure << " instead of " << f.*figure);
    }
    const auto x = by_name(a), y = by_name(b);
    REQUIRE(x.size() == y.size());
    for (std::size_t i = 0; i < x.size(); ++i)
        CHECK(x[i] == y[i]);
}

} // namespace

TEST_CASE("everywhere: parts in another order, same answer") {
    for (const std::string& name : scenario_names({"lessons"})) {
        CAPTURE(name);
        Scenario s = load(name);
        // A few seconds tell: whatever hangs on the order does so from the first step.
        s.duration = std::min(s.duration, 5.0);
        s.expectations.clear();
        const Played a = play(s);
        check_same(a, play(reversed(s)));
        check_same(a, play(interleaved(s)));
    }
}

TEST_CASE("everywhere: a slow cup leak leaves both pressures unchanged until a piston bottoms, "
          "while the pedal sinks by R (what has leaked)/A") {
    struct Way {
        const char *field, *bottoms, *chamber, *other, *reservoir;
    };
    for (const Way& way :
         {Way{"leak_primary", "master: pistons meet", "master.primary.pressure",
              "master.secondary.pressure", "master.primary_reservoir.fluid"},
          Way{"leak_secondary_rear", "master: pistons meet", "master.primary.pressure",
              "master.secondary.pressure", "master.secondary_reservoir.fluid"},
          Way{"leak_secondary_front", "master: secondary piston bottoms",
              "master.secondary.pressure", "master.primary.pressure",
              "master.secondary_reservoir.fluid"}}) {
        CAPTURE(std::string(way.field));
        // A firm foot: the springs grow with the sinking stroke by 3 N/mm, 1 % of this force. A
        // floor out of reach, so that a piston meets its end first.
        const auto steady = [](std::vector<std::string> sets) {
            sets.push_back("pedal.floor=200 mm");
            Scenario s = load("ordinary_stop", sets);
            s.expectations.clear();
            s.foot = force({{0, 0}, {2, 450}, {65, 450}});
            s.duration = 65;
            RunOptions coarse;
            coarse.sample = 10e-3;
            return play(s, coarse);
        };
        const Played sound = steady({});
        const Played leaking = steady({std::string("master.") + way.field + "=0.06 mm"});
        const double end = leaking.when(way.bottoms);
        REQUIRE(end > 10);
        REQUIRE(end < 50);
        const double from = 4; // the sound pedal has stopped creeping
        for (double t = from; t < end; t += 0.5)
            for (const char* channel : {way.chamber, way.other}) {
                CAPTURE(t);
                CHECK(near(leaking.at(channel, t), sound.at(channel, t), 0, 0.02));
            }
        // The springs that grow take some pressure away, for which the circuit gives fluid back: by
        // its compliance, as the sound car shows it in the last of its application.
        const double to = 0.98 * end, A = master_area(leaking);
        const bool primary = std::string(way.chamber) == "master.primary.pressure";
        const auto stroke = [&](const Played& run, double t) {
            const double x2 = run.at("master.secondary_travel", t);
            return primary ? run.at("master.primary_travel", t) - x2 : x2;
        };
        const double compliance = A * (stroke(sound, 2) - stroke(sound, 1.7)) /
                                  (sound.at(way.chamber, 2) - sound.at(way.chamber, 1.7));
        const auto grown = [&](const Played& run, const char* channel) {
            return run.at(channel, to) - run.at(channel, from);
        };
        const double leaked = grown(leaking, way.reservoir);
        const double given_back = -compliance * grown(leaking, way.chamber);
        CHECK(near(grown(leaking, "pedal.travel") - grown(sound, "pedal.travel"),
                   leaking.field("pedal.ratio") * (leaked - given_back) / A, 0.02e-3, 0.01));
        CHECK(leaked > 1e-6);
        // Then the chamber that leaks gives way, and the foot works the other alone, as before.
        CHECK(leaking.at(way.chamber, 65) < 0.8 * sound.at(way.chamber, 65));
        CHECK(near(leaking.at(way.other, 65), sound.at(way.other, 65), 0, 0.02));
    }
}
