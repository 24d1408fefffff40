#include "study/match.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <mutex>
#include <numeric>
#include <stdexcept>
#include <tuple>
#include <utility>

#include "circuit/layout.hpp"
#include "study/match_curve.hpp"

namespace pedalbench::study {
namespace {

constexpr double kLittle = 0.25; // of the misfit: not worth another run
constexpr int kRounds = 12;
constexpr std::size_t kPairsOf = 10; // of the best singles
constexpr std::size_t kPairsRun = 8;
constexpr int kPairRounds = 4;
constexpr double kTwo = 2 * kTie;   // two faults need a better reason than one
constexpr std::size_t kLeaders = 3; // where one leads alone
constexpr std::size_t kNext = 3;

std::string key_of(const std::vector<Candidate>& faults, const std::vector<double>& u) {
    std::string key;
    for (std::size_t i = 0; i < faults.size(); ++i) {
        if (!faults[i].kind) continue;
        char size[40];
        std::snprintf(size, sizeof size, " %.17g", faults[i].sized() ? u[i] : 0.0);
        key += (key.empty() ? "" : " + ") + std::string(faults[i].kind->name) + " at " +
               faults[i].at + size;
    }
    return key.empty() ? "as it is" : key;
}

/// What explains every reading comes before what does not.
bool likelier(const Explanation& a, const Explanation& b) {
    if (a.explains() != b.explains()) return a.explains();
    return a.averaged < b.averaged;
}

bool same_reading(const Expectation& a, const Expectation& b) {
    return a.channel == b.channel && a.moment == b.moment && a.time == b.time && a.since == b.since;
}

bool any_extreme(const std::vector<Expectation>& readings) {
    return std::any_of(readings.begin(), readings.end(), [](const Expectation& r) {
        return r.moment == Expectation::Moment::peak || r.moment == Expectation::Moment::lowest;
    });
}

class Search {
  public:
    Search(const Scenario& complaint, Executor& executor, RunStore& store, OutcomeSink& sink,
           const RunOptions& options)
        : scenario_(complaint), executor_(executor), store_(store), sink_(sink), options_(options) {
        columns_ = columns_of(complaint);
        scenario_.expectations.clear(); // a run answers what its scenario expects
        for (const Measurement& column : columns_)
            scenario_.expectations.push_back(column.what);
        for (const Expectation& reading : complaint.readings) {
            const auto same =
                std::find_if(columns_.begin(), columns_.end(), [&](const Measurement& column) {
                    return same_reading(column.what, reading);
                });
            readings_.what.push_back(reading);
            readings_.dimension.push_back(same->dimension);
            readings_.column.push_back(static_cast<std::size_t>(same - columns_.begin()));
        }
        if (!any_extreme(complaint.readings) && scenario_.sample == 0)
            options_.sample = 0.01; // s: fewer rows
    }

    Match run() {
        for (Candidate& candidate : candidates_of(scenario_)) {
            for (Candidate& spot : at_its_spots(candidate))
                curves_.emplace_back(std::move(spot), readings_);
            places_.push_back({std::move(candidate), curves_.size()});
        }
        std::vector<Wanted> wanted;
        for (std::size_t c = 0; c < curves_.size(); ++c)
            for (const double u : curves_[c].first())
                wanted.push_back({c, u});
        make(wanted);
        // Everything is held against the car as it is.
        if (!out_.stopped && curves_[0].samples().empty())
            throw std::runtime_error("the car as it is cannot be run: " + sound_reason_);
        for (int round = 0; round < kRounds && !out_.stopped; ++round) {
            wanted = halves();
            if (wanted.empty()) break;
            make(wanted);
        }
        for (int round = 0; round < kRounds && !out_.stopped; ++round) {
            wanted = best_sizes();
            if (wanted.empty()) break;
            make(wanted);
        }
        if (!out_.stopped) conclude();
        out_.columns = std::move(columns_);
        out_.column = readings_.column;
        return std::move(out_);
    }

  private:
    struct Wanted {
        std::size_t curve;
        double u;
    };

    /// What the car as it is answers to each reading.
    const std::vector<double>& sound() const { return curves_[0].samples().begin()->second.read; }

    void make(const std::vector<Wanted>& wanted) {
        std::vector<Faulty> runs;
        for (const Wanted& w : wanted)
            runs.push_back({{curves_[w.curve].candidate()}, {w.u}});
        const auto found = results(runs);
        if (out_.stopped) return;
        for (std::size_t i = 0; i < wanted.size(); ++i)
            curves_[wanted[i].curve].add(wanted[i].u, *found[i]);
        for (const Curve& curve : curves_)
            best_ = std::min(best_, curve.best_run());
    }

