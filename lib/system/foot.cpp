#include <math.h> // pchip.hpp needs it first

#include "system/foot.hpp"

#include <algorithm>
#include <boost/math/interpolators/pchip.hpp>
#include <cmath>
#include <memory>

namespace pedalbench {

Foot::Foot(FootInput input) : input_(std::move(input)) {
    if (!input_.measured || input_.time.size() < 4) {
        corners_ = input_.time;
        return;
    }
    using Curve = boost::math::interpolators::pchip<std::vector<double>>;
    auto x = input_.time, y = input_.value;
    const auto curve = std::make_shared<Curve>(std::move(x), std::move(y));
    curve_ = [curve](double t) { return (*curve)(t); };
    curve_rate_ = [curve](double t) { return curve->prime(t); };
    corners_ = {input_.time.front(), input_.time.back()};
}

Foot::Value Foot::on_stretch(double t, double s) const {
    const std::vector<double>&time = input_.time, &value = input_.value;
    if (time.empty()) return {};
    if (t < time.front()) return {value.front(), 0};
    if (t >= time.back()) return {value.back(), 0};
    if (curve_) {
        const double inside = std::clamp(s, time.front(), time.back());
        return {curve_(inside), curve_rate_(inside)};
    }
    const auto next = std::upper_bound(time.begin(), time.end(), t) - time.begin();
    const double rate = (value[next] - value[next - 1]) / (time[next] - time[next - 1]);
    return {value[next - 1] + rate * (s - time[next - 1]), rate};
}

double Foot::held_until(double end) const {
    const std::vector<double>&time = input_.time, &value = input_.value;
    if (time.empty()) return kUnset;
    const double largest = *std::max_element(value.begin(), value.end());
    const double band = input_.measured ? 0.01 * largest : 0;
    double until = kUnset;
    for (std::size_t from = 0; from < time.size(); ++from) {
        if (value[from] <= band) continue;
        std::size_t to = from;
        while (to + 1 < time.size() && std::abs(value[to + 1] - value[from]) <= band)
            ++to;
        const double stop = to + 1 == time.size() ? end : std::min(time[to], end);
        if (stop - time[from] >= 0.2) until = stop;
        from = to;
    }
    return until;
}

bool Foot::free(double from, double to) const {
    if (at(from).value != 0 || at(to).value != 0) return false;
    for (std::size_t i = 0; i < input_.time.size(); ++i)
        if (input_.time[i] > from && input_.time[i] < to && input_.value[i] != 0) return false;
    return true;
}

} // namespace pedalbench
