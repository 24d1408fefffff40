// What `match` answers: which faults explain the readings, which do not and why, and what to read
// next.
#pragma once

#include <string>
#include <vector>

#include <nlohmann/json_fwd.hpp>

#include "study/match.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Always among the singles: without it nothing is searched.
const study::Explanation& as_it_is(const study::Match& match);
/// What was read, as far as its bounds tell: "550 N m to 670 N m", "at least 50 N m".
std::string bounds_words(const Expectation& r, Dimension d, const OutputUnits& units);
/// "0.05 mm", with the other sizes that fit as well; empty for a fault without a size.
std::string size_words(const study::Explanation& e, std::size_t fault, const OutputUnits& units);
/// "hose_flap at left_hose", "leak anywhere from left_pipe to front_left", "the car as it is".
std::string fault_words(const study::Candidate& fault);
/// "travel of the pedal at 5 s", in the words of the channels.
std::string reading_words(const Expectation& what);

/// In lines of at most 100 columns.
std::string match_report(const Scenario& complaint, const study::Match& match,
                         const OutputUnits& units, const std::vector<std::string>& cautions);
/// The same for programs, and for the page.
nlohmann::ordered_json match_values(const Scenario& complaint, const study::Match& match,
                                    const OutputUnits& units);
std::string match_json(const Scenario& complaint, const study::Match& match,
                       const OutputUnits& units);

} // namespace pedalbench::runner