    struct Faulty {
        std::vector<Candidate> faults;
        std::vector<double> u;
    };
    /// What is read in each of these runs, in their order; of the store what it has.
    std::vector<const std::vector<double>*> results(const std::vector<Faulty>& runs) {
        std::vector<const std::vector<double>*> found(runs.size());
        std::vector<std::size_t> missing;
        for (std::size_t i = 0; i < runs.size(); ++i)
            if (!(found[i] = store_.find(key_of(runs[i].faults, runs[i].u)))) missing.push_back(i);
        const std::size_t before = out_.runs;
        sink_.begin(before + missing.size());
        std::mutex mutex;
        executor_.run(missing.size(), [&](std::size_t k) {
            const Faulty& run = runs[missing[k]];
            std::vector<double> values;
            const Outcome outcome = one(run, values);
            const std::lock_guard lock(mutex);
            if (outcome.end == Outcome::End::stopped) {
                out_.stopped = true;
                return;
            }
            if (!run.faults[0].kind) sound_reason_ = outcome.reason;
            found[missing[k]] = &store_.put(key_of(run.faults, run.u), std::move(values));
            ++out_.runs;
            sink_.outcome(before + k, outcome);
        });
        return found;
    }

    Outcome one(const Faulty& run, std::vector<double>& values) const {
        struct Listening final : OutcomeSink {
            Outcome heard;
            void outcome(std::size_t, const Outcome& o) override { heard = o; }
        } listening;
        InTurn here;
        run_each(
            1,
            [&](std::size_t) {
                Scenario faulty = scenario_;
                for (std::size_t i = 0; i < run.faults.size(); ++i)
                    faulty = with_fault(faulty, run.faults[i], run.u[i]);
                return faulty;
            },
            here, listening, options_,
            [&values](const Summary& summary) {
                for (const ExpectationResult& r : summary.expectations)
                    values.push_back(r.found);
                return std::vector<Figure>{};
            });
        return listening.heard;
    }

    /// Middles of all intervals that may still hold something good.
    std::vector<Wanted> halves() const {
        std::vector<Wanted> wanted;
        for (std::size_t c = 0; c < curves_.size(); ++c)
            for (const double u : curves_[c].worth_halving(best_ + kGiveUp))
                wanted.push_back({c, u});
        return wanted;
    }

    /// Where a good candidate should be at its best and has not been run yet.
    std::vector<Wanted> best_sizes() const {
        std::vector<Wanted> wanted;
        for (std::size_t c = 0; c < curves_.size(); ++c) {
            const Curve::Best best = curves_[c].best();
            if (best.misfit < best_ + kGiveUp && !curves_[c].has_run(best.u) &&
                curves_[c].best_run() - best.misfit > kLittle)
                wanted.push_back({c, best.u});
        }
        return wanted;
    }

    Explanation explain(const std::vector<Candidate>& faults, const std::vector<double>& u,
                        const std::vector<double>& found) const {
        Explanation e;
        for (std::size_t i = 0; i < faults.size(); ++i) {
            if (!faults[i].kind) continue;
            e.faults.push_back(faults[i]);
            e.u.push_back(u[i]);
            e.size.push_back(faults[i].size(u[i]));
        }
        e.found = e.least = e.most = found;
        for (std::size_t i = 0; i < readings_.size(); ++i) {
            e.off.push_back(readings_.off(i, found[readings_.column[i]]));
            e.misfit += e.off[i] * e.off[i];
        }
        return e;
    }

    Explanation explain(const Curve& curve) const {
        const auto [u, found] = curve.best_sample();
        Explanation e = explain({curve.candidate()}, {u}, *found);
        const double misfit = curve.best().misfit;
        if (curve.candidate().sized() && e.explains()) {
            auto [from, to] = curve.range(misfit + kTie);
            from = std::min(from, u); // between runs, u is one
            to = std::max(to, u);
            e.low = curve.candidate().size(from);
            e.high = curve.candidate().size(to);
            std::tie(e.least, e.most) = curve.reach(from, to);
        }
        e.near = !curve.has_run(curve.best().u) && misfit >= best_ + kGiveUp;
        e.averaged = curve.averaged();
        e.closest = curve.closest();
        return e;
    }

