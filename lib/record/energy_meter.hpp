// The energy account of a run: powers summed up over its steps.
#pragma once

#include <vector>

#include "record/plant.hpp"
#include "record/record.hpp"
#include "solve/stepper.hpp"

namespace pedalbench {

class EnergyMeter {
  public:
    explicit EnergyMeter(Plant& plant) : plant_(plant) {}

    void start(double t, const double* y);
    /// The step that ended at t, with the modes that held in it.
    void step(const solve::Stepper& stepper, double t, const std::vector<char>& modes);
    /// What changes energy at once: fields that change (before and after), a latch that flips.
    void before(double t, const double* y, const std::vector<char>& modes);
    void after(double t, const double* y);
    void flip(double t, const double* y, const std::vector<char>& modes_before) {
        before(t, y, modes_before);
        after(t, y);
    }
    EnergyResult finish(double t, const double* y);

  private:
    Energy at(double t, const double* y, const std::vector<char>& modes);

    Plant& plant_;
    EnergyResult sum_;
    double before_ = 0, heat_ = 0; // J
    double done_ = 0;              // s, summed up to here
    std::vector<double> y_;
};

} // namespace pedalbench
