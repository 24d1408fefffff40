// The search on a small car without pipes: it finds the fault that was put in, with its size, and
// says so in the same words however it is run.
#include "scenarios/scenario.hpp"

#include <atomic>

#include "match/blind.hpp"
#include "runner/match_answers.hpp"
#include "study/match.hpp"

using namespace pedalbench;
using namespace pedalbench::study;
using namespace pedalbench::test;

namespace {

/// The rig of the benchmarks, driven as on the rollers.
Scenario rig() {
    Scenario s = load("../tests/bench/rig");
    s.foot = workshop_drive(100, 300);
    s.duration = kDriveTakes;
    s.expectations.clear();
    return s;
}

/// What would be read on the rig with that fault, to the last digit, as bounds of gauges.
std::vector<Expectation> readings_of(const Scenario& faulty) {
    std::vector<Measurement> all;
    for (const Measurement& m : measurements_of(rig()))
        if (is_read(m)) all.push_back(m);
    const std::vector<double> found = read_all(faulty, all);
    REQUIRE(found.size() == all.size());
    std::vector<Expectation> readings;
    for (std::size_t i = 0; i < all.size(); ++i) {
        Expectation e = all[i].what;
        const double error = reading_error(all[i].dimension, found[i]);
        e.text = runner::reading_words(e);
        e.low = found[i] - 2 * error;
        e.high = found[i] + 2 * error;
        readings.push_back(e);
    }
    return readings;
}

Scenario complaint(const char* kind, const char* at, double size = kUnset) {
    Scenario faulty = rig();
    REQUIRE(apply_fault(faulty, {"wrong", find_fault(kind), at, size, 0, 0}).empty());
    Scenario s = rig();
    s.readings = readings_of(faulty);
    return s;
}

/// One store for all searches on the rig: the runs are the same.
RunStore& store() {
    static RunStore kept;
    return kept;
}

Match search(const Scenario& s) {
    Threads two(2);
    OutcomeSink unheard;
    return match(s, two, store(), unheard);
}

const Explanation* find(const std::vector<Explanation>& list, const std::string& kind,
                        const std::string& at) {
    for (const Explanation& e : list)
        if (e.faults.size() == 1 && e.faults[0].kind->name == kind &&
            (at.empty() || e.faults[0].at == at))
            return &e;
    return nullptr;
}

} // namespace

TEST_CASE("what explains every reading comes before the car as it is, which misses one") {
    // The car as it is drags by 1.23 N m: 3.2 standard errors below 1.31 +- 0.05 at two of them.
    Scenario s = rig();
    const std::vector<Expectation> sound = readings_of(s);
    for (Expectation e : sound) {
        if (e.channel == "front.torque" && e.time == kDriveTakes) {
            e.low = 1.26;
            e.high = 1.36;
            s.readings.push_back(e);
        } else if (e.time == 5.0 &&
                   (e.channel == "front.torque" || e.channel == "rear.torque" ||
                    e.channel == "pedal.travel") &&
                   e.moment == Expectation::Moment::at_time && !e.since)
            s.readings.push_back(e);
    }
    REQUIRE(s.readings.size() == 4);
    const Match found = search(s);
    const auto as_it_is = std::find_if(found.singles.begin(), found.singles.end(),
                                       [](const Explanation& e) { return e.faults.empty(); });
    REQUIRE(as_it_is != found.singles.end());
    CHECK_FALSE(as_it_is->explains());
    CHECK(found.explained());
    for (const Explanation& e : found.leaders)
        CHECK(e.explains());
}

TEST_CASE("the fault that was put in comes first, with its size") {
    const struct {
        const char *kind, *at;
        double size;
    } cases[] = {{"shoes_misadjusted", "rear", 1.2e-3},
                 {"primary_cup_leak", "master", 1.1e-4},
                 {"wrong_friction", "front", 0.26},
                 {"hold_off_stuck_shut", "hold_off", kUnset},
                 {"pins_seized", "front", 900}};
    for (const auto& c : cases) {
        CAPTURE(std::string(c.kind));
        const Match found = search(complaint(c.kind, c.at, c.size));
        REQUIRE(found.explained());
        const Explanation* truth = find(found.leaders, c.kind, c.at);
        REQUIRE(truth != nullptr);
        CHECK(found.leaders[0].misfit >= 0);
        CHECK(truth->misfit <= found.leaders[0].misfit + 1);
        CHECK(truth->misfit < 1);
        if (!std::isnan(c.size)) {
            CHECK(near(truth->size[0], c.size, 0, 0.05));
            CHECK(std::min(truth->low, truth->high) <= c.size);
            CHECK(std::max(truth->low, truth->high) >= c.size);
        }
    }
}

