#include "words.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace pedalbench::runner {

namespace {

bool blank(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}
bool digit(char c) {
    return c >= '0' && c <= '9';
}

} // namespace

std::string_view trim(std::string_view text) {
    while (!text.empty() && blank(text.front()))
        text.remove_prefix(1);
    while (!text.empty() && blank(text.back()))
        text.remove_suffix(1);
    return text;
}

std::optional<double> take_number(std::string_view& text) {
    std::string_view rest = text;
    if (!rest.empty() && rest.front() == '+') rest.remove_prefix(1);
    // from_chars would read the words nan and inf, so the first sign of a number must be a digit.
    std::size_t first = !rest.empty() && rest.front() == '-' && rest.data() == text.data() ? 1 : 0;
    if (first < rest.size() && rest[first] == '.') ++first;
    if (first >= rest.size() || !digit(rest[first])) return {};
    double value = 0;
    const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
    if (error != std::errc() || !std::isfinite(value)) return {};
    text = rest.substr(static_cast<std::size_t>(end - rest.data()));
    return value;
}

std::optional<double> whole_number(std::string_view text) {
    text = trim(text);
    const auto value = take_number(text);
    return text.empty() ? value : std::nullopt;
}

std::string show(double value, int digits) {
    if (std::isnan(value)) return "-";
    if (std::isinf(value)) return value > 0 ? "endless" : "-endless";
    if (value == 0) return "0";
    char buffer[64];
    const double size = std::abs(value);
    if (size < 1e-4 || size >= 1e7) {
        const auto end = std::to_chars(buffer, buffer + sizeof buffer, value,
                                       std::chars_format::general, digits);
        return {buffer, end.ptr};
    }
    const int before = static_cast<int>(std::floor(std::log10(size))) + 1;
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::fixed,
                                   std::max(0, digits - before));
    std::string text(buffer, end.ptr);
    if (text.find('.') != std::string::npos) {
        text.erase(text.find_last_not_of('0') + 1);
        if (text.back() == '.') text.pop_back();
    }
    return text == "-0" ? "0" : text;
}

int edit_distance(std::string_view a, std::string_view b) {
    const std::size_t n = b.size();
    std::vector<int> before(n + 1), last(n + 1), now(n + 1);
    for (std::size_t j = 0; j <= n; ++j)
        last[j] = static_cast<int>(j);
    for (std::size_t i = 1; i <= a.size(); ++i) {
        now[0] = static_cast<int>(i);
        for (std::size_t j = 1; j <= n; ++j) {
            const int replace = last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
            now[j] = std::min({replace, last[j] + 1, now[j - 1] + 1});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                now[j] = std::min(now[j], before[j - 2] + 1);
        }
        std::swap(before, last);
        std::swap(last, now);
    }
    return last[n];
}

std::string nearest(std::string_view word, std::span<const std::string> known) {
    // A word two thirds wrong is another word; a wild guess helps nobody.
    const int most = std::clamp(static_cast<int>(word.size()) / 3, 1, 4);
    const std::string* best = nullptr;
    int least = most + 1;
    for (const std::string& candidate : known) {
        if (candidate.empty()) continue;
        const int distance = edit_distance(word, candidate);
        if (distance < least) least = distance, best = &candidate;
    }
    if (best) return *best;
    // A beginning of a longer word, when only one word begins so.
    if (word.size() < 3) return {};
    for (const std::string& candidate : known) {
        if (!candidate.starts_with(word)) continue;
        if (best) return {};
        best = &candidate;
    }
    return best ? *best : std::string();
}

std::string one_of(std::span<const std::string> words) {
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i) {
        if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
        text += words[i];
    }
    return text;
}

std::vector<std::string> split(std::string_view text, char at) {
    std::vector<std::string> words;
    if (text.empty()) return words;
    for (;;) {
        const std::size_t end = text.find(at);
        words.emplace_back(text.substr(0, end));
        if (end == std::string_view::npos) return words;
        text.remove_prefix(end + 1);
    }
}

std::string counted(long n, std::string_view one, std::string_view many) {
    std::string text = std::to_string(n) + " ";
    if (n == 1) return text += one;
    if (!many.empty()) return text += many;
    return (text += one) += "s";
}

std::string wrapped(std::string_view text, int width, std::string_view indent) {
    std::string all, line(indent);
    bool fresh = true;
    for (const std::string& word : split(text, ' ')) {
        if (word.empty()) continue;
        if (!fresh && static_cast<int>(line.size() + 1 + word.size()) > width) {
            all += line + '\n';
            line = indent;
            fresh = true;
        }
        if (!fresh) line += ' ';
        line += word;
        fresh = false;
    }
    return fresh ? all : all + line + '\n';
}

std::string hanging(const std::string& head, std::string_view text) {
    std::string body = wrapped(text, kWidth, std::string(head.size(), ' '));
    if (body.empty()) return head + "\n";
    body.replace(0, head.size(), head);
    return body;
}

} // namespace pedalbench::runner
