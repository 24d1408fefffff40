// Studies: who does the runs, what is varied, and the spread that guesses alone give.
#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <map>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "circuit/layout.hpp"
#include "compare.hpp"
#include "places.hpp"
#include "runner/reader.hpp"
#include "runner/spread_answers.hpp"
#include "study/spread.hpp"

#include <nlohmann/json.hpp>

using namespace pedalbench;
using namespace pedalbench::study;
using pedalbench::test::near;

namespace {

/// A press of the smallest car, with a foot that holds and lets go.
Scenario small_stop() {
    runner::Findings findings;
    auto loaded = runner::read_scenario(test::source_folder() + "/tests/refusals/cars/small.yaml",
                                        {}, findings);
    REQUIRE(loaded.has_value());
    Scenario s = loaded->scenario;
    s.foot.time = {0, 1, 2, 2.5};
    s.foot.value = {0, 200, 200, 0};
    s.duration = 4;
    return s;
}

Summary run(const Scenario& scenario) {
    Sink unheard;
    Summary summary = simulate(scenario, unheard);
    REQUIRE_MESSAGE(summary.complete, summary.error);
    return summary;
}

/// Only these are left as guesses.
void keep(Summary& base, const std::set<std::string>& paths) {
    std::erase_if(base.assumed,
                  [&paths](const Assumed& a) { return paths.find(a.path) == paths.end(); });
    REQUIRE(base.assumed.size() == paths.size());
}

const SpreadFigure& figure(const Spread& s, const std::string& name, Figure::Moment moment) {
    const auto found = std::find_if(s.figures.begin(), s.figures.end(), [&](const auto& f) {
        return f.figure.name == name && f.figure.moment == moment;
    });
    REQUIRE(found != s.figures.end());
    return *found;
}

struct Counting : OutcomeSink {
    std::size_t said = 0, heard = 0;
    void begin(std::size_t n) override { said = n; }
    void outcome(std::size_t, const Outcome&) override { ++heard; }
};

} // namespace

TEST_CASE("every job is done once, and the first that fails is told") {
    for (const unsigned count : {1U, 2U, 7U}) {
        Threads threads(count);
        CHECK(threads.count() == count);
        std::vector<std::atomic<int>> done(100);
        threads.run(done.size(), [&done](std::size_t i) { ++done[i]; });
        CHECK(std::all_of(done.begin(), done.end(), [](const auto& d) { return d == 1; }));
        threads.run(0, [](std::size_t) { FAIL("there is nothing to do"); });
        std::string told;
        try {
            threads.run(50, [](std::size_t i) {
                if (i >= 20) throw std::runtime_error(std::to_string(i));
            });
        } catch (const std::runtime_error& e) {
            told = e.what();
        }
        CHECK(told == "20");
    }
    CHECK(Threads().count() >= 1);
    InTurn one;
    std::vector<std::size_t> order;
    one.run(3, [&order](std::size_t i) { order.push_back(i); });
    CHECK(order == std::vector<std::size_t>{0, 1, 2});
}

TEST_CASE("Sobol's sequence is that of Joe and Kuo") {
    // Their printed first points in three dimensions (notes to SIAM J. Sci. Comput. 30, 2635-2654
    // (2008), without the origin), as multiples of 1/16.
    const double printed[][3] = {{8, 8, 8},   {12, 4, 4}, {4, 12, 12}, {6, 6, 10},  {14, 14, 2},
                                 {10, 2, 14}, {2, 10, 6}, {3, 5, 15},  {11, 13, 7}, {15, 1, 11}};
    const auto points = sobol(10, 3);
    for (std::size_t i = 0; i < 10; ++i)
        for (std::size_t d = 0; d < 3; ++d)
            CHECK(points[i][d] == printed[i][d] / 16);

    // The same by their recurrence, from the directions that they print: degree, inner coefficients
    // of the polynomial, first odd numbers.
    struct Row {
        unsigned degree, inner;
        std::vector<unsigned> m;
    };
    const std::vector<Row> rows = {
        {1, 0, {1}}, {2, 1, {1, 3}}, {3, 1, {1, 3, 1}}, {3, 2, {1, 1, 1}}, {4, 1, {1, 1, 3, 3}}};
    const std::size_t n = 63;
    const auto longer = sobol(n, rows.size() + 1);
    for (std::size_t d = 0; d < rows.size(); ++d) {
        std::vector<unsigned> m = rows[d].m;
        const unsigned s = rows[d].degree;
        for (std::size_t k = m.size(); k < 6; ++k) {
            unsigned next = m[k - s] ^ (m[k - s] << s);
            for (unsigned j = 1; j < s; ++j)
                if (rows[d].inner >> (s - 1 - j) & 1) next ^= m[k - j] << j;
            m.push_back(next);
        }
        unsigned x = 0; // in 1/64
        for (std::size_t i = 0; i < n; ++i) {
            std::size_t c = 0; // lowest bit of i that is not set
            while (i >> c & 1)
                ++c;
            x ^= m[c] << (5 - c);
            CHECK(longer[i][d + 1] == x / 64.0);
        }
    }
}

