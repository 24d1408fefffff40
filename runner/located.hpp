// YAML as a tree in which every node knows where it stands, and a map knows which of its keys were
// read. Stricter than YAML: no tags, anchors, aliases, second documents, empty values or keys given
// twice.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "findings.hpp"

namespace pedalbench::runner {

struct Node {
    enum class Kind { text, list, map };
    Kind kind = Kind::text;
    int line = 0, column = 0;
    std::string text; // of a text, as it stands in the file without quotes

    struct Key {
        std::string text;
        int line = 0, column = 0;
        mutable bool used = false; // an unread key is a mistake of the user's
    };
    std::vector<Key> keys;   // of a map, in the order of the file
    std::vector<Node> items; // of a list, or the values of a map beside their keys
};

/// "a map", "a list", "\"text\"" (shortened), for messages.
std::string describe(const Node& node);

/// Reads YAML text. What is wrong with it goes to `findings`, and then there is no tree.
std::optional<Node> parse_yaml(std::string_view text, const std::string& file, Findings& findings);

/// Reads a whole file of at most `kLargestFile` bytes; refused unless it is UTF-8 without NUL
/// bytes.
inline constexpr std::size_t kLargestFile = 64u << 20;
std::optional<std::string> read_text_file(const std::string& path, const Position& wanted_at,
                                          std::string_view wanted_as, Findings& findings);

} // namespace pedalbench::runner
