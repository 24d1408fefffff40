// The yes and no of runs that are compared, but for their events.
#pragma once

#include "study/compare.hpp"

namespace pedalbench::study {

inline Answer answer(bool yes) {
    return yes ? Answer::yes : Answer::no;
}

/// Wheels, lamp, fluid and air, service, expectations; each of them that at least one run knows.
std::vector<Fact> facts_of(const std::vector<Entry>& runs);

} // namespace pedalbench::study
