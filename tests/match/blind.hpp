// Blind cases: a car with one fault that nobody names, and what a workshop reads on it. The seed,
// the cars, the drive, the readings and their noise stood here before there was anything to find
// faults with.
#pragma once

#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "scenarios/scenario.hpp"
#include "study/candidates.hpp"
#include "study/match.hpp"
#include "study/measurements.hpp"
#include "study/variants.hpp"

namespace pedalbench::test {

inline constexpr std::uint64_t kBlindSeed = 20261126;
inline constexpr int kBlindCases = 300;
inline constexpr double kMoves = 3; // standard errors by which at least one reading has moved
inline constexpr int kTries = 8;    // places and sizes that a kind is given to show itself

/// Draws that come out alike with every library: the engine is that of the standard, the rest is
/// here.
class Dice {
  public:
    explicit Dice(std::uint64_t seed) : engine_(seed) {}
    double uniform() { return std::ldexp(static_cast<double>(engine_() >> 11), -53); }
    std::size_t below(std::size_t n) {
        return std::min(n - 1, static_cast<std::size_t>(uniform() * static_cast<double>(n)));
    }
    /// Box and Muller.
    double normal() {
        const double radius = std::sqrt(-2 * std::log(1 - uniform()));
        return radius * std::cos(2 * std::numbers::pi * uniform());
    }

  private:
    std::mt19937_64 engine_;
};

struct BlindCar {
    const char* hardware;
    double light, firm; // N at the pad
};

inline const std::vector<BlindCar>& blind_cars() {
    static const std::vector<BlindCar> cars{
        {"marten", 100, 300}, {"pika", 50, 150}, {"badger", 50, 150}, {"ibex", 50, 150}};
    return cars;
}

/// What is done on the rollers: a light foot, a firm one, and then none.
inline FootInput workshop_drive(double light, double firm) {
    FootInput foot;
    foot.time = {0, 0.5, 1.0, 2.0, 2.5, 5.0, 5.4};
    foot.value = {0, 0, light, light, firm, firm, 0};
    return foot;
}
inline constexpr double kDriveTakes = 7.5; // s

/// What is read there: everything but the gauges that would have to go between pipe and hose or
/// behind a valve, and the gauges at the wheels under a firm foot and without one only.
inline bool is_read(const study::Measurement& m) {
    const std::string& path = m.what.channel;
    const bool gauge = path.ends_with(".pressure"), cylinder = path.starts_with("master.");
    if (path.ends_with("let.pressure")) return false;
    return !gauge || cylinder || m.what.time == 5.0 || m.what.time == kDriveTakes;
}

/// With noise, as bounds two standard errors to either side; what is lit or not is seen without.
inline Expectation read_with_noise(const study::Measurement& m, double value, Dice& dice) {
    const double error = study::reading_error(m.dimension, value);
    if (m.dimension != Dimension::number) value += error * dice.normal();
    Expectation reading = m.what;
    reading.text = "read on the car";
    reading.low = value - 2 * error;
    reading.high = value + 2 * error;
    return reading;
}

/// What a run reads, in the order of the measurements; empty where the car cannot be built or run.
inline std::vector<double> read_all(Scenario s, const std::vector<study::Measurement>& all) {
    s.expectations.clear();
    for (const study::Measurement& m : all)
        s.expectations.push_back(m.what);
    if (!study::refusal_of(s).empty()) return {};
    RunOptions options;
    options.sample = 0.01;
    Sink unheard;
    std::vector<double> found;
    const Summary summary = simulate(s, unheard, options);
    if (!summary.complete) return {};
    for (const ExpectationResult& r : summary.expectations)
        found.push_back(r.found);
    return found;
}

struct BlindCase {
    std::size_t car = 0; // of blind_cars()
    const FaultKind* kind = nullptr;
    study::Candidate truth; // the place that search knows it by
    std::string at;         // where it really is
    double u = 0, size = kUnset;
    std::vector<Expectation> readings;
};

/// One case after the other: the kind first, each as likely as the next, then a car that can have
/// it, a place, a size; anew until a reading shows it.
class BlindCases {
  public:
    explicit BlindCases(std::vector<Scenario> cars, std::uint64_t seed = kBlindSeed)
        : cars_(std::move(cars)), dice_(seed) {
        for (const Scenario& car : cars_) {
            candidates_.push_back(study::candidates_of(car));
            std::vector<study::Measurement> all;
            for (const study::Measurement& m : study::measurements_of(car))
                if (is_read(m)) all.push_back(m);
            sound_.push_back(read_all(car, all));
            measurements_.push_back(std::move(all));
        }
        for (const FaultKind& kind : fault_kinds())
            for (const auto& list : candidates_)
                if (has(list, kind)) {
                    kinds_.push_back(&kind);
                    break;
                }
    }

