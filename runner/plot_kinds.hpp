// Where a recorded channel stands among the pictures over time: by what it measures, beside others
// of its kind as long as each of them can be seen.
#pragma once

#include <array>
#include <string>
#include <utility>
#include <vector>

#include "picture.hpp"
#include "trace_file.hpp"

namespace pedalbench::runner {

/// The picture that a channel stands in, the file's name, and the label of its axis without unit.
struct Kind {
    std::string picture, label;
    bool operator==(const Kind&) const = default;
};

/// Names and titles of the pictures that are made of panels over time and nothing else.
inline constexpr std::array<std::pair<const char*, const char*>, 7> kFurther = {{
    {"forces", "Forces"},
    {"travels", "Travels"},
    {"fluid_and_air", "Fluid and air"},
    {"contacts_and_lamps", "Contacts and lamps"},
    {"road", "The car on the road"},
    {"warmth", "Temperatures"},
    {"others", "What else was recorded"},
}};

/// By the dimension of its unit and the last word of its path. Every channel has one.
Kind kind_of(const TraceColumn& column);

/// A channel that is 0 or 1 and nothing between is drawn as a strip.
bool is_on_off(const TraceColumn& column);
/// What 0 and 1 mean for it, in that order: "open" and "closed" for a contact.
std::vector<std::string> state_words(const std::string& path);
/// Height of a strip [pixels], and its axis upwards.
inline constexpr int kStrip = 34;
Axis strip_axis(const std::string& path);

/// Like axis(), but from near the data where zero is farther off than their whole range: what a
/// full reservoir loses would not show. It spans `least` at least.
Axis close_axis(const std::string& label, double low, double high, double least = 0);
/// What no gauge or ruler would tell from standing still, in the unit of the channel.
double least_span(const TraceColumn& column);

/// Channels of one kind and unit, panel by panel: together while none of them moves by less than a
/// fifth of what the panel spans.
std::vector<std::vector<const TraceColumn*>>
shared_panels(const std::vector<const TraceColumn*>& columns);

} // namespace pedalbench::runner
