// The page that plays runs back: one HTML file that holds everything it needs.
#pragma once

#include <string>
#include <vector>

#include "page_trace.hpp"
#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Why this program cannot write pages, in words; empty where it can.
std::string why_no_page();

/// A run that stands on a page.
struct PageRun {
    std::string name; // "as it is", "without dripping"; empty where it is the only one
    const Scenario* scenario = nullptr;
    const Summary* summary = nullptr;
    const PageTrace* trace = nullptr;
};

/// The whole file.
std::string page(const std::vector<PageRun>& runs, const OutputUnits& units);

} // namespace pedalbench::runner
