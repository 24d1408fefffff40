#include "record/course.hpp"

#include <algorithm>

#include "parts/part.hpp"
#include "system/changes.hpp"

namespace pedalbench {
namespace {

constexpr double kSettle = 5;        // s at rest before a run
constexpr double kStop = 2;          // s for the stop before that
constexpr double kFirm = 250;        // N
constexpr double kFirmTravel = 0.05; // m
constexpr double kStepShare = 0.15;  // local error allowed per step, as a share of the accuracy

FootInput rest_input(const Scenario& scenario, double from) {
    FootInput rest;
    rest.kind = scenario.foot.kind;
    if (!scenario.after_a_stop) return rest;
    const double firm = rest.kind == FootInput::Kind::force ? kFirm : kFirmTravel;
    rest.time = {from, from + 0.5, from + 1.3, from + 1.7};
    rest.value = {0, firm, firm, 0};
    return rest;
}

Hardware complete_hardware(const Scenario& scenario) {
    Hardware hardware = scenario.hardware;
    for (PartSpec& spec : hardware.parts)
        if (spec.kind->driven)
            spec.values.set("driven_by", scenario.foot.kind == FootInput::Kind::travel ? 1 : 0);
    complete(hardware);
    return hardware;
}

} // namespace

Course course_of(const Scenario& scenario) {
    const double from = -kSettle - (scenario.after_a_stop ? kStop : 0);
    Course course{complete_hardware(scenario),
                  in_steps(scenario),
                  0,
                  Foot(scenario.foot),
                  {},
                  from,
                  Foot(rest_input(scenario, from)),
                  {}};
    while (course.first < course.changes.size() && course.changes[course.first].at <= 0)
        apply(course.hardware, course.changes[course.first++]);

    std::vector<double>& stops = course.stops;
    stops = course.foot.corners();
    for (const Change& c : course.changes)
        stops.push_back(c.at);
    stops.push_back(scenario.duration);
    std::erase_if(stops, [&](double t) { return t <= 0 || t > scenario.duration; });
    std::sort(stops.begin(), stops.end());
    stops.erase(std::unique(stops.begin(), stops.end()), stops.end());

    for (const double t : course.rest.corners())
        if (t > from) course.rest_stops.push_back(t);
    course.rest_stops.push_back(0);
    return course;
}

solve::Options step_options() {
    solve::Options how;
    how.tableau = &solve::rodas4();
    how.safety = 0.8;
    // The bracket of an event: short enough that a valve's pressure moves by no more than its dead
    // band.
    how.event_width = 1e-7; // s
    // Round-off in the accounts grows with the square of the step where a wide leak stands open,
    // and guards are looked at once inside a step.
    how.max_step = 0.25; // s
    return how;
}

ErrorScale error_scale(double accuracy, double scale) {
    return {accuracy * kStepShare * scale, 2e-9 * scale, 0.5 * scale};
}

} // namespace pedalbench
