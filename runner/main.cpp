// The command line of pedalbench. The only file that knows CLI11.
#include <algorithm>
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "commands.hpp"
#include "words.hpp"

#ifndef PEDALBENCH_VERSION
#define PEDALBENCH_VERSION "unknown"
#endif

namespace {

namespace runner = pedalbench::runner;

constexpr const char* kCaution =
    "A model for teaching, support of a diagnosis and checks of a design; not proof that a car is "
    "safe\n"
    "to drive. Work on brakes follows the maker's service data, local law and trained persons.";

/// The word on the command line that is neither a command nor an option, and what was meant by it.
std::string guess(const CLI::App& app, const std::vector<std::string>& words) {
    std::vector<std::string> commands, options;
    const auto collect = [&options](const CLI::App& one) {
        for (const CLI::Option* option : one.get_options())
            for (const std::string& name : option->get_lnames())
                options.push_back("--" + name);
    };
    collect(app);
    for (const CLI::App* command : app.get_subcommands({})) {
        commands.push_back(command->get_name());
        collect(*command);
    }
    const auto known = [](const std::vector<std::string>& list, const std::string& word) {
        return std::find(list.begin(), list.end(), word) != list.end();
    };
    std::string meant;
    if (!words.empty() && !words[0].starts_with("-") && !known(commands, words[0])) {
        meant = runner::nearest(words[0], commands);
        return "found " + words[0] + ", allowed " + runner::one_of(commands) +
               (meant.empty() ? "" : "; did you mean " + meant + "?");
    }
    for (const std::string& word : words) {
        const std::string name = word.substr(0, word.find('='));
        if (!name.starts_with("--") || known(options, name)) continue;
        meant = runner::nearest(name, options);
        return "found " + name + ", an unknown option" +
               (meant.empty() ? "" : "; did you mean " + meant + "?");
    }
    return {};
}

/// An option that takes one value and may be repeated.
void many(CLI::App* app, const char* name, std::vector<std::string>& values, const char* help) {
    app->add_option(name, values, help)
        ->allow_extra_args(false)
        ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
}

int command_line(int argc, char** argv) {
    CLI::App app{"Predicts what a car's hydraulic brakes do when a foot works the pedal.",
                 "pedalbench"};
    app.footer(kCaution);
    app.require_subcommand(1);
    app.set_version_flag("--version", "pedalbench " PEDALBENCH_VERSION);
    app.get_formatter()->column_width(32);

    runner::RunRequest request;
    std::string plots;
    CLI::App* run =
        app.add_subcommand("run", "Runs a scenario and answers with figures, events and plots");
    run->add_option("FILE", request.file, "the scenario")->required();
    run->add_option("--out", request.out, "folder for the results (else runs/<name of the file>)");
    many(run, "--set", request.sets,
         "path=value, such as front_left.piston=\"48 mm\"; may be repeated");
    many(run, "--without", request.without,
         "a fault of the scenario that is to be left out, or all; may be repeated");
    run->add_option("--units", request.units, "units of the answers, instead of the scenario's")
        ->check(CLI::IsMember({"metric", "us"}));
    run->add_option("--plots", plots, "`none` leaves the plots out")
        ->check(CLI::IsMember({"none"}));
    run->add_flag("--page", request.page,
                  "writes page.html too: one file that plays the run back on a drawing of the car");

    run->add_flag("--spread{64}", request.spread,
                  "how far guesses alone move the figures; --spread=128 for another number of runs")
        ->check(CLI::Range(8, 4096));
    run->add_option("--threads", request.threads, "for --spread (else one per core)")
        ->check(CLI::Range(1, 256));

    runner::CompareRequest beside;
    CLI::App* compare = app.add_subcommand(
        "compare", "Runs scenarios, or one with and without a change, and says what differs");
    compare->add_option("FILE", beside.files, "two or more scenarios, or one")->required();
    many(compare, "--with", beside.with,
         "path=value in the second run of one FILE, such as hold_off.open=\"0.6 MPa\"; may be "
         "repeated");
    many(compare, "--without", beside.without,
         "a fault that the second run of one FILE leaves out, or all; may be repeated");
    many(compare, "--set", beside.sets, "path=value in every run; may be repeated");
    compare->add_option("--out", beside.out,
                        "folder for the results (else runs/compare_<names of the files>)");
    compare->add_option("--units", beside.units, "units of the answers, instead of the scenario's")
        ->check(CLI::IsMember({"metric", "us"}));
    compare->add_option("--plots", plots, "`none` leaves the plots out")
        ->check(CLI::IsMember({"none"}));
    compare->add_flag("--page", beside.page,
                      "writes page.html too, which plays two runs back side by side");

    runner::ValveRequest changed;
    CLI::App* valve = app.add_subcommand(
        "valve",
        "Says what a changed valve changes for the car: range, pedal, lock order, bleeding");
    valve->add_option("CAR", changed.files, "the old and the new car, or one and --with")
        ->required();
    many(valve, "--with", changed.with,
         "path=value of the new valve, such as hold_off.plate_spring=\"100 N\"; may be repeated");
    many(valve, "--set", changed.sets, "path=value in both cars; may be repeated");
    valve->add_option("--out", changed.out,
                      "folder for the results (else runs/valve_<names of the files>)");
    valve->add_option("--units", changed.units, "units of the answers")
        ->check(CLI::IsMember({"metric", "us"}));
    valve->add_option("--plots", plots, "`none` leaves the plots out")
        ->check(CLI::IsMember({"none"}));
    valve->add_option("--threads", changed.threads, "how many (else one per core)")
        ->check(CLI::Range(1, 256));

    runner::MatchRequest complaint;
    CLI::App* match = app.add_subcommand(
        "match", "Searches for the faults that explain what somebody read on a car");
    match->add_option("FILE", complaint.file, "the complaint: a scenario with readings")
        ->required();
    match->add_option("--out", complaint.out,
                      "folder for the results (else runs/match_<name of the file>)");
    many(match, "--set", complaint.sets, "path=value; may be repeated");
    many(match, "--without", complaint.without, "a fault of the file to be left out, or all");
    match->add_option("--units", complaint.units, "units of the answers")
        ->check(CLI::IsMember({"metric", "us"}));
    match->add_option("--plots", plots, "`none` leaves the plots out")
        ->check(CLI::IsMember({"none"}));
    match->add_flag("--page", complaint.page,
                    "writes page.html too: the answers to look at, and the leading fault played "
                    "back beside the car as it is");
    match->add_option("--threads", complaint.threads, "how many (else one per core)")
        ->check(CLI::Range(1, 256));

    runner::SweepRequest study;
    CLI::App* sweep = app.add_subcommand(
        "sweep", "Runs a study: a scenario with fields that vary, and how its answers spread");
    CLI::App* merge =
        app.add_subcommand("merge", "Joins the blocks of a study that sweep --shard made");
    for (CLI::App* command : {sweep, merge}) {
        command->add_option("FILE", study.file, "the study")->required();
        command->add_option("--out", study.out,
                            "folder for the results (else runs/<name of the file>)");
        many(command, "--set", study.sets, "path=value in the scenario; may be repeated");
        many(command, "--without", study.without,
             "a fault of the scenario that is to be left out, or all; may be repeated");
        command->add_option("--units", study.units, "units of the answers, instead of the study's")
            ->check(CLI::IsMember({"metric", "us"}));
        command->add_option("--plots", plots, "`none` leaves the plots out")
            ->check(CLI::IsMember({"none"}));
        command->add_flag("--page", study.page, "writes page.html too: the answers to look at");
    }
    sweep->add_option("--threads", study.threads, "else one per core; under MPI one per process")
        ->check(CLI::Range(1, 256));
    sweep->add_option("--shard", study.shard,
                      "k/n: only block k of n, for array jobs; merge joins them");

    runner::FitRequest measured;
    CLI::App* fit = app.add_subcommand(
        "fit", "Moves fields of a car until a run shows what was measured on it");
    fit->add_option("FILE", measured.file, "what was measured, and what may move")->required();
    fit->add_option("--out", measured.out, "folder for the results (else runs/<name of the file>)");
    many(fit, "--set", measured.sets, "path=value in the scenario, where the search begins");
    many(fit, "--without", measured.without,
         "a fault of the scenario that is to be left out, or all; may be repeated");
    fit->add_option("--units", measured.units, "units of the answers, instead of the file's")
        ->check(CLI::IsMember({"metric", "us"}));
    fit->add_option("--plots", plots, "`none` leaves the plots out")
        ->check(CLI::IsMember({"none"}));
    fit->add_option("--threads", measured.threads, "how many (else one per core)")
        ->check(CLI::Range(1, 256));

    std::vector<std::string> files;
    CLI::App* check =
        app.add_subcommand("check", "Looks for mistakes in scenario and hardware files");
    check->add_option("FILE", files, "scenarios or hardware")->required();

    std::string name;
    CLI::App* parts =
        app.add_subcommand("parts", "Shows every part and fault, or one, with all fields");
    parts->add_option("NAME", name, "a part, a fault, fluid or surroundings");

    std::string folder;
    CLI::App* list = app.add_subcommand("list", "Shows the scenarios and what each is about");
    list->add_option("FOLDER", folder, "where to look (else scenarios)");

    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& e) {
        if (e.get_exit_code() == static_cast<int>(CLI::ExitCodes::Success))
            return app.exit(e); // help, version
        const std::vector<std::string> words(argv + 1, argv + argc);
        const std::string guessed = guess(app, words);
        fmt::print(stderr, "command line: {}\n", guessed.empty() ? std::string(e.what()) : guessed);
        return runner::kRefused;
    }
    request.plots = beside.plots = changed.plots = complaint.plots = study.plots = measured.plots =
        plots != "none";
    if (*run) return runner::run_command(request);
    if (*compare) return runner::compare_command(beside);
    if (*valve) return runner::valve_command(changed);
    if (*match) return runner::match_command(complaint);
    if (*sweep) return runner::sweep_command(study);
    if (*merge) return runner::merge_command(study);
    if (*fit) return runner::fit_command(measured);
    if (*check) return runner::check_command(files);
    if (*parts) return runner::parts_command(name);
    return *list ? runner::list_command(folder) : runner::kRefused;
}

} // namespace

int main(int argc, char** argv) {
    try {
        return command_line(argc, argv);
    } catch (const std::exception& e) {
        fmt::print(stderr, "pedalbench: {}\n", e.what());
        return runner::kCouldNotGoOn;
    }
}
