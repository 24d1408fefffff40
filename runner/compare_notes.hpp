// What a comparison says beside its differences: how the runs were set up, what is the same in all
// of them, and what cannot be compared.
#pragma once

#include <string>
#include <vector>

#include "compare_sentences.hpp"

namespace pedalbench::runner {

/// What the scenarios state differently, a line each.
std::vector<std::string> setup_lines(const Compared& compared);
/// Answers that are the same in all runs: "no wheel drags", "the lamp is never lit".
std::vector<std::string> alike(const Compared& compared);
/// What cannot be compared, and why.
std::vector<std::string> not_comparable(const Compared& compared);

} // namespace pedalbench::runner