TEST_CASE("in a small Sobol set only the first coordinates are free of each other") {
    // Why the guesses that matter come first, and why none is accused by its rank correlation.
    const auto closest = [](std::size_t dimensions) {
        const auto points = sobol(64, dimensions);
        double most = 0;
        for (std::size_t a = 0; a < dimensions; ++a)
            for (std::size_t b = 0; b < a; ++b) {
                double sum = 0;
                for (const auto& x : points)
                    sum += (x[a] - 0.5) * (x[b] - 0.5);
                most = std::max(most, std::abs(sum) * 12 / 64);
            }
        return most;
    };
    CHECK(closest(20) < 0.25);
    CHECK(closest(90) > 0.9);
}

TEST_CASE("quantiles lie on straight lines between the sorted values") {
    CHECK(quantile({1, 2, 4}, 0.5) == 2);
    CHECK(quantile({1, 2, 4}, 0.75) == 3);
    CHECK(quantile({1, 2, 4}, 1) == 4);
    CHECK(quantile({7}, 0.05) == 7);
    CHECK(std::isnan(quantile({}, 0.5)));
}

TEST_CASE("a guess is a default on judgement, once for all parts that share it") {
    static const Field fields[] = {
        {"length", Dimension::length, 0.2, 0, 0.23, Mark::judgement, "", ""},
        {"heat", Dimension::temperature, 373.15, 0, 1000, Mark::judgement, "", ""},
        {"nothing", Dimension::length, 0, 0, 1, Mark::judgement, "", ""},
        {"known", Dimension::length, 1, 0, 2, Mark::published, "", ""},
        {"usual", Dimension::length, 1, 0, 2, Mark::practice, "", ""},
        {"way", Dimension::choice, 1, 0, 1, Mark::judgement, "", "", "no|yes"},
    };
    std::vector<Assumed> assumed;
    for (const Field& f : fields)
        assumed.push_back({"a." + std::string(f.name), &f, f.fallback});
    assumed.push_back({"b.length", &fields[0], 0.2});
    assumed.push_back({"c.length", &fields[0], 0.1}); // another value, so another guess
    const auto guesses = guesses_of(assumed, 0.3);
    REQUIRE(guesses.size() == 3);
    CHECK(guesses[0].paths == std::vector<std::string>{"a.length", "b.length"});
    CHECK(near(guesses[0].low, 0.14, 0, 1e-12));
    CHECK(guesses[0].high == 0.23);                // what the field allows
    CHECK(near(guesses[1].low, 343.15, 0, 1e-12)); // 30 % of 100 C
    CHECK(near(guesses[1].high, 403.15, 0, 1e-12));
    CHECK(guesses[2].paths == std::vector<std::string>{"c.length"});
}

