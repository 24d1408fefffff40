// The page that plays runs back: one HTML file that holds everything it needs.
#pragma once

#include <string>
#include <vector>

#include "findings.hpp"
#include "page_trace.hpp"
#include "reader.hpp"
#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// False where this program was built without pages; `findings` then says why.
bool can_write_pages(Findings& findings);

/// A run that stands on a page.
struct PageRun {
    std::string name; // "as it is", "without dripping"; empty where it is the only one
    const Scenario* scenario = nullptr;
    const Summary* summary = nullptr;
    const PageTrace* trace = nullptr;
    std::vector<LessonStep> lesson = {};
};

/// The whole file. `sentences`: what differs between the runs.
std::string page(const std::vector<PageRun>& runs, const std::vector<std::string>& sentences,
                 const OutputUnits& units);

} // namespace pedalbench::runner
