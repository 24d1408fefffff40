// The residual valve in the disc circuit: what it keeps, what drags, what it takes from the pedal.
// Formulas in the scenario's own parameters. Twice: on a caliper whose seal is a plain spring,
// where the textbook formulas must hold as they stand, and on the car's own, whose seal shifts and
// relaxes.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const char* const kLesson = "residual_in_disc_circuit";

/// Sets for a seal that only grips: force k z, no shift under pressure, nothing that relaxes. It
/// holds 0.4 mm, so that it takes the piston all the way back.
std::vector<std::string> plain_seal() {
    std::vector<std::string> sets;
    for (const std::string wheel : {"front_left", "front_right"})
        for (const char* set : {".seal_shift=0 mm", ".seal_branch=0", ".seal_grip=400 N"})
            sets.push_back(wheel + set);
    return sets;
}

Scenario lesson(const std::vector<std::string>& sets) {
    Scenario s = load(kLesson, sets);
    s.expectations.clear();
    return s;
}

/// The lesson with a valve of another holding pressure.
Played holding(double pressure, const std::vector<std::string>& sets = {}) {
    Scenario s = lesson(sets);
    s.changes.push_back({"front_residual", "holding", pressure, 0, 0});
    return play(s);
}

struct Disc {
    double area, lever, stiffness, branch, shift, shift_pressure;
    explicit Disc(const Played& run)
        : area(circle(run.field("front_left.piston"))),
          lever(run.field("front_left.friction") * run.field("front_left.radius")),
          stiffness(run.field("front_left.seal_stiffness")),
          branch(run.field("front_left.seal_branch")), shift(run.field("front_left.seal_shift")),
          shift_pressure(run.field("front_left.seal_shift_pressure")) {}
    /// k g. Under a pressure that stays, the branch has relaxed and the seal's own shift u(p) has
    /// brought the piston forward already, so that less of the clearance stretches it.
    double seal(double g, double p) const {
        return stiffness * (1 - branch) * (g - shift * (1 - std::exp(-p / shift_pressure)));
    }
    /// 2 mu r max(0, p A_c - k g)
    double drag(double p, double g) const {
        return 2 * lever * std::max(0.0, p * area - seal(g, p));
    }
    /// The pressure that just brings the pads to the disc, p A_c = k g.
    double threshold(double g) const {
        double low = 0, high = stiffness * g / area; // k g/A_c itself without shift and relaxation
        for (int i = 0; i < 60; ++i) {
            const double p = 0.5 * (low + high);
            (p * area < seal(g, p) ? low : high) = p;
        }
        return high;
    }
};

/// The drag of one disc against the formula.
void check_drag(const std::vector<std::string>& sets) {
    const Played sound = play(intact(lesson(sets)));
    const Disc disc(sound);
    const double g = sound.residual("front_left.clearance");
    const double threshold = disc.threshold(g);
    REQUIRE(g > 0.1e-3);
    MESSAGE("clearance " << (g * 1e3) << " mm, threshold " << (threshold * 1e-3) << " kPa");

    // Half of it gives none: the inner pad stands clear, and the torque is that of the sound car,
    // whose outer pad the pins leave against the disc with their friction and no more.
    const Played half = holding(0.5 * threshold, sets);
    CHECK(half.residual("front_left.clamp") == 0);
    CHECK(half.residual("front_left.clearance") > 0.4 * g);
    CHECK(near(half.residual("front_left.torque"), sound.residual("front_left.torque"), 0, 0.01));
    CHECK(sound.residual("front_left.torque") <=
          1.01 * disc.lever * sound.field("front_left.pin_friction"));

    // From 1.5 to 2.5 times it: within 25 %, and the slope is 2 mu A_c r.
    double p[3], torque[3];
    for (int i : {0, 1, 2}) {
        const Played run = holding((1.6 + 0.5 * i) * threshold, sets);
        p[i] = run.residual("front_left.pressure"); // the valve shuts a little early
        torque[i] = run.residual("front_left.torque");
        MESSAGE((p[i] / threshold)
                << " of the threshold: " << torque[i] << " N m, formula " << disc.drag(p[i], g));
        CHECK(near(torque[i], disc.drag(p[i], g), 0, 0.25));
    }
    CHECK(near(p[0], 1.5 * threshold, 0, 0.1));
    CHECK(near(p[2], 2.5 * threshold, 0, 0.1));
    // Both pads in series with the seal take up to 2 k/pad_first of the slope, u(p) gives some
    // back.
    const double give = 2 * disc.stiffness / sound.field("front_left.pad_first");
    for (int i : {1, 2})
        CHECK(near((torque[i] - torque[i - 1]) / (p[i] - p[i - 1]), 2 * disc.lever * disc.area, 0,
                   give));
}

