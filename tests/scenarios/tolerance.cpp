// ctest: physics,slow 1800
// Halving the tolerance of a run changes no event that clears its dead band tenfold, and no figure
// by more than 0.5 % or one unit of accuracy.
#include "traces.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// One unit of accuracy: 1 kPa, and what goes with it. The first four are stated for the model.
double unit_of(const ChannelFigures& f) {
    switch (f.channel.dimension) {
    case Dimension::pressure:
        return 1e3; // Pa
    case Dimension::length:
        return 0.05e-3; // m
    case Dimension::volume:
        return 0.01e-6; // m3
    case Dimension::torque:
        return 0.1; // N m
    case Dimension::force:
        return 2; // N, 1 kPa on the large bore of a booster's output rod or on a caliper's piston
    case Dimension::power:
        return 0.1; // W, 0.1 N m on a wheel that turns once in six seconds
    case Dimension::number:
        return 1e-3; // 0.1 N m on a wheel of 0.3 m that carries 330 N
    case Dimension::flow:
        return 10e-6; // m3/s, 0.01 cm3 in one row of the trace
    default:
        return 1e-3 * (f.peak - f.lowest);
    }
}

/// What each guard did, by "part: guard": modes of its events that clear their dead band at least
/// `by` times (0: of all). Two of one mode in a row are one: what lay between was a flicker.
std::map<std::string, std::vector<bool>> turns(const Scenario& scenario, const Summary& s,
                                               double by) {
    std::map<std::string, std::vector<bool>> all;
    for (const Event& event : s.events) {
        if (by > 0 && !(event.cleared >= by)) continue;
        for (const PartSpec& part : scenario.hardware.parts) {
            if (part.name != event.part) continue;
            for (const GuardInfo& guard : part.kind->guards) {
                if (event.text != guard.on && event.text != guard.off) continue;
                std::vector<bool>& modes = all[event.part + ": " + std::string(guard.name)];
                const bool on = event.text == guard.on;
                if (modes.empty() || modes.back() != on) modes.push_back(on);
            }
        }
    }
    return all;
}

} // namespace

TEST_CASE("halving the tolerance changes no event that clears its dead band tenfold, and no figure "
          "by more than 0.5 % or one unit of accuracy") {
    std::size_t all_firm = 0;
    for (const std::string& name : scenario_names({"lessons", "checks", "complaints"})) {
        CAPTURE(name);
        Scenario scenario = load(name);
        // Lessons that ask for less do not follow every flutter of a valve.
        scenario.accuracy = std::min(scenario.accuracy, 1e3);
        Sink nowhere;
        RunOptions half;
        half.tolerance_scale = 0.5;
        const Summary a = simulate(scenario, nowhere);
        const Summary b = simulate(scenario, nowhere, half);
        REQUIRE_MESSAGE(a.complete, a.error);
        REQUIRE_MESSAGE(b.complete, b.error);
        CHECK(b.solver.rate_calls != a.solver.rate_calls);

        // Whatever is firm in one run has happened in the other, as often.
        std::size_t firm = 0;
        for (const auto& [from, to] : {std::pair(&a, &b), std::pair(&b, &a)}) {
            auto found = turns(scenario, *to, 0);
            for (const auto& [guard, modes] : turns(scenario, *from, 10)) {
                firm += modes.size();
                CHECK_MESSAGE(modes.size() <= found[guard].size(), guard);
            }
        }
        all_firm += firm;

        double worst = 0;
        std::string where;
        for (const ChannelFigures& f : a.channels) {
            const ChannelFigures& g = b.of(f.channel.path);
            const std::pair<const char*, double ChannelFigures::*> figures[] = {
                {"settled", &ChannelFigures::settled},
                {"peak", &ChannelFigures::peak},
                {"lowest", &ChannelFigures::lowest},
                {"held", &ChannelFigures::held},
                {"residual", &ChannelFigures::residual}};
            for (const auto& [word, figure] : figures) {
                if (std::isnan(f.*figure) && std::isnan(g.*figure)) continue;
                const double allowed = std::max(0.005 * std::abs(f.*figure), unit_of(f));
                const double apart = std::abs(g.*figure - f.*figure);
                CHECK_MESSAGE(apart <= allowed, f.channel.path << ' ' << word << ' ' << f.*figure
                                                               << ", halved " << g.*figure);
                if (apart > worst * allowed && allowed > 0) {
                    worst = apart / allowed;
                    where = f.channel.path + " " + word;
                }
            }
        }
        MESSAGE(name << ": " << firm << " firm turns of guards in two runs; furthest figure at "
                     << 100 * worst << " % of what is allowed (" << where << ")");
    }
    CHECK(all_firm > 1000);
}
