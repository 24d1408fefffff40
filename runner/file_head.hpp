// What stands on top of every file: its format, and by its keys what kind of file it is.
#pragma once

#include <initializer_list>
#include <optional>
#include <string>

#include "reading.hpp"

namespace pedalbench::runner {

enum class FileKind { car, scenario, study, fit };

/// By the key that only files of that kind have; none where it has no such key.
std::optional<FileKind> kind_of(const Node& root);
std::optional<FileKind> kind_of(const std::string& file);

/// False, with a finding, where it is another format, or of a kind that is not wanted.
bool read_head(const Node& root, MapReader& map, std::initializer_list<FileKind> wanted);

} // namespace pedalbench::runner
