// The warning lamp: what lights it, when, and what keeps it lit.
#include "symptoms.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const Played& lesson() {
    static const Played run = play(load("warning_lamp"));
    return run;
}

/// Names of the contacts that an event tells, in order.
std::vector<std::string> contacts(const Event* event) {
    REQUIRE(event != nullptr);
    std::vector<std::string> names;
    for (const Reading& r : event->readings)
        names.push_back(r.name);
    return names;
}

using Names = std::vector<std::string>;

/// The ordinary stop in the small saloon whose primary line is open, pressed twice.
Scenario lost(const std::vector<std::string>& sets) {
    Scenario s = plain(sets);
    s.foot = force({{0, 0}, {2, 300}, {2.5, 300}, {3.5, 0}, {5, 0}, {7, 450}, {7.5, 450}, {8, 0}});
    s.duration = 10;
    const auto refused =
        apply_fault(s, {"fault", find_fault("leak"), "master.primary", 2.5e-3, 0.1, 0});
    REQUIRE(refused.empty());
    return s;
}

bool lit_at(const Played& run, double t) {
    return run.at("lamp.lit", t) == 1;
}

} // namespace

TEST_CASE("warning lamp: the lesson's own expectations hold") {
    check_own_expectations(lesson());
}

TEST_CASE("warning lamp: the bulb follows its contact by tau ln 2, two contacts at once by less") {
    const Played& run = lesson();
    const double tau = run.field("lamp.bulb_time");
    // Past a half by the dead band of a hundredth: 1 - exp(-t/tau) = 0.51 from dark, exp(-t/tau) =
    // 0.49 from bright. 0.0357 s both.
    CHECK(near(run.when("lamp: lamp lit"), 0.5 + tau * std::log(1 / 0.49), 2e-4, 0));
    CHECK(near(run.when("lamp: lamp dark"), 1.5 + tau * std::log(1 / 0.49), 2e-4, 0));
    // Both levers' contacts: 2 (1 - exp(-t/tau)) = 0.51, 2 exp(-t/tau) = 0.49. The pull comes in 20
    // steps over 0.4 s: the first closes the contact, the last of the release opens it.
    CHECK(near(run.when("lamp: lamp lit", 2), 2.02 + tau * std::log(2 / 1.49), 2e-4, 0));
    CHECK(near(run.when("lamp: lamp dark", 3), 3.4 + tau * std::log(2 / 0.49), 2e-4, 0));
    CHECK(run.peak("lamp.glow") == 1);
}

TEST_CASE("warning lamp: each time it is lit the event tells by which contact") {
    const Played& run = lesson();
    CHECK(contacts(run.event("lamp: lamp lit")) == Names{"lamp.proof_contact"});
    CHECK(contacts(run.event("lamp: lamp lit", 2)) ==
          Names{"rear_left.parking_contact", "rear_right.parking_contact"});
    CHECK(contacts(run.event("lamp: lamp lit", 3.5)) == Names{"switch.contact"});
    CHECK(run.when("lamp: lamp lit", 3.5) > run.when("switch: contact closes"));
    const double low = run.when("master: primary float closes its contact");
    // The float closes at its level, and the other reservoir has lost nothing.
    CHECK(near(run.at("master.primary_reservoir.fluid", low), run.field("master.low_level"),
               0.02e-6, 0));
    CHECK(run.count("secondary float closes") == 0);
    CHECK(contacts(run.event("lamp: lamp lit", low)) == Names{"master.primary_contact"});
}

TEST_CASE("a lever that is pulled little by little is told once, with where it goes") {
    std::vector<Event> pulled;
    for (const Event& e : lesson().summary.events)
        if (e.part == "rear_left" && e.text.starts_with("parking_brake")) pulled.push_back(e);
    REQUIRE(pulled.size() == 2);
    CHECK(pulled[0].text == "parking_brake becomes within 0.4 s");
    CHECK(near(pulled[0].time, 2.02, 1e-9, 0)); // the first of twenty steps
    CHECK(pulled[0].readings.at(0).value == 3000);
    CHECK(near(pulled[1].time, 3.02, 1e-9, 0));
    CHECK(pulled[1].readings.at(0).value == 0);
}

