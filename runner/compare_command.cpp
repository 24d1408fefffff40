// `compare`: read, run, lay side by side, write, answer.
#include <algorithm>
#include <filesystem>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "commands.hpp"
#include "compare_answers.hpp"
#include "compare_plots.hpp"
#include "csv_sink.hpp"
#include "interrupt.hpp"
#include "page.hpp"
#include "reader.hpp"
#include "result_folder.hpp"
#include "study/beside.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostRuns = 6; // as many as a table of 100 columns and the colours tell apart

/// One run as the command line asks for it.
struct Planned {
    RunName run;
    std::vector<std::string> with, without;
    bool changed() const { return !with.empty() || !without.empty(); }
};

int refuse(const std::vector<std::string>& lines) {
    for (const std::string& line : lines)
        fmt::print(stderr, "{}\n", line);
    return kRefused;
}

int refuse(const std::string& found, const std::string& allowed) {
    Findings findings;
    findings.add({"compare"}, "", found, allowed);
    return refuse(findings.lines());
}

/// Names of files, short and never ambiguous: the stem; where two are the same with the folder; and
/// where even these are the same with a number.
std::vector<std::string> names_of(const std::vector<std::string>& files) {
    const auto twice = [](const std::vector<std::string>& names, const std::string& name) {
        return std::count(names.begin(), names.end(), name) > 1;
    };
    std::vector<std::string> stems, names;
    for (const std::string& file : files)
        stems.push_back(fs::path(file).stem().string());
    for (std::size_t i = 0; i < files.size(); ++i) {
        const std::string folder = fs::path(files[i]).parent_path().filename().string();
        names.push_back(twice(stems, stems[i]) && !folder.empty() ? folder + "/" + stems[i]
                                                                  : stems[i]);
    }
    std::vector<std::string> unique = names;
    for (std::size_t i = 0; i < names.size(); ++i)
        if (twice(names, names[i]))
            unique[i] +=
                " " + std::to_string(std::count(
                          names.begin(), names.begin() + static_cast<long>(i) + 1, names[i]));
    return unique;
}

/// "without dripping", "with hold_off.open=0.6 MPa": what the changed run is called.
std::string name_of_change(const std::vector<std::string>& with,
                           const std::vector<std::string>& without) {
    constexpr std::size_t kLongest = 60;
    std::string name;
    if (!without.empty()) {
        const bool all = std::find(without.begin(), without.end(), "all") != without.end();
        name = "without " + (all ? "its faults" : listed(without));
    }
    if (!with.empty()) name += (name.empty() ? "with " : ", with ") + listed(with);
    return name.size() <= kLongest ? name : "changed";
}

/// `all` by the names of the faults, where they are few.
void name_faults(Planned& planned, const Scenario& scenario) {
    constexpr std::size_t kFew = 2;
    std::vector<std::string> names;
    for (const Fault& fault : scenario.faults)
        if (fault.left_out) names.push_back(fault.name);
    if (names.empty() || names.size() > kFew) return;
    planned.run.name = planned.run.where = name_of_change(planned.with, names);
}

std::vector<Planned> plan(const CompareRequest& request) {
    std::vector<Planned> planned;
    if (request.files.size() == 1) {
        const std::string change = name_of_change(request.with, request.without);
        planned.push_back({{"as it is", "as it is", request.files[0], "", 1}, {}, {}});
        planned.push_back(
            {{change, change, request.files[0], "", 2}, request.with, request.without});
        return planned;
    }
    const std::vector<std::string> names = names_of(request.files);
    for (std::size_t i = 0; i < names.size(); ++i)
        planned.push_back(
            {{names[i], "in " + names[i], request.files[i], "", static_cast<int>(i) + 1}, {}, {}});
    return planned;
}

fs::path folder_for(const CompareRequest& request) {
    if (!request.out.empty()) return request.out;
    std::string name = "compare";
    for (const std::string& file : request.files)
        name += "_" + fs::path(file).stem().string();
    return fs::path("runs") / name;
}

