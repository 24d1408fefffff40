// A bleeding procedure as a job card has it: which wheel, in what order, how, how long. Plain data;
// expand() turns it into timed changes and a foot.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "parts/field.hpp"

namespace pedalbench {

struct Hardware;
struct Scenario;

enum class BleedMethod { gravity, pedal, pressure, vacuum };

/// One line of the card.
struct BleedStep {
    std::string at;      // as the card says: a wheel brake or its screw
    std::string bleeder; // the screw that is opened
    Values how;          // table: bleed_fields()
    double from = 0;     // s, once expanded
    double to = 0;       // s

    BleedMethod method() const { return static_cast<BleedMethod>(how["method"]); }
};

struct Bleeding {
    double from = 1; // s
    double test = 0; // N, of a press before the first wheel and after the last; 0: none
    std::vector<BleedStep> steps;
    double test_before = kUnset, test_after = kUnset; // s, ends of these presses; once expanded
};

/// What a line of the card may say.
std::span<const Field> bleed_fields();

/// The screw that a name on the card means: itself, or the one that hangs at the point of a part;
/// empty when there is none.
std::string find_bleeder(const Hardware& hardware, const std::string& at);

/// Says what of a line cannot be done on this car, as "field" and reason.
std::vector<Refusal> refuse_step(const Hardware& hardware, const BleedStep& step);

/// Adds the changes of the whole card to a scenario and writes its foot. Returns when it ends [s].
double expand_bleeding(Scenario& scenario);

} // namespace pedalbench