    void conclude() {
        std::size_t first = 0;
        for (const Place& place : places_) {
            std::vector<Explanation> spots;
            const Curve* best = nullptr;
            bool shown = place.end == 1; // the car as it is
            for (std::size_t c = std::exchange(first, place.end); c < place.end; ++c) {
                if (curves_[c].samples().empty()) continue;
                shown = shown || curves_[c].shows(sound());
                Explanation e = explain(curves_[c]);
                if (spots.empty() || likelier(e, spots[0])) best = &curves_[c];
                spots.insert(best == &curves_[c] ? spots.begin() : spots.end(), std::move(e));
            }
            if (!best) {
                out_.impossible.push_back(place.candidate);
            } else if (!shown) {
                out_.unseen.push_back(place.candidate);
            } else {
                out_.singles.push_back(at_any_of(spots));
                by_single_.push_back(best);
            }
        }
        std::vector<std::size_t> order(out_.singles.size());
        std::iota(order.begin(), order.end(), 0U);
        std::stable_sort(order.begin(), order.end(), [this](std::size_t a, std::size_t b) {
            return likelier(out_.singles[a], out_.singles[b]);
        });
        std::vector<Explanation> sorted;
        std::vector<const Curve*> curves;
        for (const std::size_t i : order) {
            sorted.push_back(std::move(out_.singles[i]));
            curves.push_back(by_single_[i]);
        }
        out_.singles = std::move(sorted);
        by_single_ = std::move(curves);
        if (std::none_of(out_.singles.begin(), out_.singles.end(),
                         [](const Explanation& e) { return e.explains(); }))
            look_for_pairs();
        if (out_.stopped) return;
        choose_leaders();
        choose_next();
    }

    struct Pair {
        const Curve *a, *b;
        Curve::BestPair best;
        Explanation least = {};
        bool done = false;
    };

    /// Each of the ten best singles with every other one: where many explain one symptom, what
    /// explains the other stands far behind them. Those whose sum fits best are run, and their
    /// sizes put right by what they do together beyond the sum.
    void look_for_pairs() {
        std::vector<Pair> pairs;
        const std::size_t n = by_single_.size();
        for (std::size_t i = 0; i < std::min(kPairsOf, n); ++i)
            for (std::size_t j = i + 1; j < n; ++j) {
                const Curve &a = *by_single_[i], &b = *by_single_[j];
                if (!a.candidate().kind || !b.candidate().kind ||
                    same_field(a.candidate(), b.candidate()))
                    continue;
                pairs.push_back({&a, &b, best_pair(a, b, sound(), {})});
            }
        std::stable_sort(pairs.begin(), pairs.end(), [](const Pair& x, const Pair& y) {
            return x.best.misfit < y.best.misfit;
        });
        pairs.resize(std::min(pairs.size(), kPairsRun));
        for (int round = 0; round < kPairRounds; ++round) {
            std::vector<Pair*> open;
            std::vector<Faulty> runs;
            for (Pair& pair : pairs) {
                if (pair.done) continue;
                open.push_back(&pair);
                runs.push_back(
                    {{pair.a->candidate(), pair.b->candidate()}, {pair.best.u, pair.best.v}});
            }
            const auto found = results(runs);
            if (out_.stopped) return;
            for (std::size_t i = 0; i < open.size(); ++i)
                put_right(*open[i], runs[i], *found[i]);
        }
        for (Pair& pair : pairs)
            if (!pair.least.found.empty()) out_.pairs.push_back(std::move(pair.least));
        for (Explanation& e : out_.pairs)
            e.averaged = e.misfit + kTwo;
        std::stable_sort(out_.pairs.begin(), out_.pairs.end(), likelier);
    }

    void put_right(Pair& pair, const Faulty& run, const std::vector<double>& found) const {
        pair.done = found.empty();
        if (pair.done) return;
        Explanation e = explain(run.faults, run.u, found);
        if (pair.least.found.empty() || e.misfit < pair.least.misfit) pair.least = std::move(e);
        const Curve &a = *pair.a, &b = *pair.b;
        const Curve::BestPair then =
            best_pair(a, b, sound(), beyond_sum(a, b, sound(), pair.best, readings_.of(found)));
        constexpr double kSame = 1e-3;
        pair.done = std::abs(then.u - pair.best.u) + std::abs(then.v - pair.best.v) < kSame;
        pair.best = then;
    }

    static bool same_field(const Candidate& a, const Candidate& b) {
        return a.at == b.at && a.kind->inserts.empty() && a.kind->field == b.kind->field;
    }

    void choose_leaders() {
        std::vector<Explanation> all = out_.singles;
        double least = HUGE_VAL;
        const bool explained = all[0].explains();
        for (const Explanation& e : all)
            if (e.explains() || !explained) least = std::min(least, e.misfit);
        if (!out_.pairs.empty() && out_.pairs[0].misfit + kTwo < least) {
            least = out_.pairs[0].misfit;
            all.insert(all.begin(), out_.pairs.begin(), out_.pairs.end());
            std::stable_sort(all.begin(), all.end(), likelier);
        }
        const auto close = [&](const Explanation& e) {
            return e.averaged <= all[0].averaged + kTie || e.misfit <= least + kTie;
        };
        for (const Explanation& e : all)
            if (close(e) && (e.explains() || !all[0].explains())) out_.leaders.push_back(e);
        out_.tied = out_.leaders.size();
        if (out_.tied > 1) return;
        for (const Explanation& e : all)
            if (!close(e) && out_.leaders.size() < kLeaders) out_.leaders.push_back(e);
    }