/// What is wrong with the command line as a whole; kFine when nothing is.
int check(const CompareRequest& request) {
    const bool change = !request.with.empty() || !request.without.empty();
    if (request.files.size() == 1 && !change)
        return refuse("one file and no change to it",
                      "a second file, or a change such as --with hold_off.open=\"0.6 MPa\" or "
                      "--without all");
    if (request.files.size() > 1 && change)
        return refuse(std::to_string(request.files.size()) + " files and " +
                          (request.with.empty() ? "--without" : "--with"),
                      "one file with these; --set changes every run");
    if (Findings findings; request.page && !can_write_pages(findings)) return refused(findings);
    if (request.page && request.files.size() > 2)
        return refuse(std::to_string(request.files.size()) + " files and --page",
                      "two with --page");
    if (request.files.size() > kMostRuns)
        return refuse(std::to_string(request.files.size()) + " files",
                      "up to " + std::to_string(kMostRuns) + " at a time");
    return kFine;
}

/// Reads one of them. Lines that were printed already are not printed again: the same --set fails
/// in every file alike.
std::optional<Loaded> read(const Planned& planned, const CompareRequest& request,
                           std::vector<std::string>& printed) {
    Findings findings;
    auto loaded =
        read_scenario(planned.run.file, request.sets, findings, planned.without, planned.with);
    if (loaded && loaded->hardware_only)
        findings.add({planned.run.file, 1, 1}, "foot", "a car without a foot on its pedal",
                     "a scenario whose `hardware:` names this file");
    if (loaded && planned.changed() && planned.with.empty() && loaded->scenario.faults.empty())
        findings.add({"--without", 1, 0}, "", "all, but this scenario has no faults",
                     "--with path=value, or a second file");
    if (loaded && findings.empty()) {
        try {
            channels_of(loaded->scenario);
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings.refuse({planned.run.file}, r.field, r.reason);
        }
    }
    if (findings.empty()) return loaded;
    refused(findings, printed);
    return {};
}

/// Expectations of a changed run are a finding and no failure: its author never wrote them for it.
int exit_code(const Compared& compared, const std::vector<Planned>& planned, bool refused,
              bool failed) {
    if (interrupted()) return kInterrupted;
    if (refused) return kRefused;
    if (failed) return kCouldNotGoOn;
    for (std::size_t r = 0; r < compared.entries.size(); ++r) {
        const Planned& own = planned[static_cast<std::size_t>(compared.runs[r].number) - 1];
        for (const ExpectationResult& e : compared.entries[r].summary.expectations)
            if (!e.held && !own.changed()) return kExpectationFailed;
    }
    return kFine;
}

struct Work {
    std::vector<Planned> planned; // of those that were read
    std::vector<Scenario> scenarios;
    Compared compared;
    bool refused = false, failed = false;
    bool page = false;
    std::vector<LessonStep> lesson;                 // of the first
    std::vector<std::unique_ptr<PageTrace>> traces; // of those that are compared, for the page
};

/// Runs them and keeps those that got to the end.
void run_all(Work& work, const ResultFolder& folder) {
    std::vector<std::unique_ptr<CsvSink>> files;
    std::vector<std::unique_ptr<PageTrace>> traces;
    std::vector<Sink*> sinks;
    std::vector<Scenario> scenarios = work.scenarios;
    for (std::size_t i = 0; i < work.planned.size(); ++i) {
        const int number = work.planned[i].run.number;
        files.push_back(std::make_unique<CsvSink>(folder.writing(), work.compared.units, number));
        sinks.push_back(files.back().get());
        if (!work.page) continue;
        traces.push_back(std::make_unique<PageTrace>(recorded_of(scenarios[i]), *files.back()));
        sinks.back() = traces.back().get();
        scenarios[i].record = page_channels(scenarios[i]);
    }
    RunOptions options;
    options.stop = [] { return interrupted(); };
    study::Threads two(2);
    std::vector<study::Ran> ran = study::run_beside(scenarios, sinks, two, options);
    for (std::size_t i = 0; i < ran.size(); ++i) {
        if (!files[i]->close())
            throw CannotWrite("cannot write the traces in " + folder.writing().string());
        const RunName& run = work.planned[i].run;
        switch (ran[i].end) {
        case study::Outcome::End::complete:
            if (work.page) {
                mark_recorded(ran[i].summary, recorded_of(work.scenarios[i]));
                work.traces.push_back(std::move(traces[i]));
            }
            work.compared.runs.push_back(run);
            work.compared.entries.push_back({run.name, work.scenarios[i], ran[i].summary});
            break;
        case study::Outcome::End::refused:
            work.refused = true;
            work.compared.left_out.push_back(run.name + ": refused, " + ran[i].reason);
            break;
        case study::Outcome::End::failed:
            work.failed = true;
            work.compared.left_out.push_back(run.name + ": the run could not go on, " +
                                             ran[i].reason);
            break;
        case study::Outcome::End::stopped:
            break;
        }
    }
}

