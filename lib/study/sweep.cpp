#include "study/sweep.hpp"

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "system/changes.hpp"

namespace pedalbench::study {
namespace {

// Rows that a study without runs makes at a time: enough to keep many threads busy.
constexpr std::size_t kStrip = 256, kStrips = 64;
// Runs between two waits for the slowest: bounds what may finish ahead of it.
constexpr std::size_t kBatch = 4096;

void set(Scenario& scenario, const Target& target, double value) {
    if (target.change >= 0) {
        scenario.changes[static_cast<std::size_t>(target.change)].value = value;
        return;
    }
    Values& values = *find_values(scenario.hardware, target.part);
    values.change(values.find(target.field), value);
}

const Event* first_event(const Summary& summary, const std::string& words) {
    for (const Event& e : summary.events)
        if ((e.part + ": " + e.text).find(words) != std::string::npos) return &e;
    return nullptr;
}

/// Passes on by the number within a shard, with what the car itself answers beside the run.
class Filling final : public OutcomeSink {
  public:
    Filling(OutcomeSink& to, const Rows& rows, std::size_t row, std::size_t number)
        : to_(to), rows_(rows), row_(row), number_(number) {}
    void outcome(std::size_t i, const Outcome& run) override {
        Outcome whole = run;
        if (run.end == Outcome::End::complete) {
            const Outcome looked = rows_.look(row_ + i);
            const std::vector<Answer>& answers = rows_.sweep().answers;
            for (std::size_t a = 0; a < looked.figures.size(); ++a)
                if (answers[a].kind == Answer::Kind::field) whole.figures[a] = looked.figures[a];
        }
        to_.outcome(number_ + i, whole);
    }

