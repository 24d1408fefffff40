// Faults that a workshop takes for each other: what they have in common, and the reading that tells
// them apart. The rows are data; neighbours.cpp runs them and keeps docs/faults.md to them.
#pragma once

#include <functional>
#include <vector>

#include "symptoms.hpp"

namespace pedalbench::test {

/// How the foot works and in which car. Both cars of a row are driven alike.
enum class Drive {
    stop,    // the ordinary stop: 300 N, held, let go over 0.8 s
    creep,   // 300 N held for seven seconds
    slow,    // a stop so slow that pressures are alike along a line
    firm,    // light, then up to 400 N, as in the lessons on look-alike cylinders
    twice,   // two presses; a hub may lean before the first
    rolling, // driven against the brakes at 10 m/s
    van,     // the ordinary stop in the car with the proportioning valve
    bypass,  // a slow press in that car, its valve with a by-pass
    pumped,  // three quick presses, let go at once
    descent, // with the foot on the brake down a long hill, and a stop at its foot
    let_go,  // a held foot that slips off the pedal
    booster, // a light stop in the car with the booster
    take_up, // two light presses and a firm one in the van with the quick take-up cylinder
    all_disc // a hard stop of the heavy van
};

struct Side {
    const char *kind, *at; // kind "": no fault, only what is set
    double size = kUnset;
    std::vector<std::string> sets = {};
    std::vector<Change> changes = {};
};

/// One number that somebody reads on the car.
using Take = std::function<double(const Played&)>;

inline Take held(std::string channel) {
    return [=](const Played& run) { return run.held(channel); };
}
inline Take left(std::string channel) {
    return [=](const Played& run) { return run.residual(channel); };
}
inline Take at(std::string channel, double t) {
    return [=](const Played& run) { return run.at(channel, t); };
}
inline Take change(std::string channel, double from, double to) {
    return [=](const Played& run) { return run.at(channel, to) - run.at(channel, from); };
}
inline Take swing(std::string channel, double from, double to) {
    return [=](const Played& run) {
        return run.highest_between(channel, from, to).first -
               run.lowest_between(channel, from, to).first;
    };
}
inline Take times(std::string event) {
    return [=](const Played& run) { return static_cast<double>(run.count(event)); };
}
/// A channel at the moment another first passes a value.
inline Take when(std::string channel, std::string other, double value) {
    return [=](const Played& run) {
        const std::vector<double> y = run.of(other);
        for (std::size_t i = 0; i < y.size(); ++i)
            if (y[i] >= value) return run.trace.rows[i][run.index(channel)];
        return kUnset;
    };
}

/// In both cars, and not in the sound one unless `sound_too`.
struct Alike {
    Take take;
    double low, high;
    bool sound_too = false;
};

struct Row {
    Side first, second;
    Drive drive;
    const char* shared; // what both show
    std::vector<Alike> alike;
    const char* reading; // that tells them apart
    const char *of_first, *of_second;
    Take tells; // the first is above, the second below
    double above, below;
};

inline constexpr double kMPa = 1e6, kPa = 1e3, kMm = 1e-3, kCm3 = 1e-6;
inline constexpr double kFree = 4;       // N m, of a wheel that does not drag
inline constexpr double kAny = HUGE_VAL; // no bound on that side

inline Side hose(const char* kind, double size) {
    return {kind, "left_hose", size};
}
inline Side disc(const char* kind, double size) {
    return {kind, "front_left", size};
}
inline Side drum(const char* kind, double size) {
    return {kind, "rear_left", size};
}
inline Side master(const char* kind, double size = kUnset) {
    return {kind, "master", size};
}

const std::vector<Row>& rows();

} // namespace pedalbench::test
