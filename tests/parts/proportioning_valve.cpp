// The proportioning valve by itself: forces at rest, the room it makes, what it refuses, what a
// later change carries along.
#include <doctest/doctest.h>

#include "samples.hpp"
#include "system/changes.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const PartKind& kind() {
    return *find_kind("proportioning_valve");
}
using Fields = std::vector<std::pair<std::string, double>>;

/// 12 mm head, slope 0.4: A2 = 113.1 mm2, A1 = 45.24 mm2; 0.3 mm at 20 N/mm and 4 N to the lip.
const Fields kStated = {{"knee", 2e6},           {"slope", 0.4}, {"head_diameter", 12e-3},
                        {"shut_travel", 0.3e-3}, {"rate", 2e4},  {"piston_friction", 4}};

/// The words of the only refusal, after its field.
std::string refusal(Fields fields) {
    const Specimen s(kind(), fields);
    REQUIRE(s.refused.size() == 1);
    return s.refused[0].field + ": " + s.refused[0].reason;
}

/// Speed of the piston at rest of everything else: x, its anchor, inlet and outlet pressure.
double speed(const Specimen& s, double x, double anchor, double in, double out) {
    std::vector<double> local(static_cast<std::size_t>(kind().locals()), 0.0);
    local[0] = x, local[1] = anchor;
    for (int port = 0; port < s.ports(); ++port) {
        const auto at = static_cast<std::size_t>(s.port_at(port));
        local[at] = port == 1 ? out : in;
        local[at + 1] = 1;
        local[at + 3] = kReferenceTemperature;
    }
    const std::vector<char> modes(8, 0);
    return s.rates(local, modes, false)[0];
}

} // namespace

TEST_CASE(
    "proportioning valve: spring from the knee, and the piston stands still at every point of "
    "the curve") {
    const Specimen s(kind(), kStated);
    const double a2 = 0.25 * M_PI * 144e-6, a1 = 0.4 * a2;
    CHECK(near(s.values["inlet_area"], a1, 0, 1e-12));
    // (A2 - A1) knee = 135.7 N, less 6 N of the spring's way and 4 N of friction: 125.7 N.
    CHECK(near(s.values["spring"], 125.7, 0.05, 0));
    const double anchor = 0.3e-3 - 4 / 2e5; // dragged outward, at its limit
    for (const double in : {2e6, 3e6, 8e6}) {
        const double out = 2e6 + 0.4 * (in - 2e6), newton = 1 / s.values["damping"];
        CHECK(near(speed(s, 0.3e-3, anchor, in, out), 0, 1e-6 * newton, 0));
        CHECK(near(speed(s, 0.3e-3, anchor, in, out + 1e5), 1e5 * a2 * newton, 0, 1e-6));
        CHECK(near(speed(s, 0.3e-3, anchor, in + 1e5, out), -1e5 * a1 * newton, 0, 1e-6));
    }
}

TEST_CASE("proportioning valve: both sides together grow by the stem that leaves the body") {
    const Specimen s(kind(), kStated);
    const double a2 = 0.25 * M_PI * 144e-6, a1 = 0.4 * a2;
    const auto room = [&](double x) {
        const double at[2] = {x, 0};
        std::vector<double> volume(3), slope(6);
        s.part->swept(at, volume.data(), slope.data());
        return volume;
    };
    const std::vector<double> home = room(0), out = room(1e-3);
    CHECK(near(out[0] - home[0], -a1 * 1e-3, 0, 1e-9));
    CHECK(near(out[1] - home[1], a2 * 1e-3, 0, 1e-9));
    CHECK(out[2] == 0); // the front is felt only
}

TEST_CASE("proportioning valve: a change of one set carries the other along") {
    Specimen s(kind(), kStated);
    Values v = s.values;
    const double a2 = 0.25 * M_PI * 144e-6;
    v.change(v.find("knee"), 3e6);
    REQUIRE(kind().complete(v, s.around).empty());
    CHECK(near(v["spring"], 3e6 * 0.6 * a2 - 10, 0, 1e-9));
    CHECK(near(v["inlet_area"], 0.4 * a2, 0, 1e-12));
    v = s.values;
    v.change(v.find("spring"), 90);
    REQUIRE(kind().complete(v, s.around).empty());
    CHECK(near(v["knee"], (90 + 10) / (0.6 * a2), 0, 1e-9));
    CHECK(near(v["slope"], 0.4, 0, 1e-12));
    v.change(v.find("knee"), 3e6);
    CHECK(kind().complete(v, s.around).size() == 1); // which of the two should win?
}

TEST_CASE("proportioning valve: what cannot work is refused in words") {
    const std::string either = "knee: give either knee and slope, or inlet_area and spring; the "
                               "others follow";
    CHECK(refusal({}) == either);
    CHECK(refusal({{"knee", 2e6}}) == either);
    CHECK(refusal({{"knee", 2e6}, {"slope", 0.3}, {"spring", 100}}) == either);
    CHECK(refusal({{"knee", 2e6}, {"spring", 100}}) == either);
    // 10 mm: 78.5 mm2.
    CHECK(refusal({{"inlet_area", 79e-6}, {"spring", 100}}) ==
          "inlet_area: not smaller than the area of head_diameter; the piston would never shut: "
          "lower it");
    // 0.4 MPa x 55 mm2 = 22 N; less 5 N and 9 N of friction leaves 8 N.
    CHECK(refusal({{"knee", 0.4e6}, {"slope", 0.3}, {"piston_friction", 9}}) ==
          "knee: leaves a spring no stronger than piston_friction; the piston would never come "
          "home: raise it or lower piston_friction, rate or shut_travel");
    // 78.5 mm2 x 0.1 MPa = 7.9 N against 7 + 5 - 6 N.
    CHECK(refusal({{"inlet_area", 25e-6}, {"spring", 7}, {"crack", 0.1e6}}) ==
          "crack: holds the piston shut against its spring, so that release would not be complete: "
          "lower it");
    CHECK(refusal({{"knee", 2e6}, {"slope", 0.3}, {"end_travel", 0.5e-3}}) ==
          "end_travel: not beyond shut_travel; the piston could not shut");
    CHECK(refusal({{"knee", 2e6}, {"slope", 0.3}, {"bypass_front", 2e6}}) ==
          "bypass_front: not below knee; a sound front would leave the by-pass open beyond it: "
          "lower it");
}
