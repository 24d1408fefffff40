// What a bleeding procedure brought: fluid and air at each screw, the level of the reservoirs, the
// air that is left and where.
#pragma once

#include <string>
#include <vector>

#include "circuit/model.hpp"
#include "record/record.hpp"

namespace pedalbench {

/// Follows a run by its rows and fills Summary::bleeding. Without a procedure it does nothing.
class BleedingLog {
  public:
    BleedingLog(const Model& model, const Scenario& scenario);

    /// Values of all channels at t.
    void row(double t, const std::vector<double>& values);
    BleedingResult finish() const;

  private:
    struct Snapshot {
        double time; // s
        std::vector<double> values;
    };
    double since(const BleedStep& step, const std::string& quantity) const;
    double at(double t, std::size_t channel) const;
    double pedal_at(double t) const;
    std::vector<AirPlace> places() const;

    const Model& model_;
    const Scenario& scenario_;
    std::vector<double> marks_; // s, ascending
    std::vector<Snapshot> taken_;
    std::vector<double> now_;
    std::vector<std::size_t> levels_; // channels of the reservoirs
    std::vector<double> lowest_;      // level of each line of the card [m3]
    std::vector<double> false_air_;   // of each line of the card [m3]
    std::size_t step_ = 0;
    double last_ = 0;
};

} // namespace pedalbench
