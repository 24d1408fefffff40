// The pedal by itself: what the floor bears of a hard foot no longer reaches the cylinder.
#include <doctest/doctest.h>

#include "hydraulics/mechanics.hpp"
#include "samples.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kRatio = 5, kFlex = 1e-5, kDamping = 200;

/// Speed of the arm, the pad at rest there and a foot on it, the rod well away.
double speed(double floor, double pad, double force) {
    const Specimen s(*find_kind("pedal"),
                     {{"ratio", kRatio}, {"flex", kFlex}, {"damping", kDamping}, {"floor", floor}});
    REQUIRE(s.refused.empty());
    std::vector<double> local(static_cast<std::size_t>(s.part->kind().locals()), 0.0);
    local[0] = local[1] = pad / kRatio;
    local[2] = force;
    const std::vector<char> modes(static_cast<std::size_t>(s.guards()) + 1, 0);
    return s.rates(local, modes, false)[0];
}

} // namespace

TEST_CASE("pedal: the floor takes what bends arm and floor too far") {
    // The pad is bent down by flex x force below where the arm alone would have it. At 500 N that
    // is 5 mm: with the arm at 146 mm it would be 1 mm in the floor. Arm and floor are springs in
    // series, so the floor bears 1 mm / (flex + 1 / c), by the lever that much less at the rod.
    const double pad = 0.146, force = 500;
    const double borne = 1e-3 / (kFlex + 1 / kContactStiffness);
    CHECK(borne > 95); // N
    const double far = speed(0.3, pad, force), at_floor = speed(0.15, pad, force);
    CHECK(near((far - at_floor) * kDamping / kRatio, borne, 0, 1e-9));
    // Just above the floor nothing is borne.
    CHECK(speed(0.3, 0.1449, force) == speed(0.15, 0.1449, force));
}
