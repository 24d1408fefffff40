// The foot's input as a function of time.
#pragma once

#include <functional>
#include <vector>

#include "system/system.hpp"

namespace pedalbench {

/// Value and rate of a FootInput. Between two corners the value is a straight line that goes on
/// past its ends, so that whoever integrates a stretch never sees the corner. A measured trace is
/// one smooth monotone curve through its samples (PCHIP) without corners.
class Foot {
  public:
    struct Value {
        double value = 0, rate = 0;
    };
    explicit Foot(FootInput input);

    /// Times at which the rate jumps, ascending [s].
    const std::vector<double>& corners() const { return corners_; }
    /// The line that holds just after t, evaluated at s.
    Value on_stretch(double t, double s) const;
    Value at(double t) const { return on_stretch(t, t); }

    /// End of the last stretch of 0.2 s or more in which the input is constant and above zero,
    /// before `end`; unset if there is none. A measured trace counts as constant where its quiet
    /// curve (medians over 20 ms) stays within 1 % of its largest value around the stretch's mean
    /// and drifts by less than that, and as above zero where it is above 1 %.
    double held_until(double end) const;
    /// True if the input is zero from `from` to `to`; on a measured trace, if its quiet curve is at
    /// most 1 % of its largest value.
    bool free(double from, double to) const;
    double largest() const;

  private:
    double constant_until(double end) const;
    double steady_until(double end) const;

    FootInput input_;
    std::vector<double> corners_;
    std::function<double(double)> curve_, curve_rate_;
};

} // namespace pedalbench
