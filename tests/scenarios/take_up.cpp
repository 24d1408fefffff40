// ctest: physics,slow 300
// The quick take-up cylinder of the heavy van beside a plain one in the same van: stroke, force,
// the valve, the release, and what its own faults do. Every figure is a hand's sum from areas and
// the valve's pressure.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario van(const std::vector<std::string>& sets = {}) {
    Scenario s = load("hard_stop_all_disc", sets);
    s.expectations.clear();
    s.changes.clear(); // it stands
    return s;
}

/// The same van with the plain cylinder of the same bore: all that both kinds have is kept.
Scenario plain_cylinder(Scenario s) {
    for (PartSpec& spec : s.hardware.parts) {
        if (spec.name != "master") continue;
        const PartSpec old = spec;
        spec.kind = find_kind("tandem_master");
        spec.values = Values(spec.kind->fields);
        for (std::size_t i = 0; i < spec.values.size(); ++i)
            if (const std::string_view name = spec.kind->fields[i].name; old.values.given(name))
                spec.values.set(name, old.values[name]);
    }
    std::erase_if(s.changes, [](const Change& c) { return c.field == "bypass"; });
    return s;
}

/// By-pass shut once the van has come to rest, so that nothing is lost however slow the foot; and a
/// booster without its jump-in, which is quick whatever the foot does.
Scenario sealed(const std::vector<std::string>& more = {}) {
    std::vector<std::string> sets = {"booster.jump_in=0 N"};
    sets.insert(sets.end(), more.begin(), more.end());
    Scenario s = van(sets);
    s.changes.push_back({"master", "bypass", 0, 0.01, 0});
    return s;
}

/// Pressed so slowly that seals and pads have relaxed and lips cost nothing, to 8 MPa. The
/// booster's jump-in would be quick: where that matters it has none.
Scenario slowly(Scenario s) {
    s.foot = force({{0, 0}, {40, 270}, {42, 270}});
    s.duration = 42;
    return without_creep(s);
}

double ring(const Played& run) {
    return circle(run.field("master.large_bore")) - circle(run.field("master.bore"));
}

/// Time at which the primary circuit first passes a pressure.
double time_of(const Played& run, double p) {
    const std::vector<double> y = run.of("master.primary.pressure");
    for (std::size_t i = 1; i < y.size(); ++i)
        if (y[i] >= p)
            return run.trace.time[i - 1] +
                   (p - y[i - 1]) / (y[i] - y[i - 1]) * (run.trace.time[i] - run.trace.time[i - 1]);
    return kUnset;
}
double piston_at(const Played& run, double p) {
    return run.at("master.primary_travel", time_of(run, p));
}

} // namespace

TEST_CASE("take-up: the large bore alone sets the stroke until its valve opens") {
    // Without by-pass nothing runs back before: A_L x = V + A x_s, where the plain cylinder has
    // A x = V + A x_s. At equal pressure V is equal, so that the strokes are as A to A_L: 0.592.
    const Played quick = play(slowly(sealed()));
    const Played plain = play(plain_cylinder(slowly(sealed())));
    const double A = master_area(quick), a = ring(quick);
    CHECK(near(A / (A + a), 0.592, 0, 0.002));
    // (Below 0.3 MPa seals and pads still move at a speed that is not the same in both.)
    for (const double p : {0.3e6, 0.4e6, 0.55e6}) {
        CAPTURE(p);
        CHECK(near(piston_at(quick, p) / piston_at(plain, p), A / (A + a), 0, 0.02));
    }
    // From there on the small bore works alone and the saving stays what it was: what the ring
    // brought, less what its own chamber takes up on the way to 0.6 MPa, 25 cm3 with 0.2 % of air.
    const double valve = quick.when("master: take-up valve opens");
    const double room =
        quick.field("master.dead_volume") +
        a * (quick.field("master.primary_stroke") + quick.field("master.secondary_stroke"));
    const double pressed = room * (0.002 * (1 - 0.1013 / 0.7013) + 0.6e6 / 1.8e9) +
                           quick.field("master.body_stretch") * 0.6e6;
    CHECK(near(pressed, 0.053e-6, 0, 0.05));
    const double saved = (a * quick.at("master.primary_travel", valve) - pressed) / A;
    for (const double p : {2e6, 4e6, 7e6}) {
        CAPTURE(p);
        CHECK(near(piston_at(plain, p) - piston_at(quick, p), saved, 0, 0.03));
    }
    CHECK(quick.count("take-up valve opens") == 1); // it does not hunt
}

