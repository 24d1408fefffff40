#include "study/measurements.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "circuit/layout.hpp"
#include "parts/part.hpp"

namespace pedalbench::study {
namespace {

constexpr double kStill = 0.2; // s

struct Reach {
    std::string_view kind, quantity; // of a part; kind: or one that is like it
};

// Where somebody can read. A pipe has a gauge at its end only through the part that follows.
constexpr Reach kReach[] = {
    {"pedal", "travel"},
    {"pedal", "stop_lamps"},
    {"tandem_master", "primary.pressure"},
    {"tandem_master", "secondary.pressure"},
    {"residual_valve", "outlet.pressure"},
    {"hold_off_valve", "outlet.pressure"},
    {"hold_off_valve", "rod_travel"},
    {"proportioning_valve", "outlet.pressure"},
    {"hose", "inlet.pressure"},
    {"disc_caliper", "pressure"},
    {"disc_caliper", "torque"},
    {"drum_brake", "pressure"},
    {"drum_brake", "torque"},
    {"warning_lamp", "lit"},
};
constexpr Reach kLevels[] = {{"tandem_master", "primary_reservoir.fluid"},
                             {"tandem_master", "secondary_reservoir.fluid"}};

const Channel* reached(const std::vector<Channel>& channels, const PartSpec& part,
                       const Reach& reach) {
    if (!part.kind->is(reach.kind)) return nullptr;
    const std::string path = part.name + "." + std::string(reach.quantity);
    const auto found = std::find_if(channels.begin(), channels.end(),
                                    [&path](const Channel& c) { return c.path == path; });
    return found == channels.end() ? nullptr : &*found;
}

} // namespace

double reading_error(Dimension dimension, double value) {
    const auto with = [value](double floor, double share) {
        return std::hypot(floor, share * value);
    };
    switch (dimension) {
    case Dimension::pressure:
        return with(10e3, 0.01); // a gauge of class 1, another for what little is left
    case Dimension::length:
        return with(0.5e-3, 0.005); // a ruler at the pad
    case Dimension::torque:
        return with(1, 0.03); // a hand at rest, rollers in the hold
    case Dimension::volume:
        return with(0.3e-6, 0); // a mark on the reservoir
    case Dimension::force:
        return with(5, 0.02);
    case Dimension::time:
        return with(0.1, 0);
    case Dimension::temperature:
        return with(5, 0);
    default:
        return with(0.1, 0.02); // yes or no
    }
}

std::vector<Rest> rests_of(const FootInput& foot, double duration) {
    std::vector<Rest> rests;
    if (foot.measured || foot.time.empty()) return rests;
    const auto add = [&rests](double from, double to, double value) {
        if (to - from >= kStill) rests.push_back({from, to, value > 0});
    };
    // Before its first point and behind its last the foot stays as it is there.
    add(0, std::min(foot.time.front(), duration), foot.value.front());
    for (std::size_t i = 1; i < foot.time.size(); ++i)
        if (foot.value[i] == foot.value[i - 1] && foot.time[i - 1] < duration)
            add(foot.time[i - 1], std::min(foot.time[i], duration), foot.value[i]);
    add(foot.time.back(), duration, foot.value.back());
    return rests;
}

std::vector<Measurement> measurements_of(const Scenario& scenario) {
    const std::vector<Channel> channels = channels_of(scenario);
    const std::vector<Rest> rests = rests_of(scenario.foot, scenario.duration);
    std::vector<Measurement> all;
    const auto add = [&all](const Channel& channel, double time, std::optional<double> since) {
        Measurement m;
        m.what.channel = channel.path;
        m.what.moment = Expectation::Moment::at_time;
        m.what.time = time;
        m.what.since = since;
        m.dimension = channel.dimension;
        all.push_back(std::move(m));
    };
    for (const PartSpec& part : scenario.hardware.parts) {
        for (const Reach& reach : kReach)
            if (const Channel* channel = reached(channels, part, reach))
                for (const Rest& rest : rests) {
                    add(*channel, rest.to, {});
                    if (reach.quantity != "travel" || !rest.pressed) continue;
                    add(*channel, rest.from + kStill, {});
                    add(*channel, rest.to, rest.from + kStill);
                }
        for (const Reach& reach : kLevels)
            if (const Channel* channel = reached(channels, part, reach))
                for (const Rest& rest : rests)
                    if (rest.to > 0) add(*channel, rest.to, 0.0);
    }
    return all;
}

} // namespace pedalbench::study
