// How long the command itself takes: reading, checking, writing.
#include "bench.hpp"
#include "places.hpp"

#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include <nlohmann/json.hpp>

namespace pedalbench::bench {
namespace {

const std::string kStop = test::source_folder() + "/scenarios/lessons/ordinary_stop.yaml";

double timed(benchmark::State& state, const std::string& arguments) {
    const auto start = std::chrono::steady_clock::now();
    const std::string command = test::command_path() + " " + arguments + " >/dev/null";
    if (std::system(command.c_str()) != 0) state.SkipWithError("the command failed");
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

void check(benchmark::State& state) {
    for (auto _ : state)
        state.SetIterationTime(timed(state, "check " + kStop));
}

/// A run less what simulate() says it took.
void run(benchmark::State& state) {
    const std::filesystem::path out = std::filesystem::temp_directory_path() / "pedalbench_bench";
    for (auto _ : state) {
        const double all = timed(state, "run " + kStop + " --plots none --out " + out.string());
        std::ifstream file(out / "summary.json");
        const auto summary = nlohmann::json::parse(file);
        state.SetIterationTime(all - summary.at("wall_s").get<double>());
    }
    std::filesystem::remove_all(out);
}

} // namespace

void register_start_up() {
    for (auto* one : {benchmark::RegisterBenchmark("command/check", check),
                      benchmark::RegisterBenchmark("command/run", run)})
        one->Iterations(1)->Repetitions(10)->UseManualTime();
}

} // namespace pedalbench::bench
