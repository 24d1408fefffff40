#include <algorithm>
#include <chrono>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "circuit/layout.hpp"
#include "record/course.hpp"
#include "record/energy_meter.hpp"
#include "record/figures.hpp"
#include "record/plant.hpp"
#include "record/record.hpp"
#include "solve/march.hpp"
#include "system/changes.hpp"

namespace pedalbench {
namespace {

constexpr double kLedgerLimit = 1e-11; // of the total; a run above has failed

struct Stopped {};

/// Share of all fluid (or gas) that was created or lost since the start.
double imbalance(double before, double now, double total) {
    return total > 0 ? std::abs(now - before) / total : 0;
}

/// One run: the plant, the stepper and what they leave behind.
class Simulation {
  public:
    Simulation(const Scenario& scenario, Sink& sink, const RunOptions& options)
        : scenario_(scenario), sink_(sink), options_(options), course_(course_of(scenario)),
          hardware_(course_.hardware), next_(course_.first) {
        sample_step_ = options.sample > 0 ? options.sample : sample_of(scenario);
        model_ = std::make_shared<Model>(hardware_);
    }

    Summary run() {
        const auto start = std::chrono::steady_clock::now();
        summary_.title = scenario_.title;
        const ErrorScale tolerance = error_scale(scenario_.accuracy, options_.tolerance_scale);
        y_ = model_->start();
        const FluidLedger before = model_->ledger(y_.data());
        Figures figures(model_, scenario_, course_.foot, sink_, summary_);
        try {
            plant_ = std::make_unique<Plant>(model_, course_.foot, options_.located, tolerance);
            stepper_ = std::make_unique<solve::Stepper>(*plant_, step_options());
            settle();
            figures_ = &figures;
            sample_ = figures.wanted_times();
            march_all();
            summary_.complete = true;
        } catch (const solve::Failure& failure) {
            summary_.error = failure.what();
        } catch (const std::invalid_argument& wrong) {
            summary_.error = std::string("a change cannot be made: ") + wrong.what();
        } catch (const Stopped&) {
            summary_.error = "interrupted";
        }
        close(before);
        figures.finish(summary_.complete);
        summary_.wall =
            std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
        return summary_;
    }

  private:
    /// Rest before the start: pedal free, and after a stop one ordinary stop before that.
    void settle() {
        double from = course_.rest_from;
        plant_->set_foot(course_.rest);
        plant_->set_stretch(from);
        plant_->settle_modes(from, y_.data());
        for (const double stop : course_.rest_stops) {
            plant_->set_stretch(from);
            solve::march(*plant_, y_, from, stop, *stepper_,
                         [this](const auto&, double) { ask(); });
            from = stop;
        }
        plant_->set_foot(course_.foot);
        const std::vector<double> rested = y_;
        model_->set_off(y_.data());
        if (y_ != rested) {
            plant_->set_stretch(0);
            plant_->settle_modes(0, y_.data());
        }
    }

    void march_all() {
        double from = 0;
        stepper_->on_event = [this, &from](const solve::Event& event) {
            if (event.t > from)
                flipped_ = true;
            else
                flip_at_start(from);
        };
        plant_->set_stretch(from);
        if (options_.energy) meter_.emplace(*plant_).start(from, y_.data());
        figures_->row(from, y_, plant_->modes(), *plant_);
        for (std::size_t i = 0; i < next_; ++i)
            figures_->change(0, course_.changes[i], hardware_);
        for (const double stop : course_.stops) {
            plant_->set_stretch(from);
            solve::march(*plant_, y_, from, stop, *stepper_,
                         [this](const std::vector<double>& y, double t) { observe(y, t); });
            from = stop;
            change_at(stop);
        }
        if (meter_) summary_.energy = meter_->finish(from, y_.data());
    }

    /// What a change has thrown over at once is told there, not at the end of the step that
    /// follows.
    void flip_at_start(double t) {
        if (meter_) meter_->flip(t, y_.data(), plant_->modes_before_flip());
        const double last = std::max(t, figures_->last_time());
        const double after = std::nextafter(last, std::numeric_limits<double>::infinity());
        figures_->row(after, y_, plant_->modes(), *plant_);
        figures_->events(t, plant_->modes_before_flip(), plant_->modes(), plant_->guards());
    }

    void observe(const std::vector<double>& y, double t) {
        ask();
        summary_.simulated = t;
        const bool flipped = std::exchange(flipped_, false);
        const std::vector<char>& modes = flipped ? plant_->modes_before_flip() : plant_->modes();
        if (meter_) meter_->step(*stepper_, t, modes);
        sample_until(t, modes);
        if (!flipped) {
            if (t > figures_->last_time() && at_sample(t)) figures_->row(t, y, modes, *plant_);
            return;
        }
        if (meter_) meter_->flip(t, y.data(), modes);
        if (t > figures_->last_time()) figures_->row(t, y, modes, *plant_);
        const double after = std::nextafter(t, std::numeric_limits<double>::infinity());
        figures_->row(after, y, plant_->modes(), *plant_);
        figures_->events(t, modes, plant_->modes(), plant_->guards());
    }

