// The clearance that a stop leaves is the one that was stated for the seal.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kLightEnd = 140, kHardEnd = 280;

/// A light and a hard stop, slow ones, with the hold-off valve's check held open so that the front
/// feels the cylinder, and the calipers as high as the fluid so that none stands above them.
/// R (F - F_r) = p A + S1 + k1 x + f: 104 N for 1 MPa, 565 N for 8 MPa.
Played light_and_hard(const std::vector<std::pair<const char*, double>>& stated) {
    Scenario s = plain({"pedal.floor=200 mm", "hold_off.rod=held", "hold_off.holding_force=300 N"});
    for (const char* wheel : {"front_left", "front_right"}) {
        Values& values = *find_values(s.hardware, wheel);
        values.set("height", 0.85);
        for (const auto& [field, value] : stated)
            values.set(field, value);
    }
    // Slowest where the pads come to the disc, from 40 N on: the seal's soft branch takes 0.5 s.
    s.foot = force({{0, 0},
                    {5, 35},
                    {65, 60},
                    {75, 104},
                    {80, 104},
                    {105, 8},
                    {135, 0},
                    {140, 0},
                    {145, 35},
                    {205, 60},
                    {225, 565},
                    {230, 565},
                    {245, 60},
                    {265, 8},
                    {275, 0}});
    s.duration = kHardEnd;
    RunOptions coarse;
    coarse.sample = 10e-3;
    return play(s, coarse);
}

void check_left(const Played& run, double light, double hard) {
    CHECK(near(run.highest_between("front_left.pressure", 0, kLightEnd).first, 1e6, 0, 0.05));
    CHECK(
        near(run.highest_between("front_left.pressure", kLightEnd, kHardEnd).first, 8e6, 0, 0.05));
    CHECK(near(run.at("front_left.clearance", kLightEnd), light, 0, 0.05));
    CHECK(near(run.at("front_left.clearance", kHardEnd), hard, 0, 0.05));
}

} // namespace

TEST_CASE("the clearance after a light and a hard stop is the stated one") {
    struct Stated {
        double light, hard, rise;
    };
    for (const Stated& c : {Stated{0.25e-3, 0.25e-3, 50e-6}, Stated{0.3e-3, 0.28e-3, 50e-6},
                            Stated{0.3e-3, 0.15e-3, 20e-6}, Stated{0.12e-3, 0.12e-3, 50e-6}}) {
        CAPTURE(c.light);
        CAPTURE(c.hard);
        const Played run = light_and_hard(
            {{"clearance_light", c.light}, {"clearance_hard", c.hard}, {"seal_grip_rise", c.rise}});
        check_left(run, c.light, c.hard);
        CHECK(run.field("front_left.clearance") == c.light);
    }
}

TEST_CASE("a seal that is given says what clearances it leaves") {
    // Defaults: never up to 8 MPa do the pads give more than grip and shift grow, so first touch is
    // the place. p_s = 200 N/(2043 - 50) mm2 = 0.1004 MPa, k' = 0.8 N/um: (200 + 5.0)/0.8 um and
    // 300 (1 - exp(-0.1255)) um of shift.
    const Played sound = light_and_hard({{"clearance", 0.4e-3}});
    CHECK(near(sound.field("front_left.clearance_light"), 0.2916e-3, 0.0002e-3, 0));
    CHECK(near(sound.field("front_left.clearance_hard"), 0.2916e-3, 0.0002e-3, 0));
    check_left(sound, 0.2916e-3, 0.2916e-3);
    // Without shift and with little growth of the grip a hard stop leaves much less.
    const Played plain_seal = light_and_hard(
        {{"clearance", 0.4e-3}, {"seal_shift", 0}, {"seal_grip", 320}, {"seal_grip_rise", 20e-6}});
    const double light = plain_seal.field("front_left.clearance_light"),
                 hard = plain_seal.field("front_left.clearance_hard");
    CHECK(light > hard + 0.1e-3);
    // At 1 MPa: N = (2043 - 20) mm2 x 1 MPa - 320 N = 1703 N, of which each pad gives 0.062 mm:
    // 70 N/um (62 - 80 (1 - exp(-62/96.6))) um = 1687 N, and 2 % more by creep.
    // 400 + 25 - 2 x 63.2 = 298.5 um.
    CHECK(near(light, 0.2985e-3, 0.002e-3, 0));
    check_left(plain_seal, light, hard);
}

TEST_CASE("a fault of the seal leaves the stated clearances aside, a change of the pads leaves the "
          "seal as it is") {
    Scenario s = plain();
    Values& values = *find_values(s.hardware, "front_left");
    values.set("clearance_light", 0.22e-3);
    values.set("clearance_hard", 0.2e-3);
    const auto changed = [&](const char* field, double value) {
        Scenario with = s;
        with.changes.push_back({"front_left", field, value, 0, 0});
        return hardware_at(with);
    };
    const Hardware before = hardware_at(s), pads = changed("pad_final", 40e6),
                   seal = changed("seal_grip", 100), said = changed("clearance_hard", 0.21e-3);
    const auto of = [](const Hardware& h, const char* field) {
        return (*find_values(h, "front_left"))[field];
    };
    CHECK(of(pads, "seal_grip") == of(before, "seal_grip"));
    CHECK(of(pads, "seal_shift") == of(before, "seal_shift"));
    CHECK(of(pads, "clearance_hard") < of(before, "clearance_hard") - 0.01e-3);
    CHECK(of(seal, "seal_grip") == 100);
    CHECK(of(seal, "seal_shift") == of(before, "seal_shift"));
    CHECK(of(seal, "clearance_light") < of(before, "clearance_light") - 0.05e-3);
    CHECK(of(said, "seal_shift") > of(before, "seal_shift"));
    CHECK(of(said, "clearance_hard") == 0.21e-3);
}
