// `match`: read a complaint, search, answer.
#include <memory>

#include <fmt/format.h>

#include "commands.hpp"
#include "fingerprint.hpp"
#include "interrupt.hpp"
#include "known_runs.hpp"
#include "match_answers.hpp"
#include "match_page.hpp"
#include "match_plots.hpp"
#include "page.hpp"
#include "progress.hpp"
#include "reader.hpp"
#include "record/remarks.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

int search_into(ResultFolder& folder, const Loaded& loaded, const MatchRequest& request) {
    const Scenario& complaint = loaded.scenario;
    const auto columns = study::columns_of(complaint);
    KnownRuns store(folder.wanted().parent_path() / "known_runs" /
                        (fingerprint(complaint, columns) + ".txt"),
                    columns.size());
    const Interruptible guard;
    RunOptions options;
    options.stop = [] { return interrupted(); };
    study::Threads threads(request.threads);
    study::Match match;
    {
        Progress progress("match");
        match = study::match(complaint, threads, store, progress, options);
    }
    const std::string page =
        request.page && !match.stopped
            ? match_page(folder, complaint, match, loaded.units, threads, options)
            : "";
    if (match.stopped || interrupted()) {
        fmt::print(stderr, "Stopped; the runs made so far are kept, and the same command goes on "
                           "from there.\n");
        return kInterrupted;
    }
    const std::string text =
        match_report(complaint, match, loaded.units, cautions_of(complaint, complaint.hardware));
    folder.write("report.txt", text);
    folder.write("readings.csv", readings_csv(complaint, match, loaded.units));
    if (request.page) folder.write("page.html", page);
    std::string no_plots;
    if (request.plots) no_plots = draw_match(folder.writing(), complaint, match, loaded.units);
    folder.write("summary.json", match_json(complaint, match, loaded.units));
    folder.publish();
    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    fmt::print("Files: {}\n", folder.wanted().string());
    return match.explained() ? kFine : kExpectationFailed;
}

} // namespace

int match_command(const MatchRequest& request) {
    Findings findings;
    if (request.page && !can_write_pages(findings)) return refused(findings);
    auto loaded = read_scenario(request.file, request.sets, findings, request.without);
    if (loaded && loaded->scenario.readings.empty())
        findings.add({request.file, 1, 1}, "readings",
                     loaded->hardware_only ? "a car alone" : "a scenario without readings",
                     "a complaint: a scenario with `readings:`, what somebody read on the car");
    if (!findings.empty()) return refused(findings);
    loaded->units = loaded->units.or_preset(request.units);
    return answering(request.file, [&] {
        ResultFolder folder(request.out.empty()
                                ? fs::path("runs") /
                                      ("match_" + fs::path(request.file).stem().string())
                                : fs::path(request.out));
        return search_into(folder, *loaded, request);
    });
}

} // namespace pedalbench::runner
