#include "record/plant.hpp"

#include <algorithm>
#include <limits>

#include "record/course.hpp"

namespace pedalbench {
Plant::Plant(std::shared_ptr<const Model> model, const Foot& foot, bool located,
             const ErrorScale& scale)
    : model_(std::move(model)), foot_(&foot), located_(located), scale_(scale),
      wider_(std::max(1.0, scale.pressure / error_scale(Scenario{}.accuracy, 1).pressure)),
      modes_(static_cast<std::size_t>(model_->guards()), 0), before_(modes_),
      restless_(modes_.size()), scratch_(static_cast<std::size_t>(model_->states())),
      work_(model_->make_work()) {
    pattern_.size = model_->states();
    pattern_.row_start = model_->pattern().row_start;
    pattern_.column = model_->pattern().column;
}

void Plant::set_model(std::shared_ptr<const Model> model) {
    model_ = std::move(model);
    work_ = model_->make_work();
}

Drive Plant::drive(double t) const {
    const Foot::Value v = foot_->on_stretch(stretch_, t);
    return {v.value, v.rate};
}

void Plant::rates(double t, const double* y, double* f) {
    model_->rates(y, drive(t), modes_.data(), located_, work_, f);
}

void Plant::jacobian(double t, const double* y, double* values, double* dfdt) {
    model_->jacobian(y, drive(t), modes_.data(), located_, work_, values, dfdt);
}

double Plant::error_norm(const double*, const double* e) const {
    return model_->error_norm(work_, e, scale_);
}

/// How far guard k is past the band of its mode. Without location only latches have modes. The end
/// of a time of following the sign is an event too.
double Plant::excess(int k, double t) const {
    const auto i = static_cast<std::size_t>(k);
    const GuardInfo& info = model_->guard_info(k);
    if (!located_ && !info.latch) return -std::numeric_limits<double>::infinity();
    if (modes_[i] == Gates::kFollow) return t - restless_[i].until;
    return (modes_[i] ? -work_.guard[i] : work_.guard[i]) - band(k);
}

double Plant::band(int k) const {
    const GuardInfo& info = model_->guard_info(k);
    return info.latch ? info.band : wider_ * info.band;
}

void Plant::turn(int k, double t) {
    const auto i = static_cast<std::size_t>(k);
    Restlessness& r = restless_[i];
    if (modes_[i] == Gates::kFollow) {
        modes_[i] = work_.guard[i] > 0;
        r.flips = 0;
        return;
    }
    if (t - r.first > kMoment) {
        r.first = t;
        r.flips = 0;
    }
    modes_[i] ^= 1;
    if (++r.flips < kRestless || model_->guard_info(k).latch) return;
    modes_[i] = Gates::kFollow;
    r.until = t + r.pause;
    r.pause = std::min(2 * r.pause, 0.5);
}

void Plant::guard_excess(double t, const double*, double* past) {
    for (int k = 0; k < guards(); ++k)
        past[k] = excess(k, t);
}

void Plant::settle_modes(double t, const double* y) {
    // Guards of one part may depend on each other's mode; a few rounds agree, and what does not is
    // left to flip() at the first step.
    for (int round = 0; round < 5; ++round) {
        rates(t, y, scratch_.data());
        for (int k = 0; k < guards(); ++k)
            if (!model_->guard_info(k).latch)
                modes_[static_cast<std::size_t>(k)] = work_.guard[static_cast<std::size_t>(k)] > 0;
    }
}

std::vector<int> Plant::flip(double t, const double* y) {
    before_ = modes_;
    for (int round = 0; round < 20; ++round) {
        rates(t, y, scratch_.data());
        std::vector<int> past;
        for (int k = 0; k < guards(); ++k)
            if (excess(k, t) > 0) past.push_back(k);
        if (past.empty()) break;
        for (const int k : past)
            turn(k, t);
    }
    std::vector<int> flipped;
    for (int k = 0; k < guards(); ++k)
        if (modes_[static_cast<std::size_t>(k)] != before_[static_cast<std::size_t>(k)])
            flipped.push_back(k);
    return flipped;
}

std::string Plant::state_name(int i) const {
    return model_->layout().state_name(model_->hardware(), i);
}

std::string Plant::guard_name(int k) const {
    return model_->layout().instances[static_cast<std::size_t>(model_->guard_instance(k))].name +
           " " + std::string(model_->guard_info(k).name) +
           (modes_[static_cast<std::size_t>(k)] ? " (on)" : " (off)");
}

} // namespace pedalbench