    /// Rows on the grid and at wanted times, from the dense output of the step that ended at t.
    void sample_until(double t, const std::vector<char>& modes) {
        inner_.resize(y_.size());
        while (true) {
            const double grid = sample_step_ * static_cast<double>(tick_);
            const double wanted =
                want_ < sample_.size() ? sample_[want_] : std::numeric_limits<double>::infinity();
            const double next = std::min(grid, wanted);
            if (!(next < t)) return;
            if (next > figures_->last_time() && next >= stepper_->last_time()) {
                stepper_->interpolate(next, inner_.data());
                figures_->row(next, inner_, modes, *plant_);
            }
            if (grid <= next) ++tick_;
            if (wanted <= next) ++want_;
        }
    }
    bool at_sample(double t) {
        bool hit = false;
        if (sample_step_ * static_cast<double>(tick_) <= t) hit = true, ++tick_;
        while (want_ < sample_.size() && sample_[want_] <= t)
            hit = true, ++want_;
        return hit || t >= scenario_.duration ||
               std::binary_search(course_.foot.corners().begin(), course_.foot.corners().end(), t);
    }

    void change_at(double t) {
        bool changed = false;
        if (meter_) meter_->before(t, y_.data(), plant_->modes());
        while (next_ < course_.changes.size() && course_.changes[next_].at <= t) {
            const Change& c = course_.changes[next_++];
            apply(hardware_, c);
            changed = true;
            figures_->change(t, c, hardware_);
        }
        if (!changed) return;
        model_ = std::make_shared<Model>(hardware_);
        plant_->set_model(model_);
        plant_->set_stretch(t);
        if (meter_) meter_->after(t, y_.data());
        if (t < scenario_.duration) {
            const double after = std::nextafter(t, std::numeric_limits<double>::infinity());
            figures_->row(after, y_, plant_->modes(), *plant_);
        }
    }

    void ask() {
        if (options_.stop && options_.stop()) throw Stopped{};
    }

    void close(const FluidLedger& before) {
        const FluidLedger now = model_->ledger(y_.data());
        Ledger& l = summary_.ledger;
        l.chambers = now.liquid_chambers;
        l.reservoirs = now.liquid_reservoirs;
        l.outside = now.liquid_outside;
        l.gas_chambers = now.gas_chambers;
        const double liquid =
            before.liquid_chambers + before.liquid_reservoirs + before.liquid_outside;
        l.relative_error = imbalance(liquid, l.chambers + l.reservoirs + l.outside, liquid);
        // Where there is next to no gas, its round-off is that of the flows beside it.
        const double gas_total = now.gas_chambers + std::abs(now.gas_reservoirs) +
                                 std::abs(now.gas_outside) + std::abs(now.dissolved);
        l.gas_relative_error =
            imbalance(before.gas(), now.gas(), std::max(gas_total, 1e-6 * liquid));
        if (!(l.relative_error <= kLedgerLimit && l.gas_relative_error <= kLedgerLimit)) {
            summary_.complete = false;
            if (summary_.error.empty())
                summary_.error = "fluid or gas was created or lost: the ledger does not close";
        }
        if (!stepper_) return;
        const solve::Counters& c = stepper_->counters();
        summary_.solver = {c.steps,      c.rejected,  c.events,
                           c.rate_calls, c.jacobians, model_->states()};
    }

    const Scenario& scenario_;
    Sink& sink_;
    const RunOptions& options_;
    const Course course_;
    Hardware hardware_;
    std::shared_ptr<const Model> model_;
    std::unique_ptr<Plant> plant_;
    std::unique_ptr<solve::Stepper> stepper_;
    Figures* figures_ = nullptr;
    std::optional<EnergyMeter> meter_;
    Summary summary_;
    std::vector<double> y_, inner_, sample_;
    std::size_t next_, want_ = 0;
    double sample_step_ = 1e-3; // s
    long tick_ = 1;
    bool flipped_ = false;
};

} // namespace

Summary simulate(const Scenario& scenario, Sink& sink, const RunOptions& options) {
    return Simulation(scenario, sink, options).run();
}

std::vector<Channel> channels_of(const Scenario& scenario) {
    Hardware hardware = scenario.hardware;
    complete(hardware);
    std::vector<Channel> channels;
    const Model model(hardware);
    for (const ChannelInfo& c : model.channels())
        channels.push_back({c.path, c.dimension});
    return channels;
}

std::vector<std::string> recorded_of(const Scenario& scenario) {
    if (!scenario.record.empty()) return scenario.record;
    std::vector<std::string> paths;
    for (const Channel& c : channels_of(scenario))
        if (is_main_channel(c.path, scenario.hardware)) paths.push_back(c.path);
    return paths;
}

} // namespace pedalbench