TEST_CASE("a size that ends where the search ends is told as such") {
    const std::vector<Candidate> all = candidates_of(rig());
    const auto pins = std::find_if(all.begin(), all.end(), [](const Candidate& c) {
        return c.kind && c.kind->name == "pins_seized" && c.at == "front";
    });
    REQUIRE(pins != all.end());
    const auto words = [&](double size) {
        const Match found = search(complaint("pins_seized", "front", size));
        const Explanation* truth = find(found.singles, "pins_seized", "front");
        REQUIRE(truth != nullptr);
        return runner::size_words(*truth, 0, runner::OutputUnits::metric());
    };
    // A share that stays open ends at nothing, which nothing can be worse than.
    const Match blocked = search(complaint("secondary_port_blocked", "master"));
    const Explanation* port = find(blocked.singles, "secondary_port_blocked", "master");
    REQUIRE(port != nullptr);
    CHECK(port->u[0] > 0.99);
    CHECK(runner::size_words(*port, 0, runner::OutputUnits::metric()).find("worse") ==
          std::string::npos);
    CHECK(words(pins->size(1)).ends_with("worse is not looked for)"));
    CHECK(words(pins->size(0.5)).find("worse") == std::string::npos);
}

TEST_CASE("a gauge that was written down in another unit is thought of") {
    Scenario s = complaint("pins_seized", "front", 900);
    const auto report = [&] {
        return runner::match_report(s, search(s), runner::OutputUnits::metric(), {});
    };
    CHECK(report().find("right unit") == std::string::npos);
    for (Expectation& e : s.readings) // psi for bar
        if (e.channel == "master.primary.pressure" && e.time == 5.0)
            e.low = 14.5 * *e.low, e.high = 14.5 * *e.high;
    CHECK(report().find("not written down in") != std::string::npos);
}

TEST_CASE("a sound car needs no fault, and what is ruled out is not looked for") {
    Scenario s = rig();
    s.readings = readings_of(rig());
    const Match found = search(s);
    REQUIRE(found.explained());
    CHECK(found.leaders[0].faults.empty());
    CHECK(found.leaders[0].misfit < 1e-9);
    CHECK(found.pairs.empty());
    // The foot does not go fast and nothing gets hot: such faults are neither found nor ruled out.
    const auto unseen = [&found](const char* kind) {
        return std::any_of(found.unseen.begin(), found.unseen.end(),
                           [kind](const Candidate& c) { return c.kind->name == kind; });
    };
    CHECK(unseen("water_in_fluid"));
    CHECK_FALSE(unseen("leak"));

    s.ruled_out = {{"", "front"}, {"leak", ""}, {"shoe_springs", "rear"}};
    for (const Candidate& c : candidates_of(s)) {
        if (!c.kind) continue;
        CHECK(c.at != "front");
        CHECK(c.kind->name != "leak");
        CHECK(c.kind->name != "shoe_springs");
    }
}

