// `sweep` and `merge`: the rows of a study, and what they come to.
//
// A process makes one block of rows, by default all of them, and appends them to a file of its own
// whose name says which block of how many it is and what it was made of. So an interrupted study
// goes on where it was, array jobs need not know of each other, and whoever is last joins the
// blocks. What is answered is read from the joined file: it cannot depend on who made which row.
#include <algorithm>
#include <filesystem>
#include <fstream>
#include <system_error>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "commands.hpp"
#include "interrupt.hpp"
#include "page.hpp"
#include "points_file.hpp"
#include "points_hdf5.hpp"
#include "progress.hpp"
#include "ranks.hpp"
#include "result_folder.hpp"
#include "study_file.hpp"
#include "sweep_answers.hpp"
#include "sweep_page.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

namespace fs = std::filesystem;

struct Shard {
    std::size_t k = 1, n = 1;
};

/// Where the results go, and beside it where the blocks grow.
struct Folders {
    fs::path wanted, blocks;

    explicit Folders(const SweepRequest& request)
        : wanted(request.out.empty() ? fs::path("runs") / fs::path(request.file).stem()
                                     : fs::path(request.out)) {
        if (!wanted.has_filename()) wanted = wanted.parent_path(); // "out/" is "out"
        blocks = wanted;
        blocks += ".points";
    }
};

fs::path block_file(const Folders& folders, const Study& study, Shard shard) {
    return folders.blocks / fmt::format("{}.{}-of-{}.csv", study.key, shard.k, shard.n);
}

/// The blocks of this study that have been begun, in whatever number it was cut into.
std::vector<Shard> begun(const Folders& folders, const Study& study) {
    std::vector<Shard> shards;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folders.blocks, error)) {
        const std::string name = entry.path().filename().string();
        if (!name.starts_with(study.key + ".")) continue;
        const std::string_view rest = std::string_view(name).substr(study.key.size() + 1);
        const std::size_t of = rest.find("-of-"), end = rest.find(".csv");
        if (of == std::string_view::npos || end == std::string_view::npos || end < of) continue;
        const auto k = whole_number(rest.substr(0, of)),
                   n = whole_number(rest.substr(of + 4, end - of - 4));
        if (k && n && *k >= 1 && *n >= *k)
            shards.push_back({static_cast<std::size_t>(*k), static_cast<std::size_t>(*n)});
    }
    std::sort(shards.begin(), shards.end(),
              [](const Shard& a, const Shard& b) { return a.n != b.n ? a.n < b.n : a.k < b.k; });
    return shards;
}

/// A study may have been begun in another number of blocks: what they have need not be made again.
void take_over(const Study& study, const study::Rows& rows, Shard shard, const Folders& folders,
               PointsWriter& writer) {
    const auto [first, last] = study::shard_of(rows.size(), shard.k, shard.n);
    const std::vector<Shard> others = begun(folders, study);
    for (bool more = true; more;) {
        more = false;
        for (const Shard& other : others) {
            const std::size_t from = study::shard_of(rows.size(), other.k, other.n).first;
            const std::size_t next = first + writer.has();
            if (other.n == shard.n || next >= last || next < from) continue;
            const fs::path file = block_file(folders, study, other);
            const std::size_t to = std::min(last, from + whole_lines(file));
            std::ifstream in(file, std::ios::binary);
            std::string line;
            for (std::size_t row = from; row < to && std::getline(in, line); ++row)
                if (row >= next) writer.take(line), more = true;
        }
    }
}

/// Says that blocks of another input or version are there. They answer another question, and wait
/// for it.
void tell_of_others(const Folders& folders, const Study& study) {
    std::size_t rows = 0;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folders.blocks, error)) {
        const std::string name = entry.path().filename().string();
        if (!name.ends_with(".csv") || name.find("-of-") == std::string::npos ||
            name.starts_with(study.key + "."))
            continue;
        rows += whole_lines(entry.path());
    }
    if (rows > 0)
        fmt::print("Started anew: {} in {} came of other input, another version or other units, "
                   "and stay there.\n",
                   counted(static_cast<long>(rows), "row"), folders.blocks.string());
}

