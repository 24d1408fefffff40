// A changed valve, old against new: what the check finds against what follows by hand.
#include "scenario.hpp"

#include "runner/valve_answers.hpp"
#include "study/setup.hpp"
#include "study/valve_check.hpp"
#include "unit/command.hpp"

using namespace pedalbench;
using namespace pedalbench::test;
using namespace pedalbench::study;

namespace {

Scenario car(const std::string& name, const std::vector<std::string>& sets = {}) {
    return load("hardware/" + name, sets);
}

ValveCheck check(const Scenario& was, const Scenario& is) {
    InTurn in_turn;
    OutcomeSink unheard;
    ValveCheck check = check_valve(was, is, in_turn, unheard);
    REQUIRE_MESSAGE(check.problem.empty(), check.problem);
    for (const Driven& run : check.drives)
        REQUIRE_MESSAGE(run.problem.empty(), run.problem);
    return check;
}

double field(const ValveCheck& check, std::size_t of, const std::string& part, const char* name) {
    return (*find_values(check.cars[of], part))[name];
}

/// The foot for so much more pressure in the cylinder, by lever, area and cups of one piston.
double foot_for(const ValveCheck& check, double pressure) {
    return pressure * circle(field(check, 0, "master", "bore")) *
           (1 + field(check, 0, "master", "cup_friction_rise")) / field(check, 0, "pedal", "ratio");
}

const ValveFigure& figure(const ValveRange& range, const std::string& what) {
    for (const ValveFigure& f : range)
        if (f.what == what) return f;
    FAIL(what);
    return range.front();
}

const BledAxle& bled(const ValveCheck& check, std::size_t of, double tank, bool held, Axle axle) {
    for (const BledCar& b : check.answer[of].bled)
        if (near(b.tank, tank, 1, 0) && b.held == held) return b.axle[axle];
    FAIL("not bled so");
    return check.answer[of].bled.front().axle[axle];
}

/// What the run shows is what the fields state.
void check_agreement(const ValveRange& range) {
    for (const ValveFigure& f : range) {
        CAPTURE(f.what);
        CAPTURE(f.stated);
        CAPTURE(f.found);
        if (std::isnan(f.stated)) continue;
        if (f.dimension == Dimension::pressure)
            CHECK(near(f.found, f.stated, 5e3, 0.01));
        else
            CHECK(near(f.found, f.stated, 0, 0.01));
    }
}

} // namespace

TEST_CASE("a plate spring 1.6 times as strong, and no residual valve behind: each changes what it "
          "should") {
    const Scenario was = car("marten");
    const double spring = (*find_values(car_at_start(was), "hold_off"))["plate_spring"];
    const std::vector<std::string> with = {
        "hold_off.plate_spring=" + std::to_string(1.6 * spring) + " N", "rear_residual.fitted=no"};
    const Scenario is = car("marten", with);
    const ValveChange change = valve_change(was, is);
    CHECK(change.valves == std::vector<std::string>{"rear_residual", "hold_off"});
    CHECK(change.others.empty());
    const ValveCheck c = check(was, is);
    for (std::size_t i = 0; i < 2; ++i)
        for (const ValveRange& range : c.answer[i].range)
            check_agreement(range);

    // A1 open = F + A2 shut, full = F/(A1 - A2).
    const ValveRange &a = c.answer[0].range[1], &b = c.answer[1].range[1];
    const double a1 = circle(field(c, 0, "hold_off", "plate_diameter")),
                 a2 = field(c, 0, "hold_off", "outlet_area"), higher = 0.6 * spring / a1;
    CHECK(near(figure(b, "opens at").found - figure(a, "opens at").found, higher, 10e3, 0));
    CHECK(near(figure(b, "full from").found, 1.6 * figure(a, "full from").found, 0, 0.01));

    // The discs begin right when the plate opens. The foot has to give as much more, over the
    // lever; the cups of one piston grow with the pressure, and the springs give a little more.
    const PedalFeel &feel = c.answer[0].feel, &felt = c.answer[1].feel;
    CHECK(near(felt.begins[kFrontAxle] - feel.begins[kFrontAxle], foot_for(c, higher), 0.5, 0.06));
    // The rear waits for nobody; its springs are the same.
    CHECK(near(felt.begins[kRearAxle], feel.begins[kRearAxle], 0.5, 0));

    // The residual valve kept `holding` above the reservoir's head; now only the head is left.
    CHECK(near(feel.left[kRearAxle] - felt.left[kRearAxle], field(c, 0, "rear_residual", "holding"),
               4e3, 0));

    // On ice, by the brakes' laws at the tyres' peak: see lock_order.cpp. The rear comes to it
    // at 1.5 MPa; the front needs 0.56 MPa behind its valve, where the old one gives (1.5 -
    // 0.79)/0.767 = 0.92 MPa and the new one, F/A1 = 1.27 MPa, (1.5 - 1.27)/0.767 = 0.3.
    CHECK(c.answer[0].lock[0].first() == LockOrder::First::front);
    CHECK(c.answer[1].lock[0].first() == LockOrder::First::rear);
    // Far above "full" nobody can tell: on the dry road 4.9 MPa lock the front. The new valve
    // is full at 1.6 x 3.4 = 5.4 MPa only, and holds off (1 - A2/A1) (5.4 - 4.9) MPa: 0.12 MPa.
    CHECK(c.answer[0].lock[1].first() == LockOrder::First::front);
    CHECK(c.answer[1].lock[1].first() == LockOrder::First::front);
    const AxleLock &x = c.answer[0].lock[1].axle[kFrontAxle],
                   &y = c.answer[1].lock[1].axle[kFrontAxle];
    CHECK(near(y.pressure[kFrontAxle], x.pressure[kFrontAxle], 0, 0.02));
    const auto held_off = [](const AxleLock& l) {
        return l.pressure[kRearAxle] - l.pressure[kFrontAxle];
    };
    CHECK(near(held_off(y) - held_off(x),
               (1 - a2 / a1) * (1.6 * field(c, 0, "hold_off", "full") - y.pressure[kFrontAxle]),
               30e3, 0));

    // By gravity 4.68 kPa drive the rear, of which the residual valve took its crack of 2 kPa:
    // 4.68/2.68 = 1.75 times as much, and more for its lip, which so little pressure hardly lifts.
    const double with_residual = bled(c, 0, 0, false, kRearAxle).flow;
    CHECK(bled(c, 1, 0, false, kRearAxle).flow > 1.75 * with_residual);
    CHECK(bled(c, 1, 0, false, kRearAxle).flow < 2.5 * with_residual);
    CHECK(near(bled(c, 1, 0, false, kFrontAxle).flow, bled(c, 0, 0, false, kFrontAxle).flow, 0,
               0.01));

    // The command says the same, on two threads.
    const std::string file = source_folder() + "/scenarios/hardware/marten.yaml";
    runner::CheckedValve said{{{{"old", "with the old valve", file, was.hardware.title, 1},
                                {"new", "with the new valve", "the same car", "", 2}}},
                              c,
                              runner::OutputUnits::metric()};
    said.cars[1].file = "the same car with " + with[0] + " and " + with[1];
    const Folder folder;
    REQUIRE(run(folder, {"valve", file, "--with", with[0], "--with", with[1], "--threads", "2",
                         "--plots", "none", "--out", "there"}) == 0);
    CHECK(folder.text("there/summary.json") == runner::valve_json(said));
    CHECK(folder.text("there/report.txt") == runner::valve_report(said));
    CHECK(folder.text("out").starts_with(runner::valve_report(said)));
}