TEST_CASE("once lit the lamp stays lit while the fault exists and the ignition is on: a level "
          "switch and a detented one, not the self-centring kind (571.105 S5.3.3, seen)") {
    // The line stays open to the end. Self-centring: dark with the foot off, twice.
    const Played self = play(lost({}));
    CHECK(lit_at(self, 2.5));
    CHECK_FALSE(lit_at(self, 4.9));
    CHECK(lit_at(self, 7.5));
    CHECK_FALSE(lit_at(self, 10));
    // Detented; and a float that closes while the first stroke, 335 mm2 x 19 mm = 6.4 cm3 of 110,
    // is made up. One event each, to the end.
    const Played detent = play(lost({"switch.centring=detent"}));
    const Played level = play(
        lost({"switch.sticking=5000 N", "master.level_switch=free", "master.low_level=106 cm3"}));
    for (const Played* run : {&detent, &level}) {
        CHECK(run->count("lamp: lamp lit") == 1);
        CHECK(run->count("lamp: lamp dark") == 0);
        CHECK(lit_at(*run, 10));
        CHECK(run->summary.lamp_lit_at_end);
    }
    CHECK(contacts(detent.event("lamp: lamp lit")) == Names{"switch.contact"});
    CHECK(contacts(level.event("lamp: lamp lit")) == Names{"master.primary_contact"});
}

TEST_CASE("with the ignition off the lamp is dark whatever is closed, and on it says so at once") {
    Scenario s = lost({"switch.centring=detent", "lamp.ignition=off"});
    s.changes.push_back({"lamp", "ignition", 1, 9, 0});
    const Played run = play(s);
    CHECK(run.at("switch.contact", 8.9) == 1);
    CHECK_FALSE(lit_at(run, 8.9));
    CHECK(run.at("lamp.glow", 8.9) == 0);
    CHECK(near(run.when("lamp: lamp lit"), 9, 1e-3, 0));
}

TEST_CASE("a blown bulb: every contact closes, the proof and the fault light nothing") {
    Scenario s = lost({"switch.centring=detent"});
    REQUIRE(
        apply_fault(s, {"bulb", find_fault("warning_bulb_blown"), "lamp", kUnset, 0, 0}).empty());
    s.changes.push_back({"lamp", "ignition", 2, 9, 0}); // cranked
    const Played run = play(s);
    CHECK(run.count("switch: contact closes") == 1);
    CHECK(run.at("lamp.proof_contact", 9.5) == 1);
    CHECK(run.count("lamp lit") == 0);
    CHECK(run.peak("lamp.glow") == 0);
    CHECK(run.summary.has_lamp);
}

TEST_CASE("a stuck warning switch stays dark with one circuit lost, and costs its trip nothing") {
    // 8 MPa on 28 mm2 are 226 N.
    const Played run = with_fault(lost({}), "warning_switch_stuck", "switch", 1000);
    const Played free = play(lost({}));
    CHECK(free.count("lamp: lamp lit") == 2);
    CHECK(run.count("lamp lit") == 0);
    CHECK(run.count("switch: contact closes") == 0);
    CHECK(run.peak("switch.difference") < 0.1e6);
    CHECK(-run.lowest("switch.difference") > 3 * run.field("switch.trip"));
    CHECK(std::fabs(run.lowest("switch.position")) <= 0.02e-3);
    // Less than the difference can push only puts the trip off, by F/A; by a foot so slow that the
    // piston moves without drag.
    Scenario slow = lost({});
    slow.foot = force({{0, 0}, {24, 300}});
    slow.duration = 24;
    const Played rough = with_fault(slow, "warning_switch_stuck", "switch", 20);
    const double later = 20 / circle(rough.field("switch.bore"));
    const Event* closes = rough.event("switch: contact closes");
    REQUIRE(closes != nullptr);
    CHECK(near(std::fabs(rough.at("switch.difference", closes->time)),
               rough.field("switch.trip") + later, 0, 0.05));
    // Rusted while it is over it stays there when the foot has gone.
    const Played over = with_fault(lost({}), "warning_switch_stuck", "switch", 1000, 2.2);
    CHECK(lit_at(over, 4.9));
}

