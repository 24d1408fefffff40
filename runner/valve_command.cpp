// `valve`: read two cars that differ in a valve, drive both, answer.
#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "commands.hpp"
#include "interrupt.hpp"
#include "progress.hpp"
#include "reader.hpp"
#include "result_folder.hpp"
#include "study/setup.hpp"
#include "system/changes.hpp"
#include "valve_answers.hpp"
#include "valve_plots.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

constexpr const char* kExample = "--with hold_off.plate_spring=\"100 N\"";

int refuse(const std::string& found, const std::string& allowed) {
    Findings findings;
    findings.add({"valve"}, "", found, allowed);
    return refused(findings);
}

/// What is wrong with the command line as a whole; kFine when nothing is.
int check_line(const ValveRequest& request) {
    if (request.files.size() == 1 && request.with.empty())
        return refuse("one car and no change to it",
                      std::string("a second car, or a change such as ") + kExample);
    if (request.files.size() == 2 && !request.with.empty())
        return refuse("2 cars and --with", "one car with it; --set changes both");
    if (request.files.size() > 2)
        return refuse(std::to_string(request.files.size()) + " files",
                      "the old and the new car, or one car and --with");
    return kFine;
}

/// Reads one car. Lines that were printed already are not printed again.
std::optional<Loaded> read(const std::string& file, const ValveRequest& request,
                           const std::vector<std::string>& with,
                           std::vector<std::string>& printed) {
    Findings findings;
    auto loaded = read_scenario(file, request.sets, findings, {}, with);
    if (loaded && findings.empty()) {
        try {
            channels_of(loaded->scenario);
            for (const Refusal& r : study::refuse_car(loaded->scenario.hardware))
                findings.refuse({file}, r.field, r.reason);
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings.refuse({file}, r.field, r.reason);
        }
    }
    if (findings.empty()) return loaded;
    refused(findings, printed);
    return {};
}

/// The --with that set a path, or the new car's file.
Position place_of(const std::string& path, const ValveRequest& request) {
    for (std::size_t i = 0; i < request.with.size(); ++i)
        if (trim(request.with[i].substr(0, request.with[i].find('='))) == path)
            return {"--with", static_cast<int>(i) + 1, 0};
    return {request.files.back()};
}

/// Refuses cars that do not differ, and cars that differ in more than valves.
void refuse_change(const study::ValveChange& change, const ValveRequest& request,
                   Findings& findings) {
    const bool two = request.files.size() > 1;
    if (two && !change.others.empty()) {
        constexpr std::size_t kShown = 6;
        std::vector<std::string> shown = change.others;
        if (shown.size() > kShown) {
            shown.resize(kShown);
            shown.push_back(std::to_string(change.others.size() - kShown) + " more");
        }
        findings.add({request.files.back()}, "",
                     "another car than " + request.files.front() + ": " + listed(shown),
                     "two that differ in hold-off, proportioning or residual valves alone; "
                     "`compare` takes any difference");
        return;
    }
    for (const std::string& path : change.others)
        findings.add(place_of(path, request), path, "a change of no valve",
                     "a field of a hold-off, proportioning or residual valve; --set changes both "
                     "cars, and `compare` takes any difference");
    if (change.others.empty() && change.valves.empty())
        findings.add({two ? request.files.back() : "--with"}, "",
                     two ? "the same car as " + request.files.front()
                         : "nothing that changes the car at its start",
                     std::string("another value of a valve, such as ") + kExample);
}

fs::path folder_for(const ValveRequest& request) {
    if (!request.out.empty()) return request.out;
    std::string name = "valve";
    for (const std::string& file : request.files)
        name += "_" + fs::path(file).stem().string();
    return fs::path("runs") / name;
}

int answer(CheckedValve& checked, const ValveRequest& request, ResultFolder& folder) {
    const study::ValveCheck& check = checked.check;
    const std::string text = valve_report(checked);
    folder.write("report.txt", text);
    folder.write("summary.json", valve_json(checked));
    write_valve_traces(folder.writing(), checked);
    std::string no_plots;
    if (request.plots) write_valve_plots(folder.writing(), checked, no_plots);
    folder.publish();
    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    fmt::print("Files: {}\n", folder.wanted().string());
    return std::all_of(check.drives.begin(), check.drives.end(),
                       [](const study::Driven& run) { return run.problem.empty(); })
               ? kFine
               : kCouldNotGoOn;
}

int drive(CheckedValve& checked, const std::array<Loaded, 2>& cars, const ValveRequest& request,
          ResultFolder& folder) {
    {
        const Interruptible guard;
        RunOptions options;
        options.stop = [] { return interrupted(); };
        study::Threads threads(request.threads);
        Progress progress("valve");
        checked.check =
            study::check_valve(cars[0].scenario, cars[1].scenario, threads, progress, options);
    }
    if (checked.check.stopped) {
        fmt::print(stderr, "Interrupted; nothing is kept. The whole check takes seconds: begin it "
                           "again.\n");
        return kInterrupted;
    }
    if (!checked.check.problem.empty()) {
        fmt::print(stderr, "The old car could not be driven at all: {}\n", checked.check.problem);
        return kCouldNotGoOn;
    }
    return answer(checked, request, folder);
}

} // namespace

int valve_command(const ValveRequest& request) {
    if (const int code = check_line(request); code != kFine) return code;
    std::vector<std::string> printed;
    auto was = read(request.files.front(), request, {}, printed);
    auto is = read(request.files.back(), request, request.with, printed);
    if (!was || !is) return kRefused;
    const std::array<Loaded, 2> cars = {std::move(*was), std::move(*is)};
    Findings findings;
    refuse_change(study::valve_change(cars[0].scenario, cars[1].scenario), request, findings);
    if (!findings.empty()) return refused(findings);

    CheckedValve checked;
    checked.units = cars[0].units.or_preset(request.units);
    const auto& old_car = cars[0].scenario.hardware;
    checked.cars[0] = {"old", "with the old valve", request.files.front(), old_car.title, 1};
    checked.cars[1] = {"new", "with the new valve", request.files.back(),
                       cars[1].scenario.hardware.title, 2};
    if (!request.with.empty()) {
        checked.cars[1].title.clear();
        checked.cars[1].file = "the same car with " + listed(request.with);
    }
    return answering(request.files.front(), [&] {
        ResultFolder folder(folder_for(request));
        return drive(checked, cars, request, folder);
    });
}

} // namespace pedalbench::runner