TEST_CASE("a varied default does not count as stated, and what cannot be built is an answer") {
    const Scenario s = small_stop();
    // Said by the user it would be refused: this drum states its shoe factor.
    CHECK(refusal_of(vary(s, {{"rear", "anchor_radius", 0.07}})).empty());
    CHECK_THROWS_AS(vary(s, {{"rear", "anchor", 0.07}}), std::invalid_argument);
    CHECK_THROWS_AS(vary(s, {{"axle", "anchor_radius", 0.07}}), std::invalid_argument);

    InTurn here;
    Counting sink;
    const std::vector<Variant> variants = {
        {}, {{"master", "secondary_spring", 10}}, {{"front", "friction", 0.2}}};
    const auto outcomes = run_variants(s, variants, here, sink);
    REQUIRE(outcomes.size() == 3);
    CHECK(sink.heard == 3);
    CHECK(outcomes[0].end == Outcome::End::complete);
    CHECK(outcomes[1].end == Outcome::End::refused);
    CHECK(outcomes[1].reason.find("secondary_spring") != std::string::npos);
    CHECK(outcomes[1].figures.empty());
    CHECK(outcomes[2].end == Outcome::End::complete);
    // And the value arrives: half the friction, half the torque.
    const auto torque = [](const Outcome& o) {
        for (const Figure& f : o.figures)
            if (f.name == "front.torque" && f.moment == Figure::Moment::held) return f.value;
        return kUnset;
    };
    CHECK(near(torque(outcomes[2]), 0.5 * torque(outcomes[0]), 0, 0.003));

    RunOptions stop;
    stop.stop = [] { return true; };
    for (const Outcome& o : run_variants(s, variants, here, sink, stop))
        CHECK(o.end == Outcome::End::stopped);
}

TEST_CASE("a study streams: in order whoever finishes first, and what is known is not run again") {
    struct Listening : OutcomeSink {
        std::vector<std::size_t> order;
        std::map<std::size_t, Outcome> done, heard;
        const Outcome* known(std::size_t i) override {
            const auto found = done.find(i);
            return found == done.end() ? nullptr : &found->second;
        }
        void outcome(std::size_t i, const Outcome& outcome) override {
            order.push_back(i);
            heard[i] = outcome;
        }
    } all;
    InOrder in_order(all);
    for (const std::size_t i : {2, 0, 3, 1, 4}) {
        Outcome outcome;
        outcome.reason = std::to_string(i);
        in_order.outcome(i, outcome);
    }
    CHECK(all.order == std::vector<std::size_t>{0, 1, 2, 3, 4});
    for (const std::size_t i : all.order)
        CHECK(all.heard[i].reason == std::to_string(i));

    Listening rest;
    rest.done[1].end = Outcome::End::failed;
    rest.done[1].reason = "as before";
    std::atomic<int> made = 0;
    const auto scenario = [&](std::size_t i) {
        ++made;
        return vary(small_stop(), {{"front", "friction", i == 2 ? 0.2 : 0.4}});
    };
    Threads two(2);
    run_each(3, scenario, two, rest, {}, [](const Summary& s) {
        const double torque = s.of("front.torque").held;
        return std::vector<Figure>{
            {"torque", Figure::Moment::held, Dimension::torque, torque, torque}};
    });
    CHECK(made == 2);
    CHECK(rest.order.size() == 3);
    CHECK(rest.heard[1].reason == "as before");
    REQUIRE(rest.heard[0].figures.size() == 1);
    CHECK(near(rest.heard[2].figures[0].value, 0.5 * rest.heard[0].figures[0].value, 0, 0.003));
}

TEST_CASE("the end of a band that a part refuses goes back to the default") {
    const Scenario s = small_stop();
    std::vector<Guess> guesses;
    for (const Assumed& a : run(s).assumed)
        if (a.path == "front_pipe.segments" || a.path == "master.cup_friction")
            guesses.push_back({{a.path}, a.field, a.value, a.value, 1.2 * a.value});
    REQUIRE(guesses.size() == 2); // one and a fifth of a segment there is not
    const auto fine = workable(s, guesses);
    REQUIRE(fine.size() == 1);
    CHECK(fine[0].paths[0] == "master.cup_friction");
    guesses = {fine[0]};
    guesses[0].high = 400; // N: no spring could bring the piston home
    guesses[0].low = 0.5 * guesses[0].value;
    const auto half = workable(s, guesses);
    REQUIRE(half.size() == 1);
    CHECK(half[0].high == half[0].value);
    CHECK(half[0].low == guesses[0].low);
}

