// ctest: physics,slow 120
// Part of the conformance suite: what happens where a guard passes zero and within its dead band.
#include <map>

#include "suite.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Vector difference(const Vector& a, const Vector& b) {
    Vector d(a.size());
    for (std::size_t i = 0; i < d.size(); ++i)
        d[i] = a[i] - b[i];
    return d;
}

/// Rates at x with guard k on and off, in a located run.
std::pair<Vector, Vector> on_and_off(const Specimen& s, const Vector& x, Modes mode, int k) {
    mode[k] = 1;
    const Vector on = s.rates(x, mode, true);
    mode[k] = 0;
    return {on, s.rates(x, mode, true)};
}

/// How much the outputs may differ across an edge: their slopes over one rounding of the way.
Vector allowed_across(const Specimen& s, const Edge& edge, const Modes& mode, const Vector& noise) {
    const Vector apart = difference(edge.above, edge.below);
    const Vector above = row_sizes(s, s.slopes(edge.above, mode, false), apart);
    const Vector below = row_sizes(s, s.slopes(edge.below, mode, false), apart);
    Vector allowed(above.size());
    for (std::size_t i = 0; i < allowed.size(); ++i)
        allowed[i] = 2 * (above[i] + below[i]) + 16 * noise[i];
    return allowed;
}

/// Where the guard has gone from zero to `share` of its band, on the way to the side of its sign.
/// Empty if the way does not lead so far.
Vector within_band(const Specimen& s, const Edge& edge, const Modes& mode, int k, double share) {
    const double level = share * s.kind.guards[k].band;
    const Vector& far = share > 0 ? edge.far_above : edge.far_below;
    if (std::abs(guard_at(s, far, mode, k)) <= std::abs(level)) return {};
    return bracket(s, mode, k, edge.far_below, edge.far_above, level).above;
}

/// Slope x band: how far on and off may part on the way from zero to the edge of the band, from the
/// steepest difference of their derivatives. A jump on the way is in no derivative.
Vector slope_times_band(const Specimen& s, const Edge& edge, const Modes& mode, int k, double side,
                        const Vector& end) {
    constexpr int points = 32;
    const Vector way = difference(end, edge.above);
    Vector steepest(s.kind.outputs(), 0.0);
    for (int n = 0; n <= points; ++n) {
        const Vector x =
            n == 0 ? edge.above : within_band(s, edge, mode, k, side * n / double(points));
        Modes on = mode, off = mode;
        on[k] = 1, off[k] = 0;
        const Vector slope = difference(s.slopes(x, on, true), s.slopes(x, off, true));
        for (std::size_t i = 0; i < steepest.size(); ++i) {
            double along = 0;
            for (std::size_t j = 0; j < x.size(); ++j)
                along += slope[i * x.size() + j] * way[j];
            steepest[i] = std::max(steepest[i], std::abs(along));
        }
    }
    return steepest;
}

void check_edge(const Specimen& s, int k, const Edge& edge, const Modes& mode) {
    const Vector below = s.rates(edge.below, mode, false), above = s.rates(edge.above, mode, false);
    const Vector noise = rounding(s, edge.above, above, s.slopes(edge.above, mode, false));
    const Vector allowed = allowed_across(s, edge, mode, noise);
    int worst = 0;
    CHECK_MESSAGE(largest_over(above, below, allowed, worst) <= 1, output_name(s, worst),
                  " jumps from ", below[worst], " to ", above[worst]);

    // Located: on or off is the same at zero, and apart by no more than slope x band at its edge.
    const auto [on, off] = on_and_off(s, edge.above, mode, k);
    CHECK_MESSAGE(largest_over(on, off, allowed, worst) <= 1, output_name(s, worst), " is ",
                  on[worst], " on and ", off[worst], " off, at zero");
    for (const double side : {-1.0, 1.0}) {
        const Vector end = within_band(s, edge, mode, k, side);
        if (end.empty()) continue;
        const Vector parted = slope_times_band(s, edge, mode, k, side, end);
        const auto [far_on, far_off] = on_and_off(s, end, mode, k);
        for (std::size_t i = 0; i < parted.size(); ++i) {
            const double jump = std::abs(far_on[i] - far_off[i]);
            CHECK_MESSAGE(jump <= 1.1 * parted[i] + 64 * noise[i] + 4 * allowed[i],
                          output_name(s, static_cast<int>(i)), " jumps by ", jump,
                          ", slope x band is ", parted[i]);
        }
        // Stages look further than that before a step is cut.
        for (const double share : {2.0, 30.0, 1000.0}) {
            const Vector past = within_band(s, edge, mode, k, side * share);
            if (past.empty()) continue;
            const auto [past_on, past_off] = on_and_off(s, past, mode, k);
            CHECK(finite(past_on));
            CHECK(finite(past_off));
        }
    }
}

} // namespace

TEST_CASE("rates are continuous at each guard, and a mode costs no more than its band") {
    std::map<std::pair<std::string_view, int>, int> seen; // places by kind and guard
    over_all_variants([&seen](const Specimen& s, Draw& draw) {
        for (int k = 0; k < s.guards(); ++k) {
            if (s.kind.guards[k].latch) continue;
            CAPTURE(s.kind.guards[k].name);
            for (const Edge& edge : edges(s, k, 25, draw)) {
                check_edge(s, k, edge, s.modes(edge.above, draw));
                ++seen[{s.kind.name, k}];
            }
        }
    });
    for (const PartKind* kind : part_kinds())
        for (int k = 0; k < static_cast<int>(kind->guards.size()); ++k) {
            if (kind->guards[k].latch) continue;
            CAPTURE(kind->name);
            CAPTURE(kind->guards[k].name);
            CHECK((seen[{kind->name, k}] >= 10));
        }
}

TEST_CASE("a restless guard that follows its sign obeys the continuous law") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 300; ++i) {
            const Vector x = s.local(draw);
            Modes mode = s.modes(x, draw);
            const Vector wanted = s.rates(x, mode, false);
            for (int k = 0; k < s.guards(); ++k)
                if (!s.kind.guards[k].latch && draw.chance(0.5)) mode[k] = Gates::kFollow;
            CHECK(s.rates(x, mode, true) == wanted);
        }
    });
}

TEST_CASE("derivatives agree with differences within the dead band of each guard") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        Sharpness sharpness;
        for (int k = 0; k < s.guards(); ++k) {
            if (s.kind.guards[k].latch) continue;
            for (const Edge& edge : edges(s, k, 4, draw))
                for (const double share : {-0.5, 0.5}) {
                    const Vector x = within_band(s, edge, s.modes(edge.above, draw), k, share);
                    if (x.empty()) continue;
                    Modes mode = s.modes(x, draw);
                    for (const char forced : {0, 1}) {
                        mode[k] = forced;
                        check_slopes(s, x, mode, true, sharpness);
                    }
                }
        }
        // Beside a guard the differences have little room.
        CHECK(sharpness.sharp >= 0.8 * sharpness.all);
    });
}
