// ctest: physics,slow 300
// Brakes at the wheels: what each of their fields and faults shows, in figures that a workshop
// reads.
#include "scenario.hpp"
#include "system/faults.hpp"
#include "wheel/shoes.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario plain(const std::vector<std::string>& sets = {}) {
    Scenario s = load("ordinary_stop", sets);
    s.expectations.clear();
    return s;
}

Played with_fault(const char* kind, const char* at, double size,
                  const std::vector<std::string>& sets = {}) {
    Scenario s = plain(sets);
    REQUIRE(apply_fault(s, {"fault", find_fault(kind), at, size, 0, 0}).empty());
    return play(s);
}

/// Travel of the pad that a volume costs.
double pad_travel(const Played& run, double volume) {
    return run.field("pedal.ratio") * volume / master_area(run);
}

} // namespace

TEST_CASE("a stuck parking cable: the drum drags by shoe factor x radius x what springs leave") {
    const double cable = 400;
    const Played stuck = with_fault("parking_cable_stuck", "rear_left", cable);
    // At rest the cable works against the springs alone, at the clearance and the lining's give.
    const double area = circle(stuck.field("rear_left.cylinder"));
    const double spring = stuck.field("rear_left.push_out") * area *
                              (1 - stuck.field("rear_left.cup_friction_rise")) -
                          stuck.field("rear_left.cup_friction") +
                          stuck.field("rear_left.spring_rate") * stuck.field("rear_left.clearance");
    const double lever =
        stuck.field("rear_left.shoe_factor") * stuck.field("rear_left.drum_radius");
    const double drag = stuck.at("rear_left.torque", 0.15); // before the stop
    CHECK(near(drag, lever * (cable - spring), 0, 0.01));
    // After it the pistons hold the shoes out by their cups' friction and the residual pressure.
    const double held_out =
        stuck.field("rear_left.cup_friction") + stuck.residual("rear_left.pressure") * area;
    CHECK(stuck.residual("rear_left.torque") >= 0.999 * drag);
    CHECK(stuck.residual("rear_left.torque") <= drag + lever * held_out);
    CHECK(stuck.residual("rear_left.clearance") == 0);
    CHECK(near(stuck.residual("rear_right.torque"), 0, 0.1, 0));
    // The pistons still have their own way to go: the pedal tells nothing, and the torques add.
    const Played sound = play(plain());
    CHECK(near(stuck.held("pedal.travel"), sound.held("pedal.travel"), 0.5e-3, 0));
    CHECK(near(stuck.held("rear_left.torque") - sound.held("rear_left.torque"), lever * cable, 0,
               0.05));
}

TEST_CASE("a parking brake put on and let off moves shoes and no fluid") {
    Scenario s = plain();
    s.foot = force({{0, 0}, {5, 0}});
    s.duration = 5;
    s.changes = {{"rear_left", "parking_brake", 600, 0.5, 1},
                 {"rear_left", "parking_brake", 0, 3, 1}};
    const Played run = play(s);
    CHECK(run.at("rear_left.torque", 2.5) > 50);
    CHECK(near(run.at("rear_left.pressure", 2.5), run.at("rear_left.pressure", 0.4), 1e3, 0));
    CHECK(near(run.at("rear_left.torque", 5), 0, 0.01, 0));
    CHECK(near(run.at("rear_left.clearance", 5), run.at("rear_left.clearance", 0.4), 1e-6, 0));
    CHECK(run.count("cable holds the shoes") == 1);
}