TEST_CASE("the spread of figures that are linear in a guess is that of the guess") {
    const Scenario s = small_stop();
    Summary base = run(s);
    keep(base, {"master.cup_friction", "master.reservoir_height"});
    Threads threads(2);
    Counting sink;
    const std::size_t n = 64;
    const Spread found = spread(s, base, n, threads, sink);
    CHECK(found.complete == n);
    CHECK(found.refused + found.failed + found.alone_failed == 0);
    CHECK(sink.said == n + 4);
    CHECK(sink.heard == n + 4);
    REQUIRE(found.guesses.size() == 2);

    const auto field = [&s](const char* name) {
        for (const PartSpec& part : s.hardware.parts)
            if (part.name == "master") return part.values[name];
        return kUnset;
    };
    // While the foot holds still, p A = R (F - F_r) - S - (f + c p A): dp/df = -1/(A (1 + c)). A
    // band of 60 % of f, of which 90 % lies between the quantiles; a point more or less at each
    // end.
    const double area = 0.25 * M_PI * field("bore") * field("bore");
    const double slope = 1 / (area * (1 + field("cup_friction_rise")));
    const SpreadFigure& held = figure(found, "master.primary.pressure", Figure::Moment::held);
    CHECK(held.spreads);
    CHECK(found.guesses[static_cast<std::size_t>(held.most_by)].paths[0] == "master.cup_friction");
    CHECK(near(held.swing, 0.6 * field("cup_friction") * slope, 0, 0.03));
    CHECK(near(held.high - held.low, 0.9 * 0.6 * field("cup_friction") * slope, 0, 0.03 + 1.0 / n));
    // At rest the reservoir stands on the open port: rho g per metre of its height.
    const SpreadFigure& rest = figure(found, "master.primary.pressure", Figure::Moment::residual);
    CHECK(found.guesses[static_cast<std::size_t>(rest.most_by)].paths[0] ==
          "master.reservoir_height");
    const double band = 0.6 * field("reservoir_height") * 1060 * 9.80665;
    CHECK(near(rest.swing, band, 100, 0.01));
    CHECK(near(rest.high - rest.low, 0.9 * band, 100, 0.01 + 1.0 / n));
    // What neither of them touches stands still.
    const SpreadFigure& foot = figure(found, "pedal.force", Figure::Moment::held);
    CHECK_FALSE(foot.spreads);
    CHECK(foot.most_by == -1);
    CHECK(near(foot.high - foot.low, 0, 1e-9, 0));
}

TEST_CASE("what the parts refuse is counted and left out") {
    const Scenario s = small_stop();
    Summary base = run(s);
    keep(base, {"master.port", "master.port_travel"});
    InTurn here;
    OutcomeSink unheard;
    const std::size_t n = 32;
    const Spread found = spread(s, base, n, here, unheard);
    REQUIRE(found.guesses.size() == 2);
    const bool port_first = found.guesses[0].paths[0] == "master.port";
    std::size_t covered = 0; // a port as wide as the travel that shuts it is never quite open
    for (const auto& x : sobol(n, 2)) {
        const auto value = [&](std::size_t g) {
            const Guess& guess = found.guesses[g];
            return guess.low + x[g] * (guess.high - guess.low);
        };
        covered += port_first ? value(1) <= value(0) : value(0) <= value(1);
    }
    CHECK(covered > 0);
    CHECK(found.refused == covered);
    CHECK(found.complete == n - covered);
    CHECK(found.failed == 0);
    CHECK(found.reason.find("master.port_travel: ") == 0);
    const std::string text = runner::spread_report(found, runner::OutputUnits::metric());
    CHECK(text.find("Left out: " + std::to_string(covered) + " of the set's 32 runs") !=
          std::string::npos);
}

TEST_CASE("one thread and two give the same bytes; nothing assumed says so") {
    const Scenario s = small_stop();
    Summary base = run(s);
    Summary few = base;
    keep(few, {"master.cup_friction", "front.clearance", "front.pad_final", "rear.clearance"});
    const auto bytes = [&](Executor& executor) {
        OutcomeSink unheard;
        const Spread found = spread(s, few, 8, executor, unheard);
        const auto units = runner::OutputUnits::metric();
        return runner::spread_report(found, units) + runner::spread_json(found, units).dump();
    };
    InTurn here;
    Threads one(1), two(2), five(5);
    const std::string wanted = bytes(here);
    CHECK(wanted.find("4 assumed values") != std::string::npos);
    CHECK(wanted.find("front.pad_final") != std::string::npos);
    CHECK(bytes(one) == wanted);
    CHECK(bytes(two) == wanted);
    CHECK(bytes(five) == wanted);

    keep(few, {});
    CHECK(bytes(two).find("Nothing is assumed on judgement alone") != std::string::npos);
}
