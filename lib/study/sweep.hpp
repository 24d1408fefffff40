// One scenario with some of its fields at other values, over a set of points; what is looked at
// comes out as a row of numbers per point.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "study/distribution.hpp"
#include "study/points.hpp"
#include "study/variants.hpp"

namespace pedalbench::study {

/// A field that a study sets: of the car as it starts, or the value of a later change (a fault that
/// comes during the run).
struct Target {
    std::string part, field;
    std::ptrdiff_t change = -1; // index into Scenario::changes
};

/// One direction of the points: a value, on every part that shares it.
struct Varied {
    std::string path; // as its user calls it
    std::vector<Target> targets;
    Dimension dimension = Dimension::number;
    double nominal = kUnset; // of the first target, SI
    Distribution distribution;
};

/// A field that stays at what it was in the car as it is, even where it would follow from others.
struct Kept {
    Target target;
    double value = kUnset;
};

/// What is looked at.
struct Answer {
    enum class Kind {
        field,  // of the car: stated or derived; needs no run
        result, // as of an expectation
        reading // that belongs to the first event of its words
    } kind = Kind::result;
    std::string text; // in the author's words
    Dimension dimension = Dimension::number;
    std::optional<double> low, high; // limits, SI
    Target field;
    Expectation expectation; // for a reading its channel holds the words of the event
    std::string reading;
};

struct Sweep {
    Scenario scenario; // see started()
    std::vector<Varied> varied;
    std::vector<Kept> kept;
    std::vector<Answer> answers;
    PointSet points;

    /// True where every answer is a field of the car: then nothing is simulated.
    bool still() const;
};

/// The same scenario with a complete car in which all changes from the start have been made.
/// Throws std::invalid_argument where one cannot.
Scenario started(const Scenario& scenario);

/// The value that a target has in a started scenario. Throws std::invalid_argument where there is
/// no such field.
double value_of(const Scenario& scenario, const Target& target);

/// The scenario with what is kept, and what varies at the values `x`. All are set at once, and what
/// follows is derived anew then: no order decides.
Scenario with_values(const Scenario& started, const std::vector<Kept>& kept,
                     const std::vector<Varied>& varied, const std::vector<double>& x);

/// Rows of a study, by number: the car as it is, each direction alone at both its ends, then the
/// points.
class Rows {
  public:
    explicit Rows(const Sweep& sweep);

    const Sweep& sweep() const { return sweep_; }
    std::size_t size() const { return first_point() + points_.size(); }
    std::size_t first_point() const { return 1 + 2 * sweep_.varied.size(); }
    /// "as it is", "hold_off.open low", "point"; of Saltelli's design "a", "b", "a with PATH of b".
    std::string name(std::size_t row) const;
    /// The varied values of a row, SI.
    std::vector<double> inputs(std::size_t row) const;
    Scenario scenario_at(std::size_t row) const;
    /// The answers that are fields of the car, without a run; the others stay unset.
    Outcome look(std::size_t row) const;
    /// What is kept of a run: one figure per answer, in their order; fields of the car stay unset.
    std::vector<Figure> figures_of(const Summary& summary) const;

  private:
    const Sweep& sweep_;
    Points points_;
    std::vector<std::size_t> concerned_; // parts that a study without runs must derive
};

/// Makes rows first to last - 1 and tells the sink of each by rising number, starting with 0 for
/// the first. Keeps a bounded number of them, however many there are. Once options.stop says so,
/// what is left is told as stopped or not at all.
void run_rows(const Rows& rows, std::size_t first, std::size_t last, Executor& executor,
              OutcomeSink& sink, const RunOptions& options = {});

/// Which rows belong to shard k of n (from 1): [first, second).
std::pair<std::size_t, std::size_t> shard_of(std::size_t rows, std::size_t k, std::size_t n);

} // namespace pedalbench::study