TEST_CASE("worn linings cost 2 A x wear of fluid and its travel; an adjuster takes it back") {
    const double wear = 1e-3;
    const Played sound = play(plain());
    const Played worn = with_fault("worn_linings", "rear_left", wear);
    const double area = circle(worn.field("rear_left.cylinder"));
    CHECK(near(worn.held("pedal.travel") - sound.held("pedal.travel"),
               pad_travel(worn, 2 * area * wear), 0, 0.05));
    CHECK(near(worn.residual("rear_left.clearance") - sound.residual("rear_left.clearance"), wear,
               0.05e-3, 0));

    // Stop after stop the adjuster brings the travel from home back to what it allows, and further
    // stops change nothing: the pedal is back too.
    Scenario s = plain({"rear_left.adjuster=yes"});
    std::vector<std::pair<double, double>> points;
    for (int i = 0; i < 5; ++i)
        for (const auto& [t, f] : {std::pair{0.2, 0.0}, {1.7, 300.0}, {2.9, 300.0}, {3.7, 0.0}})
            points.emplace_back(5 * i + t, f);
    points.insert(points.begin(), {0, 0});
    s.foot = force(points);
    s.duration = 25;
    s.changes = {{"rear_left", "wear", wear, 0, 0}};
    const Played adjusted = play(s);
    s.changes.clear();
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "rear_left") part.values.set("adjuster", 0);
    const Played usual = play(s);
    CHECK(near(adjusted.at("pedal.travel", 2.9), worn.held("pedal.travel"), 1e-3, 0));
    // What the last stop moves the shoes from home, which they reach but for the cups' friction and
    // the residual pressure on the stop's stiffness.
    const double short_of =
        (adjusted.field("rear_left.cup_friction") + adjusted.at("rear_left.pressure", 20) * area) /
        adjusted.field("rear_left.stop_stiffness");
    const double home = adjusted.at("rear_left.piston_travel", 20);
    const double most = adjusted.highest_between("rear_left.piston_travel", 20, 25).first;
    const double allowed = adjusted.field("rear_left.adjuster_travel");
    CHECK(most - home <= allowed + 0.01e-3);
    CHECK(most - home >= allowed - short_of);
    // The pedal gains what the home has come out; a usual drum tells what a first stop costs.
    const auto gained = [](const Played& run) {
        return run.at("pedal.travel", 2.9) - run.at("pedal.travel", 22.9);
    };
    const auto out = [](const Played& run) {
        return run.at("rear_left.piston_travel", 20) - run.at("rear_left.piston_travel", 0.1);
    };
    CHECK(out(adjusted) - out(usual) > 0.5 * wear);
    CHECK(near(gained(adjusted) - gained(usual),
               pad_travel(adjusted, 2 * area * (out(adjusted) - out(usual))), 0, 0.03));
    CHECK(adjusted.at("rear_left.clearance", 24.9) > 0.1e-3); // not too close
    CHECK(near(adjusted.at("rear_left.torque", 24.9), 0, 0.1, 0));
    // Without wear a good clearance is left alone.
    CHECK(play(plain({"rear_left.adjuster=yes"})).count("adjuster takes up") == 0);
}

TEST_CASE("a lining of another friction: the drum's torque follows the shoe factor of it") {
    const std::vector<std::string> sets = {"rear_left.shoes=leading_trailing",
                                           "rear_right.shoes=leading_trailing"};
    const Played sound = play(plain(sets));
    double last = 0;
    for (const double mu : {0.2, 0.3, 0.4}) {
        const Played wrong = with_fault("wrong_lining_friction", "rear_left", mu, sets);
        const Shoes shoes(Shoes::leading_trailing, wrong.field("rear_left.drum_radius"),
                          wrong.field("rear_left.anchor_radius"), wrong.field("rear_left.tip_arm"),
                          wrong.field("rear_left.lining_from"), wrong.field("rear_left.lining_to"));
        CHECK(near(wrong.held("rear_left.torque") / sound.held("rear_left.torque"),
                   shoes.both(mu) / shoes.both(0.35), 0, 0.01));
        CHECK(near(wrong.held("rear_right.torque"), sound.held("rear_right.torque"), 0, 0.01));
        CHECK(near(wrong.held("pedal.travel"), sound.held("pedal.travel"), 0.1e-3, 0));
        CHECK(wrong.held("rear_left.torque") > last);
        last = wrong.held("rear_left.torque");
    }
}

TEST_CASE("half as much friction again brakes as half as much area (common practice, no source)") {
    // Torque 2 mu A r (p - seal's threshold): both factors 1.5.
    const auto torque = [](const std::vector<std::string>& sets) {
        return play(plain(sets)).held("front_left.torque");
    };
    const double usual = torque({});
    const double friction = torque({"front_left.friction=0.57"});
    const double area = torque({"front_left.piston=62.462 mm"}); // 51 mm x root of 1.5
    CHECK(near(friction, 1.5 * usual, 0, 0.005));
    // The larger piston takes more stroke, and less of its force goes into the seal: 200 N and
    // 50 N/MPa of some 8 kN.
    CHECK(near(area, friction, 0, 0.03));
    // Two pistons with the area of one, and an opposed caliper with that area on each side.
    CHECK(near(torque({"front_left.piston=36.062 mm", "front_left.pistons=2"}), usual, 0, 0.001));
    // Its pistons go half as far, so that the seals may hold back less than they could.
    const Played fixed = play(plain({"front_left.mount=opposed"}));
    const double kept =
        fixed.field("front_left.pin_friction") +
        2 * (fixed.field("front_left.seal_grip") +
             fixed.field("front_left.seal_grip_rise") * fixed.held("front_left.pressure"));
    const double lever = fixed.field("front_left.friction") * fixed.field("front_left.radius");
    CHECK(fixed.held("front_left.torque") >= usual);
    CHECK(fixed.held("front_left.torque") <= usual + lever * kept);
}

