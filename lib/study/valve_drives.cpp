#include "study/valve_drives.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "parts/registry.hpp"
#include "study/setup.hpp"
#include "system/bleeding.hpp"
#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

constexpr double kGravity = 9.80665; // m/s2
/// What feet are called by: a workshop's spring scale has such steps (judgement).
constexpr double kLadder[] = {20,  30,  40,  50,  60,  80,  100, 120,
                              150, 200, 250, 300, 400, 500, 600, 800};

bool is_brake(const PartKind& kind) {
    return kind.name == "disc_caliper" || kind.name == "drum_brake";
}

bool same(double a, double b) {
    return a == b || (std::isnan(a) && std::isnan(b));
}

/// Paths of the fields of one table that are not the same, less what follows from others. What says
/// how the foot drives is not the car's.
std::vector<std::string> differing(const std::string& part, const Values& a, const Values& b) {
    std::vector<std::string> paths;
    for (std::size_t i = 0; i < a.size(); ++i)
        if (!same(a.at(i), b.at(i)) && !(a.derived(i) && b.derived(i)) &&
            a.table()[i].name != "driven_by")
            paths.push_back(part + "." + std::string(a.table()[i].name));
    return paths;
}

/// A circuit without some parts; "rear_valve.front" is a port of rear_valve.
void leave_out(Run& run, const std::set<std::string>& parts) {
    std::erase_if(run.parts, [&](const std::string& path) {
        return parts.count(path.substr(0, path.find('.'))) > 0;
    });
    for (Run& branch : run.branches)
        leave_out(branch, parts);
}
bool same(const Run& a, const Run& b) {
    return a.parts == b.parts &&
           std::equal(a.branches.begin(), a.branches.end(), b.branches.begin(), b.branches.end(),
                      [](const Run& x, const Run& y) { return same(x, y); });
}
bool same_circuits(const Hardware& a, const Hardware& b, const std::set<std::string>& but) {
    const auto stripped = [&but](const Hardware& car) {
        std::vector<Circuit> circuits = car.circuits;
        for (Circuit& circuit : circuits)
            leave_out(circuit.run, but);
        return circuits;
    };
    const auto x = stripped(a), y = stripped(b);
    return std::equal(x.begin(), x.end(), y.begin(), y.end(), [](const auto& p, const auto& q) {
        return p.outlet == q.outlet && same(p.run, q.run);
    });
}
bool same_wheels(const Hardware& a, const Hardware& b) {
    return std::equal(
        a.wheels.begin(), a.wheels.end(), b.wheels.begin(), b.wheels.end(),
        [](const Wheel& x, const Wheel& y) { return x.name == y.name && x.parts == y.parts; });
}

/// Whether `part` stands somewhere behind one of `valves`, from the cylinder outward.
bool behind(const Run& run, const std::vector<std::string>& valves, const std::string& part,
            bool already) {
    for (const std::string& name : run.parts) {
        if (name == part) return already;
        already = already || std::find(valves.begin(), valves.end(), name) != valves.end();
    }
    return std::any_of(run.branches.begin(), run.branches.end(),
                       [&](const Run& branch) { return behind(branch, valves, part, already); });
}
bool behind(const Hardware& car, const std::vector<std::string>& valves, const std::string& part) {
    return std::any_of(car.circuits.begin(), car.circuits.end(), [&](const Circuit& circuit) {
        return behind(circuit.run, valves, part, false);
    });
}

std::string brake_on(const Hardware& car, const Wheel& wheel) {
    for (const std::string& name : wheel.parts)
        if (const PartSpec* part = find_part(car, name); part && is_brake(*part->kind)) return name;
    return {};
}

void add(FootInput& foot, double t, double force) {
    foot.time.push_back(t);
    foot.value.push_back(force);
}

/// Value of `y` when `x` first comes to a value; of its last row if it never does.
double first_at(const std::vector<double>& x, const std::vector<double>& y, double value) {
    for (std::size_t i = 1; i < x.size(); ++i)
        if (x[i] >= value) {
            const double step = x[i] - x[i - 1];
            const double share = step > 0 ? std::clamp((value - x[i - 1]) / step, 0.0, 1.0) : 1;
            return y[i - 1] + share * (y[i] - y[i - 1]);
        }
    return y.back();
}