/// Lesson, rest, and a second, slow stroke, with and without the valve.
constexpr double kSecond = 12, kEnd = kSecond + 120;
Played two_strokes(double pressure, bool valve, const std::vector<std::string>& sets) {
    Scenario s = lesson(sets);
    s.changes.push_back({"front_residual", "holding", pressure, 0, 0});
    if (!valve) s = intact(s);
    s.foot.time.insert(s.foot.time.end(), {kSecond, kEnd});
    s.foot.value.insert(s.foot.value.end(), {0, 250});
    s.duration = kEnd;
    return play(s);
}

/// What the parts' own laws say the circuit holds more at rest with the valve than without, apart
/// from the calipers' pistons [m3]: walls, air, the rod of the hold-off valve.
double else_ready(const Played& with, const Played& without) {
    const double p = with.at("front_left.pressure", kSecond),
                 p0 = without.at("front_left.pressure", kSecond);
    double ready =
        circle(with.field("hold_off.rod_diameter")) *
        (with.at("hold_off.rod_travel", kSecond) - without.at("hold_off.rod_travel", kSecond));
    for (const PartSpec& spec : with.hardware.parts)
        if (spec.name == "left_hose" || spec.name == "right_hose") {
            const auto part = spec.kind->make(spec.values, Surroundings{});
            for (int port : {0, 1}) {
                Walls walls;
                walls.add(part->wall(port));
                ready += walls.stretch(p) - walls.stretch(p0);
            }
        }
    double air = 0;
    for (const char* at : {"front_residual.outlet", "front_pipe.outlet", "left_pipe.inlet",
                           "left_pipe.outlet", "right_pipe.outlet", "front_left", "front_right"})
        air += without.at(std::string(at) + ".free_air", kSecond);
    return ready +
           air * kStandardPressure * (1 / (p0 + kStandardPressure) - 1 / (p + kStandardPressure));
}

} // namespace

TEST_CASE("residual valve in the disc circuit: 0.9-1.0 of its pressure stays after a slow release, "
          "0.3-1.0 after a fast one") {
    const Played slow = play(load(kLesson));
    check_own_expectations(slow);
    const double given = slow.field("front_residual.holding"), band = 50; // Pa, of its guard
    CHECK(slow.residual("front_residual.held_back") >= 0.9 * given);
    CHECK(slow.residual("front_residual.held_back") <= given + band);
    for (const double release : {0.02, 0.05, 0.1, 0.2, 0.5}) {
        Scenario s = lesson({});
        s.foot.time.back() = s.foot.time[s.foot.time.size() - 2] + release;
        s.duration = s.foot.time.back() + 3;
        const Played fast = play(s);
        MESSAGE("let go in " << release
                             << " s: " << fast.residual("front_residual.held_back") / given);
        CHECK(fast.residual("front_residual.held_back") >= 0.3 * given);
        CHECK(fast.residual("front_residual.held_back") <= given + band);
    }
}

TEST_CASE(
    "residual valve in the disc circuit: what is set of a valve that is not fitted is no event") {
    const auto told = [](const Played& run) {
        std::vector<std::string> texts;
        for (const Event& e : run.summary.events)
            if (e.part == "front_residual" && e.time == 0) texts.push_back(e.text);
        return texts;
    };
    CHECK(told(play(load(kLesson))) ==
          std::vector<std::string>{"holding becomes", "fitted becomes yes"});
    CHECK(told(play(intact(load(kLesson)))).empty());
    // Taken out during the run: that is told, and what is set afterwards is not.
    Scenario s = lesson({});
    s.changes.push_back({"front_residual", "fitted", 0, 8, 0});
    s.changes.push_back({"front_residual", "holding", 100e3, 9, 0});
    std::vector<std::string> later;
    for (const Event& e : play(s).summary.events)
        if (e.part == "front_residual" && e.time >= 8 &&
            e.text.find("becomes") != std::string::npos)
            later.push_back(e.text);
    CHECK(later == std::vector<std::string>{"fitted becomes no"});
}