TEST_CASE("take-up: the valve opens at its pressure, and until then the ring costs p a") {
    // Without by-pass, so that the chamber stands at the circuit's pressure however slow the foot.
    const Scenario s = slowly(sealed());
    const Played quick = play(s), plain = play(plain_cylinder(s));
    const double t = quick.when("master: take-up valve opens");
    // Over the head of the 0.1 m from the reservoir down, within the guard's band of 30 Pa and what
    // the pressure changes between two rows.
    const double head = 1060 * 9.80665 * 0.1;
    CHECK(near(quick.at("master.take_up.pressure", t), 0.6e6 + head, 60, 0));
    const double A = master_area(quick), a = ring(quick);
    for (const double p : {0.3e6, 0.5e6}) {
        CAPTURE(p);
        const double when = time_of(quick, p), before = time_of(plain, p);
        const double rod =
            quick.at("booster.output", when) - primary_spring(quick, when) - cup_friction(quick, p);
        CHECK(near(rod, p * (A + a), 0, 0.02)); // the lip's 3 kPa are 0.6-1 % of p_t
        // At the pad: p a through ratio and lever, 3.1 N at 0.15 MPa and 10 N at 0.5 MPa, less what
        // the shorter stroke leaves of the booster's return spring.
        const double pad = p * a / quick.field("booster.ratio") / quick.field("pedal.ratio");
        CHECK(near(quick.at("pedal.force", when) - plain.at("pedal.force", before), pad, 0, 0.1));
    }
}

TEST_CASE("take-up: the foot still, the small bore alone; the foot off, the front is free again") {
    Scenario s = van();
    s.foot = force({{0, 0}, {0.2, 0}, {1.2, 270}, {4, 270}, {4.4, 0}});
    s.duration = 25;
    s = without_creep(s);
    const Played quick = play(s), plain = play(plain_cylinder(s));
    const double A = master_area(quick), a = ring(quick), head = 1060 * 9.80665 * 0.1;
    CHECK(near(quick.held("master.take_up.pressure"), head, 500, 0));
    CHECK(near(quick.held("master.primary.pressure"), plain.held("master.primary.pressure"), 0,
               0.01));
    // What passed back is missing: until the valve opens by the groove's own law at the chamber's
    // pressure, then through the valve as well, until the circuit stands above the chamber and the
    // cup shuts.
    const double valve = quick.when("master: take-up valve opens");
    const Hole groove(quick, quick.field("master.bypass"), 1e-3, 0.65);
    double lost = 0;
    const std::vector<double> p = quick.of("master.take_up.pressure");
    for (std::size_t i = 1; quick.trace.time[i] <= valve; ++i)
        lost += groove.flow(p[i] - head) * (quick.trace.time[i] - quick.trace.time[i - 1]);
    CHECK(near(integral(quick, "master.take_up_return", 0.2, valve), lost, 0, 0.03));
    double shut = valve;
    while (quick.at("master.primary.pressure", shut) < quick.at("master.take_up.pressure", shut))
        shut += 1e-3;
    const double brought = a * quick.at("master.primary_travel", shut) -
                           integral(quick, "master.take_up_return", 0.2, shut);
    CHECK(brought > 1.5e-6);
    CHECK(near(plain.held("master.primary_travel") - quick.held("master.primary_travel"),
               brought / A, 0, 0.05));
    // The foot still, the valve shuts at the pressure at which it opened.
    const double shuts = quick.when("master: take-up valve shuts");
    CHECK(shuts > 1.1);
    CHECK(near(quick.at("master.take_up.pressure", shuts), 0.6e6 + head, 60, 0));
    // Released: refilled from the reservoir, never far below it. The front's seals press the rest
    // out through the groove, from F_s0/A = 0.13 MPa on, with C = 2 A^2/k = 36 cm3/MPa for both: 2
    // C sqrt(b) (sqrt(p0) - sqrt(p)) = 5 s down to 9 kPa, and from there on by a time of C a = 1.4
    // s.
    CHECK(quick.count("fluid refills the take-up chamber") >= 1);
    CHECK(quick.lowest("master.take_up.pressure") > -20e3);
    const double left = 1060 * 9.80665 * 0.45;
    CHECK(quick.at("front_left.pressure", 6) > left + 5e3);
    for (const char* wheel : {"front_left", "front_right", "rear_left", "rear_right"}) {
        CAPTURE(std::string(wheel));
        const std::string w = wheel;
        CHECK(quick.residual(w + ".torque") < 4);
        CHECK(near(quick.residual(w + ".pressure"), left, 1.5e3, 0));
    }
    // All of it is back, but for what the front pistons stand further out than at the start.
    const double out =
        2 * circle(quick.field("front_left.piston")) *
        (quick.at("front_left.clearance", 0.1) - quick.residual("front_left.clearance"));
    CHECK(near(quick.at("master.primary_reservoir.fluid", 0.1) -
                   quick.residual("master.primary_reservoir.fluid"),
               out, 0.1e-6, 0));
}

