#include "result_folder.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>
#include <system_error>
#include <vector>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

namespace pedalbench::runner {

namespace fs = std::filesystem;

namespace {

constexpr const char* kFiles[] = {
    "trace.csv",       "events.csv", "points.csv",     "points.h5", "report.txt",  "histograms.csv",
    "sensitivity.csv", "plots.gp",   "comparison.csv", "page.html", "readings.csv"};
/// Written last: these vouch for the others.
constexpr const char* kVouchers[] = {"summary.json", "comparison.json"};

template <std::size_t N>
bool is_one_of(const std::string& name, const char* const (&list)[N]) {
    return std::find(std::begin(list), std::end(list), name) != std::end(list);
}

/// "trace_2.csv", of several runs in one folder.
bool is_numbered(const std::string& name) {
    for (const std::string start : {"trace_", "events_"})
        if (name.starts_with(start) && name.ends_with(".csv") && name.size() > start.size() + 4 &&
            name.find_first_not_of("0123456789", start.size()) == name.size() - 4)
            return true;
    return false;
}

/// Removes what an earlier run wrote here, and nothing else. Its pictures are those that its plot
/// script names.
void clear(const fs::path& dir, const std::vector<std::string>& but) {
    const auto stays = [&but](const std::string& name) {
        return std::find(but.begin(), but.end(), name) != but.end();
    };
    std::string script;
    if (std::ifstream in(dir / "plots.gp", std::ios::binary); in)
        script.assign(std::istreambuf_iterator<char>(in), {});
    std::vector<fs::path> old;
    for (const auto& entry : fs::directory_iterator(dir)) {
        const std::string name = entry.path().filename().string();
        const std::string stem = entry.path().stem().string();
        const std::string ending = entry.path().extension().string();
        const bool ours =
            is_one_of(name, kFiles) || is_one_of(name, kVouchers) || is_numbered(name);
        const bool picture = (ending == ".svg" || ending == ".png" || ending == ".pdf") &&
                             script.find(stem) != std::string::npos;
        if ((ours || picture) && !stays(name)) old.push_back(entry.path());
    }
    for (const fs::path& path : old)
        fs::remove(path);
}

std::vector<std::string> names_in(const fs::path& dir) {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator(dir))
        names.push_back(entry.path().filename().string());
    std::sort(names.begin(), names.end());
    std::stable_partition(names.begin(), names.end(),
                          [](const std::string& name) { return !is_one_of(name, kVouchers); });
    return names;
}

} // namespace

ResultFolder::ResultFolder(const fs::path& wanted) : wanted_(wanted) {
    // "out/" and "out" are the same folder, and "." has a name, too.
    if (!wanted_.has_filename() || wanted_.filename() == "." || wanted_.filename() == "..") {
        wanted_ = fs::weakly_canonical(fs::absolute(wanted_));
        if (!wanted_.has_filename()) wanted_ = wanted_.parent_path();
    }
    writing_ = wanted_;
    writing_ += ".incomplete";
    std::error_code error;
    if (fs::exists(wanted_, error) && !fs::is_directory(wanted_, error))
        throw CannotWrite(wanted_.string() + " is not a folder");
    fs::create_directories(writing_, error);
    if (error) throw CannotWrite("cannot make " + writing_.string() + ": " + error.message());
    lock_ = open(writing_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (lock_ < 0 || flock(lock_, LOCK_EX | LOCK_NB) != 0) {
        if (lock_ >= 0) close(lock_);
        throw CannotWrite("another run is writing to " + writing_.string());
    }
    try {
        clear(writing_, {});
    } catch (const fs::filesystem_error& e) {
        close(lock_);
        throw CannotWrite(std::string("cannot clear the folder: ") + e.what());
    }
}

ResultFolder::~ResultFolder() {
    if (lock_ >= 0) close(lock_);
    std::error_code unheard;
    fs::remove(writing_, unheard); // only where nothing stands in it
}

void ResultFolder::write(const std::string& name, const std::string& text) const {
    std::ofstream out(writing_ / name, std::ios::binary);
    out << text;
    out.close();
    if (!out) throw CannotWrite("cannot write " + (writing_ / name).string());
}

void ResultFolder::publish() {
    try {
        fs::create_directories(wanted_);
        const std::vector<std::string> names = names_in(writing_);
        for (const std::string& name : names) // before anything is moved
            if (fs::is_directory(wanted_ / name))
                throw CannotWrite((wanted_ / name).string() + " is a folder");
        for (const char* voucher : kVouchers)
            fs::remove(wanted_ / voucher);
        clear(wanted_, names);
        for (const std::string& name : names)
            fs::rename(writing_ / name, wanted_ / name);
        fs::remove(writing_);
    } catch (const fs::filesystem_error& e) {
        throw CannotWrite(std::string("cannot move the result into place: ") + e.what());
    }
}

} // namespace pedalbench::runner
