#include "study/compare.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <stdexcept>
#include <tuple>

#include "parts/part.hpp"
#include "record/remarks.hpp"
#include "study/compare_facts.hpp"

namespace pedalbench::study {
namespace {

using Moment = Figure::Moment;

// Of shares; and of values that one sentence may tell for several points.
constexpr double kNearly = 0.05, kAlike = 0.02;

/// "front_left" of "front_left.pressure".
std::string part_of(const std::string& path) {
    return path.substr(0, path.find('.'));
}
/// "pressure" of "hold_off.inlet.pressure", "plate opens, inlet.pressure" of a reading at an event.
std::string quantity_of(const ComparedFigure& f) {
    const char* end = f.moment == Moment::first_time ? ": " : ".";
    const std::size_t at = f.name.rfind(end);
    return at == std::string::npos ? f.name : f.name.substr(at + std::string(end).size());
}

const ChannelFigures* find(const Summary& summary, const std::string& path) {
    for (const ChannelFigures& c : summary.channels)
        if (c.channel.path == path) return &c;
    return nullptr;
}

bool has_part(const Entry& run, const std::string& name) {
    const auto& parts = run.scenario.hardware.parts;
    return std::any_of(parts.begin(), parts.end(),
                       [&name](const PartSpec& part) { return part.name == name; });
}

bool is_driven(const std::string& path, const std::vector<Entry>& runs) {
    return std::any_of(runs.begin(), runs.end(), [&path](const Entry& run) {
        const PartKind* kind = kind_of(run.scenario.hardware, path);
        return kind && kind->driven;
    });
}

// ---------------------------------------------------------------- figures

/// Fluid in a reservoir; a pressure bleeder stands on the same ones and has their figures.
bool is_reservoir(const std::string& path, const Hardware& hardware) {
    const PartKind* kind = kind_of(hardware, path);
    return kind && kind->name != "pressure_bleeder" && path.ends_with(".fluid") &&
           !path.ends_with(".outside.fluid");
}

/// Channels that are looked at, in the order of the first run that has them.
std::vector<std::string> channels_looked_at(const std::vector<Entry>& runs) {
    std::vector<std::string> paths;
    std::set<std::string> wanted, listed;
    for (const Entry& run : runs) {
        for (const ChannelFigures& c : run.summary.channels)
            if (c.recorded || is_reservoir(c.channel.path, run.scenario.hardware))
                wanted.insert(c.channel.path);
        for (const WheelEnd& wheel : run.summary.wheels)
            wanted.insert(wheel.part + ".torque");
    }
    for (const Entry& run : runs)
        for (const ChannelFigures& c : run.summary.channels)
            if (wanted.count(c.channel.path) && listed.insert(c.channel.path).second)
                paths.push_back(c.channel.path);
    return paths;
}

class FigureTable {
  public:
    FigureTable(const std::vector<Entry>& runs, std::vector<ComparedFigure>& to)
        : runs_(runs), to_(to) {}

    /// Adds a row unless no run has the figure. `of` gives value and scale of one run.
    template <class Of>
    void add(const std::string& name, Moment moment, Dimension dimension, const Of& of) {
        ComparedFigure row{name, moment, dimension, {}};
        bool any = false;
        for (const Entry& run : runs_) {
            const auto [value, scale] = of(run);
            row.value.push_back(value);
            any = any || known(value);
            const double error =
                error_of({name, moment, dimension, value, scale}, run.scenario.accuracy);
            if (known(value)) row.error = std::max(row.error, error);
        }
        for (const double value : row.value)
            row.share = std::max(row.share, share_of(row.value.front(), value, row.error));
        if (any) to_.push_back(std::move(row));
    }

    void add_channel(const std::string& path, Dimension dimension) {
        const auto one = [&](Moment moment, double ChannelFigures::*member) {
            add(path, moment, dimension, [&](const Entry& run) {
                const ChannelFigures* c = find(run.summary, path);
                if (!c) return std::pair(kUnset, 0.0);
                return std::pair(c->*member, std::max(std::abs(c->peak), std::abs(c->lowest)));
            });
        };
        one(Moment::peak, &ChannelFigures::peak);
        if (dips(path)) one(Moment::lowest, &ChannelFigures::lowest);
        one(Moment::held, &ChannelFigures::held);
        one(Moment::residual, &ChannelFigures::residual);
    }

