// What `compare` answers: a report for people, and the same for programs.
#pragma once

#include <string>

#include "compare_sentences.hpp"

namespace pedalbench::runner {

/// At most 100 columns: sentences, the figures that differ and those that do not, events side by
/// side, cautions.
std::string compare_report(const Compared& compared);
std::string compare_json(const Compared& compared);
/// Every figure, one line each: `figure,moment,unit,<run>,<run>,...`.
std::string compare_csv(const Compared& compared);

} // namespace pedalbench::runner
