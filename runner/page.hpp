// The page that plays runs back and shows studies: one HTML file that holds everything it needs.
#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

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

/// What stands on a page: runs to be played back, the answers of a study, or both.
struct PageContent {
    std::string title = {}; // empty: that of the first run, or of the study
    std::vector<PageRun> runs = {};
    std::vector<std::string> sentences = {};       // what differs between the runs
    const nlohmann::ordered_json* match = nullptr; // as in summary.json
    const nlohmann::ordered_json* sweep = nullptr; // see sweep_page.hpp
};

/// The whole file.
std::string page(const PageContent& content, const OutputUnits& units);

} // namespace pedalbench::runner
