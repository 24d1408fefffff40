#include "file_head.hpp"

#include <algorithm>
#include <iterator>

#include "reader.hpp"

namespace pedalbench::runner {

namespace {

struct Mark {
    const char* key;
    FileKind kind;
};
// The first that is found tells: a scenario may hold the parts of its car itself.
constexpr Mark kMarks[] = {{"move", FileKind::fit},          {"vary", FileKind::study},
                           {"hardware", FileKind::scenario}, {"foot", FileKind::scenario},
                           {"bleeding", FileKind::scenario}, {"parts", FileKind::car}};

struct Words {
    const char *what, *runs; // the kind, and which command it is for
};
constexpr Words kWords[] = {{"a car", "scenarios and studies name a car"},
                            {"a scenario", "`pedalbench run` runs scenarios"},
                            {"a study", "`pedalbench sweep` runs studies"},
                            {"a fit", "`pedalbench fit` runs fits"}};
const Words& words_of(FileKind kind) {
    return kWords[static_cast<std::size_t>(kind)];
}

const Mark* mark_of(const Node& root) {
    const auto found = std::ranges::find_if(kMarks, [&root](const Mark& m) {
        return std::ranges::any_of(root.keys,
                                   [&m](const Node::Key& key) { return key.text == m.key; });
    });
    return found == std::end(kMarks) ? nullptr : found;
}

bool read_format(const Node& root, MapReader& map) {
    const Source& source = map.source();
    const std::string wanted = "pedalbench: " + std::to_string(kFormat) + " as the first line";
    if (!map.is_map()) return false;
    const Node* format = map.find("pedalbench");
    if (!format) {
        source.findings.add(source.at(root), "pedalbench", "no format number", wanted);
        return false;
    }
    if (format->kind != Node::Kind::text || format->text != std::to_string(kFormat)) {
        source.findings.add(source.at(*format), "pedalbench", "format " + describe(*format),
                            "format " + std::to_string(kFormat) + ", the one this version reads");
        return false;
    }
    if (root.keys.front().text != "pedalbench") {
        source.findings.add(source.at(root.keys.front()), "",
                            "`" + root.keys.front().text + "` as the first key", wanted);
        return false;
    }
    return true;
}

} // namespace

std::optional<FileKind> kind_of(const Node& root) {
    const Mark* mark = mark_of(root);
    return mark ? std::optional(mark->kind) : std::nullopt;
}

std::optional<FileKind> kind_of(const std::string& file) {
    Findings unheard;
    const auto text = read_text_file(file, {file}, "", unheard);
    const auto root = text ? parse_yaml(*text, file, unheard) : std::nullopt;
    return root ? kind_of(*root) : std::nullopt;
}

bool read_head(const Node& root, MapReader& map, std::initializer_list<FileKind> wanted) {
    if (!read_format(root, map)) return false;
    const Mark* mark = mark_of(root);
    if (!mark || std::ranges::find(wanted, mark->kind) != wanted.end()) return true;
    std::string allowed;
    for (const FileKind kind : wanted)
        allowed += (allowed.empty() ? "" : " or ") + std::string(words_of(kind).what);
    map.source().findings.add(map.source().at(root), mark->key, words_of(mark->kind).what,
                              allowed + "; " + words_of(mark->kind).runs);
    return false;
}

} // namespace pedalbench::runner