/// What the page compares: "An ordinary stop: as it is, and without dripping", or "A hard stop,
/// compared with: The same without its valve".
std::string page_title(const RunName& first, const RunName& second) {
    if (first.title != second.title) return first.title + ", compared with: " + second.title;
    std::string name = second.name;
    // What holds an equals sign is there to be typed.
    if (name.find('=') == std::string::npos) std::replace(name.begin(), name.end(), '_', ' ');
    return first.title + ": " + first.name + ", and " + name;
}

std::string page_of(const Work& work) {
    PageContent content;
    content.title = page_title(work.compared.runs.front(), work.compared.runs.back());
    for (std::size_t i = 0; i < work.traces.size(); ++i) {
        const study::Entry& entry = work.compared.entries[i];
        content.runs.push_back({entry.name, &entry.scenario, &entry.summary, work.traces[i].get()});
    }
    content.runs.front().lesson = work.lesson;
    content.sentences = sentences(work.compared);
    return page(content, work.compared.units);
}

int answer(Work& work, const CompareRequest& request, const std::vector<Planned>& planned,
           ResultFolder& folder) {
    const Interruptible guard;
    run_all(work, folder);
    Compared& compared = work.compared;
    if (interrupted() || compared.entries.size() < 2) {
        for (const std::string& line : compared.left_out)
            fmt::print(stderr, "{}\n", line);
        fmt::print(stderr, "Nothing is compared: {}. What was computed is in {}\n",
                   interrupted() ? "interrupted" : "less than two runs got to the end",
                   folder.writing().string());
        return interrupted() ? kInterrupted : work.failed ? kCouldNotGoOn : kRefused;
    }
    compared.comparison = study::compare(compared.entries);
    std::vector<const Scenario*> scenarios;
    for (const study::Entry& entry : compared.entries)
        scenarios.push_back(&entry.scenario);
    compared.setup = study::setup_of(scenarios);

    const std::string text = compare_report(compared);
    folder.write("report.txt", text);
    folder.write("comparison.csv", compare_csv(compared));
    folder.write("comparison.json", compare_json(compared));
    if (work.page) folder.write("page.html", page_of(work));
    std::string no_plots;
    if (request.plots) write_compare_plots(folder.writing(), compared, no_plots);
    if (!interrupted()) folder.publish();
    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    fmt::print("Files: {}\n", interrupted() ? folder.writing().string() + " (incomplete)"
                                            : folder.wanted().string());
    return exit_code(compared, planned, work.refused, work.failed);
}

} // namespace

int compare_command(const CompareRequest& request) {
    if (const int code = check(request); code != kFine) return code;
    const std::vector<Planned> planned = plan(request);
    Work work;
    work.page = request.page;
    std::vector<std::string> printed;
    for (const Planned& p : planned) {
        auto loaded = read(p, request, printed);
        if (!loaded) {
            work.refused = true;
            work.compared.left_out.push_back(p.run.name + ": refused, see the messages");
            continue;
        }
        if (work.scenarios.empty()) {
            work.compared.units = loaded->units;
            work.lesson = loaded->lesson;
        }
        work.planned.push_back(p);
        work.planned.back().run.title = loaded->scenario.title;
        name_faults(work.planned.back(), loaded->scenario);
        work.scenarios.push_back(std::move(loaded->scenario));
    }
    if (work.scenarios.size() < 2) {
        if (planned.size() > 2)
            fmt::print(stderr, "compare: less than two of the {} scenarios can be run\n",
                       planned.size());
        return kRefused;
    }
    work.compared.units = work.compared.units.or_preset(request.units);
    study::record_alike(work.scenarios);
    return answering(request.files[0], [&] {
        ResultFolder folder(folder_for(request));
        return answer(work, request, planned, folder);
    });
}

} // namespace pedalbench::runner
