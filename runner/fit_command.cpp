// `fit`: read what was measured, search, answer.
#include <fmt/format.h>

#include "commands.hpp"
#include "fit_answers.hpp"
#include "interrupt.hpp"
#include "known_runs.hpp"
#include "progress.hpp"
#include "result_folder.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

int fit_into(ResultFolder& folder, const FitFile& file, const FitRequest& request) {
    // A run answers all columns in all rows, and how far it went.
    const std::size_t answers = file.fit.columns.size() * file.fit.at.size() + 2;
    KnownRuns store(folder.wanted().parent_path() / "known_runs" / (file.key + ".txt"), answers);
    const Interruptible guard;
    RunOptions options;
    options.stop = [] { return interrupted(); };
    study::FitResult result;
    {
        study::Threads threads(request.threads);
        Progress progress("fit");
        result = study::fit(file.fit, threads, store, progress, options);
    }
    if (result.stopped) {
        fmt::print(stderr, "Stopped; the runs made so far are kept, and the same command goes on "
                           "from there.\n");
        return kInterrupted;
    }
    if (!result.beyond.empty()) {
        fmt::print(stderr, "{}\n", beyond_words(file, result));
        return kRefused;
    }
    if (!result.reason.empty()) {
        fmt::print(stderr, "{}: {}\n", file.scenario, result.reason);
        return kCouldNotGoOn;
    }
    const std::string text = fit_report(file, result);
    folder.write("report.txt", text);
    folder.write("fit.csv", fit_csv(file, result));
    std::string no_plots;
    if (request.plots) no_plots = draw_fit(folder.writing(), file, result);
    folder.write("summary.json", fit_json(file, result));
    folder.publish();
    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    fmt::print("Files: {}\n", folder.wanted().string());
    return result.found.end == study::LeastSquares::End::converged ? kFine : kCouldNotGoOn;
}

} // namespace

int fit_command(const FitRequest& request) {
    Findings findings;
    const auto file =
        read_fit(request.file, {request.sets, request.without, request.units}, findings);
    if (!file) return refused(findings);
    return answering(request.file, [&] {
        ResultFolder folder(request.out.empty() ? fs::path("runs") / fs::path(request.file).stem()
                                                : fs::path(request.out));
        return fit_into(folder, *file, request);
    });
}

} // namespace pedalbench::runner
