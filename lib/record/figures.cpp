#include "record/figures.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <stdexcept>

#include "record/remarks.hpp"
#include "system/changes.hpp"

namespace pedalbench {
namespace {

/// The joint of a part that is its end of the lamp's wire; -1 if it has none.
int wire_of(const PartKind& kind) {
    for (std::size_t j = 0; j < kind.joints.size(); ++j)
        if (kind.joints[j].kind == JointKind::wire) return static_cast<int>(j);
    return -1;
}

} // namespace

bool is_main_channel(const std::string& path, const Hardware& hardware) {
    const auto ends = [&path](std::string_view tail) { return path.ends_with(tail); };
    const PartKind* of = kind_of(hardware, path);
    if (!of) return false;
    const PartKind& kind = *of;
    if (kind.driven) return true;
    if (kind.has(JointKind::rod)) return ends(".pressure") || ends("_travel");
    if (kind.name == "hold_off_valve") return ends(".pressure") || ends("rod_travel");
    if (kind.name == "disc_caliper" || kind.name == "drum_brake")
        return ends(".pressure") || ends(".torque") || ends(".clearance");
    if (kind.name == "warning_lamp") return ends(".lit");
    return kind.name == "pressure_switch" && ends(".contact");
}

Figures::Figures(std::shared_ptr<const Model> model, const Scenario& scenario, const Foot& foot,
                 Sink& sink, Summary& summary)
    : first_(std::move(model)), model_(*first_), scenario_(scenario), foot_(foot), sink_(sink),
      summary_(summary), bleeding_(model_, scenario), values_(model_.channels().size()) {
    for (const ChannelInfo& c : model_.channels()) {
        ChannelFigures f;
        f.channel = {c.path, c.dimension};
        f.recorded = scenario.record.empty() && is_main_channel(c.path, model_.hardware());
        summary.channels.push_back(f);
    }
    for (const std::string& path : scenario.record)
        summary.channels[model_.channel(path)].recorded = true;
    std::vector<Channel> channels;
    for (std::size_t i = 0; i < summary.channels.size(); ++i)
        if (summary.channels[i].recorded) {
            recorded_.push_back(i);
            channels.push_back(summary.channels[i].channel);
        }
    row_.resize(recorded_.size());
    sink.begin(channels);
    for (std::size_t i = 0; i < summary.channels.size(); ++i) {
        const std::string& path = summary.channels[i].channel.path;
        const std::string part = path.substr(0, path.find('.'));
        if (path == part + ".torque") {
            watched_.push_back({i, i});
            summary.wheels.push_back({part});
        } else if (path == part + ".parking_contact")
            watched_.back().parked = i;
    }

    held_ = foot.held_until(scenario.duration);
    if (!std::isnan(held_)) wanted_.push_back(held_);
    for (const Expectation& e : scenario.expectations) {
        if (e.moment == Expectation::Moment::at_time) wanted_.push_back(e.time);
        if (e.since) wanted_.push_back(*e.since);
    }
    std::sort(wanted_.begin(), wanted_.end());
    summary.assumed = assumed_of(model_.hardware());
    summary.derived = derived_of(model_.hardware());
    summary.service = judge_service(scenario);
    summary.cautions = cautions_of(scenario, model_.hardware());
}

void Figures::row(double t, const std::vector<double>& y, const std::vector<char>& modes,
                  Plant& plant) {
    plant.model().channel_values(y.data(), plant.drive(t), modes.data(), plant.located(),
                                 plant.work(), values_.data());
    for (std::size_t i = 0; i < values_.size(); ++i) {
        ChannelFigures& f = summary_.channels[i];
        const double v = values_[i];
        if (last_ < 0) f.settled = f.peak = f.lowest = v;
        f.peak = std::max(f.peak, v);
        f.lowest = std::min(f.lowest, v);
        if (t <= held_) f.held = v; // the last one stays
    }
    // Wanted times are sampled exactly; the first row of one counts, not what a change makes of it.
    for (const double wanted : wanted_)
        if (t == wanted)
            for (std::size_t i = 0; i < values_.size(); ++i)
                summary_.channels[i].at.emplace(wanted, values_[i]);
    if (told_.empty()) {
        for (const char mode : modes)
            told_.push_back(mode == 1);
        latest_.assign(modes.size(), -1);
    }
    last_ = t;
    watch_drag(t, plant.drive(t).value);
    bleeding_.row(t, values_);
    tell_lasting(t);
    note_cleared(plant);
    for (std::size_t i = 0; i < recorded_.size(); ++i)
        row_[i] = values_[recorded_[i]];
    sink_.row(t, row_);
}

/// A second after the foot has gone whatever still brakes drags. A hundredth of its largest force
/// or travel is noise of a measured foot.
void Figures::watch_drag(double t, double foot) {
    constexpr double kNoise = 0.01, kGone = 1; // s
    if (foot > kNoise * foot_.largest()) pressed_ = t;
    if (t < pressed_ + kGone) return;
    for (std::size_t i = 0; i < watched_.size(); ++i) {
        const auto [torque, parked] = watched_[i];
        WheelEnd& wheel = summary_.wheels[i];
        if ((parked != torque && values_[parked] > 0) || values_[torque] <= wheel.most) continue;
        wheel.most = values_[torque];
        wheel.most_at = t;
    }
}

/// The guards of a latch may jump away from their limit: they count as cleared by as much.
void Figures::note_cleared(Plant& plant) {
    const std::vector<double>& guard = plant.work().guard;
    for (std::size_t k = 0; k < guard.size(); ++k) {
        if (latest_[k] < 0) continue;
        double& cleared = summary_.events[static_cast<std::size_t>(latest_[k])].cleared;
        const double past = told_[k] ? guard[k] : -guard[k];
        cleared = std::fmax(cleared, past / plant.band(static_cast<int>(k)));
    }
}

void Figures::tell(Event event, int guard) {
    if (event.text.empty()) {
        if (guard >= 0) latest_[static_cast<std::size_t>(guard)] = -1;
        return;
    }
    if (guard >= 0)
        latest_[static_cast<std::size_t>(guard)] = static_cast<int>(summary_.events.size());
    if (event.text == "lamp lit") summary_.lamp_on.push_back(event.time);
    if (event.text == "lamp dark") summary_.lamp_off.push_back(event.time);
    sink_.event(event);
    summary_.events.push_back(std::move(event));
}

std::vector<std::string> Figures::closed_contacts(const std::vector<double>& values) const {
    std::vector<std::string> closed;
    for (std::size_t i = 0; i < values.size(); ++i) {
        const std::string& path = summary_.channels[i].channel.path;
        if (path.ends_with("contact") && values[i] > 0) closed.push_back(path);
    }
    return closed;
}

Event Figures::describe(int guard, bool on, double t) const {
    const GuardInfo& info = model_.guard_info(guard);
    const auto at = static_cast<std::size_t>(model_.guard_instance(guard));
    const Instance& part = model_.layout().instances[at];
    const PartKind& kind = *model_.hardware().parts[static_cast<std::size_t>(part.spec)].kind;
    const int wire = wire_of(kind);
    const bool wired = wire >= 0 && part.joint[static_cast<std::size_t>(wire)] >= 0;
    Event event{t, part.name, std::string(info.told(on, wired)), {}};
    for (std::string_view names = info.tell; !names.empty();) {
        const std::size_t comma = std::min(names.find(','), names.size());
        const std::string name(names.substr(0, comma));
        const std::size_t channel = model_.channel(event.part + "." + name);
        event.readings.push_back(
            {name, summary_.channels[channel].channel.dimension, values_[channel]});
        names.remove_prefix(std::min(comma + 1, names.size()));
    }
    // What a lamp owes its light to.
    if (wired && on && kind.joints[static_cast<std::size_t>(wire)].holds)
        for (const std::string& contact : closed_contacts(values_))
            event.readings.push_back({contact, Dimension::number, 1});
    return event;
}

void Figures::events(double t, const std::vector<char>& before, const std::vector<char>& now,
                     int guards) {
    for (int k = 0; k < guards; ++k) {
        const auto i = static_cast<std::size_t>(k);
        if (before[i] == now[i]) continue;
        const auto open = std::find_if(pending_.begin(), pending_.end(), [k](const Pending& p) {
            return p.guard == k && !p.lasting;
        });
        const bool restless = now[i] == Gates::kFollow;
        if (open == pending_.end()) {
            const bool on = restless ? !told_[i] : now[i] != 0;
            if (on != (told_[i] != 0)) pending_.push_back({k, describe(k, on, t), on, restless});
        } else if (restless) {
            open->waiting = true;
        } else if (open->on == (now[i] != 0)) {
            open->waiting = false;
        } else {
            pending_.erase(open);
        }
    }
}

/// Events go out in the order of time: one that waits for a restless guard holds up those after it.
void Figures::tell_lasting(double t) {
    for (Pending& p : pending_) {
        const double lasts = p.guard < 0 ? 0 : model_.guard_info(p.guard).lasting();
        if (p.waiting || p.lasting || p.event.time > t - lasts) continue;
        p.lasting = true;
        if (p.guard >= 0) told_[static_cast<std::size_t>(p.guard)] = p.on;
    }
    auto next = pending_.begin();
    for (; next != pending_.end() && next->lasting; ++next)
        tell(std::move(next->event), next->guard);
    pending_.erase(pending_.begin(), next);
}

void Figures::change(double t, const Change& change, const Hardware& hardware) {
    const Values& values = *find_values(hardware, change.part);
    const Field& field = values.table()[values.find(change.field)];
    // What is set of a part that is not in its place changes nothing on the car.
    const std::size_t fitted = values.find("fitted");
    if (fitted < values.size() && values.at(fitted) == 0 && field.name != "fitted") return;
    Event event{t, change.part, change.field + " becomes", {}};
    double value = change.value;
    // What changes little by little is told once, with where it goes.
    const auto ramp = std::find_if(
        scenario_.changes.begin(), scenario_.changes.end(), [&change](const Change& whole) {
            return whole.over > 0 && whole.part == change.part && whole.field == change.field &&
                   whole.at < change.at && change.at <= whole.at + whole.over * (1 + 1e-9);
        });
    if (ramp != scenario_.changes.end()) {
        if (!ramps_.insert(&*ramp).second) return;
        value = ramp->value;
        std::array<char, 32> over;
        std::snprintf(over.data(), over.size(), " within %.3g s", ramp->over);
        event.text += over.data();
    }
    if (field.dimension == Dimension::choice) {
        std::string_view rest = field.choices;
        for (int skip = static_cast<int>(change.value); skip > 0; --skip)
            rest.remove_prefix(std::min(rest.find('|') + 1, rest.size()));
        event.text += " " + std::string(rest.substr(0, rest.find('|')));
    } else
        event.readings.push_back({change.field, field.dimension, value});
    pending_.push_back({-1, std::move(event), true});
}

void Figures::finish(bool complete) {
    for (Pending& p : pending_)
        p.waiting = false;
    tell_lasting(std::numeric_limits<double>::infinity());
    const double end = summary_.simulated;
    if (complete && end >= 1 && foot_.free(end - 1, end))
        for (std::size_t i = 0; i < values_.size(); ++i)
            summary_.channels[i].residual = values_[i];
    for (std::size_t i = 0; i < values_.size(); ++i)
        summary_.channels[i].last = values_[i];
    summary_.bleeding = bleeding_.finish();
    judge_the_end(summary_, model_.hardware());
    for (const Expectation& e : scenario_.expectations)
        summary_.expectations.push_back(check(e));
}

ExpectationResult Figures::check(const Expectation& e) const {
    ExpectationResult r;
    r.text = e.text;
    r.low = e.low;
    r.high = e.high;
    const auto matches = [](const Event& event, const std::string& words) {
        return (event.part + ": " + event.text).find(words) != std::string::npos;
    };
    const auto first = [&](const std::string& words) {
        return std::find_if(summary_.events.begin(), summary_.events.end(),
                            [&](const Event& event) { return matches(event, words); });
    };
    switch (e.moment) {
    case Expectation::Moment::event_count:
        r.dimension = Dimension::number;
        r.found = static_cast<double>(
            std::count_if(summary_.events.begin(), summary_.events.end(),
                          [&](const Event& event) { return matches(event, e.channel); }));
        break;
    case Expectation::Moment::event_time: {
        r.dimension = Dimension::time;
        const auto found = first(e.channel);
        if (found == summary_.events.end()) {
            r.remark = "no such event";
            return r;
        }
        r.found = found->time;
        if (!e.before.empty()) {
            const auto later = first(e.before);
            if (later == summary_.events.end()) {
                r.remark = "the later event never came";
                return r;
            }
            r.high = later->time;
        }
        break;
    }
    default: {
        const ChannelFigures& f = summary_.channels[model_.channel(e.channel)];
        r.dimension = f.channel.dimension;
        const auto at = [&f](double t) { return f.at.count(t) ? f.at.at(t) : kUnset; };
        switch (e.moment) {
        case Expectation::Moment::peak:
            r.found = f.peak;
            break;
        case Expectation::Moment::lowest:
            r.found = f.lowest;
            break;
        case Expectation::Moment::held:
            r.found = f.held;
            break;
        case Expectation::Moment::residual:
            r.found = f.residual;
            break;
        default:
            r.found = at(e.time);
            break;
        }
        if (e.since) r.found -= at(*e.since);
        if (std::isnan(r.found))
            r.remark = e.moment == Expectation::Moment::held ? "the foot was never held for 0.2 s"
                       : e.moment == Expectation::Moment::residual
                           ? "the foot was not off for the last second"
                           : "the run ended before";
    }
    }
    if (!r.low && !r.high) r.remark = "nothing to compare with";
    r.held = !std::isnan(r.found) && (r.low || r.high) && (!r.low || r.found >= *r.low) &&
             (!r.high || r.found <= *r.high);
    return r;
}

std::size_t Trace::index(const std::string& path) const {
    for (std::size_t i = 0; i < channels.size(); ++i)
        if (channels[i].path == path) return i;
    throw std::out_of_range("no channel " + path + " in the trace");
}

std::vector<double> Trace::of(const std::string& path) const {
    const std::size_t i = index(path);
    std::vector<double> v;
    for (const auto& r : rows)
        v.push_back(r[i]);
    return v;
}

double Trace::at(const std::string& path, double t) const {
    const std::size_t i = index(path);
    const auto after = std::lower_bound(time.begin(), time.end(), t);
    if (after == time.begin()) return rows.front()[i];
    if (after == time.end()) return rows.back()[i];
    const auto k = static_cast<std::size_t>(after - time.begin());
    const double share = (t - time[k - 1]) / (time[k] - time[k - 1]);
    return rows[k - 1][i] + share * (rows[k][i] - rows[k - 1][i]);
}

const ChannelFigures& Summary::of(const std::string& path) const {
    for (const ChannelFigures& f : channels)
        if (f.channel.path == path) return f;
    throw std::out_of_range("no channel " + path);
}

} // namespace pedalbench