TEST_CASE("a proportioning valve that no longer holds back, and a hold-off valve that shuts late: "
          "the rear locks first on a dry road, the front begins at once and can be bled") {
    const ValveCheck c = check(
        car("marten_van"), car("marten_van", {"rear_valve.knee=5.2 MPa", "hold_off.shut=40 psi"}));
    REQUIRE(c.valves == std::vector<std::string>{"hold_off", "rear_valve"});
    for (std::size_t i = 0; i < 2; ++i)
        for (const ValveRange& range : c.answer[i].range)
            check_agreement(range);

    // The lessons hard_stop_rear_valve and hard_stop_no_rear_valve, by their own sums: front with
    // the valve; and rear without it, from 4.5 MPa on.
    const LockOrder &x = c.answer[0].lock[1], &y = c.answer[1].lock[1];
    CHECK(x.first() == LockOrder::First::front);
    CHECK(y.first() == LockOrder::First::rear);
    CHECK(x.unlocked == std::vector<std::string>{"rear_left", "rear_right"});
    CHECK(near(y.axle[kRearAxle].pressure[kRearAxle], 4.9e6, 0.5e6, 0));
    CHECK(y.deceleration < x.deceleration);
    // Under the firm foot the old valve gives knee + slope (p - knee); while hoses creep its piston
    // stands still, until twice its friction is gone.
    const HeldFoot &a = c.answer[0].feel.held[2], &b = c.answer[1].feel.held[2];
    const double stuck = 2 * field(c, 0, "rear_valve", "piston_friction") /
                         circle(field(c, 0, "rear_valve", "head_diameter"));
    CHECK(near(a.pressure[kRearAxle], 1.8e6 + 0.34 * (a.pressure[kFrontAxle] - 1.8e6) - 0.5 * stuck,
               0.5 * stuck + 30e3, 0));
    CHECK(b.pressure[kRearAxle] > 5.2e6);
    // More fluid goes behind, and the pedal further down.
    CHECK(b.travel > a.travel + 1e-3);

    // 10 N m on a front wheel: (10/(2 x 0.38 x 0.108 m) + 200 N)/(2043 - 50 mm2) = 0.161 MPa. The
    // old valve lets that through from (F + A2 0.161 MPa)/A1 on, the new one is still open.
    const double a1 = circle(field(c, 0, "hold_off", "plate_diameter"));
    const double begins = 0.161e6, old_inlet = (field(c, 0, "hold_off", "plate_spring") +
                                                field(c, 0, "hold_off", "outlet_area") * begins) /
                                               a1;
    const PedalFeel &feel = c.answer[0].feel, &felt = c.answer[1].feel;
    CHECK(near(feel.begins[kFrontAxle] - felt.begins[kFrontAxle], foot_for(c, old_inlet - begins),
               0.5, 0.06));
    CHECK(felt.begins[kFrontAxle] < felt.begins[kRearAxle]);
    CHECK(feel.begins[kFrontAxle] > feel.begins[kRearAxle]);
    CHECK(near(felt.begins[kRearAxle], feel.begins[kRearAxle], 0.5, 0));

    // Either tank shuts the old check, 13 psi; neither shuts the new one.
    for (const double tank : {kTanks[1], kTanks[2]}) {
        CHECK(bled(c, 0, tank, false, kFrontAxle).flow < kStopped);
        CHECK(bled(c, 0, tank, false, kFrontAxle).fluid < 1.5e-6);
        CHECK(bled(c, 1, tank, false, kFrontAxle).flow > 2e-6);
        // With the rod held both let it through, and what the valve is makes no difference.
        CHECK(near(bled(c, 1, tank, true, kFrontAxle).fluid,
                   bled(c, 0, tank, true, kFrontAxle).fluid, 0, 0.02));
    }
}