TEST_CASE("floats that hang up tell no low level; pressed down they light the lamp") {
    const std::vector<std::string> sets{"switch.sticking=5000 N", "master.level_switch=free",
                                        "master.low_level=106 cm3"};
    const Played run = with_fault(lost(sets), "level_switch_stuck", "master");
    CHECK(run.at("master.primary_reservoir.fluid", 10) < run.field("master.low_level") - 2e-6);
    CHECK(run.count("lamp lit") == 0);
    const Played down = play(plain({"master.level_switch=stuck_down"}));
    CHECK(lit_at(down, 0));
    CHECK(down.at("master.secondary_contact", 0) == 1);
}

TEST_CASE("topped up, a float opens its contact 2 cm3 above where it closed") {
    Scenario s = plain({"master.level_switch=free", "master.low_level=111 cm3"});
    s.foot = force({{0, 0}, {6, 0}});
    s.duration = 6;
    s.changes.push_back({"tank", "pour", 2e-6, 1, 0}); // half of it into each
    const Played run = play(s);
    CHECK(lit_at(run, 0.5));
    const double off = run.when("primary float opens its contact");
    REQUIRE(off > 1);
    CHECK(near(run.at("master.primary_reservoir.fluid", off), 113e-6, 0.02e-6, 0));
    CHECK_FALSE(lit_at(run, 5.9));
}

TEST_CASE("a car without a lamp: the switch tells in its place, and nothing else differs") {
    const Scenario with = lost({});
    Scenario without = with;
    std::erase_if(without.hardware.parts, [](const PartSpec& p) { return p.name == "lamp"; });
    const Played lamp = play(with), bare = play(without);
    CHECK(bare.summary.has_lamp);
    CHECK(bare.count("switch: lamp lit") == lamp.count("switch: contact closes"));
    CHECK(bare.count("contact closes") == 0);
    CHECK(lamp.count("switch: lamp lit") == 0);
    CHECK(near(bare.held("rear_left.pressure"), lamp.held("rear_left.pressure"), 50, 0));
    CHECK(near(bare.when("lamp lit"), lamp.when("switch: contact closes"), 1e-4, 0));
    CHECK(bare.summary.solver.states == lamp.summary.solver.states - 1);
}

TEST_CASE("a lamp costs an ordinary stop no steps") {
    Scenario with = plain(), without = with;
    std::erase_if(without.hardware.parts, [](const PartSpec& p) { return p.name == "lamp"; });
    const SolverCounts a = play(with).summary.solver, b = play(without).summary.solver;
    CHECK(near(static_cast<double>(a.steps + a.rejected), static_cast<double>(b.steps + b.rejected),
               10, 0));
}

TEST_CASE("parked with the engine on: the lamp is lit, and that is no reason to leave the car") {
    Scenario s = plain();
    s.foot = force({{0, 0}, {3, 0}});
    s.duration = 3;
    s.changes = {{"rear_left", "parking_brake", 600, 1, 0},
                 {"rear_right", "parking_brake", 600, 1, 0}};
    const Summary parked = play(s).summary;
    CHECK(parked.lamp_lit_at_end);
    const auto stays = [](const Summary& summary) {
        for (const std::string& c : summary.cautions)
            if (c.find("stays where it is") != std::string::npos) return c;
        return std::string();
    };
    CHECK(stays(parked).empty());
    // The same force from a cable that hangs is one, and the lamp says nothing.
    const Summary hangs = with_fault(plain(), "parking_cable_stuck", "rear_left", 600).summary;
    CHECK_FALSE(hangs.lamp_lit_at_end);
    CHECK(stays(hangs).find("rear_left drags") != std::string::npos);
    // A contact that tells of a fault is named.
    const Summary detent = play(lost({"switch.centring=detent"})).summary;
    CHECK(stays(detent).find("the warning lamp is lit by switch.contact") != std::string::npos);
}