TEST_CASE("residual valve in the disc circuit: drag is 2 mu r max(0, p A_c - k g), plain seal") {
    const std::vector<std::string> sets = plain_seal();
    const Played sound = play(intact(lesson(sets)));
    const Disc disc(sound);
    const double g = sound.residual("front_left.clearance");
    // Here the general form below is the textbook's, with nothing added.
    CHECK(near(disc.threshold(g), disc.stiffness * g / disc.area, 0, 1e-9));
    check_drag(sets);
}

TEST_CASE("residual valve in the disc circuit: drag of the car's own calipers, whose seals shift") {
    check_drag({});
}

TEST_CASE("residual valve in the disc circuit: the first stroke is shorter by R (sum of A_c) "
          "min(p A_c/k, g)/A") {
    // Where nothing but the pistons stands ready: hoses that do not swell, hardly any air, a
    // hold-off valve whose rod still rests.
    std::vector<std::string> sets = plain_seal();
    for (const char* set : {"left_hose.swelling=0", "right_hose.swelling=0",
                            "fluid.free_air=0.02 %", "hold_off.shut=300 kPa"})
        sets.push_back(set);
    for (const double share : {0.5, 1.5}) { // of k g/A_c: one for each branch of the minimum
        const Played sound = play(intact(lesson(sets)));
        const Disc disc(sound);
        const double g = sound.residual("front_left.clearance");
        const double pressure = share * disc.threshold(g);
        const Played with = two_strokes(pressure, true, sets),
                     without = two_strokes(pressure, false, sets);
        const double A = master_area(with), R = with.field("pedal.ratio");
        const double p =
            with.at("front_left.pressure", kSecond) - without.at("front_left.pressure", kSecond);
        const double further = std::min(p * disc.area / disc.stiffness, g);
        const double shorter = without.at("pedal.travel", kEnd) - with.at("pedal.travel", kEnd);
        MESSAGE(share << " of k g/A_c: shorter by " << (shorter * 1e3) << " mm, formula "
                      << (R * 2 * disc.area * further / A * 1e3));
        CHECK(near(with.at("front_left.piston_travel", kSecond) -
                       without.at("front_left.piston_travel", kSecond),
                   further, 0, share < 1 ? 0.01 : 0.1)); // pads give way once they touch
        CHECK(near(shorter, R * 2 * disc.area * further / A, 0, 0.1));
    }
}

TEST_CASE(
    "residual valve in the disc circuit: the first stroke of the car as it is, with hoses, air "
    "and the hold-off valve's rod") {
    const double pressure = play(load(kLesson)).field("front_residual.holding");
    const Played with = two_strokes(pressure, true, {}), without = two_strokes(pressure, false, {});
    const Disc disc(with);
    const double g = without.at("front_left.clearance", kSecond),
                 p = with.at("front_left.pressure", kSecond);
    const double A = master_area(with), R = with.field("pedal.ratio");
    REQUIRE(p > disc.threshold(g)); // the pads touch: the minimum is g
    const double further = with.at("front_left.piston_travel", kSecond) -
                           without.at("front_left.piston_travel", kSecond);
    const double formula = R * 2 * disc.area * g / A,
                 whole = R * (2 * disc.area * further + else_ready(with, without)) / A;
    const double shorter = without.at("pedal.travel", kEnd) - with.at("pedal.travel", kEnd);
    MESSAGE("shorter by " << (shorter * 1e3) << " mm; pistons alone " << (formula * 1e3)
                          << " mm, with all that stands ready " << (whole * 1e3));
    CHECK(shorter > formula);
    CHECK(near(shorter, whole, 0, 0.03));
}
