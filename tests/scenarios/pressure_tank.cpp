// A pressure bleeder's tank with a content: it keeps the reservoirs filled, its pressure falls by
// Boyle's law, and empty it lets its air follow.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The Marten's rear left screw open under the tank.
Scenario bled(const std::vector<std::string>& tank, double duration) {
    std::vector<std::string> sets{"tank.pressure=1 bar", "rear_left_bleeder.opening=3 mm"};
    sets.insert(sets.end(), tank.begin(), tank.end());
    Scenario s = plain(sets);
    s.foot = force({{0, 0}});
    s.duration = duration;
    s.sample = 0.05;
    return s;
}
const std::vector<std::string> kSmall{"tank.content=150 cm3", "tank.cushion=300 cm3",
                                      "tank.charge=1 bar"};

} // namespace

TEST_CASE("tank: the lesson's own expectations") {
    check_own_expectations(play(load("bleeding_tank_runs_dry")));
}

TEST_CASE("tank: its air follows Boyle's law while its content leaves, and the account closes") {
    const Played run = play(bled(kSmall, 40));
    const double outside = kStandardPressure, whole = (outside + 1e5) * 300e-6;
    double last = HUGE_VAL;
    for (const double t : {0.0, 10.0, 20.0, 30.0, 40.0}) {
        const double content = run.at("tank.content", t), p = run.at("tank.pressure", t);
        CHECK(near((p + outside) * (300e-6 + 150e-6 - content), whole, 0, 1e-9));
        CHECK(p < last);
        last = p;
        // What the tank gave came from outside, and is in reservoirs, brake and jar.
        CHECK(near(run.at("tank.outside.fluid", t), content - 150e-6, 1e-13, 0));
        // It keeps the reservoir that gives where it feeds it: half a cubic centimetre at 10/s.
        if (t > 15)
            CHECK(near(run.at("master.secondary_reservoir.fluid", t), run.field("tank.fill"), 1e-6,
                       0));
    }
    CHECK(run.at("tank.content", 40) < 100e-6);
    // The primary circuit takes nothing and its reservoir stays as it was.
    CHECK(near(run.at("master.primary_reservoir.fluid", 40), 110e-6, 2e-6, 0));
    // Flow falls with the pressure, which all of it has to come through pipes: laminar.
    const auto flow = [&](double t) { return run.at("rear_left_bleeder.flow", t); };
    const double head = run.field("fluid.density") * 9.80665 *
                        (run.field("master.reservoir_height") - run.field("rear_left.height"));
    CHECK(near(flow(39) / flow(15),
               (run.at("tank.pressure", 39) + head) / (run.at("tank.pressure", 15) + head), 0,
               0.05));
}

TEST_CASE("tank: empty it blows air into the reservoir and the brake, and says so before") {
    const Played run = play(bled(kSmall, 190));
    const double low = run.when("tank: tank runs low");
    REQUIRE(low < 190);
    CHECK(near(run.at("tank.content", low), 50e-6, 1e-8, 0));
    CHECK(run.at("tank.content", 190) < 2e-6);
    CHECK(run.at("tank.content", 190) > -1e-9);
    CHECK(run.at("master.secondary_reservoir.fluid", 190) < 2e-6);
    CHECK(run.at("rear_left_bleeder.outside.air", 190) > 1e-6);
    CHECK(run.at("rear_left_bleeder.outside.air", low) < 0.5e-6); // the fluid's own
    // Pressed out, the cushion has the pressure that is left: (1 atm + 1 bar) 300/450.
    CHECK(near(run.at("tank.pressure", 190),
               (kStandardPressure + 1e5) * 300 / (450 - 0.0) - kStandardPressure, 1.5e3, 0));
    CHECK(std::any_of(
        run.summary.cautions.begin(), run.summary.cautions.end(),
        [](const std::string& c) { return c.find("The tank ran low") != std::string::npos; }));
}

TEST_CASE("tank: without a stated content it is as large as need be, and feeds nothing") {
    const Played run = play(bled({}, 20));
    CHECK(run.at("tank.pressure", 20) == 1e5);
    CHECK(run.at("tank.outside.fluid", 20) == 0);
    CHECK(near(run.at("master.secondary_reservoir.fluid", 20),
               run.at("master.secondary_reservoir.fluid", 0) -
                   (run.at("rear_left_bleeder.outside.fluid", 20) -
                    run.at("rear_left_bleeder.outside.fluid", 0)),
               0.2e-6, 0));
    for (const std::string& caution : run.summary.cautions)
        CHECK(caution.find("tank ran low") == std::string::npos);
}

TEST_CASE("tank: no content that its cushion cannot press out") {
    Hardware car = plain().hardware;
    complete(car);
    // 1 bar x 3 litres over 1 atm: 2.96 litres.
    apply(car, {"tank", "content", 2.9e-3, 0, 0});
    CHECK_THROWS_AS(apply(car, {"tank", "content", 3.0e-3, 0, 0}), std::invalid_argument);
}
