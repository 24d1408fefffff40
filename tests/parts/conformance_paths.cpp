// ctest: physics,slow 600
// Part of the conformance suite: rates along straight ways between random states. What a way gains
// is the sum of its slopes, so a jump has nowhere to hide, and a kink only where a guard says so.
#include "suite.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// A place on the way: rates, their slope along the whole way, and which guards are above zero.
struct Place {
    double t;
    Vector rates, along, noise;
    std::vector<bool> above;
};

/// Halves a way until each piece is as straight as its slopes at both ends say.
class Way {
  public:
    Way(const Specimen& s, const Vector& from, const Vector& to, const Modes& latches)
        : s_(s), from_(from), way_(from.size()), steepest_(s.kind.outputs(), 0.0),
          latches_(latches) {
        for (std::size_t i = 0; i < way_.size(); ++i)
            way_[i] = to[i] - from[i];
    }

    /// What is wrong on the way; empty if nothing is.
    std::string check() {
        // Uneven pieces, so that symmetric ways do not fool the comparison.
        constexpr int pieces = 23;
        std::vector<Place> place;
        for (int n = 0; n <= pieces; ++n)
            place.push_back(at(std::pow(n / double(pieces), 1.7)));
        for (int n = 0; n < pieces; ++n)
            halve(place[n], place[n + 1]);
        return found_;
    }

  private:
    static constexpr double kPoint = 0x1p-42; // of the way: as good as one place

    Place at(double t) {
        ++places_;
        Vector x(way_.size());
        for (std::size_t i = 0; i < x.size(); ++i)
            x[i] = from_[i] + t * way_[i];
        Place p{t, s_.rates(x, latches_, false), Vector(s_.kind.outputs(), 0.0), {}, {}};
        const Vector slope = s_.slopes(x, latches_, false);
        for (std::size_t i = 0; i < p.along.size(); ++i)
            for (std::size_t j = 0; j < x.size(); ++j)
                p.along[i] += slope[i * x.size() + j] * way_[j];
        // Also of places found by halving: a steep narrow piece is known only then.
        for (std::size_t i = 0; i < steepest_.size(); ++i)
            steepest_[i] = std::max(steepest_[i], std::abs(p.along[i]));
        p.noise = rounding(s_, x, p.rates, slope);
        for (int k = 0; k < s_.guards(); ++k)
            p.above.push_back(s_.guard[k] > 0);
        return p;
    }

    /// A rate so much smaller than the flows beside it that their rounding shows in it is nothing.
    double size(const Place& a, const Place& b, std::size_t i) const {
        const auto largest = [&](std::size_t row) {
            return std::max(std::abs(a.rates[row]), std::abs(b.rates[row]));
        };
        double most = 0;
        const std::size_t flows = static_cast<std::size_t>(s_.kind.positions());
        for (std::size_t row = flows; i >= flows && row < a.rates.size(); ++row)
            most = std::max(most, 1e-6 * largest(row));
        return std::max(most, largest(i));
    }

    /// How far the slopes at the ends of a piece were apart before it was halved, and how
    /// often in a row halving has not brought them nearer to each other.
    struct Bend {
        double apart = 0;
        int stays = 0;
    };

    void halve(const Place& a, const Place& b, std::vector<Bend> bend = {}) {
        if (!found_.empty()) return;
        const double h = b.t - a.t;
        bend.resize(a.rates.size());
        bool straight = true;
        for (std::size_t i = 0; i < a.rates.size(); ++i) {
            const double gain = b.rates[i] - a.rates[i], large = size(a, b, i);
            const double missed = std::abs(gain - 0.5 * h * (a.along[i] + b.along[i]));
            const double apart = std::abs(b.along[i] - a.along[i]);
            const double steep = std::abs(b.along[i]) + std::abs(a.along[i]);
            const bool jumps =
                !(missed <= 1e-6 * large + 32 * (a.noise[i] + b.noise[i]) + kPoint * steep);
            const bool bends =
                a.above == b.above && !(apart <= 0.01 * steep + 1e-3 * large + 1e-6 * steepest_[i]);
            bend[i] = {apart, bends && apart > 0.8 * bend[i].apart ? bend[i].stays + 1 : 0};
            straight = straight && !jumps && !bends;
            if (jumps && (h <= kPoint || places_ > 100000))
                found_ = " jumps";
            else if (h <= kPoint && bend[i].stays > 8)
                found_ = " has a kink that no guard tells";
            if (found_.empty()) continue;
            found_ = output_name(s_, static_cast<int>(i)) + found_ + " at " + std::to_string(a.t) +
                     " of the way";
            return;
        }
        if (straight || h <= kPoint) return;
        const Place middle = at(0.5 * (a.t + b.t));
        halve(a, middle, bend);
        halve(middle, b, bend);
    }

    const Specimen& s_;
    Vector from_, way_, steepest_;
    Modes latches_;
    std::string found_;
    long places_ = 0;
};

} // namespace

TEST_CASE("rates jump nowhere and bend sharply only at guards") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 60; ++i) {
            const Vector from = s.local(draw);
            Vector to = s.local(draw);
            for (int l = 0; l < s.kind.locals(); ++l)
                if (s.never_changes(l))
                    to[static_cast<std::size_t>(l)] = from[static_cast<std::size_t>(l)];
            const std::string found = Way(s, from, to, s.modes(from, draw)).check();
            CHECK_MESSAGE(found.empty(), found);
        }
    });
}
