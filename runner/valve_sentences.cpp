#include "valve_sentences.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "words.hpp"

namespace pedalbench::runner {

namespace {

using namespace study;
using First = LockOrder::First;

constexpr std::array<const char*, kAxles> kAxleNames = {"front", "rear"};
constexpr const char* kStops = "stops";
constexpr std::array<const char*, kFeet> kFootNames = {"a light", "an ordinary", "a firm"};

/// The error of a run, or what a hand or a gauge does not tell [SI].
double least_of(Dimension dimension) {
    switch (dimension) {
    case Dimension::pressure:
        return 5e3;
    case Dimension::force:
        return 0.5;
    case Dimension::length:
        return 0.1e-3;
    case Dimension::torque:
        return 1;
    case Dimension::acceleration:
        return 0.03;
    case Dimension::volume:
        return 0.05e-6;
    case Dimension::flow:
        return 0.01e-6;
    case Dimension::stiffness:
        return 0.05e3;
    default:
        return 0.005;
    }
}

class Teller {
  public:
    explicit Teller(const CheckedValve& checked)
        : c_(checked), was_(checked.check.answer[0]), is_(checked.check.answer[1]) {}

    std::vector<std::string> all() {
        for (std::size_t i = 0; i < kRoads.size(); ++i)
            locks(i);
        for (std::size_t v = 0; v < c_.check.valves.size(); ++v)
            range(v);
        begins();
        pedal();
        left();
        bleeding();
        return std::move(said_);
    }

  private:
    std::string text(Dimension d, double si) const { return c_.units.found(d, si, 3); }
    /// "6.9 bar instead of 8.6 bar"; what is unset never came.
    std::string instead(Dimension d, double was, double is) const {
        if (!known(is)) return text(d, was) + " no more";
        return text(d, is) + (known(was) ? " instead of " + text(d, was) : ", and never before");
    }
    void say(std::string sentence) { said_.push_back(std::move(sentence)); }

    static const char* consequence(First first) {
        switch (first) {
        case First::front:
            return ": the car no longer steers, but runs straight on";
        case First::rear:
            return ": the car turns round";
        default:
            return "";
        }
    }
    /// "the rear axle locks first, under 370 N of foot, after at most 7.13 m/s2".
    std::string told(const LockOrder& order) const {
        const First first = order.first();
        if (first == First::none)
            return "no wheel locks up to " + text(Dimension::force, order.force) + " of foot";
        const std::size_t axle = first == First::rear ? kRearAxle : kFrontAxle;
        return (first == First::together ? "both axles lock at once"
                                         : "the " + first_words(first) + " axle locks first") +
               ", under " + text(Dimension::force, order.axle[axle].force) +
               " of foot and after at most " + text(Dimension::acceleration, order.deceleration);
    }
    void locks(std::size_t i) {
        const LockOrder &a = was_.lock[i], &b = is_.lock[i];
        const std::string on = std::string("On ") + kRoads[i].name + " ";
        if (!known(a.force) || !known(b.force)) return; // a run did not get there
        const First first = b.first();
        if (a.first() != first) {
            say("The lock order changes. " + on + told(b) + consequence(first) +
                ". With the old valve " + told(a) + ".");
            return;
        }
        if (first == First::none) {
            say(on + "no wheel locks with either valve, up to " + text(Dimension::force, b.force) +
                " of foot.");
            return;
        }
        const std::size_t axle = first == First::rear ? kRearAxle : kFrontAxle;
        const AxleLock &x = a.axle[axle], &y = b.axle[axle];
        std::string sentence =
            on +
            (first == First::together ? "both axles lock at once"
                                      : "the " + first_words(first) + " axle locks first") +
            " with either valve, under ";
        if (apart(x.force, y.force, Dimension::force))
            sentence += instead(Dimension::force, x.force, y.force) + " of foot";
        else
            sentence += text(Dimension::force, y.force) + " of foot";
        if (apart(a.deceleration, b.deceleration, Dimension::acceleration))
            sentence += "; the car slows by at most " +
                        instead(Dimension::acceleration, a.deceleration, b.deceleration) +
                        " before a wheel locks";
        const AxleLock &u = a.axle[1 - axle], &w = b.axle[1 - axle];
        if (known(u.time) != known(w.time))
            sentence += std::string("; the ") + kAxleNames[1 - axle] + " axle " +
                        (known(w.time) ? "now locks after it" : "no longer locks after it");
        say(sentence + ".");
    }

    void range(std::size_t v) {
        const std::string& name = c_.check.valves[v];
        const ValveRange &a = was_.range[v], &b = is_.range[v];
        if (a.empty() || b.empty()) {
            say("Only the " + std::string(a.empty() ? "new" : "old") + " car has " + name + ".");
            return;
        }
        std::vector<std::string> changes, never;
        for (std::size_t i = 0; i < a.size(); ++i) {
            if (apart(a[i].found, b[i].found, a[i].dimension))
                changes.push_back(a[i].what + " " +
                                  instead(a[i].dimension, a[i].found, b[i].found));
            if (known(b[i].stated) && !known(b[i].found)) never.push_back(b[i].what);
        }
        if (!changes.empty())
            say(name + ": " + joined(changes) + ".");
        else
            say(name + ": the slow run shows the same range with either valve.");
        if (!never.empty())
            say(name + ", new: what its fields state never came in the slow run (" + listed(never) +
                "). A rod that is held, a plate or by-pass that is stuck, or a "
                "foot that does not get so far keeps it from coming.");
    }
    static std::string joined(const std::vector<std::string>& parts) {
        std::string all;
        for (const std::string& part : parts)
            all += (all.empty() ? "" : "; ") + part;
        return all;
    }