    struct Telling {
        double sure, perhaps; // how much it tells, whatever the sizes and of the best ones
        NextReading next;
    };

    /// Two predictions so many errors apart: counts the pair, and says what it is worth.
    static double tells_apart(double errors, std::size_t& pairs) {
        pairs += errors > kExplains;
        return std::min(errors * errors, 4 * kExplains * kExplains);
    }

    void choose_next() {
        const std::vector<std::size_t>& taken = readings_.column;
        // Where one leads, it is that one which is to be told from the others.
        const std::size_t to_tell = out_.tied == 1 ? 1 : out_.leaders.size();
        for (std::size_t c = 0; c < columns_.size(); ++c) {
            if (std::find(taken.begin(), taken.end(), c) != taken.end()) continue;
            NextReading next;
            next.what = columns_[c];
            double sure = 0, perhaps = 0;
            for (const Explanation& e : out_.leaders) {
                next.predicted.push_back(e.found[c]);
                next.least.push_back(e.least[c]);
                next.most.push_back(e.most[c]);
            }
            const std::size_t n = next.predicted.size();
            for (std::size_t a = 0; a < to_tell; ++a)
                for (std::size_t b = a + 1; b < n; ++b) {
                    const double x = next.predicted[a], y = next.predicted[b];
                    const double error = std::max(reading_error(next.what.dimension, x),
                                                  reading_error(next.what.dimension, y));
                    const double between =
                        std::max({0.0, next.least[a] - next.most[b], next.least[b] - next.most[a]});
                    sure += tells_apart(between / error, next.told_apart);
                    perhaps += tells_apart(std::abs(x - y) / error, next.perhaps);
                }
            if (next.perhaps == 0) continue;
            next_.push_back({sure, perhaps, std::move(next)});
        }
        std::stable_sort(next_.begin(), next_.end(), [](const Telling& a, const Telling& b) {
            return std::tie(a.next.told_apart, a.sure, a.next.perhaps, a.perhaps) >
                   std::tie(b.next.told_apart, b.sure, b.next.perhaps, b.perhaps);
        });
        for (auto& [sure, perhaps, next] : next_) {
            const auto same = [&next = next](const NextReading& other) {
                return other.what.what.channel == next.what.what.channel;
            };
            if (out_.next.size() < kNext && std::none_of(out_.next.begin(), out_.next.end(), same))
                out_.next.push_back(std::move(next));
        }
    }

    std::vector<Measurement> columns_;
    Readings readings_;
    Scenario scenario_;
    Executor& executor_;
    RunStore& store_;
    OutcomeSink& sink_;
    RunOptions options_;
    /// A candidate, and behind the last of the curves of its spots.
    struct Place {
        Candidate candidate;
        std::size_t end;
    };
    std::vector<Curve> curves_; // the car as it is first
    std::vector<Place> places_;
    std::vector<const Curve*> by_single_;
    std::vector<Telling> next_;
    double best_ = HUGE_VAL;   // misfit of the best run so far
    std::string sound_reason_; // why the car as it is cannot be run
    Match out_;
};

} // namespace

std::vector<Measurement> columns_of(const Scenario& complaint) {
    std::vector<Measurement> columns = measurements_of(complaint);
    const std::vector<Channel> channels = channels_of(complaint);
    for (const Expectation& reading : complaint.readings) {
        if (std::any_of(columns.begin(), columns.end(), [&](const Measurement& column) {
                return same_reading(column.what, reading);
            }))
            continue;
        const auto channel = std::find_if(channels.begin(), channels.end(), [&](const Channel& c) {
            return c.path == reading.channel;
        });
        Measurement column{reading, Dimension::number};
        if (channel != channels.end()) column.dimension = channel->dimension;
        if (reading.moment == Expectation::Moment::event_time) column.dimension = Dimension::time;
        column.what.text.clear();
        column.what.low = column.what.high = {};
        columns.push_back(std::move(column));
    }
    return columns;
}

const std::vector<double>* RunStore::find(const std::string& key) const {
    const auto found = kept_.find(key);
    return found == kept_.end() ? nullptr : &found->second;
}

const std::vector<double>& RunStore::put(const std::string& key, std::vector<double> found) {
    return kept_[key] = std::move(found);
}

bool Match::explained() const {
    return !leaders.empty() && leaders[0].explains();
}

Match match(const Scenario& complaint, Executor& executor, RunStore& store, OutcomeSink& sink,
            const RunOptions& options) {
    return Search(complaint, executor, store, sink, options).run();
}

} // namespace pedalbench::study