/// Makes the rows of one block that are not there yet. Throws CannotWrite.
int make_block(const Study& study, const study::Rows& rows, Shard shard, const Folders& folders,
               unsigned threads) {
    const auto [first, last] = study::shard_of(rows.size(), shard.k, shard.n);
    PointsWriter writer(block_file(folders, study, shard), study, rows, first);
    if (writer.had() > last - first)
        throw CannotWrite(block_file(folders, study, shard).string() + " has too many rows");
    take_over(study, rows, shard, folders, writer);
    if (writer.had() > 0 && writer.had() < last - first)
        fmt::print("Going on: {} of {} were there.\n", writer.had(),
                   counted(static_cast<long>(last - first), "row"));
    const Interruptible guard;
    RunOptions options;
    options.stop = [&writer] { return interrupted() || writer.failed(); };
    {
        study::Threads executor(threads);
        Progress progress(shard.n > 1 ? fmt::format("sweep {}/{}", shard.k, shard.n) : "sweep",
                          &writer, writer.had());
        progress.begin(last - first);
        study::run_rows(rows, first + writer.had(), last, executor, progress, options);
    }
    const std::size_t has = writer.has();
    if (!writer.close())
        throw CannotWrite("cannot write " + block_file(folders, study, shard).string());
    if (has == last - first) return kFine;
    fmt::print("Interrupted: {} of {} are kept in {}; the same command goes on.\n", has,
               counted(static_cast<long>(last - first), "row"), folders.blocks.string());
    return kInterrupted;
}

/// Joins the blocks of a study into points.csv. Throws CannotWrite.
void join(const Study& study, std::size_t shards, const Folders& folders, const fs::path& to) {
    std::ofstream out(to, std::ios::binary);
    out << points_header(study);
    for (std::size_t k = 1; k <= shards; ++k) {
        std::ifstream in(block_file(folders, study, {k, shards}), std::ios::binary);
        if (in.peek() != std::ifstream::traits_type::eof()) out << in.rdbuf(); // else it fails
    }
    out.close();
    if (!out) throw CannotWrite("cannot write " + to.string());
}

/// Joins, judges, draws and answers; every block is whole. Throws CannotWrite.
int answer(const Study& study, std::size_t shards, const Folders& folders,
           const SweepRequest& request) {
    ResultFolder folder(folders.wanted);
    join(study, shards, folders, folder.writing() / "points.csv");
    const SweepResult result = evaluate(folder.writing() / "points.csv", study);
    if (result.rows != study::Rows(study.sweep).size())
        throw CannotWrite("not all rows are in " + folders.blocks.string() +
                          "; every process must see the same folder");
    const std::string text = sweep_report(study, result);
    folder.write("report.txt", text);
    write_sweep_tables(folder.writing(), study, result);
    std::string no_plots;
    if (request.plots) draw_sweep(folder.writing(), no_plots);
    if (has_hdf5())
        write_points_hdf5(folder.writing() / "points.csv", folder.writing() / "points.h5", study);
    if (request.page) {
        const nlohmann::ordered_json values = sweep_page_values(folder.writing(), study, result);
        folder.write("page.html", page({.sweep = &values}, study.units));
    }
    folder.write("summary.json", sweep_json(study, result));
    folder.publish();
    std::error_code error;
    for (const Shard& shard : begun(folders, study))
        fs::remove(block_file(folders, study, shard), error);
    fs::remove(folders.blocks, error); // unless something else is in it
    fmt::print("{}\n", text);
    if (!no_plots.empty()) fmt::print("No plots: {}\n", no_plots);
    fmt::print("Files: {}\n", folder.wanted().string());
    return result.complete > 0 ? kFine : kCouldNotGoOn;
}