    const std::vector<const FaultKind*>& kinds() const { return kinds_; }
    /// How often a kind was drawn and no reading showed it.
    const std::map<std::string, int>& unseen() const { return unseen_; }

    /// What is read on a car without any fault, and by how much the car misses that.
    study::Explanation read_sound(std::size_t car) {
        study::Explanation e;
        for (std::size_t i = 0; i < sound_[car].size(); ++i) {
            const study::Measurement& m = measurements_[car][i];
            const Expectation reading = read_with_noise(m, sound_[car][i], dice_);
            e.off.push_back(study::off_by(reading, m.dimension, sound_[car][i]));
            e.misfit += e.off.back() * e.off.back();
        }
        return e;
    }

    BlindCase next() {
        while (true) {
            const FaultKind& kind = *kinds_[dice_.below(kinds_.size())];
            for (int i = 0; i < kTries; ++i)
                if (std::optional<BlindCase> drawn = draw(kind)) return *drawn;
            ++unseen_[std::string(kind.name)];
        }
    }

  private:
    static bool has(const std::vector<study::Candidate>& list, const FaultKind& kind) {
        return std::any_of(list.begin(), list.end(),
                           [&kind](const study::Candidate& c) { return c.kind == &kind; });
    }

    std::optional<BlindCase> draw(const FaultKind& kind) {
        std::vector<std::size_t> with;
        for (std::size_t i = 0; i < cars_.size(); ++i)
            if (has(candidates_[i], kind)) with.push_back(i);
        BlindCase c;
        c.car = with[dice_.below(with.size())];
        c.kind = &kind;
        std::vector<const study::Candidate*> places;
        for (const study::Candidate& candidate : candidates_[c.car])
            if (candidate.kind == &kind) places.push_back(&candidate);
        c.truth = *places[dice_.below(places.size())];
        c.at = c.truth.at;
        if (!c.truth.alike.empty()) c.at = c.truth.alike[dice_.below(c.truth.alike.size())];
        c.u = dice_.uniform();
        c.size = c.truth.size(c.u);
        study::Candidate real = c.truth;
        real.at = c.at;
        const std::vector<double> found =
            read_all(study::with_fault(cars_[c.car], real, c.u), measurements_[c.car]);
        if (found.empty()) return {};
        bool moved = false;
        const std::vector<double>& sound = sound_[c.car];
        for (std::size_t i = 0; i < found.size(); ++i) {
            const study::Measurement& m = measurements_[c.car][i];
            const double error = study::reading_error(m.dimension, sound[i]);
            moved = moved || std::abs(found[i] - sound[i]) > kMoves * error;
        }
        if (!moved) return {};
        for (std::size_t i = 0; i < found.size(); ++i)
            c.readings.push_back(read_with_noise(measurements_[c.car][i], found[i], dice_));
        return c;
    }

    std::vector<Scenario> cars_;
    Dice dice_;
    std::vector<std::vector<study::Candidate>> candidates_;
    std::vector<std::vector<study::Measurement>> measurements_;
    std::vector<std::vector<double>> sound_;
    std::vector<const FaultKind*> kinds_;
    std::map<std::string, int> unseen_;
};

} // namespace pedalbench::test
