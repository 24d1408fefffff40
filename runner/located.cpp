#include "located.hpp"

#include <algorithm>
#include <fstream>
#include <sstream>

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

namespace pedalbench::runner {

namespace {

constexpr int kDeepest = 16;          // a scenario needs about 6
constexpr std::size_t kMost = 200000; // nodes; a foot input typed point by point has a few thousand

/// Ends the parse at the first thing that is not allowed.
struct Stop {
    int line, column;
    std::string found, allowed;
};

class Builder final : public YAML::EventHandler {
  public:
    Node root;
    bool any = false;

    void OnDocumentStart(const YAML::Mark&) override {}
    void OnDocumentEnd() override {
        if (empty_) throw *empty_;
    }

    void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
        refuse_anchor(mark, anchor);
        if (open_.empty()) throw Stop{1, 1, "an empty file", "a map of keys and values"};
        if (expects_key()) throw Stop{mark.line + 1, mark.column + 1, "a value without a key", ""};
        // An unclosed bracket looks like an empty value too, and the parser's own words come later;
        // so this complaint waits. The mark is that of whatever comes next: point at the key
        // instead.
        if (!empty_) {
            const Node& parent = *open_.back();
            if (parent.kind == Node::Kind::map) {
                const auto& key = parent.keys.back();
                empty_ = {key.line, key.column, "nothing after `" + key.text + ":`", "a value"};
            } else {
                empty_ = {mark.line + 1, mark.column + 1, "an empty entry", "a value"};
            }
        }
        add(mark, Node::Kind::text);
    }
    void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
        throw Stop{mark.line + 1, mark.column + 1, "an alias (*)", "the value itself"};
    }
    void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  const std::string& value) override {
        refuse_tag(mark, tag);
        refuse_anchor(mark, anchor);
        for (const char c : value)
            if (static_cast<unsigned char>(c) < 0x20 && c != '\t' && c != '\n')
                throw Stop{mark.line + 1, mark.column + 1, "a control character", "plain text"};
        if (expects_key()) return add_key(mark, value);
        add(mark, Node::Kind::text).text = value;
    }
    void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                         YAML::EmitterStyle::value) override {
        refuse_tag(mark, tag);
        refuse_anchor(mark, anchor);
        open(mark, Node::Kind::list);
    }
    void OnSequenceEnd() override { open_.pop_back(); }
    void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                    YAML::EmitterStyle::value) override {
        refuse_tag(mark, tag);
        refuse_anchor(mark, anchor);
        open(mark, Node::Kind::map);
    }
    void OnMapEnd() override { open_.pop_back(); }

  private:
    bool expects_key() const {
        return !open_.empty() && open_.back()->kind == Node::Kind::map &&
               open_.back()->keys.size() == open_.back()->items.size();
    }
    void add_key(const YAML::Mark& mark, const std::string& text) {
        auto& keys = open_.back()->keys;
        for (const Node::Key& k : keys)
            if (k.text == text)
                throw Stop{mark.line + 1, mark.column + 1,
                           "the key `" + text + "` a second time (first in line " +
                               std::to_string(k.line) + ")",
                           "each key once"};
        keys.push_back({text, mark.line + 1, mark.column + 1});
        count();
    }
    Node& add(const YAML::Mark& mark, Node::Kind kind) {
        count();
        if (expects_key())
            throw Stop{mark.line + 1, mark.column + 1, "a list or map as a key", "a word"};
        any = true;
        Node& node = open_.empty() ? root : open_.back()->items.emplace_back();
        node.kind = kind;
        node.line = mark.line + 1;
        node.column = mark.column + 1;
        return node;
    }
    void open(const YAML::Mark& mark, Node::Kind kind) {
        if (open_.size() >= kDeepest)
            throw Stop{mark.line + 1, mark.column + 1,
                       "lists or maps more than " + std::to_string(kDeepest) + " deep", ""};
        // A parent's list of items does not grow while a child is open, so the pointer stays good.
        open_.push_back(&add(mark, kind));
    }
    void count() {
        if (++nodes_ > kMost)
            throw Stop{1, 1, "more than " + std::to_string(kMost) + " values",
                       "a measured trace as a CSV file beside the scenario"};
    }
    static void refuse_tag(const YAML::Mark& mark, const std::string& tag) {
        // "?" and "!" are what the parser itself calls plain and quoted text.
        if (tag.empty() || tag == "?" || tag == "!") return;
        throw Stop{mark.line + 1, mark.column + 1, "a tag (!)", "plain values"};
    }
    static void refuse_anchor(const YAML::Mark& mark, YAML::anchor_t anchor) {
        if (anchor) throw Stop{mark.line + 1, mark.column + 1, "an anchor (&)", "plain values"};
    }

    std::optional<Stop> empty_;
    std::vector<Node*> open_;
    std::size_t nodes_ = 0;
};

