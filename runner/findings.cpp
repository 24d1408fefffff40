#include "findings.hpp"

#include <algorithm>
#include <tuple>

namespace pedalbench::runner {

std::string text_of(const Position& at) {
    if (at.line == 0) return at.file;
    if (at.column == 0) return at.file + " " + std::to_string(at.line);
    return at.file + ":" + std::to_string(at.line) + ":" + std::to_string(at.column);
}

void Findings::add(Position at, std::string_view path, std::string_view found,
                   std::string_view allowed, std::string_view meant) {
    std::string reason = "found " + std::string(found);
    if (!allowed.empty()) (reason += ", allowed ") += allowed;
    if (!meant.empty()) ((reason += "; did you mean ") += meant) += "?";
    refuse(std::move(at), path, reason);
}

void Findings::refuse(Position at, std::string_view path, std::string_view reason) {
    std::string text;
    if (!path.empty()) (text += path) += ": ";
    text += reason;
    // One line per finding, whatever a quoted text of the file held.
    for (char& c : text)
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) c = ' ';
    found_.push_back({std::move(at), std::move(text)});
}

std::vector<std::string> Findings::lines() const {
    std::vector<std::string> files;
    const auto order = [&files](const std::string& file) {
        const auto it = std::find(files.begin(), files.end(), file);
        if (it != files.end()) return it - files.begin();
        files.push_back(file);
        return static_cast<std::ptrdiff_t>(files.size()) - 1;
    };
    for (const Finding& f : found_)
        order(f.at.file);
    std::vector<Finding> sorted = found_;
    std::stable_sort(sorted.begin(), sorted.end(), [&](const Finding& a, const Finding& b) {
        return std::tuple(order(a.at.file), a.at.line, a.at.column) <
               std::tuple(order(b.at.file), b.at.line, b.at.column);
    });
    constexpr std::size_t kMost = 20;
    std::vector<std::string> out;
    for (const Finding& f : sorted) {
        if (out.size() == kMost) {
            out.push_back("and " + std::to_string(sorted.size() - kMost) + " more");
            break;
        }
        out.push_back(text_of(f.at) + ": " + f.text);
    }
    return out;
}

} // namespace pedalbench::runner