/// The largest value of a field of all valves of a kind in both cars; 0 where there is none.
double largest(const std::array<Hardware, 2>& cars, std::string_view kind, const char* field) {
    double most = 0;
    for (const Hardware& car : cars)
        for (const PartSpec& part : car.parts)
            if (part.kind->name == kind) most = std::max(most, part.values[field]);
    return most;
}

/// Up to the pressure at which every valve has shown what it does, and back the same way. Slowest
/// where calipers and cylinders take up their clearances, since they take most fluid there.
void plan_slow(FootPlan& plan, const std::array<Hardware, 2>& cars,
               const std::vector<double>& pressure, const std::vector<double>& force) {
    constexpr double kSlowest = 8e3, kSlow = 100e3, kSteady = 200e3; // Pa/s
    const double shut = 1.5 * std::max(0.1e6, largest(cars, "hold_off_valve", "shut"));
    const double open = std::max(1.3 * largest(cars, "hold_off_valve", "open"), shut + 0.5e6);
    const double top =
        std::max({kFootPressure.back(), open + 1e6, 1.3 * largest(cars, "hold_off_valve", "full"),
                  2 * largest(cars, "proportioning_valve", "knee")});
    double t = 0.5, below = 0;
    add(plan.slow, 0, 0);
    add(plan.slow, t, 0);
    for (const auto& [p, rate] :
         {std::pair{shut, kSlowest}, std::pair{open, kSlow}, std::pair{top, kSteady}}) {
        const double wanted = std::max(first_at(pressure, force, p), plan.slow.value.back() + 1);
        add(plan.slow, t += (p - below) / rate, wanted);
        below = p;
    }
    plan.turn = t;
    for (std::size_t i = plan.slow.time.size() - 1; i-- > 0;)
        add(plan.slow, 2 * plan.turn - plan.slow.time[i], plan.slow.value[i]);
}

void plan_steps(FootPlan& plan) {
    constexpr double kMove = 0.5, kHold = 1.5; // s
    double t = kMove;
    add(plan.steps, 0, 0);
    add(plan.steps, t, 0);
    for (std::size_t i = 0; i < kFeet; ++i) {
        add(plan.steps, t += kMove, plan.feet[i]);
        add(plan.steps, plan.held_at[i] = t += kHold, plan.feet[i]);
    }
    add(plan.steps, t + kMove, 0);
}

Scenario scenario_of(const Hardware& car, FootInput foot, double rest, double sample) {
    Scenario s;
    s.title = car.title;
    s.hardware = car;
    s.after_a_stop = true;
    s.duration = foot.time.back() + rest;
    s.foot = std::move(foot);
    s.sample = sample;
    return s;
}

/// What a picture may show and what is read off: pedal, valves, one brake of each axle, the car.
std::vector<std::string> channels(const Hardware& car, const CarPlaces& places,
                                  const std::vector<std::string>& valves) {
    std::vector<std::string> paths = {places.pedal + ".force", places.pedal + ".travel"};
    for (const std::string& valve : valves)
        if (find_part(car, valve))
            for (const char* side : {".inlet.pressure", ".outlet.pressure"})
                paths.push_back(valve + side);
    for (const std::string& brake : places.brake)
        for (const char* quantity : {".pressure", ".torque"})
            paths.push_back(brake + quantity);
    return paths;
}

/// A car that has no tank of its own is lent one.
std::string lend_tank(Hardware& car) {
    for (const PartSpec& part : car.parts)
        if (part.kind->name == "pressure_bleeder") return part.name;
    std::string name = "lent_tank";
    while (find_part(car, name))
        name += "_";
    const PartKind* kind = find_kind("pressure_bleeder");
    car.parts.push_back({name, kind, Values(kind->fields)});
    return name;
}

Scenario bleeding_of(const Hardware& car, const CarPlaces& places, double tank, bool held) {
    Scenario s = scenario_of(car, {FootInput::Kind::force, false, {0}, {0}}, 0, 0.05);
    s.after_a_stop = false;
    lend_tank(s.hardware);
    for (std::size_t a = 0; a < kAxles; ++a) {
        if (places.bleeder[a].empty()) continue;
        BleedStep step{places.brake[a], places.bleeder[a], Values(bleed_fields())};
        step.how.set("method",
                     static_cast<double>(tank > 0 ? BleedMethod::pressure : BleedMethod::gravity));
        step.how.set("time", kBleedTime);
        if (tank > 0) step.how.set("pressure", tank);
        if (held) step.how.set("rod", 1);
        s.bleeding.steps.push_back(step);
        s.record.push_back(places.bleeder[a] + ".flow");
    }
    s.duration = expand_bleeding(s);
    return s;
}

} // namespace