/// Position in a text of its first byte that is not UTF-8 or not printable; npos when all is well.
std::size_t bad_byte(std::string_view text) {
    for (std::size_t i = 0; i < text.size();) {
        const auto c = static_cast<unsigned char>(text[i]);
        if (c < 0x80) {
            if (c < 0x20 && c != '\t' && c != '\n' && c != '\r') return i;
            ++i;
            continue;
        }
        const int more = c >= 0xc2 && c <= 0xdf   ? 1
                         : (c & 0xf0) == 0xe0     ? 2
                         : c >= 0xf0 && c <= 0xf4 ? 3
                                                  : 0;
        if (more == 0 || text.size() - i <= static_cast<std::size_t>(more)) return i;
        unsigned code = c & (0x3fu >> more);
        for (int k = 1; k <= more; ++k) {
            const auto next = static_cast<unsigned char>(text[i + k]);
            if ((next & 0xc0) != 0x80) return i;
            code = code << 6 | (next & 0x3f);
        }
        // Overlong forms, surrogates and what lies beyond Unicode.
        if ((more == 2 && code < 0x800) || (more == 3 && code < 0x10000) || code > 0x10ffff ||
            (code >= 0xd800 && code <= 0xdfff))
            return i;
        i += 1 + static_cast<std::size_t>(more);
    }
    return std::string_view::npos;
}

Position place(std::string_view text, std::size_t at, const std::string& file) {
    const std::string_view before = text.substr(0, at);
    const int line = 1 + static_cast<int>(std::count(before.begin(), before.end(), '\n'));
    const std::size_t last = before.rfind('\n');
    return {file, line, static_cast<int>(last == std::string_view::npos ? at + 1 : at - last)};
}

/// Column of a tab before the first word of a line, or 0.
int tab_in_indentation(std::string_view text, int line) {
    for (int i = 1; i < line; ++i) {
        const std::size_t end = text.find('\n');
        if (end == std::string_view::npos) return 0;
        text.remove_prefix(end + 1);
    }
    const std::size_t at = text.find_first_not_of(' ');
    return at != std::string_view::npos && text[at] == '\t' ? static_cast<int>(at) + 1 : 0;
}

} // namespace

std::string describe(const Node& node) {
    if (node.kind == Node::Kind::map) return "a map";
    if (node.kind == Node::Kind::list) return "a list";
    if (node.text.empty()) return "an empty text";
    constexpr std::size_t kLong = 40;
    if (node.text.size() <= kLong) return node.text;
    std::size_t end = kLong;
    while (end > 0 && (static_cast<unsigned char>(node.text[end]) & 0xc0) == 0x80)
        --end;
    return node.text.substr(0, end) + "...";
}

std::optional<Node> parse_yaml(std::string_view text, const std::string& file, Findings& findings) {
    if (const std::size_t bad = bad_byte(text); bad != std::string_view::npos) {
        const bool control = static_cast<unsigned char>(text[bad]) < 0x20;
        findings.add(place(text, bad, file), "",
                     control ? "a control character" : "a byte that is not UTF-8", "text in UTF-8");
        return {};
    }
    if (text.starts_with("\xef\xbb\xbf")) text.remove_prefix(3);
    std::istringstream stream{std::string(text)};
    try {
        YAML::Parser parser(stream);
        Builder builder;
        if (!parser.HandleNextDocument(builder) || !builder.any)
            throw Stop{1, 1, "an empty file", "a map of keys and values"};
        // Whatever follows the first document would otherwise be passed over in silence.
        Builder rest;
        bool more = true;
        try {
            more = parser.HandleNextDocument(rest);
        } catch (const Stop&) {
        }
        if (more)
            throw Stop{std::max(1, rest.root.line), std::max(1, rest.root.column),
                       "text after the end of the document", "one document per file"};
        return std::move(builder.root);
    } catch (const Stop& stop) {
        findings.add({file, stop.line, stop.column}, "", stop.found, stop.allowed);
    } catch (const YAML::Exception& e) {
        const int line = std::max(0, e.mark.line) + 1;
        if (const int tab = tab_in_indentation(text, line))
            findings.add({file, line, tab}, "", "a tab in the indentation", "blanks");
        else
            findings.refuse({file, line, std::max(0, e.mark.column) + 1}, "",
                            "cannot be read as YAML: " + e.msg);
    }
    return {};
}

std::optional<std::string> read_text_file(const std::string& path, const Position& wanted_at,
                                          std::string_view wanted_as, Findings& findings) {
    std::ifstream in(path, std::ios::binary);
    std::string text;
    // A folder opens like a file and only fails when it is read.
    if (in) {
        char buffer[1 << 16];
        while (in.read(buffer, sizeof buffer) || in.gcount() > 0) {
            text.append(buffer, static_cast<std::size_t>(in.gcount()));
            if (text.size() > kLargestFile) {
                findings.add(wanted_at, wanted_as, path + " of more than 64 MiB", "smaller files");
                return {};
            }
        }
    }
    if (in.bad() || !in.eof()) {
        findings.add(wanted_at, wanted_as, path + ", which cannot be read", "a readable file");
        return {};
    }
    findings.note(text);
    return text;
}

} // namespace pedalbench::runner
