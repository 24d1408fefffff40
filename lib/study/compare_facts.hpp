// The yes and no of runs that are compared, but for their events.
#pragma once

#include "study/compare.hpp"

namespace pedalbench::study {

inline YesNo answer(bool yes) {
    return yes ? YesNo::yes : YesNo::no;
}

/// Wheels, lamp, fluid and air, service, expectations; each of them that at least one run knows.
std::vector<Fact> facts_of(const std::vector<Entry>& runs);

} // namespace pedalbench::study
