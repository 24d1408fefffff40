// Runs the benchmarks and says how far pedalbench is from its goals.
//
//   bench [FILE] [--benchmark_filter=...]   writes FILE (bench.json) and prints a table
//
// Ten thousand runs of the demo car take ten minutes and are made only where the filter asks for
// them.
#include "bench.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <optional>

#include <nlohmann/json.hpp>

namespace pedalbench::bench {
namespace {

struct Measured {
    double seconds = 0; // the shortest of all repetitions
    std::map<std::string, double> counters;
};
using Results = std::map<std::string, Measured>;

/// Keeps the shortest of all repetitions of a benchmark: the others were disturbed.
class Keep : public benchmark::BenchmarkReporter {
  public:
    bool ReportContext(const Context&) override { return true; }
    void ReportRuns(const std::vector<Run>& runs) override {
        for (const Run& run : runs) {
            if (run.run_type != Run::RT_Iteration) continue;
            const std::string name = run.run_name.function_name;
            if (run.error_occurred) {
                std::fprintf(stderr, "%s: %s\n", name.c_str(), run.error_message.c_str());
                continue;
            }
            const double seconds = run.GetAdjustedRealTime() / GetTimeUnitMultiplier(run.time_unit);
            std::fprintf(stderr, "%-40s %12.3f ms\n", name.c_str(), 1e3 * seconds);
            const auto found = results.find(name);
            if (found != results.end() && found->second.seconds <= seconds) continue;
            Measured& m = results[name];
            m.seconds = seconds;
            for (const auto& [counter, value] : run.counters)
                m.counters[counter] = value.value;
        }
    }
    Results results;
};

struct Figure {
    std::string name;
    double figure;
    double goal;
    bool at_least; // the goal is a floor
    bool reached() const { return at_least ? figure >= goal : figure <= goal; }
};

/// Seconds that a solver needs for a certain error, the least: of a tolerance that is good enough,
/// or on a straight line in logarithms between two tolerances next to each other of which one is.
/// Nothing if none is good enough.
std::optional<double> time_at(const Results& r, const std::string& who, const std::string& error,
                              double wanted) {
    std::vector<std::pair<double, double>> points; // error, seconds
    for (const auto& [name, m] : r)
        if (name.rfind(who + "/", 0) == 0) points.emplace_back(m.counters.at(error), m.seconds);
    std::sort(points.rbegin(), points.rend()); // from the coarse to the fine
    std::optional<double> least;
    for (std::size_t i = 0; i < points.size(); ++i) {
        const auto [e1, t1] = points[i];
        if (e1 > wanted) continue;
        double time = t1;
        if (i > 0 && points[i - 1].first > wanted) {
            const auto [e0, t0] = points[i - 1];
            const double share = std::log(e0 / wanted) / std::log(e0 / e1);
            time = std::min(time, std::exp((1 - share) * std::log(t0) + share * std::log(t1)));
        }
        least = std::min(least.value_or(time), time);
    }
    return least;
}

std::vector<Figure> judge(const Results& r) {
    std::vector<Figure> figures;
    const auto say = [&](const std::string& name, double figure, double goal, bool at_least) {
        figures.push_back({name, figure, goal, at_least});
    };
    const auto has = [&](const std::string& name) { return r.count(name) > 0; };

    for (const char* error : {"largest", "most"})
        for (const char* name : {"stop", "pumped", "front_lost", "heat"}) {
            const auto mine = time_at(r, std::string("ours/") + name, error, 1e3);
            for (const char* how : {"located", "continuous"}) {
                const auto other = time_at(r, std::string("cvode_") + how + "/" + name, error, 1e3);
                if (mine && other)
                    say(std::string("times faster than CVODE (") + how + ") at 1 kPa, " +
                            (error == std::string("most") ? "99 %" : "largest") + ": " + name,
                        *other / *mine, 8, true);
            }
        }
    for (const char* car : {"demo", "rig"}) {
        const std::string of = std::string(car) + "/";
        if (has(of + "run")) {
            const Measured& run = r.at(of + "run");
            say("real-time factor, " + std::string(car) + " stop, " +
                    std::to_string(static_cast<int>(run.counters.at("states"))) + " states",
                run.counters.at("simulated") / run.seconds, 2500, true);
            const double tried = run.counters.at("steps") + run.counters.at("rejected");
            say("share of steps refused, " + std::string(car), run.counters.at("rejected") / tried,
                0.1, false);
        }
        const bool parts = has(of + "steps") && has(of + "rates") && has(of + "jacobian") &&
                           has(of + "factorisation") && has(of + "solution");
        if (parts) {
            const Measured& m = r.at(of + "steps");
            const auto n = [&m](const char* what) { return m.counters.at(what); };
            // Six solutions a trial, and a rough one, which counts as a whole one.
            const double floor = n("rate_calls") * r.at(of + "rates").seconds +
                                 n("jacobians") * r.at(of + "jacobian").seconds +
                                 n("factorisations") * (r.at(of + "factorisation").seconds +
                                                        7 * r.at(of + "solution").seconds);
            say("time of a step over the sum of its parts, " + std::string(car), m.seconds / floor,
                1.5, false);
        }
    }
    if (has("growth/1") && has("growth/256")) {
        const auto &few = r.at("growth/1").counters, &many = r.at("growth/256").counters;
        say("growth of a step with states, exponent (1 to 256 pieces a pipe)",
            std::log(many.at("step") / few.at("step")) /
                std::log(many.at("states") / few.at("states")),
            1.1, false);
    }
    for (const std::string name : {"many/demo", "many/rig", "ten_thousand/demo"}) {
        if (!has(name + "/1") || !has(name + "/2")) continue;
        const Measured &one = r.at(name + "/1"), &two = r.at(name + "/2");
        const std::string of = std::to_string(static_cast<int>(one.counters.at("runs"))) + " " +
                               name.substr(name.find('/') + 1);
        say("light applications a second and core, " + of, one.counters.at("runs") / one.seconds,
            2000, true);
        say("times faster on two threads, " + of, one.seconds / two.seconds, 1.9, true);
        say("answers that differ on two threads, " + of,
            one.counters.at("bits") == two.counters.at("bits") ? 0 : 1, 0, false);
        say("memory that the runs keep [MB], " + of, two.counters.at("memory"), 100, false);
    }
    for (const auto& [name, what, goal] :
         {std::tuple{"command/check", "pedalbench check [ms]", 20.0},
          std::tuple{"command/run", "pedalbench run beside the solver, no plots [ms]", 30.0}})
        if (has(name)) say(what, 1e3 * r.at(name).seconds, goal, false);
    return figures;
}

} // namespace
} // namespace pedalbench::bench

