#include "study/spread.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace pedalbench::study {
namespace {

constexpr double kLow = 0.05, kHigh = 0.95;
constexpr double kFreezing = 273.15; // K

Variant at(const Guess& guess, double value) {
    Variant variant;
    for (const std::string& path : guess.paths) {
        const std::size_t dot = path.find('.');
        variant.push_back({path.substr(0, dot), path.substr(dot + 1), value});
    }
    return variant;
}

/// Value of the same figure in another run; unset where that has none.
double same(const Figure& figure, const std::vector<Figure>& others) {
    for (const Figure& f : others)
        if (f.moment == figure.moment && f.name == figure.name) return f.value;
    return kUnset;
}

/// How far each guess moves each figure on its own: [figure][guess].
std::vector<std::vector<double>> swings(const std::vector<SpreadFigure>& figures,
                                        const std::vector<Outcome>& alone) {
    std::vector<std::vector<double>> swing(figures.size(), std::vector<double>(alone.size() / 2));
    for (std::size_t f = 0; f < figures.size(); ++f)
        for (std::size_t g = 0; 2 * g < alone.size(); ++g) {
            double least = figures[f].figure.value, most = least;
            for (const Outcome* end : {&alone[2 * g], &alone[2 * g + 1]}) {
                const double value = same(figures[f].figure, end->figures);
                if (std::isnan(value)) continue;
                least = std::min(least, value);
                most = std::max(most, value);
            }
            swing[f][g] = most - least;
        }
    return swing;
}

} // namespace

std::vector<Guess> guesses_of(const std::vector<Assumed>& assumed, double share) {
    std::vector<Guess> guesses;
    for (const Assumed& a : assumed) {
        const Field& field = *a.field;
        if (field.mark != Mark::judgement || field.dimension == Dimension::choice) continue;
        const auto twin = std::find_if(guesses.begin(), guesses.end(), [&](const Guess& g) {
            return g.field == a.field && g.value == a.value;
        });
        if (twin != guesses.end()) {
            twin->paths.push_back(a.path);
            continue;
        }
        const double zero = field.dimension == Dimension::temperature ? kFreezing : 0;
        const double way = share * std::abs(a.value - zero);
        if (way == 0) continue;
        guesses.push_back({{a.path},
                           a.field,
                           a.value,
                           std::max(field.low, a.value - way),
                           std::min(field.high, a.value + way)});
    }
    return guesses;
}

std::vector<Guess> workable(const Scenario& scenario, const std::vector<Guess>& guesses) {
    std::vector<Guess> fine;
    for (Guess guess : guesses) {
        for (double* end : {&guess.low, &guess.high})
            if (!refusal_of(vary(scenario, at(guess, *end))).empty()) *end = guess.value;
        if (guess.low < guess.high) fine.push_back(std::move(guess));
    }
    return fine;
}

double quantile(const std::vector<double>& sorted, double q) {
    if (sorted.empty()) return kUnset;
    const double place = q * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(place);
    const std::size_t above = std::min(below + 1, sorted.size() - 1);
    return sorted[below] + (place - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

Spread spread(const Scenario& scenario, const Summary& base, std::size_t points, Executor& executor,
              OutcomeSink& sink, const RunOptions& options) {
    Spread out;
    const std::vector<Guess> guesses = workable(scenario, guesses_of(base.assumed));
    for (const Figure& figure : main_figures(base))
        if (!std::isnan(figure.value)) out.figures.push_back({figure});
    if (guesses.empty()) return out;

    std::vector<Variant> ends;
    for (const Guess& guess : guesses)
        for (const double end : {guess.low, guess.high})
            ends.push_back(at(guess, end));
    sink.begin(ends.size() + points);
    const std::vector<Outcome> alone = run_variants(scenario, ends, executor, sink, options);
    const auto swing = swings(out.figures, alone);

    // Each figure gives one vote, shared out by how much each guess moves it.
    std::vector<double> votes(guesses.size(), 0);
    for (std::size_t f = 0; f < out.figures.size(); ++f) {
        const double all = std::accumulate(swing[f].begin(), swing[f].end(), 0.0);
        const auto most = std::max_element(swing[f].begin(), swing[f].end());
        if (*most <= error_of(out.figures[f].figure, scenario.accuracy)) continue;
        for (std::size_t g = 0; g < guesses.size(); ++g)
            votes[g] += swing[f][g] / all;
    }
    std::vector<std::size_t> order(guesses.size());
    std::iota(order.begin(), order.end(), 0U);
    std::stable_sort(order.begin(), order.end(),
                     [&votes](std::size_t a, std::size_t b) { return votes[a] > votes[b]; });
    for (const std::size_t g : order)
        out.guesses.push_back(guesses[g]);

    std::vector<Variant> set;
    for (const std::vector<double>& point : sobol(points, guesses.size())) {
        set.emplace_back();
        for (std::size_t g = 0; g < out.guesses.size(); ++g) {
            const Guess& guess = out.guesses[g];
            const Variant one = at(guess, guess.low + point[g] * (guess.high - guess.low));
            set.back().insert(set.back().end(), one.begin(), one.end());
        }
    }
    const std::vector<Outcome> together = run_variants(scenario, set, executor, sink, options);

    for (const Outcome& o : alone)
        out.alone_failed += o.end == Outcome::End::refused || o.end == Outcome::End::failed;
    for (const Outcome& o : together) {
        out.complete += o.end == Outcome::End::complete;
        out.refused += o.end == Outcome::End::refused;
        out.failed += o.end == Outcome::End::failed;
    }
    for (const auto* outcomes : {&alone, &together})
        for (const Outcome& o : *outcomes) {
            out.stopped = out.stopped || o.end == Outcome::End::stopped;
            if (out.reason.empty()) out.reason = o.reason;
        }
    out.points = points;
    out.alone = alone.size();

    for (std::size_t f = 0; f < out.figures.size(); ++f) {
        SpreadFigure& figure = out.figures[f];
        std::vector<double> values;
        for (const Outcome& o : together)
            if (o.end == Outcome::End::complete) values.push_back(same(figure.figure, o.figures));
        if (std::any_of(values.begin(), values.end(), [](double v) { return std::isnan(v); }))
            continue; // an event that some runs do not have; its spread stays unset
        std::sort(values.begin(), values.end());
        figure.low = quantile(values, kLow);
        figure.high = quantile(values, kHigh);
        const double error = error_of(figure.figure, scenario.accuracy);
        figure.spreads = figure.high - figure.low > error;
        for (std::size_t g = 0; g < order.size(); ++g) {
            const double moved = swing[f][order[g]];
            if (moved <= error || (figure.most_by >= 0 && moved <= figure.swing)) continue;
            figure.most_by = static_cast<int>(g);
            figure.swing = moved;
        }
    }
    return out;
}

} // namespace pedalbench::study
