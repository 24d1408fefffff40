// A car that rolls backward: shoes that lead trail and the other way round; discs do not care.
#include "symptoms.hpp"
#include "wheel/shoes.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Driven against the brakes at 36 km/h, forward or backward.
Scenario driven(double way, const std::vector<std::string>& sets) {
    const std::string speed = way > 0 ? "10 m/s" : "-10 m/s";
    std::vector<std::string> all{"car.start_speed=" + speed, "car.hold_speed=" + speed,
                                 "car.drive_force=20000 N", "car.adhesion=1.3"};
    all.insert(all.end(), sets.begin(), sets.end());
    Scenario s = plain(all);
    s.foot = force({{0, 0}, {1, 200}, {3, 200}});
    s.duration = 3;
    return s;
}

} // namespace

TEST_CASE("backward: each kind of shoes brakes by the factor of that way") {
    const double mu = 0.35;
    for (const char* kind : {"leading_trailing", "two_leading", "duo_servo"}) {
        CAPTURE(std::string(kind));
        const std::vector<std::string> sets{std::string("rear_left.shoes=") + kind};
        const Played on = play(driven(1, sets)), back = play(driven(-1, sets));
        const double r = on.field("rear_left.drum_radius"), a = on.field("rear_left.anchor_radius"),
                     c = on.field("rear_left.tip_arm");
        // One shoe by the mid-point rule: B = a int sin^2, A = int sin (r - a cos), D = int sin;
        // drum force over tip force is mu D c/(B -+ mu A).
        double B = 0, friction = 0, D = 0;
        const int n = 20000;
        const double from = on.field("rear_left.lining_from"),
                     step = (on.field("rear_left.lining_to") - from) / n;
        for (int i = 0; i < n; ++i) {
            const double t = from + (i + 0.5) * step;
            B += a * std::sin(t) * std::sin(t) * step;
            friction += std::sin(t) * (r - a * std::cos(t)) * step;
            D += std::sin(t) * step;
        }
        const double leads = mu * D * c / (B - mu * friction),
                     trails = mu * D * c / (B + mu * friction);
        const std::string name = kind;
        const double forward = name == "leading_trailing" ? leads + trails
                               : name == "two_leading"    ? 2 * leads
                                                          : leads + leads * (c - a + r * leads) / a;
        const double backward = name == "two_leading" ? 2 * trails : forward;
        const auto factor = [&](const Played& run) {
            return run.held("rear_left.torque") / (r * run.held("rear_left.tip_force"));
        };
        CHECK(near(factor(on), forward, 0, 1e-6));
        CHECK(near(factor(back), backward, 0, 1e-6));
        CHECK(near(back.held("front_left.torque"), on.held("front_left.torque"), 0, 1e-3));
        CHECK(on.held("rear_left_drum.temperature") > 293.15);
        CHECK(back.held("rear_left_drum.temperature") > 293.15 + 1);
    }
}

TEST_CASE("backward: a stated factor may have another for the way back") {
    const std::vector<std::string> sets{"rear_left.shoe_factor=3.2",
                                        "rear_left.shoe_factor_backward=1.1"};
    const Played on = play(driven(1, sets)), back = play(driven(-1, sets));
    CHECK(near(back.held("rear_left.torque") / on.held("rear_left.torque"), 1.1 / 3.2, 0, 2e-3));
    CHECK(near(back.held("rear_right.torque"), on.held("rear_right.torque"), 0, 2e-3));
}

TEST_CASE("backward: a car that brakes both ways alike stops in the same distance, wheels locking "
          "alike") {
    const auto stop = [](double way, double foot, const char* adhesion) {
        const std::string speed = way > 0 ? "8 m/s" : "-8 m/s";
        Scenario s = plain({"car.start_speed=" + speed, std::string("car.adhesion=") + adhesion,
                            // Axle loads change with the way; level and centred they do alike.
                            "car.front_share=0.5", "car.centre_height=0.1 m"});
        s.foot = force({{0, 0}, {0.5, foot}, {9, foot}});
        s.duration = 9;
        return play(s);
    };
    const Played on = stop(1, 200, "1.2"), back = stop(-1, 200, "1.2");
    CHECK(on.summary.of("car.distance").last > 3);
    CHECK(near(back.summary.of("car.distance").last, -on.summary.of("car.distance").last, 0, 0.02));
    CHECK(back.peak("car.deceleration") > 1);
    CHECK(near(back.peak("car.deceleration"), on.peak("car.deceleration"), 0, 0.02));
    CHECK(on.count("car: car stands still") == 1);
    CHECK(back.count("car: car stands still") == 1);
    CHECK(back.count("wheel locks") == 0);
    // On ice all four slide, backward as well.
    CHECK(stop(1, 300, "0.08").count("wheel locks") == 4);
    CHECK(stop(-1, 300, "0.08").count("wheel locks") == 4);
}
