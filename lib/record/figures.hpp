// Rows, events and the figures of a summary, gathered while a run goes on.
#pragma once

#include <memory>
#include <set>
#include <string>
#include <vector>

#include "circuit/model.hpp"
#include "record/bleeding.hpp"
#include "record/plant.hpp"
#include "record/record.hpp"
#include "system/foot.hpp"

namespace pedalbench {

/// Channels that a reader wants when the scenario names none.
bool is_main_channel(const std::string& path, const Hardware& hardware);

class Figures {
  public:
    Figures(std::shared_ptr<const Model> model, const Scenario& scenario, const Foot& foot,
            Sink& sink, Summary& summary);

    /// Times that must be sampled exactly: the end of the hold, and times that expectations name
    /// [s].
    std::vector<double> wanted_times() const { return wanted_; }
    double last_time() const { return last_; }

    /// One row of the trace; also feeds every figure.
    void row(double t, const std::vector<double>& y, const std::vector<char>& modes, Plant& plant);
    /// Notes the guards whose modes differ, with the readings of the last row. An event is told
    /// when it has lasted as long as its guard asks.
    void events(double t, const std::vector<char>& before, const std::vector<char>& now,
                int guards);
    void change(double t, const Change& change, const Hardware& hardware);
    /// Residuals, expectations, assumptions, cautions.
    void finish(bool complete);

  private:
    struct Pending {
        int guard; // -1: not of a guard
        Event event;
        bool on;              // the mode that it tells
        bool waiting = false; // for a restless guard to come to rest
        bool lasting = false; // will be told when all before it are
    };

    void tell(Event event, int guard);
    void watch_drag(double t, double foot);
    void note_cleared(Plant& plant);
    void tell_lasting(double t);
    /// Channels of the contacts that are closed: quantities whose name ends in "contact".
    std::vector<std::string> closed_contacts(const std::vector<double>& values) const;
    Event describe(int guard, bool on, double t) const;
    ExpectationResult check(const Expectation& e) const;

    const std::shared_ptr<const Model> first_; // names and layout outlive every change of fields
    const Model& model_;
    const Scenario& scenario_;
    std::set<const Change*> ramps_; // told
    const Foot& foot_;
    Sink& sink_;
    Summary& summary_;
    BleedingLog bleeding_;
    struct Watched {
        std::size_t torque;
        std::size_t parked; // of the parking contact; that of the torque where there is none
    };
    std::vector<Watched> watched_;      // per wheel of the summary
    double pressed_ = 0;                // s, the foot's last moment on the pad
    std::vector<std::size_t> recorded_; // indices of channels in the trace
    std::vector<Pending> pending_;      // by time
    std::vector<char> told_;            // modes that the reader knows of, per guard
    std::vector<int> latest_;           // event that told it, index in the summary, per guard
    std::vector<double> values_, row_, wanted_;
    double last_ = -1, held_ = kUnset;
};

} // namespace pedalbench