TEST_CASE("opposed pistons: each pad by its own seal, twice the fluid for half the way") {
    const Played floating = play(plain()), opposed = play(plain({"front_left.mount=opposed"}));
    CHECK(near(opposed.field("front_left.clearance_light"),
               2 * opposed.field("front_left.clearance_hard"), 1e-3, 0));
    // One piston goes the clearance and the give of both pads, two go half of it each: the fluid is
    // the same but for the second seal, which lets its piston out alone.
    CHECK(near(opposed.peak("front_left.piston_travel"),
               0.5 * floating.peak("front_left.piston_travel"), 0.02e-3, 0));
    CHECK(near(opposed.held("pedal.travel"), floating.held("pedal.travel"), 0.5e-3, 0));
    // Pins that do not exist cannot seize.
    const Played seized =
        with_fault("pins_seized", "front_left", 4000, {"front_left.mount=opposed"});
    CHECK(near(seized.held("front_left.torque"), opposed.held("front_left.torque"), 0, 1e-6));
}

TEST_CASE("an uneven disc: pressure, torque and pedal pulsate once a turn, less than in proportion "
          "once the pedal moves") {
    // Driven slowly against the brakes, so that line and hold-off valve hardly hinder the flow (at
    // speed they do, with its square, and the swing grows again).
    const auto uneven = [](double size) {
        Scenario s = plain({"car.start_speed=10 m/s", "car.hold_speed=10 m/s",
                            "car.drive_force=20000 N", "car.adhesion=1.3"});
        s.foot = force({{0, 0}, {1, 300}, {5, 300}}); // the hold-off valve is fully open
        s.duration = 5;
        REQUIRE(
            apply_fault(s, {"uneven", find_fault("thickness_variation"), "front_left", size, 0, 0})
                .empty());
        return play(s);
    };
    const auto swing = [](const Played& run, const char* channel) {
        return run.highest_between(channel, 2, 5).first - run.lowest_between(channel, 2, 5).first;
    };
    const Played even = uneven(0), slight = uneven(20e-6), bad = uneven(400e-6);
    const double less = swing(slight, "front_left.pressure"),
                 more = swing(bad, "front_left.pressure");
    MESSAGE("swings: " << swing(even, "front_left.pressure") << ", " << less << ", " << more
                       << " Pa, pedal " << swing(even, "pedal.travel") << " "
                       << swing(slight, "pedal.travel") << " " << swing(bad, "pedal.travel"));
    CHECK(less > 3 * swing(even, "front_left.pressure"));
    CHECK(more > 2 * less);
    CHECK(more < 0.7 * 20 * less);
    CHECK(swing(bad, "pedal.travel") > 3 * swing(slight, "pedal.travel"));
    CHECK(swing(bad, "front_left.torque") > swing(slight, "front_left.torque"));
    // Turns in a second, by the torque's way up through its middle.
    const std::vector<double> torque = bad.of("front_left.torque");
    const double middle = 0.5 * (bad.highest_between("front_left.torque", 2, 5).first +
                                 bad.lowest_between("front_left.torque", 2, 5).first);
    std::vector<double> up;
    for (std::size_t i = 1; i < torque.size(); ++i)
        if (bad.trace.time[i] > 2 && torque[i - 1] < middle && torque[i] >= middle)
            up.push_back(bad.trace.time[i]);
    REQUIRE(up.size() >= 3);
    const double turns = static_cast<double>(up.size() - 1) / (up.back() - up.front());
    CHECK(near(turns, bad.at("car.front_left_speed", 0.5 * (up.front() + up.back())) / (2 * M_PI),
               0, 0.05));
}

