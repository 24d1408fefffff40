// What the pictures of a run and those of a comparison have in common: axes, loops, the script.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "picture.hpp"
#include "record/record.hpp"
#include "trace_file.hpp"

namespace pedalbench::runner {

inline constexpr long kRows = 6000;           // more cannot be told apart in a picture
inline constexpr double kLowPressure = 250e3; // what is left after a stop lives below this [Pa]
inline constexpr double kLowTorque = 20;      // a wheel that drags [N m]
inline constexpr int kRing = 6, kDot = 7;     // gnuplot's point types
inline constexpr double kDotSize = 8, kCrowd = 30; // pixels across; where labels would crowd

/// "front_left.pressure" without its quantity: "front_left".
std::string owner(const std::string& path);
std::string quantity(const std::string& path);
/// "primary_travel" as people write it: "primary travel".
std::string spaced(std::string words);
/// "pressure [bar]".
std::string with_unit(const std::string& words, const std::string& unit);

/// From the data, with zero inside and some air.
Axis axis(const std::string& label, double low, double high);
/// The next of 1, 2, 2.5, 4, 5, 8, 10 ... that is not below.
double rounded_up(double value);

/// Whether two columns are nowhere further apart than `coarse`, or than `fine` below `low`.
bool alike(const TraceColumn& a, const TraceColumn& b, double coarse, double low, double fine);

/// One column against another; the curve is that of `x` and `y`.
Panel loop_panel(const TraceColumn& x, const TraceColumn& y, const std::string& x_label,
                 const std::string& y_label);
/// Arrows along a loop, apart from each other, so that the way through it can be followed.
std::vector<Arrow> way(const Panel& panel, const std::vector<double>& x,
                       const std::vector<double>& y, const std::string& colour);

/// Adds a dot with its text, a number. Where dots of the same look would cover each other there is
/// one, with all their numbers; where they only crowd, one label is enough for the same number.
/// Dots of two looks keep apart, but share the label where one covers the other.
void add_dot(Panel& panel, Point dot);

/// Lines and hoses have an inlet and an outlet too; but only a valve has events, or pressures and
/// springs that were derived.
bool is_valve(const std::string& part, const Summary& summary);

/// Writes plots.gp into `dir` and draws it. Empty when all went well, else what went wrong, in
/// words. Throws std::runtime_error when the script cannot be written.
std::string draw(const std::filesystem::path& dir, const std::vector<Picture>& list, long stride);

} // namespace pedalbench::runner