int main(int argc, char** argv) {
    using namespace pedalbench::bench;
    benchmark::Initialize(&argc, argv);
    if (benchmark::GetBenchmarkFilter().empty()) benchmark::SetBenchmarkFilter("-ten_thousand");
    const std::string file = argc > 1 ? argv[1] : "bench.json";
    register_start_up();
    register_costs();
    register_growth();
    register_many();
    register_precision();
    Keep keep;
    benchmark::RunSpecifiedBenchmarks(&keep);

    nlohmann::ordered_json json;
    json["figures"] = nlohmann::ordered_json::array();
    std::printf("%-76s %10s %10s\n", "", "figure", "goal");
    for (const Figure& f : judge(keep.results)) {
        std::printf("%-76s %10.4g %s %7.4g %s\n", f.name.c_str(), f.figure,
                    f.at_least ? ">=" : "<=", f.goal, f.reached() ? "" : "not reached");
        json["figures"].push_back({{"name", f.name},
                                   {"figure", f.figure},
                                   {"goal", f.goal},
                                   {"at_least", f.at_least},
                                   {"reached", f.reached()}});
    }
    for (const auto& [name, m] : keep.results)
        json["measured"][name] = {{"seconds", m.seconds}, {"counters", m.counters}};
    std::ofstream(file) << json.dump(1) << "\n";
    std::printf("%s\n", file.c_str());
    return 0;
}