bool is_valve(const PartKind& kind) {
    return kind.name == "hold_off_valve" || kind.name == "proportioning_valve" ||
           kind.name == "residual_valve";
}

ValveChange valve_change(const Scenario& was, const Scenario& is) {
    const Hardware a = car_at_start(was), b = car_at_start(is);
    ValveChange change;
    std::set<std::string> seen, inserted;
    for (const Scenario* s : {&was, &is})
        for (const Fault& fault : s->faults)
            inserted.insert(fault.name);       // stands in the circuit at size zero
    std::set<std::string> stripped = inserted; // what the circuits may differ in
    for (const Hardware* car : {&a, &b})
        for (const PartSpec& part : car->parts) {
            if (is_valve(*part.kind)) stripped.insert(part.name);
            if (inserted.count(part.name) || !seen.insert(part.name).second) continue;
            const PartSpec *x = find_part(a, part.name), *y = find_part(b, part.name);
            std::vector<std::string> paths = {part.name};
            const bool alike = x && y && x->kind == y->kind;
            if (alike) paths = differing(part.name, x->values, y->values);
            if (paths.empty()) continue;
            if (is_valve(*part.kind) && (alike || !x || !y))
                change.valves.push_back(part.name);
            else
                change.others.insert(change.others.end(), paths.begin(), paths.end());
        }
    for (const auto& [name, x, y] : {std::tuple{"fluid", &a.fluid, &b.fluid},
                                     std::tuple{"surroundings", &a.surroundings, &b.surroundings}})
        for (std::string& path : differing(name, *x, *y))
            change.others.push_back(std::move(path));
    if (!same_circuits(a, b, stripped)) change.others.emplace_back("circuits");
    if (!same_wheels(a, b)) change.others.emplace_back("wheels");
    return change;
}

CarPlaces places_of(const Hardware& car, const std::vector<std::string>& valves) {
    CarPlaces places;
    for (const PartSpec& part : car.parts) {
        if (part.kind->driven) places.pedal = part.name;
        if (part.kind->is("tandem_master")) places.master = part.name;
        if (part.kind->name == "vehicle") places.vehicle = part.name;
        if (part.kind->name == "hold_off_valve") places.hold_off = true;
    }
    for (const Wheel& wheel : car.wheels) {
        const std::size_t axle = wheel.name.starts_with("front") ? kFrontAxle : kRearAxle;
        const std::string brake = brake_on(car, wheel);
        places.wheels.push_back(wheel.name);
        if (brake.empty()) continue;
        std::string& chosen = places.brake[axle];
        if (chosen.empty() || (behind(car, valves, brake) && !behind(car, valves, chosen)))
            chosen = brake;
    }
    for (std::size_t a = 0; a < kAxles; ++a)
        places.bleeder[a] = find_bleeder(car, places.brake[a]);
    return places;
}

std::vector<Refusal> refuse_car(const Hardware& car) {
    const CarPlaces places = places_of(car, {});
    std::vector<Refusal> refused;
    const auto want = [&](bool there, const char* field, const char* why) {
        if (!there) refused.push_back({field, why});
    };
    want(!places.pedal.empty(), "parts", "no pedal for the foot: add a part of kind pedal");
    want(!places.master.empty(), "parts",
         "no tandem cylinder that the foot works: add a part of kind tandem_master or "
         "take_up_master");
    want(!places.vehicle.empty() && !places.brake[kFrontAxle].empty() &&
             !places.brake[kRearAxle].empty(),
         "wheels",
         "not said which brake sits on a front and which on a rear wheel: add a part of kind "
         "vehicle and `wheels:`");
    // The check itself holds the rod where it bleeds, and a wedged one bursts under the foot.
    for (const PartSpec& part : car.parts)
        if (part.kind->name == "hold_off_valve" && part.values["rod"] != 0)
            refused.push_back({part.name + ".rod", "not free, which says nothing of a valve in "
                                                   "service: leave it free, and try a held or "
                                                   "wedged one with `run`"});
    return refused;
}

