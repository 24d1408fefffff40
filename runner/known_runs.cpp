#include "known_runs.hpp"

#include <cstdlib>
#include <iterator>

#include <fmt/format.h>

#include "result_folder.hpp"

namespace pedalbench::runner {

KnownRuns::KnownRuns(const std::filesystem::path& file, std::size_t columns) : file_(file) {
    std::error_code error;
    std::filesystem::create_directories(file.parent_path(), error);
    std::string text;
    if (std::ifstream in(file, std::ios::binary); in)
        text.assign(std::istreambuf_iterator<char>(in), {});
    std::size_t whole = 0; // characters of whole lines
    for (std::size_t end; (end = text.find('\n', whole)) != std::string::npos; whole = end + 1) {
        const std::size_t tab = text.find('\t', whole);
        if (tab == std::string::npos || tab > end) continue;
        std::vector<double> found;
        const char* at = text.c_str() + tab + 1;
        while (*at != '\n') {
            char* after = nullptr;
            found.push_back(std::strtod(at, &after));
            if (after == at) break;
            at = *after == ' ' ? after + 1 : after;
        }
        if (*at == '\n' && (found.empty() || found.size() == columns))
            kept_[text.substr(whole, tab - whole)] = std::move(found);
    }
    if (whole < text.size()) std::filesystem::resize_file(file, whole, error);
    out_.open(file, std::ios::binary | std::ios::app);
    if (!out_) throw CannotWrite("cannot write " + file.string());
}

const std::vector<double>& KnownRuns::put(const std::string& key, std::vector<double> found) {
    std::string line = key + '\t';
    for (const double x : found)
        line += fmt::format("{}{}", line.back() == '\t' ? "" : " ", x);
    out_ << line + '\n' << std::flush;
    if (!out_) throw CannotWrite("cannot write " + file_.string());
    return RunStore::put(key, std::move(found));
}

} // namespace pedalbench::runner
