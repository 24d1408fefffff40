// The circuit as the solver sees it: a problem with modes, driven by the foot.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "circuit/model.hpp"
#include "solve/problem.hpp"
#include "system/foot.hpp"

namespace pedalbench {

/// Model, modes and the present stretch of the foot's input. Change between stretches only.
///
/// A valve that rides on its edge (flow so small that its surplus drowns in the error of the step)
/// would flip at every step. A guard that has flipped kRestless times within kMoment therefore
/// follows its sign for a while, as in the continuous model, and is located again afterwards; each
/// time it stays so twice as long. Where steps may err by more than usual, dead bands are as much
/// wider, as a band below the error of a step invites just that.
class Plant final : public solve::Problem {
  public:
    Plant(std::shared_ptr<const Model> model, const Foot& foot, bool located,
          const ErrorScale& scale);

    void set_model(std::shared_ptr<const Model> model);
    void set_foot(const Foot& foot) { foot_ = &foot; }
    /// The stretch that starts at t: from here on the input is the line that holds just after t.
    void set_stretch(double t) { stretch_ = t; }
    /// Modes that the signs of the guards ask for at (t, y), for a first start.
    void settle_modes(double t, const double* y);

    const Model& model() const { return *model_; }
    const std::vector<char>& modes() const { return modes_; }
    const std::vector<char>& modes_before_flip() const { return before_; }
    bool located() const { return located_; }
    /// Dead band of guard k in its own unit, at the error that steps may have here.
    double band(int k) const;
    Drive drive(double t) const;
    Work& work() { return work_; }

    const solve::Pattern& pattern() const override { return pattern_; }
    void rates(double t, const double* y, double* f) override;
    void jacobian(double t, const double* y, double* values, double* dfdt) override;
    double error_norm(const double* y, const double* e) const override;
    /// error_norm() of an error of one in each state alone, at y.
    void error_weights(const double* y, double* weight) {
        model_->error_weights(y, work_, scale_, weight);
    }
    int guards() const override { return model_->guards(); }
    void guard_excess(double t, const double* y, double* past) override;
    std::vector<int> flip(double t, const double* y) override;
    std::string state_name(int i) const override;
    std::string guard_name(int k) const override;

  private:
    static constexpr int kRestless = 5;
    static constexpr double kMoment = 0.01; // s

    /// What is known of the flips of one guard.
    struct Restlessness {
        int flips = 0;
        double first = -1e9; // s, of the flips counted
        double until = 0;    // s, follows its sign up to here
        double pause = 0.05; // s, the next time
    };

    double excess(int k, double t) const;
    void turn(int k, double t);

    std::shared_ptr<const Model> model_;
    const Foot* foot_;
    bool located_;
    ErrorScale scale_;
    double wider_; // times the dead bands that the parts state for the usual accuracy
    double stretch_ = 0;
    std::vector<char> modes_, before_;
    std::vector<Restlessness> restless_;
    std::vector<double> scratch_;
    Work work_;
    solve::Pattern pattern_;
};

} // namespace pedalbench
