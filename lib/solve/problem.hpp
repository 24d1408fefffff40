// What the stepper asks of a system of ordinary differential equations with located mode changes.
#pragma once

#include <string>
#include <vector>

namespace pedalbench::solve {

/// Structure of df/dy, compressed by rows; every diagonal entry is present. Fixed over all modes.
struct Pattern {
    int size = 0;
    std::vector<int> row_start; // size + 1
    std::vector<int> column;    // ascending within a row
};

/// y' = f(t, y; modes). The modes are part of the problem, not of the state: they stay fixed while
/// a step is tried and change only in flip(). All arrays hold size() doubles unless said otherwise.
class Problem {
  public:
    virtual ~Problem() = default;

    virtual const Pattern& pattern() const = 0;
    int size() const { return pattern().size; }

    virtual void rates(double t, const double* y, double* f) = 0;
    /// Values of df/dy in pattern order and the exact partial derivative df/dt.
    virtual void jacobian(double t, const double* y, double* values, double* dfdt) = 0;

    /// Size of a local error e at y: the largest |error| / tolerance over the quantities the user
    /// cares about. A step is accepted when this is at most 1.
    virtual double error_norm(const double* y, const double* e) const = 0;

    /// Number of guards, 0 if the problem has no modes.
    virtual int guards() const { return 0; }
    /// past[k] > 0: guard k is past its dead band and its mode has to flip. Continuous along a
    /// solution as long as the modes stay. Asked only after rates() at the same (t, y), which may
    /// have left the guards.
    virtual void guard_excess(double /*t*/, const double* /*y*/, double* /*past*/) {}
    /// Flips every guard that is past its band by more than zero at (t, y), together, and again
    /// until none is; the order of the guards plays no part. Returns the guards flipped.
    virtual std::vector<int> flip(double /*t*/, const double* /*y*/) { return {}; }

    /// Words for messages: "front_left piston position", "hold_off plate (open)".
    virtual std::string state_name(int i) const { return "state " + std::to_string(i); }
    virtual std::string guard_name(int k) const { return "guard " + std::to_string(k); }
};

} // namespace pedalbench::solve
