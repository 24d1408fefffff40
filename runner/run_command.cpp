// `run`: read, simulate, write, answer.
#include <filesystem>
#include <optional>

#include <fmt/format.h>

#include "commands.hpp"
#include "csv_sink.hpp"
#include "interrupt.hpp"
#include "page.hpp"
#include "plots.hpp"
#include "progress.hpp"
#include "reader.hpp"
#include "report.hpp"
#include "result_folder.hpp"
#include "spread_answers.hpp"
#include "summary_json.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

fs::path folder_for(const RunRequest& request) {
    if (!request.out.empty()) return request.out;
    return fs::path("runs") / fs::path(request.file).stem();
}

int exit_code(const Summary& summary) {
    if (interrupted()) return kInterrupted;
    if (!summary.complete) return kCouldNotGoOn;
    for (const ExpectationResult& e : summary.expectations)
        if (!e.held) return kExpectationFailed;
    return kFine;
}

/// Runs it into the files. A page needs more channels than its user records; figures and files are
/// told of his alone.
Summary simulate_with_page(const Loaded& loaded, CsvSink& files, const RunOptions& options,
                           const ResultFolder& folder) {
    const std::vector<std::string> recorded = recorded_of(loaded.scenario);
    PageTrace trace(recorded, files);
    Scenario more = loaded.scenario;
    more.record = page_channels(loaded.scenario);
    Summary summary = simulate(more, trace, options);
    mark_recorded(summary, recorded);
    folder.write(
        "page.html",
        page({.runs = {{"", &loaded.scenario, &summary, &trace, loaded.lesson}}}, loaded.units));
    return summary;
}

/// Everything from the first written byte on; CannotWrite means that writing failed.
int simulate_into(ResultFolder& folder, const Loaded& loaded, const RunRequest& request) {
    const Interruptible guard;
    CsvSink sink(folder.writing(), loaded.units);
    RunOptions options;
    options.stop = [&sink] { return interrupted() || sink.failed(); };
    const Summary summary = request.page ? simulate_with_page(loaded, sink, options, folder)
                                         : simulate(loaded.scenario, sink, options);
    if (!sink.close()) throw CannotWrite("cannot write the trace in " + folder.writing().string());

    std::optional<study::Spread> spread;
    if (request.spread > 0 && summary.complete && !interrupted()) {
        study::Threads threads(request.threads);
        Progress progress("spread");
        RunOptions of_study;
        of_study.stop = [] { return interrupted(); };
        spread =
            study::spread(loaded.scenario, summary, request.spread, threads, progress, of_study);
        if (interrupted()) spread.reset();
    }
    folder.write("summary.json",
                 summary_json(loaded.scenario, summary, loaded.units, spread ? &*spread : nullptr));
    const std::string text = report(loaded.scenario, summary, loaded.units,
                                    spread ? spread_report(*spread, loaded.units) : "");
    folder.write("report.txt", text);
    std::string no_plots;
    if (request.plots) write_plots(folder.writing(), summary, loaded.units, no_plots);
    if (summary.complete && !interrupted()) folder.publish();

    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    if (summary.complete && !interrupted()) {
        fmt::print("Files: {}\n", folder.wanted().string());
    } else {
        fmt::print("Files: {} (incomplete)\n", folder.writing().string());
        std::error_code error;
        if (fs::exists(folder.wanted() / "summary.json", error))
            fmt::print("The older, complete result in {} was left alone.\n",
                       folder.wanted().string());
    }
    return exit_code(summary);
}

} // namespace

int run_command(const RunRequest& request) {
    Findings findings;
    if (request.page && !can_write_pages(findings)) return refused(findings);
    auto loaded = read_scenario(request.file, request.sets, findings, request.without);
    if (!loaded) return refused(findings);
    if (loaded->hardware_only) {
        findings.add({request.file, 1, 1}, "foot", "a car without a foot on its pedal",
                     "a scenario whose `hardware:` names this file; `check` takes a car alone");
        return refused(findings);
    }
    loaded->units = loaded->units.or_preset(request.units);

    return answering(request.file, [&] {
        ResultFolder folder(folder_for(request));
        return simulate_into(folder, *loaded, request);
    });
}

} // namespace pedalbench::runner