TEST_CASE("take-up: half a millimetre of running clearance costs a plain cylinder its pedal") {
    // 0.3 mm more at four calipers: 2 (34.2 + 18.1) cm2 x 0.3 mm = 3.14 cm3 on 7.92 cm2 are 4.0 mm
    // of piston and 15 mm at the pad. Taken up: A_L in place of A, 8.9 mm.
    const auto longer = [&](auto cylinder) {
        const Played wide = play(cylinder(slowly(sealed())));
        const Played tight = play(cylinder(
            slowly(sealed({"front_left.clearance=0.2 mm", "front_right.clearance=0.2 mm",
                           "rear_left.clearance=0.2 mm", "rear_right.clearance=0.2 mm"}))));
        return wide.held("pedal.travel") - tight.held("pedal.travel");
    };
    const Played van_as_it_is = play(slowly(van()));
    const double room = 2 * 0.3e-3 *
                        (circle(van_as_it_is.field("front_left.piston")) +
                         circle(van_as_it_is.field("rear_left.piston")));
    const double R = van_as_it_is.field("pedal.ratio"), A = master_area(van_as_it_is),
                 a = ring(van_as_it_is);
    CHECK(near(R * room / A, 15e-3, 0, 0.02));
    CHECK(near(longer(plain_cylinder), R * room / A, 0, 0.03));
    CHECK(near(longer([](Scenario s) { return s; }), R * room / (A + a), 0, 0.03));
}

TEST_CASE("take-up: a very slow foot gets less of it, unless a booster's jump-in is quick for it") {
    const auto saved = [](double seconds, const std::string& jump_in) {
        Scenario s = without_creep(van({"booster.jump_in=" + jump_in}));
        s.foot = force({{0, 0}, {seconds, 270}, {seconds + 2, 270}});
        s.duration = seconds + 2;
        return play(plain_cylinder(s)).held("master.primary_travel") -
               play(s).held("master.primary_travel");
    };
    // The clearances are filled between 0 and 0.13 MPa, 105 N of output or 1.5 % of the press. In
    // 400 s that is 6 s for 5 mm: 0.45 cm3/s, which passes the groove at 33 kPa.
    const double quick = saved(1, "0 N"), slow = saved(40, "0 N"), slowest = saved(400, "0 N");
    CHECK(slow < 0.8 * quick);
    CHECK(slowest < 0.2 * quick);
    // 450 N come within the booster's lag: (450 - 190 - 25) N on 13.4 cm2 are 0.18 MPa, and by then
    // the clearances are filled.
    CHECK(saved(400, "450 N") > 1.5e-3);
}

TEST_CASE("take-up: a valve that hangs open gives the plain cylinder's long pedal") {
    const Played open = with_fault(slowly(van()), "take_up_valve_open", "master");
    const Played sound = play(slowly(van())), plain = play(plain_cylinder(slowly(van())));
    CHECK(near(open.held("pedal.travel"), plain.held("pedal.travel"), 0.3e-3, 0));
    CHECK(open.held("pedal.travel") > sound.held("pedal.travel") + 5e-3);
    CHECK(
        near(open.held("master.primary.pressure"), sound.held("master.primary.pressure"), 0, 0.01));
}

