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