/// "2/8"; nothing: all in one.
std::optional<Shard> shard_in(const std::string& text) {
    if (text.empty()) return Shard{};
    const std::size_t slash = text.find('/');
    const auto k = whole_number(text.substr(0, slash)),
               n = slash == std::string::npos ? std::nullopt : whole_number(text.substr(slash + 1));
    if (!k || !n || *k != static_cast<double>(static_cast<long>(*k)) ||
        *n != static_cast<double>(static_cast<long>(*n)) || *k < 1 || *n < *k || *n > 100000)
        return {};
    return Shard{static_cast<std::size_t>(*k), static_cast<std::size_t>(*n)};
}

/// In how many blocks the study lies there, if all of them are whole.
std::optional<std::size_t> whole_in(const Study& study, const study::Rows& rows,
                                    const Folders& folders, std::string& missing) {
    std::vector<std::size_t> counts; // rising
    for (const Shard& shard : begun(folders, study))
        counts.push_back(shard.n);
    counts.erase(std::unique(counts.begin(), counts.end()), counts.end());
    if (counts.empty())
        missing = "no block of this study, with this input and version, in " +
                  folders.blocks.string() + "\n";
    for (const std::size_t n : counts) {
        std::string lacks;
        for (std::size_t k = 1; k <= n; ++k) {
            const auto [first, last] = study::shard_of(rows.size(), k, n);
            const std::size_t has = whole_lines(block_file(folders, study, {k, n}));
            if (has != last - first)
                lacks += fmt::format("block {} of {} has {} of {}\n", k, n, has,
                                     counted(static_cast<long>(last - first), "row"));
        }
        if (lacks.empty()) return n;
        missing += lacks;
    }
    return {};
}

StudyRequest said_by(const SweepRequest& request) {
    return {request.sets, request.without, request.units};
}

} // namespace

int sweep_command(const SweepRequest& request) {
    Ranks ranks;
    Findings findings;
    if (request.page && !can_write_pages(findings))
        return ranks.first() ? refused(findings) : kRefused;
    const auto study = read_study(request.file, said_by(request), findings);
    if (!study) return ranks.first() ? refused(findings) : kRefused;
    auto shard = shard_in(request.shard);
    if (!shard || (!request.shard.empty() && ranks.size() > 1)) {
        if (ranks.first())
            fmt::print(stderr, "command line: --shard: found {}, allowed {}\n", request.shard,
                       shard ? "no shards under MPI, where every process makes one"
                             : "the number of a block and how many there are, such as 2/8");
        return kRefused;
    }
    const bool one_of_many = !request.shard.empty();
    if (ranks.size() > 1) shard = Shard{ranks.number() + 1, ranks.size()};
    const Folders folders(request);
    const study::Rows rows(study->sweep);
    const auto make = [&] {
        std::error_code error;
        fs::create_directories(folders.blocks, error);
        if (error)
            throw CannotWrite("cannot make " + folders.blocks.string() + ": " + error.message());
        if (ranks.first()) tell_of_others(folders, *study);
        const unsigned threads = request.threads == 0 && ranks.size() > 1 ? 1 : request.threads;
        return make_block(*study, rows, *shard, folders, threads);
    };
    const int code = ranks.worst(answering(request.file, make));
    if (code != kFine || !ranks.first()) return code;
    if (one_of_many) {
        fmt::print("Block {} of {} is whole. `pedalbench merge` joins them when all are.\n",
                   shard->k, shard->n);
        return kFine;
    }
    return answering(request.file, [&] { return answer(*study, shard->n, folders, request); });
}

int merge_command(const SweepRequest& request) {
    Findings findings;
    if (request.page && !can_write_pages(findings)) return refused(findings);
    const auto study = read_study(request.file, said_by(request), findings);
    if (!study) return refused(findings);
    const Folders folders(request);
    const study::Rows rows(study->sweep);
    std::string missing;
    const auto shards = whole_in(*study, rows, folders, missing);
    if (!shards) {
        fmt::print(stderr, "Nothing was joined:\n{}", missing);
        return kCouldNotGoOn;
    }
    return answering(request.file, [&] { return answer(*study, *shards, folders, request); });
}

} // namespace pedalbench::runner