TEST_CASE("take-up: a valve that sticks shut makes a hard pedal while it moves, by p_t a") {
    // Only the groove lets the ring's fluid go, at the pressure at which a v passes through it:
    // some MPa in an ordinary press. In the hold the chamber empties, and the small bore has it
    // alone.
    Scenario s = without_creep(van());
    s.foot = force({{0, 0}, {0.2, 0}, {1.2, 200}, {6, 200}});
    s.duration = 6;
    const Played stuck = with_fault(s, "take_up_valve_shut", "master"), sound = play(s);
    const double A = master_area(stuck), a = ring(stuck), t = 1.15, head = 1060 * 9.80665 * 0.1;
    const double p = stuck.at("master.primary.pressure", t),
                 ring_pressure = stuck.at("master.take_up.pressure", t);
    const Hole groove(stuck, stuck.field("master.bypass"), 1e-3, 0.65);
    const double speed = (stuck.at("master.primary_travel", t + 0.01) -
                          stuck.at("master.primary_travel", t - 0.01)) /
                         0.02;
    CHECK(ring_pressure > 1e6);
    CHECK(p > ring_pressure);
    CHECK(near(groove.flow(ring_pressure - head), a * speed, 0, 0.05));
    const double rod =
        stuck.at("booster.output", t) - primary_spring(stuck, t) - cup_friction(stuck, p);
    CHECK(near(p, (rod - ring_pressure * a) / A, 0, 0.02));
    CHECK(p < 0.85 * sound.at("master.primary.pressure", t));
    CHECK(near(stuck.held("master.primary.pressure"), sound.held("master.primary.pressure"), 0,
               0.02));
    CHECK(stuck.count("take-up valve opens") == 0);
    CHECK(sound.count("take-up valve opens") == 1);
}

TEST_CASE("take-up: with its by-pass blocked the hold costs p_t a/A, and the front holds on") {
    Scenario s = van();
    std::vector<std::pair<double, double>> points = {{0, 0}};
    for (const double t : {0.5, 3.5, 6.5})
        points.insert(points.end(), {{t, 0}, {t + 0.8, 200}, {t + 2, 200}, {t + 2.3, 0}});
    points.push_back({13, 0});
    s.foot = force(points);
    s.duration = 13;
    const Played blocked = with_fault(s, "take_up_bypass_blocked", "master"), sound = play(s);
    const double A = master_area(blocked), a = ring(blocked), head = 1060 * 9.80665 * 0.1;
    // The valve shuts at what it opens at, so that 0.6 MPa stay on the ring: 0.414 MPa less in
    // front.
    CHECK(near(blocked.held("master.take_up.pressure"), 0.6e6 + head, 5e3, 0));
    CHECK(near(sound.held("master.primary.pressure") - blocked.held("master.primary.pressure"),
               0.6e6 * a / A, 0, 0.05));
    // Each stroke puts more into the circuit, until it stands near the valve's pressure: below it
    // by what the ring draws through the port on the last of its way, a x_p = 0.6 cm3 on the 2-3
    // cm3/MPa that two calipers take there.
    const std::string front = "master.primary.pressure";
    CHECK(blocked.at(front, 6.4) > blocked.at(front, 3.4) + 50e3);
    CHECK(blocked.at(front, 9.4) > blocked.at(front, 6.4) + 50e3);
    CHECK(blocked.residual(front) < 0.6e6 + head);
    CHECK(blocked.residual(front) > 0.3e6);
    CHECK(near(blocked.residual("master.take_up.pressure"), blocked.residual(front), 1e3, 0));
    CHECK(blocked.count("primary piston is home") > 0);
    // 2 mu r (A p - F_s0) of two pads, the grip at most relaxed.
    const double lever =
                     2 * blocked.field("front_left.friction") * blocked.field("front_left.radius"),
                 push = circle(blocked.field("front_left.piston")) *
                        blocked.residual("front_left.pressure");
    CHECK(blocked.residual("front_left.torque") < lever * push * 1.02);
    CHECK(blocked.residual("front_left.torque") >
          lever * (push - blocked.field("front_left.seal_grip") - 30));
    CHECK(sound.residual("front_left.torque") < 4);
    CHECK(blocked.residual("rear_left.torque") < 4);
}
