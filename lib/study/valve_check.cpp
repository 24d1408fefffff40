#include "study/valve_check.hpp"

#include <algorithm>
#include <cmath>

#include "hydraulics/mechanics.hpp"
#include "parts/part.hpp"
#include "study/beside.hpp"
#include "study/setup.hpp"
#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

/// The value of a reading at an event; unset where there is no event.
double reading(const Event* event, const char* name) {
    if (event)
        for (const Reading& r : event->readings)
            if (r.name == name) return r.value;
    return kUnset;
}

/// The slow run of one valve, up to the turn of the foot and back.
class SlowRun {
  public:
    SlowRun(const Driven& run, const std::string& valve, double turn)
        : run_(run), valve_(valve), turn_(turn), in_(run.trace.of(valve + ".inlet.pressure")),
          out_(run.trace.of(valve + ".outlet.pressure")) {
        const auto& time = run.trace.time;
        top_ = static_cast<std::size_t>(std::upper_bound(time.begin(), time.end(), turn) -
                                        time.begin());
    }

    const Event* first(const char* text, double since = 0) const {
        for (const Event& e : run_.trace.events)
            if (e.part == valve_ && e.text == text && e.time > since) return &e;
        return nullptr;
    }
    /// On the way up.
    const Event* going_up(const char* text, double since = 0) const {
        const Event* event = first(text, since);
        return event && event->time <= turn_ ? event : nullptr;
    }
    const Event* coming_back(const char* text) const { return first(text, turn_); }

    double highest_inlet() const { return top_ > 0 ? in_[top_ - 1] : kUnset; }
    double left() const { return out_.back() - in_.back(); }
    /// The most that the inlet stands above the outlet on the way up.
    double most_held_off() const {
        double most = 0;
        for (std::size_t i = 0; i < top_; ++i)
            most = std::max(most, in_[i] - out_[i]);
        return most;
    }
    double held_off_at(std::size_t row) const { return row < top_ ? in_[row] - out_[row] : kUnset; }
    /// The first row after a time, on the way up, at which the inlet has come to p.
    std::size_t row_at(double since, double p) const {
        for (std::size_t i = row(since); i < top_; ++i)
            if (in_[i] >= p) return i;
        return top_;
    }
    /// The same for a difference that has fallen to d.
    std::size_t row_below(double since, double d) const {
        for (std::size_t i = row(since); i < top_; ++i)
            if (in_[i] - out_[i] <= d) return i;
        return top_;
    }
    struct Line {
        double slope = kUnset;
        double meets = kUnset; // inlet pressure at which it comes to "outlet = inlet"
    };
    /// The straight line that a bench draws through two readings.
    Line line(std::size_t i, std::size_t k) const {
        if (i >= top_ || k >= top_ || !(in_[k] > in_[i])) return {};
        const double slope = (out_[k] - out_[i]) / (in_[k] - in_[i]);
        return {slope, (out_[i] - slope * in_[i]) / (1 - slope)};
    }

  private:
    std::size_t row(double t) const {
        const auto& time = run_.trace.time;
        return static_cast<std::size_t>(std::lower_bound(time.begin(), time.end(), t) -
                                        time.begin());
    }

    const Driven& run_;
    const std::string& valve_;
    double turn_;
    std::vector<double> in_, out_;
    std::size_t top_; // rows up to the turn
};

// In the order of stated_range().
enum HoldOffRow { kShuts, kOpens, kFull, kGain, kHeldOff, kReopens };
enum ProportioningRow { kKnee, kSlope, kBack, kOpenAgain };
enum ResidualRow { kHolds };

void find_hold_off(const SlowRun& run, ValveRange& range) {
    const Event* shuts = run.going_up("check shuts");
    range[kShuts].found = reading(shuts, "inlet.pressure");
    const Event* opens = run.going_up("plate opens", shuts ? shuts->time : 0);
    range[kOpens].found = reading(opens, "inlet.pressure");
    range[kHeldOff].found = run.most_held_off();
    if (opens) {
        // Between two readings well inside, since it comes to "full" ever more slowly.
        const double held = range[kOpens].found - reading(opens, "outlet.pressure");
        const auto line = run.line(run.row_below(opens->time, 0.75 * held),
                                   run.row_below(opens->time, 0.25 * held));
        range[kGain].found = line.slope;
        range[kFull].found = line.meets;
    }
    range[kReopens].found = reading(run.coming_back("rod pushes the check open"), "inlet.pressure");
}

void find_proportioning(const SlowRun& run, ValveRange& range) {
    const Event* holds = run.going_up("begins to hold back");
    const double from = reading(holds, "inlet.pressure"), to = run.highest_inlet();
    constexpr double kLeast = 0.05e6; // Pa; less is no line
    if (!(to - from > kLeast)) return;
    const std::size_t upper = run.row_at(holds->time, from + 0.95 * (to - from));
    if (!(run.held_off_at(upper) > kLeast)) return; // a by-pass lets everything through
    const auto line = run.line(run.row_at(holds->time, from + 0.3 * (to - from)), upper);
    range[kSlope].found = line.slope;
    range[kKnee].found = line.meets;
    range[kBack].found = reading(run.coming_back("fluid returns past the lip"), "inlet.pressure");
    range[kOpenAgain].found = reading(run.coming_back("way is open again"), "inlet.pressure");
}