Scenario first_press(const Hardware& car, const CarPlaces& places) {
    FootInput foot;
    add(foot, 0, 0);
    add(foot, 10, kMostForce);
    Scenario s = scenario_of(car, foot, 0, 0.02);
    s.record = {places.pedal + ".force", places.master + ".primary.pressure",
                places.brake[kFrontAxle] + ".torque", places.brake[kRearAxle] + ".torque"};
    return s;
}

FootPlan plan_foot(const std::array<Hardware, 2>& cars, const CarPlaces& places,
                   const Trace& press) {
    FootPlan plan;
    const std::vector<double> force = press.of(places.pedal + ".force"),
                              pressure = press.of(places.master + ".primary.pressure"),
                              front = press.of(places.brake[kFrontAxle] + ".torque"),
                              rear = press.of(places.brake[kRearAxle] + ".torque");
    double last = 0;
    for (std::size_t i = 0; i < kFeet; ++i) {
        const double least = std::max(first_at(pressure, force, kFootPressure[i]), last + 1);
        const auto step = std::lower_bound(std::begin(kLadder), std::end(kLadder), least);
        plan.feet[i] = last = step == std::end(kLadder) ? kMostForce : *step;
    }
    plan_slow(plan, cars, pressure, force);
    plan_steps(plan);
    const Values& car = find_part(cars[0], places.vehicle)->values;
    std::vector<double> braking; // share of the weight
    for (std::size_t i = 0; i < force.size(); ++i)
        braking.push_back(2 * (front[i] + rear[i]) / (car["tyre_radius"] * car["mass"] * kGravity));
    constexpr double kBeyond = 1.6; // times the force that uses all of the road
    for (std::size_t i = 0; i < kRoads.size(); ++i) {
        const double force_there = first_at(braking, force, kRoads[i].adhesion);
        const double most = std::min(kBeyond * force_there, kMostForce);
        constexpr double kStart = 0.2; // s
        add(plan.rising[i], 0, 0);
        add(plan.rising[i], kStart, 0);
        add(plan.rising[i], kStart + kRoads[i].time * most / force_there, most);
    }
    return plan;
}

std::vector<Driven> drives_of(const std::array<Hardware, 2>& cars,
                              const std::array<CarPlaces, 2>& places,
                              const std::vector<std::string>& valves, const FootPlan& plan) {
    std::vector<Driven> drives;
    constexpr double kRest = 3; // s at the end, with the foot off
    for (std::size_t c = 0; c < cars.size(); ++c) {
        const std::vector<std::string> record = channels(cars[c], places[c], valves);
        const auto push = [&](Driven::Kind kind, Scenario s, std::size_t which = 0,
                              bool held = false) {
            s.record.insert(s.record.begin(), record.begin(), record.end());
            drives.push_back({kind, c, which, held, std::move(s), {}, {}, {}});
        };
        push(Driven::Kind::slow, scenario_of(cars[c], plan.slow, kRest, 0.02));
        push(Driven::Kind::steps, scenario_of(cars[c], plan.steps, kRest, 0.01));
        for (std::size_t i = 0; i < kRoads.size(); ++i) {
            Scenario s = scenario_of(cars[c], plan.rising[i], 0, 0.005);
            Values& car = *find_values(s.hardware, places[c].vehicle);
            car.set("adhesion", kRoads[i].adhesion);
            car.set("start_speed", kRoads[i].speed);
            car.set("hold_speed", 0); // nobody drives on
            for (const char* quantity :
                 {".speed", ".deceleration", ".front_adhesion", ".rear_adhesion"})
                s.record.push_back(places[c].vehicle + quantity);
            push(Driven::Kind::road, std::move(s), i);
        }
        const bool screws = std::any_of(places[c].bleeder.begin(), places[c].bleeder.end(),
                                        [](const std::string& b) { return !b.empty(); });
        for (std::size_t i = 0; screws && i < kTanks.size(); ++i)
            for (const bool held : {false, true})
                if (!held || places[c].hold_off)
                    push(Driven::Kind::bleeding, bleeding_of(cars[c], places[c], kTanks[i], held),
                         i, held);
    }
    return drives;
}

} // namespace pedalbench::study
