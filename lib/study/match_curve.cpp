#include "study/match_curve.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "study/match.hpp"

namespace pedalbench::study {
namespace {

constexpr double kFinest = 1.0 / 1024; // of the range of sizes: a leak may be that steep
constexpr double kCoarse = 1.0 / 16;   // beside a size that cannot be
constexpr double kStep = 1.0 / 512;    // in which a range of sizes is told
constexpr double kSame = 1.0 / 4096;   // sizes that need not be told apart
constexpr double kBeyond = 0.25;       // of the step between two runs, to either side
constexpr std::size_t kTurns = 20;     // one reading of so many may turn between two runs ...
constexpr double kMoves = 10;          // ... if it moves by more than so many standard errors
constexpr double kStraight = 0.5;      // standard errors
constexpr int kHalvings = 10;          // of a step
constexpr int kBetween = 32;           // looks between two runs

double square(double x) {
    return x * x;
}

} // namespace

double off_by(const Expectation& reading, Dimension dimension, double found) {
    if (std::isnan(found)) return kMissed;
    if (reading.moment == Expectation::Moment::event_count) {
        if (reading.low && found < *reading.low) return -kMissed;
        return reading.high && found > *reading.high ? kMissed : 0;
    }
    if (reading.low && reading.high) {
        const double error = (*reading.high - *reading.low) / 4;
        const double off = found - (*reading.high + *reading.low) / 2;
        if (error > 0) return off / error;
        return off == 0 ? 0 : std::copysign(kMissed, off);
    }
    const double bound = reading.low ? *reading.low : reading.high ? *reading.high : found;
    const double off = (found - bound) / reading_error(dimension, bound);
    if (reading.low) return std::clamp(off, -kMissed, 0.0);
    return std::clamp(off, 0.0, kMissed);
}

std::vector<double> Readings::of(const std::vector<double>& found) const {
    std::vector<double> read;
    for (const std::size_t c : column)
        read.push_back(found[c]);
    return read;
}

double Readings::off(std::size_t i, double value) const {
    return off_by(what[i], dimension[i], value);
}

std::vector<double> Curve::first() const {
    if (!candidate_.sized()) return {0};
    return {0, 0.25, 0.5, 0.75, 1};
}

void Curve::add(double u, const std::vector<double>& found) {
    tried_[u] = !found.empty();
    if (found.empty()) return;
    std::vector<double> read = readings_->of(found);
    const auto after = at_.upper_bound(u);
    bool straight = false;
    if (after != at_.begin() && after != at_.end()) {
        const auto before = std::prev(after);
        straight = true;
        for (std::size_t i = 0; i < readings_->size(); ++i) {
            const double line = readings_->off(i, value(i, u));
            straight = straight && std::abs(line - readings_->off(i, read[i])) <= kStraight;
        }
        before->second.straight = straight;
    }
    at_[u] = {&found, std::move(read), straight};
}

bool Curve::has_run(double u) const {
    if (!candidate_.sized()) return !at_.empty();
    const auto above = at_.lower_bound(u - kSame);
    return above != at_.end() && above->first <= u + kSame;
}

double Curve::misfit_of(const std::vector<double>& read) const {
    double sum = 0;
    for (std::size_t i = 0; i < readings_->size(); ++i)
        sum += square(readings_->off(i, read[i]));
    return sum;
}

double Curve::between(const std::vector<double>& a, const std::vector<double>& b, double t) const {
    double sum = 0;
    for (std::size_t i = 0; i < readings_->size(); ++i)
        sum += square(readings_->off(i, a[i] + t * (b[i] - a[i])));
    return sum;
}

/// The misfit if every reading took the best value between a and b or a little beyond. Of those
/// that move much a few are left out, the ones that miss most: the torque of a wheel can rise and
/// fall again while a leak grows from a drip to a gap.
double Curve::at_best(const std::vector<double>& a, const std::vector<double>& b) const {
    double sum = 0;
    std::vector<double> moving;
    for (std::size_t i = 0; i < readings_->size(); ++i) {
        const double more = kBeyond * (b[i] - a[i]);
        const double one = readings_->off(i, a[i] - more);
        const double other = readings_->off(i, b[i] + more);
        if (one * other <= 0) continue;
        const double least = std::min(square(one), square(other));
        if (std::abs(one - other) > kMoves)
            moving.push_back(least);
        else
            sum += least;
    }
    std::sort(moving.begin(), moving.end());
    const std::size_t turn = std::min(moving.size(), readings_->size() / kTurns);
    return std::accumulate(moving.begin(), moving.end() - static_cast<std::ptrdiff_t>(turn), sum);
}

double Curve::value(std::size_t i, double u) const {
    const auto above = at_.lower_bound(u);
    if (above == at_.end()) return std::prev(above)->second.read[i];
    if (above == at_.begin() || above->first == u) return above->second.read[i];
    const auto below = std::prev(above);
    const double t = (u - below->first) / (above->first - below->first);
    return (1 - t) * below->second.read[i] + t * above->second.read[i];
}

double Curve::misfit(double u) const {
    double sum = 0;
    for (std::size_t i = 0; i < readings_->size(); ++i)
        sum += square(readings_->off(i, value(i, u)));
    return sum;
}

Curve::Best Curve::best() const {
    Best best{0, HUGE_VAL};
    const auto look = [&best](double u, double misfit) {
        if (misfit < best.misfit) best = {u, misfit};
    };
    for (auto a = at_.begin(); a != at_.end(); ++a) {
        look(a->first, misfit_of(a->second.read));
        const auto b = std::next(a);
        if (b == at_.end()) break;
        for (int k = 1; k < kBetween; ++k) {
            const double t = static_cast<double>(k) / kBetween;
            look(a->first + t * (b->first - a->first), between(a->second.read, b->second.read, t));
        }
    }
    return best;
}

double Curve::averaged() const {
    const double least = best().misfit;
    if (!candidate_.sized()) return least;
    double sum = 0;
    for (auto a = at_.begin(); std::next(a) != at_.end(); ++a) {
        const auto b = std::next(a);
        const double width = (b->first - a->first) / kBetween;
        for (int k = 0; k < kBetween; ++k) {
            const double t = (k + 0.5) / kBetween;
            const double more = between(a->second.read, b->second.read, t) - least;
            sum += width * std::exp(-0.5 * more);
        }
    }
    return least - 2 * std::log(std::max(sum, kSame)); // where a single size can be
}

std::vector<double> Curve::closest() const {
    std::vector<double> least(readings_->size(), HUGE_VAL);
    for (std::size_t i = 0; i < least.size(); ++i)
        for (auto a = at_.begin(); a != at_.end(); ++a) {
            const double off = readings_->off(i, a->second.read[i]);
            if (std::abs(off) < std::abs(least[i])) least[i] = off;
            const auto b = std::next(a);
            if (b != at_.end() && off * readings_->off(i, b->second.read[i]) < 0) least[i] = 0;
        }
    return least;
}

double Curve::best_run() const {
    double least = HUGE_VAL;
    for (const auto& [u, sample] : at_)
        least = std::min(least, misfit_of(sample.read));
    return least;
}

std::pair<std::vector<double>, std::vector<double>> Curve::reach(double from, double to) const {
    std::pair<std::vector<double>, std::vector<double>> reach;
    auto& [least, most] = reach;
    const auto widen = [&](const std::vector<double>& a, const std::vector<double>& b, double t) {
        least.resize(a.size(), HUGE_VAL);
        most.resize(a.size(), -HUGE_VAL);
        for (std::size_t c = 0; c < a.size(); ++c) {
            const double x = t > 0 ? (1 - t) * a[c] + t * b[c] : a[c];
            least[c] = std::fmin(least[c], x);
            most[c] = std::fmax(most[c], x);
        }
    };
    for (const double end : {from, to}) {
        const auto above = at_.lower_bound(end);
        if (above == at_.begin() || above == at_.end()) continue;
        const auto below = std::prev(above);
        widen(*below->second.found, *above->second.found,
              (end - below->first) / (above->first - below->first));
    }
    for (auto s = at_.lower_bound(from); s != at_.end() && s->first <= to; ++s)
        widen(*s->second.found, *s->second.found, 0);
    return reach;
}

std::pair<double, const std::vector<double>*> Curve::best_sample() const {
    std::pair<double, const std::vector<double>*> best{0, nullptr};
    double least = HUGE_VAL;
    for (const auto& [u, sample] : at_)
        if (const double misfit = misfit_of(sample.read); misfit < least) {
            least = misfit;
            best = {u, sample.found};
        }
    return best;
}

std::pair<double, double> Curve::range(double limit) const {
    const double middle = best().u;
    // In steps, and then halved: the valley of a leak may be narrower than a step.
    const auto end = [&](double step) {
        double inside = middle;
        double outside = std::clamp(inside + step, 0.0, 1.0);
        while (outside != inside && misfit(outside) < limit) {
            inside = outside;
            outside = std::clamp(inside + step, 0.0, 1.0);
        }
        for (int k = 0; k < kHalvings && outside != inside; ++k) {
            const double half = 0.5 * (inside + outside);
            (misfit(half) < limit ? inside : outside) = half;
        }
        return inside;
    };
    return {end(-kStep), end(kStep)};
}

std::vector<double> Curve::worth_halving(double limit) const {
    std::vector<double> middles;
    for (auto a = tried_.begin(); a != tried_.end(); ++a) {
        const auto b = std::next(a);
        if (b == tried_.end()) break;
        const double width = b->first - a->first;
        if (!a->second && !b->second) continue;
        bool worth = width > kCoarse * 1.5;
        if (a->second && b->second) {
            const auto from = at_.find(a->first), to = at_.find(b->first);
            worth = width > kFinest * 1.5 && !from->second.straight &&
                    at_best(from->second.read, to->second.read) < limit;
        }
        if (worth) middles.push_back(a->first + 0.5 * width);
    }
    return middles;
}

bool Curve::shows(const std::vector<double>& sound_read) const {
    for (const auto& [u, sample] : at_)
        for (std::size_t i = 0; i < readings_->size(); ++i) {
            const double here = readings_->off(i, sample.read[i]);
            if (std::abs(here - readings_->off(i, sound_read[i])) > 1) return true;
        }
    return false;
}

Curve::BestPair best_pair(const Curve& a, const Curve& b, const std::vector<double>& sound,
                          const std::vector<double>& more) {
    constexpr int kGrid = 16, kLevels = 4;
    const std::size_t n = a.readings().size();
    const auto misfit = [&](double u, double v) {
        double sum = 0;
        for (std::size_t i = 0; i < n; ++i) {
            const double found =
                a.value(i, u) + b.value(i, v) - sound[i] + (more.empty() ? 0 : more[i]);
            sum += square(a.readings().off(i, found));
        }
        return sum;
    };
    Curve::BestPair best{0.5, 0.5, HUGE_VAL};
    double width = 1;
    for (int level = 0; level < kLevels; ++level) {
        const Curve::BestPair middle = best;
        const auto place = [width](double around, int k) {
            return std::clamp(around + width * (static_cast<double>(k) / kGrid - 0.5), 0.0, 1.0);
        };
        for (int i = 0; i <= (a.candidate().sized() ? kGrid : 0); ++i)
            for (int j = 0; j <= (b.candidate().sized() ? kGrid : 0); ++j) {
                const double u = a.candidate().sized() ? place(middle.u, i) : 0;
                const double v = b.candidate().sized() ? place(middle.v, j) : 0;
                if (const double m = misfit(u, v); m < best.misfit) best = {u, v, m};
            }
        width *= 0.25;
    }
    return best;
}

std::vector<double> beyond_sum(const Curve& a, const Curve& b, const std::vector<double>& sound,
                               const Curve::BestPair& at, const std::vector<double>& read) {
    std::vector<double> more(a.readings().size());
    for (std::size_t i = 0; i < more.size(); ++i)
        more[i] = read[i] - (a.value(i, at.u) + b.value(i, at.v) - sound[i]);
    return more;
}

} // namespace pedalbench::study