// Pumped, fluid that comes back takes a bubble along, toward the cylinder and out; one at the wheel
// it leaves.
TEST_CASE(
    "a bubble is found where it is, with its size, and not where it would be felt otherwise") {
    Scenario s = load("../tests/match/pumped_rig");
    for (const FaultKind& kind : fault_kinds())
        if (kind.name != "air") s.ruled_out.push_back({std::string(kind.name), ""});
    std::vector<Measurement> travel;
    for (const Measurement& m : measurements_of(s))
        if (m.what.channel == "pedal.travel" && !m.what.since) travel.push_back(m);
    REQUIRE(travel.size() >= 3);
    RunStore runs;
    for (const std::string at : {"front", "pipe", "hold_off"}) {
        CAPTURE(at);
        Scenario faulty = s;
        REQUIRE(apply_fault(faulty, {"bubble", find_fault("air"), at, 2e-6, 0, 0}).empty());
        const std::vector<double> read = read_all(faulty, travel);
        s.readings.clear();
        for (std::size_t i = 0; i < travel.size(); ++i) {
            Expectation e = travel[i].what;
            e.low = read.at(i) - 1e-3; // m
            e.high = read.at(i) + 1e-3;
            s.readings.push_back(e);
        }
        Threads two(2);
        OutcomeSink unheard;
        const Match found = match(s, two, runs, unheard);
        REQUIRE(found.explained());
        const Explanation& best = found.leaders[0];
        using Names = std::vector<std::string>;
        CHECK(best.faults[0].alike == (at == "front" ? Names{"hose", "front"} : Names{at}));
        CHECK(near(best.size[0], 2e-6, 0, 0.03));
        CHECK(best.low <= 2e-6);
        CHECK(best.high >= 2e-6);
        CHECK(best.misfit < 1);
    }
}

// A pedal that sinks has a dozen explanations, and pads that bite too little stand behind them all.
TEST_CASE("two faults are found where many explain one of the two symptoms") {
    Scenario faulty = rig();
    REQUIRE(
        apply_fault(faulty, {"one", find_fault("wrong_friction"), "front", 0.25, 0, 0}).empty());
    REQUIRE(apply_fault(faulty, {"two", find_fault("leak"), "rear", 3e-4, 0, 0}).empty());
    Scenario s = rig();
    s.readings = readings_of(faulty);
    std::erase_if(s.readings, [](const Expectation& e) {
        return e.channel != "pedal.travel" && e.channel != "front.torque" &&
               e.channel != "master.secondary_reservoir.fluid";
    });
    const Match found = search(s);
    REQUIRE(found.explained());
    const Explanation& best = found.leaders[0];
    REQUIRE(best.faults.size() == 2);
    const std::size_t pads = best.faults[0].kind->name == "wrong_friction" ? 0 : 1;
    CHECK(best.faults[pads].kind->name == "wrong_friction");
    CHECK(best.faults[1 - pads].kind->name == "leak");
    CHECK(near(best.size[pads], 0.25, 0, 0.05));
    CHECK(near(best.size[1 - pads], 3e-4, 0, 0.05));
    std::size_t before = 0; // single faults that stand before the pads
    while (before < found.singles.size() &&
           (found.singles[before].faults.empty() ||
            found.singles[before].faults[0].kind->name != "wrong_friction"))
        ++before;
    CHECK(before >= 10);
}

TEST_CASE("where one leads, what is to be read next tells it from another") {
    const Match found = search(complaint("plate_spring", "hold_off", 84));
    REQUIRE(found.tied == 1);
    REQUIRE_FALSE(found.next.empty());
    for (const NextReading& next : found.next) {
        bool apart = false;
        for (std::size_t i = 1; i < next.predicted.size(); ++i) {
            const double error = std::max(reading_error(next.what.dimension, next.predicted[0]),
                                          reading_error(next.what.dimension, next.predicted[i]));
            apart = apart || std::abs(next.predicted[0] - next.predicted[i]) > 3 * error;
        }
        CHECK(apart);
    }
}

TEST_CASE("what a fault misses at one size and shows at another does not rule it out alone") {
    const Match found = search(complaint("leak", "rear", 3e-4));
    const Explanation* front = find(found.singles, "leak", "master.primary");
    REQUIRE(front != nullptr);
    REQUIRE_FALSE(front->explains());
    REQUIRE(front->closest.size() == front->off.size());
    for (std::size_t i = 0; i < front->off.size(); ++i)
        CHECK(std::abs(front->closest[i]) <= std::abs(front->off[i]));
    // The rear reservoir falls for no hole in front.
    CHECK(front->never_shows(front->never()));
}

