// Two or more runs side by side: which figures differ and which do not, which event of one is which
// of the other, and which differences matter most.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "study/variants.hpp"

namespace pedalbench::study {

/// A run that takes part. The first of a list is the one that the others are compared with.
struct Entry {
    std::string name;
    Scenario scenario;
    Summary summary;
};

/// One figure of all runs.
struct ComparedFigure {
    std::string name; // a channel, or in words what is a figure of the whole run
    Figure::Moment moment;
    Dimension dimension;
    std::vector<double> value; // SI, one per run; unset: that run has none
    double error = 0;          // of one run: what is nearer is the same
    /// Largest share of difference() over the runs; 0: no run differs from the first.
    double share = 0;

    bool everywhere() const; // every run has it
    bool differs() const { return share > 0; }
};

/// What of the difference of two values the error of a run does not explain, as a share of the
/// larger of the two: 0 where they are the same, 1 where one of them is nothing beside the other.
double share_of(double a, double b, double error);

/// Whether a run has that value.
inline bool known(double value) {
    return !std::isnan(value);
}

enum class YesNo { no, yes, unknown };

/// A yes or no of all runs. In the order of their kinds they matter to somebody who works on
/// brakes.
struct Fact {
    enum class Kind {
        drags,       // a wheel, at the end; value: its torque [N m]
        lit_at_end,  // the lamp; value: since when [s]
        lit,         // the lamp, ever; value: when first [s]
        fluid_lost,  // value: how much [m3]
        air_drawn,   // value: how much [m3]
        dragged,     // a wheel, earlier, with the foot off; value: the most [N m]
        service,     // a measurement keeps its limit; value: what was measured
        event,       // comes at all; value: when first [s]
        expectation, // holds; value: what was found
    };
    Kind kind;
    std::string part; // of the car; empty where none belongs to it
    std::string text; // of an event, an expectation, a line of service
    Dimension dimension = Dimension::number;
    std::vector<YesNo> yes;    // one per run
    std::vector<double> value; // SI, one per run; unset: there is none

    /// One that is known is another than the first one's.
    bool differs() const;
};

/// The same words of the same part, in the order in which they come: the second time they come in
/// one run is the second time in the other.
struct PairedEvent {
    std::string part, text;
    std::size_t occurrence = 0; // how often it came before
    std::vector<int> event;     // index in the run's events, one per run; -1: it has no such event
    std::vector<double> time;   // s, one per run; unset: as above
    double error = 0;           // s, of one run

    bool everywhere() const;
    /// In every run, and nowhere at another time than in the first.
    bool same() const;
    /// At or before zero: no event of the run, but how it was set up.
    bool of_setup() const;
};

/// A channel that is looked at and that not every car has.
struct Lone {
    std::string channel;
    std::vector<bool> in; // one per run
};

/// A difference that matters: facts or figures that say the same of several parts.
struct Difference {
    bool fact = false; // what `which` counts: facts, or else figures
    std::vector<std::size_t> which;
};

struct Comparison {
    std::vector<std::string> names;
    /// Peak, held and residual value of every channel that some run records and of the torque of
    /// every wheel; the lowest where it is neither the value at rest nor the last one; fluid and
    /// air at the end; and the pressures at which a valve first opened or shut.
    std::vector<ComparedFigure> figures;
    std::vector<Fact> facts;
    std::vector<PairedEvent> events; // by the time of the first run that has them
    std::vector<Lone> lone;
    /// What matters most first: a changed yes or no, in the order of Fact::Kind; then the travel of
    /// the pedal, since every driver feels it; then what is held or left, by its share; then the
    /// pressures of valves; then where pieces stand inside; then peaks and lowest values. Of each
    /// channel that which changed most. What a changed yes or no has said already is left out.
    std::vector<Difference> differences;

    /// No figure differs, no answer is another, and every event of the run comes when it does in
    /// the first.
    bool same() const;
};

/// Throws std::invalid_argument for less than two runs.
Comparison compare(const std::vector<Entry>& runs);

/// Figures that say the same of several points: the same quantity at the same moment with the same
/// values, within their error or a share of the largest. In the order of the first of each.
std::vector<std::vector<std::size_t>> gathered(const std::vector<ComparedFigure>& figures,
                                               const std::vector<std::size_t>& which,
                                               double within = 0);

} // namespace pedalbench::study