TEST_CASE("a disc that only runs out of true moves the floating housing, and little pressure") {
    const auto swing = [](const char* kind) {
        Scenario s = plain({"car.start_speed=10 m/s", "car.hold_speed=10 m/s",
                            "car.drive_force=20000 N", "car.adhesion=1.3"});
        s.foot = force({{0, 0}, {1, 300}, {5, 300}}); // the hold-off valve is fully open
        s.duration = 5;
        REQUIRE(apply_fault(s, {"disc", find_fault(kind), "front_left", 50e-6, 0, 0}).empty());
        const Played run = play(s);
        return run.highest_between("front_left.pressure", 2, 5).first -
               run.lowest_between("front_left.pressure", 2, 5).first;
    };
    CHECK(swing("run_out") < 0.3 * swing("thickness_variation"));
}

TEST_CASE(
    "hub play pushes the piston back where the housing cannot follow: a longer first stroke") {
    const double push = 0.6e-3, pins = 1500;
    const auto run = [&](bool pushed, double friction) {
        Scenario s = plain();
        s.changes.push_back({"front_left", "pin_friction", friction, 0, 0});
        s.foot = force({{0, 0}, {2, 0}, {3.5, 300}, {4.5, 300}});
        s.duration = 4.5;
        if (pushed)
            s.changes.insert(s.changes.end(), {{"front_left", "hub_deflection", push, 0.3, 0.5},
                                               {"front_left", "hub_deflection", 0, 1, 0.5}});
        return play(s);
    };
    const Played sound = run(false, pins), knocked = run(true, pins);
    const double k = sound.field("front_left.seal_stiffness");
    const double grip = sound.field("front_left.seal_grip");
    // Permanent: what the push exceeds the inner pad's gap and the seal's stretch by. The give of
    // pads and seized pins under the grip force takes some too.
    const double lost = push - 0.5 * sound.field("front_left.clearance") - grip / k;
    const double back =
        sound.at("front_left.piston_travel", 1.9) - knocked.at("front_left.piston_travel", 1.9);
    CHECK(near(back, lost, 0.06e-3, 0));
    CHECK(back > 0.2e-3);
    const double area = circle(sound.field("front_left.piston"));
    CHECK(near(knocked.held("pedal.travel") - sound.held("pedal.travel"),
               pad_travel(sound, area * back), 0, 0.1));
    // Free pins let the housing follow the disc: nothing is knocked back.
    const Played loose = run(true, 30), free = run(false, 30);
    CHECK(near(loose.at("front_left.piston_travel", 1.9), free.at("front_left.piston_travel", 1.9),
               0.02e-3, 0));
    Scenario s = plain();
    REQUIRE(apply_fault(s, {"hub", find_fault("hub_play"), "front_left", 0.2e-3, 1, 0}).empty());
    CHECK(play(s).summary.complete);
}

TEST_CASE("worn pads leave clearance and pedal as they were, and more fluid behind the piston") {
    const Played sound = play(plain()), worn = with_fault("worn_pads", "front_left", 10e-3);
    CHECK(near(worn.residual("front_left.clearance"), sound.residual("front_left.clearance"),
               0.005e-3, 0));
    CHECK(near(worn.held("front_left.torque"), sound.held("front_left.torque"), 0, 0.002));
    // Only that fluid's own give is new: A x wear x p/K, K 1.5-2 GPa with its air.
    const double volume = circle(worn.field("front_left.piston")) * 10e-3;
    const double longer = worn.held("pedal.travel") - sound.held("pedal.travel");
    CHECK(longer > 0.5 * pad_travel(worn, volume * 4e6 / 2e9));
    CHECK(longer < 4 * pad_travel(worn, volume * 4e6 / 1.5e9));
}

TEST_CASE("pads of a wrong friction: torque in proportion on that side, pedal as before") {
    const Played sound = play(plain());
    for (const double mu : {0.19, 0.57}) {
        const Played wrong = with_fault("wrong_friction", "front_left", mu);
        CHECK(near(wrong.held("front_left.torque") / sound.held("front_left.torque"), mu / 0.38, 0,
                   0.005));
        CHECK(near(wrong.held("front_right.torque"), sound.held("front_right.torque"), 0, 0.005));
        CHECK(near(wrong.held("pedal.travel"), sound.held("pedal.travel"), 0.05e-3, 0));
    }
}