  private:
    /// Somewhere lower than at rest and at the end, by more than the error.
    bool dips(const std::string& path) const {
        return std::any_of(runs_.begin(), runs_.end(), [&](const Entry& run) {
            const ChannelFigures* c = find(run.summary, path);
            if (!c) return false;
            const double scale = std::max(std::abs(c->peak), std::abs(c->lowest));
            const double error = error_of({path, Moment::lowest, c->channel.dimension, 0, scale},
                                          run.scenario.accuracy);
            return c->lowest < std::min(c->settled, c->last) - error;
        });
    }

    const std::vector<Entry>& runs_;
    std::vector<ComparedFigure>& to_;
};

void compare_figures(const std::vector<Entry>& runs, Comparison& out) {
    FigureTable table(runs, out.figures);
    for (const std::string& path : channels_looked_at(runs)) {
        Lone lone{path, {}};
        const ChannelFigures* one = nullptr;
        for (const Entry& run : runs) {
            const ChannelFigures* c = find(run.summary, path);
            lone.in.push_back(c != nullptr);
            if (!one) one = c;
        }
        if (std::find(lone.in.begin(), lone.in.end(), false) != lone.in.end()) {
            out.lone.push_back(std::move(lone));
            continue;
        }
        if (is_reservoir(path, runs.front().scenario.hardware))
            table.add(path, Moment::end, one->channel.dimension, [&](const Entry& run) {
                const ChannelFigures& c = *find(run.summary, path);
                return std::pair(c.last, std::max(std::abs(c.peak), std::abs(c.lowest)));
            });
        else
            table.add_channel(path, one->channel.dimension);
    }
    const auto whole = [&](const char* name, Dimension dimension, const auto& value) {
        table.add(name, Moment::end, dimension, [&](const Entry& run) {
            const double v = value(run.summary);
            return std::pair(v, std::abs(v));
        });
    };
    whole("free air in the lines", Dimension::volume,
          [](const Summary& s) { return s.ledger.gas_chambers; });
    const auto bled = [](const auto& value) {
        return [value](const Summary& s) {
            return s.bleeding.wheels.empty() ? kUnset : value(s.bleeding);
        };
    };
    whole("fluid used for bleeding", Dimension::volume,
          bled([](const BleedingResult& b) { return b.used; }));
    whole("pedal travel before bleeding", Dimension::length,
          bled([](const BleedingResult& b) { return b.pedal_before; }));
    whole("pedal travel after bleeding", Dimension::length,
          bled([](const BleedingResult& b) { return b.pedal_after; }));
}

// ---------------------------------------------------------------- events

using Words = std::pair<std::string, std::string>; // part and text

void pair_events(const std::vector<Entry>& runs, Comparison& out) {
    std::map<Words, std::vector<std::vector<int>>> places; // per run, in the order of time
    std::vector<Words> order;
    double error = 0;
    for (std::size_t r = 0; r < runs.size(); ++r) {
        const Summary& s = runs[r].summary;
        error = std::max(error, error_of({"", Moment::first_time, Dimension::time, 0, s.simulated},
                                         runs[r].scenario.accuracy));
        for (std::size_t i = 0; i < s.events.size(); ++i) {
            auto& found = places[{s.events[i].part, s.events[i].text}];
            if (found.empty()) {
                found.resize(runs.size());
                order.emplace_back(s.events[i].part, s.events[i].text);
            }
            found[r].push_back(static_cast<int>(i));
        }
    }
    for (const Words& words : order) {
        const auto& in = places[words];
        std::size_t most = 0;
        for (const auto& list : in)
            most = std::max(most, list.size());
        for (std::size_t k = 0; k < most; ++k) {
            PairedEvent row{words.first, words.second, k, {}, {}, error};
            for (std::size_t r = 0; r < runs.size(); ++r) {
                const int event = k < in[r].size() ? in[r][k] : -1;
                row.event.push_back(event);
                row.time.push_back(
                    event < 0 ? kUnset
                              : runs[r].summary.events[static_cast<std::size_t>(event)].time);
            }
            out.events.push_back(std::move(row));
        }
        Fact fact{Fact::Kind::event, words.first, words.second, Dimension::time, {}, {}};
        for (std::size_t r = 0; r < runs.size(); ++r) {
            const bool any = !in[r].empty();
            // A part that a car has not got does nothing in it: that says nothing.
            fact.yes.push_back(any || words.first.empty() || has_part(runs[r], words.first)
                                   ? answer(any)
                                   : YesNo::unknown);
            fact.value.push_back(any ? out.events[out.events.size() - most].time[r] : kUnset);
        }
        const bool setup = out.events[out.events.size() - most].of_setup();
        // The lamp has its own line.
        if (!setup && words.second != "lamp lit" && words.second != "lamp dark")
            out.facts.push_back(std::move(fact));
    }
    const auto when = [](const PairedEvent& e) {
        return *std::find_if(e.time.begin(), e.time.end(), known);
    };
    std::stable_sort(
        out.events.begin(), out.events.end(),
        [&when](const PairedEvent& a, const PairedEvent& b) { return when(a) < when(b); });
}

/// The pressures at which a valve first opened or shut, if it did in every run: they tell more than
/// the time. What other parts read at an event follows from the rest.
void compare_readings(const std::vector<Entry>& runs, Comparison& out) {
    FigureTable table(runs, out.figures);
    for (const PairedEvent& row : out.events) {
        const PartKind* kind = kind_of(runs.front().scenario.hardware, row.part);
        if (row.occurrence > 0 || !row.everywhere() || !kind || !kind->name.ends_with("_valve"))
            continue;
        const auto event = [&row](const Entry& run, std::size_t r) -> const Event& {
            return run.summary.events[static_cast<std::size_t>(row.event[r])];
        };
        // The first reading is the one that the law of the event is about.
        const std::vector<Reading>& readings = event(runs.front(), 0).readings;
        if (readings.empty() || readings.front().dimension != Dimension::pressure) continue;
        const std::string& reading = readings.front().name;
        std::size_t r = 0;
        table.add(row.part + ": " + row.text + ", " + reading, Moment::first_time,
                  Dimension::pressure, [&](const Entry& run) {
                      double value = kUnset;
                      for (const Reading& its : event(run, r).readings)
                          if (its.name == reading) value = its.value;
                      ++r;
                      return std::pair(value, std::abs(value));
                  });
    }
}

// ---------------------------------------------------------------- what matters

/// Facts that say the same of several parts.
bool alike(const Fact& a, const Fact& b) {
    return a.kind == b.kind && a.text == b.text && a.yes == b.yes &&
           a.kind != Fact::Kind::expectation;
}

/// What a changed yes or no has told of a channel.
bool told(const std::vector<Fact>& facts, const ComparedFigure& figure) {
    const auto changed = [&facts](Fact::Kind kind, const std::string& part) {
        return std::any_of(facts.begin(), facts.end(), [&](const Fact& f) {
            return f.kind == kind && f.part == part && f.differs();
        });
    };
    const std::string& path = figure.name;
    if (path.ends_with(".torque") && figure.moment == Moment::residual)
        return changed(Fact::Kind::drags, part_of(path));
    if (path.ends_with(".outside.fluid")) return changed(Fact::Kind::fluid_lost, "");
    if (path.ends_with(".outside.air")) return changed(Fact::Kind::air_drawn, "");
    if (path.ends_with(".lit") || path.ends_with(".contact"))
        return changed(Fact::Kind::lit_at_end, "") || changed(Fact::Kind::lit, "");
    return false;
}

void rank(const std::vector<Entry>& runs, Comparison& out) {
    std::vector<std::size_t> which;
    for (std::size_t i = 0; i < out.facts.size(); ++i)
        if (out.facts[i].differs()) which.push_back(i);
    for (const std::size_t i : which) {
        const Fact& fact = out.facts[i];
        const auto same =
            std::find_if(out.differences.begin(), out.differences.end(), [&](const Difference& d) {
                return alike(out.facts[d.which.front()], fact);
            });
        if (same == out.differences.end())
            out.differences.push_back({true, {i}});
        else
            same->which.push_back(i);
    }
    for (Difference& d : out.differences)
        std::stable_sort(d.which.begin(), d.which.end(), [&out](std::size_t a, std::size_t b) {
            return out.facts[a].part < out.facts[b].part;
        });

    which.clear();
    for (std::size_t i = 0; i < out.figures.size(); ++i) {
        const ComparedFigure& f = out.figures[i];
        if (f.differs() && f.everywhere() && !told(out.facts, f)) which.push_back(i);
    }
    // What a gauge shows while the foot holds or is off comes before the pressures at which valves
    // act, that before where pieces stand inside, which nobody sees, and last what passes in a
    // moment.
    const auto tier = [&](std::size_t i) {
        const ComparedFigure& f = out.figures[i];
        if (quantity_of(f) == "travel" && is_driven(f.name, runs)) return 0;
        if (f.moment == Moment::first_time) return 2;
        if (f.moment == Moment::peak || f.moment == Moment::lowest) return 4;
        return f.dimension == Dimension::length ? 3 : 1;
    };
    // Shares that are nearly the same leave the order to the moment: what is left after the stop,
    // then what is held.
    const auto key = [&](std::size_t i) {
        const ComparedFigure& f = out.figures[i];
        const int moment = f.moment == Moment::residual ? 0 : f.moment == Moment::held ? 1 : 2;
        return std::tuple(tier(i), -std::floor(f.share / kNearly), moment);
    };
    std::stable_sort(which.begin(), which.end(),
                     [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
    std::set<std::string> channels;
    for (std::vector<std::size_t>& group : gathered(out.figures, which, kAlike)) {
        if (channels.count(out.figures[group.front()].name)) continue;
        for (const std::size_t i : group)
            channels.insert(out.figures[i].name);
        out.differences.push_back({false, std::move(group)});
    }
}

} // namespace

double share_of(double a, double b, double error) {
    const double apart = std::abs(b - a);
    return apart > error ? (apart - error) / std::max(std::abs(a), std::abs(b)) : 0;
}

bool ComparedFigure::everywhere() const {
    return std::all_of(value.begin(), value.end(), known);
}

bool Fact::differs() const {
    return yes.front() != YesNo::unknown && std::any_of(yes.begin(), yes.end(), [&](YesNo a) {
               return a != YesNo::unknown && a != yes.front();
           });
}

bool PairedEvent::everywhere() const {
    return std::all_of(time.begin(), time.end(), known);
}

bool PairedEvent::same() const {
    return everywhere() && std::all_of(time.begin(), time.end(), [this](double t) {
               return std::abs(t - time.front()) <= error;
           });
}

bool PairedEvent::of_setup() const {
    return std::none_of(time.begin(), time.end(), [](double t) { return t > 0; });
}

bool Comparison::same() const {
    const auto one = [](const auto& list, const auto& is) {
        return std::all_of(list.begin(), list.end(), is);
    };
    return one(figures, [](const ComparedFigure& f) { return !f.differs() && f.everywhere(); }) &&
           one(facts, [](const Fact& f) { return !f.differs(); }) &&
           one(events, [](const PairedEvent& e) { return e.same() || e.of_setup(); }) &&
           lone.empty();
}

std::vector<std::vector<std::size_t>> gathered(const std::vector<ComparedFigure>& figures,
                                               const std::vector<std::size_t>& which,
                                               double within) {
    const auto alike = [&](const ComparedFigure& a, const ComparedFigure& b) {
        if (a.moment != b.moment || quantity_of(a) != quantity_of(b) || a.dimension != b.dimension)
            return false;
        double largest = 0;
        for (const double v : a.value)
            if (known(v)) largest = std::max(largest, std::abs(v));
        const double near = std::max({a.error, b.error, within * largest});
        for (std::size_t r = 0; r < a.value.size(); ++r) {
            if (known(a.value[r]) != known(b.value[r])) return false;
            if (std::abs(a.value[r] - b.value[r]) > near) return false;
        }
        return true;
    };
    std::vector<std::vector<std::size_t>> groups;
    for (const std::size_t i : which) {
        const auto same =
            std::find_if(groups.begin(), groups.end(), [&](const std::vector<std::size_t>& g) {
                return alike(figures[g.front()], figures[i]);
            });
        if (same == groups.end())
            groups.push_back({i});
        else
            same->push_back(i);
    }
    return groups;
}

Comparison compare(const std::vector<Entry>& runs) {
    if (runs.size() < 2) throw std::invalid_argument("a comparison needs two runs at least");
    Comparison out;
    for (const Entry& run : runs)
        out.names.push_back(run.name);
    compare_figures(runs, out);
    out.facts = facts_of(runs);
    pair_events(runs, out);
    compare_readings(runs, out);
    std::stable_sort(out.facts.begin(), out.facts.end(),
                     [](const Fact& a, const Fact& b) { return a.kind < b.kind; });
    rank(runs, out);
    return out;
}

} // namespace pedalbench::study