ValveRange range_of(const PartSpec& valve, const Driven& run, double turn) {
    ValveRange range = stated_range(valve);
    if (!run.problem.empty()) return range;
    const SlowRun slow(run, valve.name, turn);
    if (valve.kind->name == "hold_off_valve")
        find_hold_off(slow, range);
    else if (valve.kind->name == "proportioning_valve")
        find_proportioning(slow, range);
    else
        range[kHolds].found = slow.left();
    return range;
}

PedalFeel feel_of(const CarPlaces& places, const FootPlan& plan, const Driven& slow,
                  const Driven& steps) {
    PedalFeel feel;
    const std::string travel = places.pedal + ".travel", force = places.pedal + ".force";
    if (steps.problem.empty()) {
        for (std::size_t i = 0; i < kFeet; ++i) {
            feel.held[i].travel = steps.trace.at(travel, plan.held_at[i]);
            for (std::size_t a = 0; a < kAxles; ++a)
                feel.held[i].pressure[a] =
                    steps.trace.at(places.brake[a] + ".pressure", plan.held_at[i]);
        }
        const double further = feel.held[2].travel - feel.held[1].travel;
        if (further > 0) feel.stiffness = (plan.feet[2] - plan.feet[1]) / further;
    }
    if (!slow.problem.empty()) return feel;
    const std::vector<double> foot = slow.trace.of(force);
    for (std::size_t a = 0; a < kAxles; ++a) {
        const std::vector<double> torque = slow.trace.of(places.brake[a] + ".torque");
        const auto first =
            std::find_if(torque.begin(), torque.end(), [](double t) { return t >= kBegins; });
        if (first != torque.end())
            feel.begins[a] = foot[static_cast<std::size_t>(first - torque.begin())];
        feel.left[a] = slow.trace.of(places.brake[a] + ".pressure").back();
        feel.drag[a] = torque.back();
    }
    return feel;
}

LockOrder lock_of(const CarPlaces& places, const Driven& run) {
    LockOrder order;
    if (!run.problem.empty()) return order;
    const std::string force = places.pedal + ".force";
    const std::vector<double> slows = run.trace.of(places.vehicle + ".deceleration");
    const auto most_until = [&](double t) {
        double most = 0;
        for (std::size_t i = 0; i < slows.size() && run.trace.time[i] <= t; ++i)
            most = std::max(most, slows[i]);
        return most;
    };
    double end = run.trace.time.back(), first = end;
    order.unlocked = places.wheels;
    for (const Event& e : run.trace.events) {
        if (e.part != places.vehicle) continue;
        if (e.text == "car stands still") end = std::min(end, e.time);
        constexpr std::string_view kLocks = " wheel locks";
        if (!e.text.ends_with(kLocks)) continue;
        std::string wheel = e.text.substr(0, e.text.size() - kLocks.size());
        std::replace(wheel.begin(), wheel.end(), ' ', '_');
        std::erase(order.unlocked, wheel);
        AxleLock& axle = order.axle[wheel.starts_with("front") ? kFrontAxle : kRearAxle];
        if (!std::isnan(axle.time)) continue;
        axle.time = e.time;
        axle.force = run.trace.at(force, e.time);
        axle.deceleration = most_until(e.time);
        for (std::size_t a = 0; a < kAxles; ++a)
            axle.pressure[a] = run.trace.at(places.brake[a] + ".pressure", e.time);
        first = std::min(first, e.time);
    }
    order.force = run.trace.at(force, end);
    order.deceleration = most_until(std::min(first, end));
    return order;
}

BledCar bled_of(const CarPlaces& places, const Driven& run) {
    BledCar bled{kTanks[run.which], run.held, {}};
    if (!run.problem.empty()) return bled;
    for (std::size_t a = 0; a < kAxles; ++a)
        for (const BledWheel& wheel : run.summary.bleeding.wheels) {
            if (wheel.bleeder != places.bleeder[a]) continue;
            bled.axle[a].fluid = wheel.fluid_out;
            bled.axle[a].flow =
                run.trace.at(wheel.bleeder + ".flow", wheel.from + kBleedTime - 0.1);
        }
    return bled;
}

ValveAnswer answer_of(const ValveCheck& check, std::size_t car) {
    ValveAnswer answer;
    const CarPlaces& places = check.places[car];
    const Driven& slow = check.slow(car);
    for (const std::string& valve : check.valves) {
        const PartSpec* part = find_part(check.cars[car], valve);
        answer.range.push_back(part ? range_of(*part, slow, check.plan.turn) : ValveRange{});
    }
    for (const Driven& run : check.drives) {
        if (run.car != car) continue;
        switch (run.kind) {
        case Driven::Kind::slow:
            break;
        case Driven::Kind::steps:
            answer.feel = feel_of(places, check.plan, slow, run);
            break;
        case Driven::Kind::road:
            answer.lock[run.which] = lock_of(places, run);
            break;
        case Driven::Kind::bleeding:
            answer.bled.push_back(bled_of(places, run));
            break;
        }
    }
    return answer;
}