  private:
    OutcomeSink& to_;
    const Rows& rows_;
    std::size_t row_, number_;
};

} // namespace

bool Sweep::still() const {
    return std::all_of(answers.begin(), answers.end(),
                       [](const Answer& a) { return a.kind == Answer::Kind::field; });
}

Scenario started(const Scenario& scenario) {
    Scenario out = scenario;
    for (const Refusal& r : complete(out.hardware))
        throw std::invalid_argument(r.field + ": " + r.reason);
    const auto from_start = [](const Change& c) { return c.at <= 0 && c.over <= 0; };
    for (const Change& change : out.changes)
        if (from_start(change)) apply(out.hardware, change);
    std::erase_if(out.changes, from_start);
    return out;
}

double value_of(const Scenario& scenario, const Target& target) {
    if (target.change >= 0)
        return scenario.changes.at(static_cast<std::size_t>(target.change)).value;
    const Values* values = find_values(scenario.hardware, target.part);
    const std::size_t i = values ? values->find(target.field) : 0;
    if (!values || i == values->size())
        throw std::invalid_argument("no such field: " + target.part + "." + target.field);
    return values->at(i);
}

Scenario with_values(const Scenario& started, const std::vector<Kept>& kept,
                     const std::vector<Varied>& varied, const std::vector<double>& x) {
    Scenario scenario = started;
    for (const Kept& k : kept)
        set(scenario, k.target, k.value);
    for (std::size_t d = 0; d < x.size(); ++d)
        for (const Target& t : varied[d].targets)
            set(scenario, t, x[d]);
    return scenario;
}

Rows::Rows(const Sweep& sweep) : sweep_(sweep), points_(sweep.points, sweep.varied.size()) {
    std::vector<std::string> names;
    for (const Varied& v : sweep_.varied)
        for (const Target& t : v.targets)
            names.push_back(t.part);
    for (const Kept& k : sweep_.kept)
        names.push_back(k.target.part);
    for (const Answer& a : sweep_.answers)
        names.push_back(a.field.part);
    const auto& parts = sweep_.scenario.hardware.parts;
    for (std::size_t i = 0; i < parts.size(); ++i)
        if (std::find(names.begin(), names.end(), parts[i].name) != names.end())
            concerned_.push_back(i);
}

std::string Rows::name(std::size_t row) const {
    if (row == 0) return "as it is";
    if (row < first_point())
        return sweep_.varied[(row - 1) / 2].path + ((row - 1) % 2 == 0 ? " low" : " high");
    if (sweep_.points.kind != PointSet::Kind::indices) return "point";
    const std::size_t member = member_of(row - first_point(), sweep_.varied.size()).member;
    if (member < 2) return member == 0 ? "a" : "b";
    return "a with " + sweep_.varied[member - 2].path + " of b";
}

std::vector<double> Rows::inputs(std::size_t row) const {
    std::vector<double> x;
    if (row >= first_point()) {
        x = points_.at(row - first_point());
        for (std::size_t d = 0; d < x.size(); ++d)
            x[d] = quantile(sweep_.varied[d].distribution, x[d]);
        return x;
    }
    for (const Varied& v : sweep_.varied)
        x.push_back(v.nominal);
    if (row > 0) {
        const std::size_t d = (row - 1) / 2;
        const Distribution& of = sweep_.varied[d].distribution;
        const bool low = (row - 1) % 2 == 0;
        x[d] = quantile(of, low ? 0 : 1);
        if (of.kind == Distribution::Kind::values)
            x[d] = low ? std::ranges::min(of.values) : std::ranges::max(of.values);
    }
    return x;
}

Scenario Rows::scenario_at(std::size_t row) const {
    Scenario scenario = with_values(sweep_.scenario, sweep_.kept, sweep_.varied, inputs(row));
    scenario.expectations.clear();
    for (const Answer& a : sweep_.answers)
        if (a.kind == Answer::Kind::result) scenario.expectations.push_back(a.expectation);
    return scenario;
}

Outcome Rows::look(std::size_t row) const {
    const Hardware& as_it_is = sweep_.scenario.hardware;
    Hardware car; // of the parts that are concerned alone
    car.fluid = as_it_is.fluid;
    car.surroundings = as_it_is.surroundings;
    for (const std::size_t i : concerned_)
        car.parts.push_back(as_it_is.parts[i]);
    const auto change = [&car](const Target& t, double value) {
        Values& values = *find_values(car, t.part);
        values.change(values.find(t.field), value);
    };
    const std::vector<double> x = inputs(row);
    for (const Kept& k : sweep_.kept)
        if (k.target.change < 0) change(k.target, k.value);
    for (std::size_t d = 0; d < x.size(); ++d)
        for (const Target& t : sweep_.varied[d].targets)
            if (t.change < 0) change(t, x[d]);

    Outcome outcome;
    for (const Refusal& r : complete(car)) {
        outcome.end = Outcome::End::refused;
        outcome.reason = r.field + ": " + r.reason;
        return outcome;
    }
    outcome.end = Outcome::End::complete;
    for (const Answer& a : sweep_.answers) {
        double value = kUnset;
        if (a.kind == Answer::Kind::field)
            value = (*find_values(std::as_const(car), a.field.part))[a.field.field];
        outcome.figures.push_back({{}, Figure::Moment::held, a.dimension, value, 0});
    }
    return outcome;
}

std::vector<Figure> Rows::figures_of(const Summary& summary) const {
    std::vector<Figure> figures;
    std::size_t result = 0;
    for (const Answer& a : sweep_.answers) {
        double value = kUnset;
        if (a.kind == Answer::Kind::result) {
            value = summary.expectations[result++].found;
        } else if (a.kind == Answer::Kind::reading) {
            if (const Event* e = first_event(summary, a.expectation.channel))
                for (const Reading& r : e->readings)
                    if (r.name == a.reading) value = r.value;
        }
        figures.push_back({{}, Figure::Moment::held, a.dimension, value, 0});
    }
    return figures;
}

void run_rows(const Rows& rows, std::size_t first, std::size_t last, Executor& executor,
              OutcomeSink& sink, const RunOptions& options) {
    const auto stopped = [&options] { return options.stop && options.stop(); };
    if (!rows.sweep().still()) {
        for (std::size_t from = first; from < last && !stopped(); from += kBatch) {
            Filling filling(sink, rows, from, from - first);
            InOrder in_order(filling);
            run_each(
                std::min(kBatch, last - from),
                [&](std::size_t i) { return rows.scenario_at(from + i); }, executor, in_order,
                options, [&rows](const Summary& s) { return rows.figures_of(s); });
        }
        return;
    }
    std::vector<std::vector<Outcome>> strips(kStrips);
    for (std::size_t from = first; from < last && !stopped(); from += kStrip * kStrips) {
        const std::size_t n = std::min(kStrip * kStrips, last - from);
        executor.run((n + kStrip - 1) / kStrip, [&](std::size_t s) {
            strips[s].clear();
            for (std::size_t i = s * kStrip; i < std::min(n, (s + 1) * kStrip); ++i)
                strips[s].push_back(rows.look(from + i));
        });
        for (std::size_t i = 0; i < n; ++i)
            sink.outcome(from - first + i, strips[i / kStrip][i % kStrip]);
    }
}

std::pair<std::size_t, std::size_t> shard_of(std::size_t rows, std::size_t k, std::size_t n) {
    const auto edge = [&](std::size_t i) { return rows / n * i + std::min(rows % n, i); };
    return {edge(k - 1), edge(k)};
}

} // namespace pedalbench::study