    void begins() {
        const auto &a = was_.feel.begins, &b = is_.feel.begins;
        std::vector<std::string> changes;
        for (std::size_t x = 0; x < kAxles; ++x)
            if (apart(a[x], b[x], Dimension::force))
                changes.push_back(std::string("the ") + kAxleNames[x] + " begins to brake under " +
                                  instead(Dimension::force, a[x], b[x]));
        if (!changes.empty()) say("Under a slow foot " + listed(changes) + ".");
        const bool before = a[kFrontAxle] < a[kRearAxle], now = b[kFrontAxle] < b[kRearAxle];
        if (before == now) return;
        say(now ? "The front now begins to brake before the rear: on ice it is alone at first, and "
                  "there it may lock."
                : "The rear now begins to brake before the front.");
    }

    void pedal() {
        std::vector<std::string> changes;
        for (std::size_t i = 0; i < kFeet; ++i) {
            const HeldFoot &a = was_.feel.held[i], &b = is_.feel.held[i];
            std::vector<std::string> what;
            if (apart(a.travel, b.travel, Dimension::length))
                what.push_back("the pedal stands at " +
                               instead(Dimension::length, a.travel, b.travel));
            for (std::size_t x = 0; x < kAxles; ++x)
                if (share_of(a.pressure[x], b.pressure[x], least_of(Dimension::pressure)) > kShows)
                    what.push_back(std::string("the ") + kAxleNames[x] + " has " +
                                   instead(Dimension::pressure, a.pressure[x], b.pressure[x]));
            if (!what.empty())
                say(fmt::format("Under {} foot ({}) {}.", kFootNames[i],
                                text(Dimension::force, c_.check.plan.feet[i]), listed(what)));
        }
    }

    void left() {
        const PedalFeel &a = was_.feel, &b = is_.feel;
        for (std::size_t x = 0; x < kAxles; ++x) {
            const bool drags = b.drag[x] > kDragLimit, dragged = a.drag[x] > kDragLimit;
            std::string what;
            if (apart(a.left[x], b.left[x], Dimension::pressure))
                what = " keeps " + instead(Dimension::pressure, a.left[x], b.left[x]);
            if (drags != dragged || apart(a.drag[x], b.drag[x], Dimension::torque))
                what += std::string(what.empty() ? "" : " and") +
                        (drags     ? " drags with "
                         : dragged ? " no longer drags, with "
                                   : " turns against ") +
                        instead(Dimension::torque, a.drag[x], b.drag[x]) + " a wheel";
            if (!what.empty())
                say(std::string("With the foot off the ") + kAxleNames[x] + what + ".");
        }
    }

    void bleeding() {
        const std::size_t before = said_.size();
        std::array<std::vector<std::string>, kAxles> stopped;
        for (const BledCar& b : is_.bled)
            for (std::size_t x = 0; x < kAxles; ++x) {
                const std::string now = flow_words(b.axle[x]);
                const std::string how =
                    tank_words(b.tank, c_.units) + (b.held ? " and the rod held" : "");
                const auto old =
                    std::find_if(was_.bled.begin(), was_.bled.end(), [&b](const BledCar& o) {
                        return o.tank == b.tank && o.held == b.held;
                    });
                const std::string then =
                    old == was_.bled.end() ? std::string() : flow_words(old->axle[x]);
                if (!then.empty() && !now.empty() && then != now)
                    say(fmt::format("Bled with {}, the {} {} with the new valve; with the old one "
                                    "it {}.",
                                    how, kAxleNames[x], now, then));
                else if (now == kStops)
                    stopped[x].push_back(how);
            }
        if (said_.size() == before && !is_.bled.empty())
            say("Bleeding is as before: each screw flows, drips or stops as with the old valve.");
        for (std::size_t x = 0; x < kAxles; ++x)
            if (!stopped[x].empty())
                say(std::string("With either valve the ") + kAxleNames[x] +
                    " gives a few drops and stops, bled with " + listed(stopped[x]) + ".");
    }

    static constexpr double kShows = 0.02; // share of a pressure that a driver may notice

    const CheckedValve& c_;
    const ValveAnswer &was_, &is_;
    std::vector<std::string> said_;
};

} // namespace

bool apart(double was, double is, Dimension dimension) {
    constexpr double kShare = 0.005;
    if (known(was) != known(is)) return true;
    const double least =
        std::max(least_of(dimension), kShare * std::max(std::abs(was), std::abs(is)));
    return std::abs(was - is) > least;
}

bool ValveRow::differs() const {
    return words[0] != words[1] || apart(value[0], value[1], dimension);
}

std::string first_words(First first) {
    switch (first) {
    case First::front:
        return "front";
    case First::rear:
        return "rear";
    case First::together:
        return "both at once";
    default:
        return "neither";
    }
}

std::string flow_words(const BledAxle& axle) {
    constexpr double kDrips = 1e-6; // m3/s below which single drops fall
    if (!known(axle.flow)) return {};
    return axle.flow < kStopped ? kStops : axle.flow < kDrips ? "drips" : "flows";
}

std::string tank_words(double pressure, const OutputUnits& units) {
    return pressure > 0 ? "a tank of " + units.text(Dimension::pressure, pressure, 3) : "gravity";
}

std::vector<std::string> valve_sentences(const CheckedValve& checked) {
    return Teller(checked).all();
}

} // namespace pedalbench::runner