TEST_CASE("two faults are found where one is not enough") {
    Scenario faulty = rig();
    REQUIRE(
        apply_fault(faulty, {"one", find_fault("wrong_friction"), "front", 0.25, 0, 0}).empty());
    REQUIRE(apply_fault(faulty, {"two", find_fault("shoes_misadjusted"), "rear", 1.5e-3, 0, 0})
                .empty());
    Scenario s = rig();
    s.readings = readings_of(faulty);
    const Match found = search(s);
    REQUIRE(found.explained());
    // Shoes that stand off and linings worn by as much are one and the same to every reading.
    bool there = false;
    for (const Explanation& e : found.leaders) {
        REQUIRE(e.faults.size() == 2);
        for (const std::size_t shoes : {0, 1}) {
            const std::size_t pads = 1 - shoes;
            if (e.faults[shoes].kind->name != "shoes_misadjusted" ||
                e.faults[pads].kind->name != "wrong_friction")
                continue;
            there = true;
            CHECK(e.misfit < 1);
            CHECK(near(e.size[pads], 0.25, 0, 0.05));
            CHECK(near(e.size[shoes], 1.5e-3, 0, 0.05));
        }
    }
    CHECK(there);
    CHECK_FALSE(found.singles[0].explains());
}

TEST_CASE("what few readings cannot tell apart is said, and the next reading would") {
    // A long pedal, and nothing else was looked at.
    Scenario s = complaint("shoes_misadjusted", "rear", 1.2e-3);
    std::erase_if(s.readings, [](const Expectation& e) {
        return e.channel != "pedal.travel" || e.since || e.time != 5.0;
    });
    REQUIRE(s.readings.size() == 1);
    const Match found = search(s);
    CHECK(found.tied > 3);
    REQUIRE(find(found.leaders, "shoes_misadjusted", "rear") != nullptr);
    REQUIRE_FALSE(found.next.empty());
    const NextReading& next = found.next[0];
    CHECK(next.predicted.size() == found.leaders.size());
    CHECK(next.told_apart > 0);
    // It is no reading that was taken, and what it predicts is what those runs read.
    CHECK((next.what.what.channel != "pedal.travel" || next.what.what.since ||
           next.what.what.time != 5.0));
    const auto columns = columns_of(s);
    for (std::size_t i = 0; i < found.leaders.size(); ++i)
        for (std::size_t c = 0; c < columns.size(); ++c)
            if (runner::reading_words(columns[c].what) == runner::reading_words(next.what.what))
                CHECK(found.leaders[i].found[c] == next.predicted[i]);
    // Of all sizes that fit, the best among them. One reading of the pedal leaves much open, so
    // that some prediction has a width; what it is said to tell apart lies outside of that.
    bool wide = false;
    std::size_t apart = 0;
    for (std::size_t i = 0; i < next.predicted.size(); ++i) {
        CHECK(next.least[i] <= next.predicted[i]);
        CHECK(next.predicted[i] <= next.most[i]);
        wide = wide || next.most[i] > next.least[i];
        for (std::size_t j = 0; j < i; ++j) {
            const double error = std::max(reading_error(next.what.dimension, next.predicted[i]),
                                          reading_error(next.what.dimension, next.predicted[j]));
            apart += next.least[i] - next.most[j] > 3 * error ||
                     next.least[j] - next.most[i] > 3 * error;
        }
    }
    CHECK(wide);
    CHECK(next.told_apart == apart);
    CHECK(next.perhaps >= next.told_apart);
}

TEST_CASE("threads, a store and an interruption change nothing in the answer") {
    const Scenario s = complaint("seal_without_rollback", "front", 0.3);
    const auto units = runner::OutputUnits::metric();
    OutcomeSink unheard;
    InTurn here;
    Threads two(2);
    RunStore first, second;
    const Match alone = match(s, here, first, unheard);
    const Match together = match(s, two, second, unheard);
    const std::string wanted = runner::match_json(s, alone, units);
    CHECK(runner::match_json(s, together, units) == wanted);
    CHECK(alone.runs == together.runs);

    const Match again = match(s, two, second, unheard);
    CHECK(again.runs == 0);
    CHECK(runner::match_json(s, again, units) == wanted);

    RunStore cut;
    RunOptions options;
    std::atomic<int> asked = 0;
    options.stop = [&asked] { return ++asked > 20000; };
    const Match stopped = match(s, here, cut, unheard, options);
    CHECK(stopped.stopped);
    CHECK(stopped.runs > 0);
    CHECK(stopped.runs < alone.runs);
    const Match resumed = match(s, here, cut, unheard);
    CHECK(resumed.runs == alone.runs - stopped.runs);
    CHECK(runner::match_json(s, resumed, units) == wanted);
}