std::string problem_of(const Ran& ran) {
    switch (ran.end) {
    case Outcome::End::complete:
        return {};
    case Outcome::End::stopped:
        return "interrupted";
    default:
        return ran.reason;
    }
}

void run_all(ValveCheck& check, Executor& executor, OutcomeSink& told, const RunOptions& options) {
    std::vector<Scenario> scenarios;
    std::vector<Sink*> sinks;
    for (Driven& run : check.drives) {
        scenarios.push_back(run.scenario);
        sinks.push_back(&run.trace);
    }
    std::vector<Ran> ran = run_beside(scenarios, sinks, executor, options, &told);
    for (std::size_t i = 0; i < ran.size(); ++i) {
        check.drives[i].problem = problem_of(ran[i]);
        check.drives[i].summary = std::move(ran[i].summary);
    }
}

} // namespace

LockOrder::First LockOrder::first() const {
    const double front = axle[kFrontAxle].time, rear = axle[kRearAxle].time;
    if (std::isnan(front) && std::isnan(rear)) return First::none;
    if (std::isnan(rear) || front < rear) return First::front;
    return std::isnan(front) || rear < front ? First::rear : First::together;
}

ValveRange stated_range(const PartSpec& valve) {
    const Values& v = valve.values;
    if (valve.kind->name == "hold_off_valve") {
        // The rod comes home against its friction, which it went out with.
        const double reopens = v["shut"] - 2 * v["rod_friction"] / circle_area(v["rod_diameter"]);
        return {{"shuts at", Dimension::pressure, v["shut"]},
                {"opens at", Dimension::pressure, v["open"]},
                {"full from", Dimension::pressure, v["full"]},
                {"gain of the outlet in between", Dimension::number,
                 circle_area(v["plate_diameter"]) / v["outlet_area"]},
                {"holds off at most", Dimension::pressure, v["open"] - v["shut"]},
                {"check re-opens at, on release", Dimension::pressure, reopens}};
    }
    if (valve.kind->name == "proportioning_valve")
        return {{"knee at", Dimension::pressure, v["knee"]},
                {"slope beyond", Dimension::number, v["slope"]},
                {"gives back from, on release", Dimension::pressure},
                {"way is open again at", Dimension::pressure}};
    return {
        {"keeps behind it, foot off", Dimension::pressure, v.flag("fitted") ? v["holding"] : 0}};
}

const PartKind* ValveCheck::kind(std::size_t valve) const {
    for (const Hardware& car : cars)
        if (const PartSpec* part = find_part(car, valves[valve])) return part->kind;
    return nullptr;
}

const Driven& ValveCheck::slow(std::size_t car) const {
    return *std::find_if(drives.begin(), drives.end(), [car](const Driven& run) {
        return run.car == car && run.kind == Driven::Kind::slow;
    });
}

const Driven& ValveCheck::road(std::size_t car, std::size_t which) const {
    return *std::find_if(drives.begin(), drives.end(), [car, which](const Driven& run) {
        return run.car == car && run.kind == Driven::Kind::road && run.which == which;
    });
}

ValveCheck check_valve(const Scenario& was, const Scenario& is, Executor& executor,
                       OutcomeSink& told, const RunOptions& options) {
    ValveCheck check;
    check.cars = {car_at_start(was), car_at_start(is)};
    check.valves = valve_change(was, is).valves;
    for (std::size_t c = 0; c < 2; ++c)
        check.places[c] = places_of(check.cars[c], check.valves);
    // Both are looked at on the same side.
    const auto side = [&](std::size_t from, std::size_t to) {
        check.places[to].brake = check.places[from].brake;
        check.places[to].bleeder = check.places[from].bleeder;
    };
    const bool added = !find_part(check.cars[0], check.valves.front());
    side(added ? 1 : 0, added ? 0 : 1);

    Trace press;
    const Scenario first = first_press(check.cars[0], check.places[0]);
    const std::vector<Ran> ran = run_beside({first}, {&press}, executor, options);
    check.problem = problem_of(ran.front());
    check.stopped = options.stop && options.stop();
    if (!check.problem.empty()) return check;
    check.plan = plan_foot(check.cars, check.places[0], press);
    check.drives = drives_of(check.cars, check.places, check.valves, check.plan);
    told.begin(check.drives.size());
    run_all(check, executor, told, options);
    check.stopped = options.stop && options.stop();
    for (std::size_t c = 0; c < 2; ++c)
        check.answer[c] = answer_of(check, c);
    return check;
}

} // namespace pedalbench::study
