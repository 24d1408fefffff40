#include <math.h> // pchip.hpp needs it first

#include "system/foot.hpp"

#include <algorithm>
#include <boost/math/interpolators/pchip.hpp>
#include <cmath>
#include <memory>

namespace pedalbench {
namespace {

constexpr double kHold = 0.2;   // s, the shortest hold that counts
constexpr double kNear = 0.01;  // of the largest value: constant, or free, on a measured trace
constexpr double kQuiet = 0.02; // s; shorter than any move of a foot, longer than a sensor's noise

double median(std::vector<double> v) {
    const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
    std::nth_element(v.begin(), middle, v.end());
    return *middle;
}

/// Every sample replaced by the median of itself and of those in the next kQuiet: edges stay where
/// they are to within half of that, and early rather than late. At the end, where there is no next,
/// the last kQuiet count.
std::vector<double> without_noise(const FootInput& input) {
    const std::vector<double>&time = input.time, &value = input.value;
    std::vector<double> quiet;
    std::size_t from = 0, to = 0; // of the window
    for (std::size_t i = 0; i < time.size(); ++i) {
        while (to < time.size() && time[to] < time[i] + kQuiet)
            ++to;
        while (from < i && time[from] < time.back() - kQuiet)
            ++from;
        quiet.push_back(median({value.begin() + static_cast<std::ptrdiff_t>(from),
                                value.begin() + static_cast<std::ptrdiff_t>(to)}));
    }
    return quiet;
}

} // namespace

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
    if (input_.time.empty()) return kUnset;
    return input_.measured ? steady_until(end) : constant_until(end);
}

/// Corners: constant is constant.
double Foot::constant_until(double end) const {
    const std::vector<double>&time = input_.time, &value = input_.value;
    double until = kUnset;
    for (std::size_t from = 0; from < time.size(); ++from) {
        if (value[from] <= 0) continue;
        std::size_t to = from;
        while (to + 1 < time.size() && value[to + 1] == value[from])
            ++to;
        const double stop = to + 1 == time.size() ? end : std::min(time[to], end);
        if (stop - time[from] >= kHold) until = stop;
        from = to;
    }
    return until;
}

/// Samples, which no sensor gives twice the same. What is judged is the quiet curve, so that a
/// spike ends no hold; and the hold ends with the last sample that lies as near to the median of
/// its stretch as half of all samples there do, so that it lies before the foot begins to move.
double Foot::steady_until(double end) const {
    FootInput seen = input_;
    while (!seen.time.empty() && seen.time.back() > end)
        seen.time.pop_back(), seen.value.pop_back();
    if (seen.time.empty()) return kUnset;
    if (seen.time.back() < end) { // after its last sample a trace stays where it is
        seen.time.push_back(end);
        seen.value.push_back(input_.time.back() < end ? seen.value.back() : at(end).value);
    }
    const double band = kNear * largest();
    const std::vector<double> quiet = without_noise(seen), &time = seen.time;
    for (std::size_t to = time.size() - 1; to > 0; --to) {
        std::size_t from = to;
        while (from > 0 && time[to] - time[from] < kHold)
            --from;
        if (time[to] - time[from] < kHold) break;
        const double middle = 0.5 * (time[from] + time[to]);
        double sum[2] = {}, low = quiet[to], high = quiet[to];
        std::size_t n[2] = {};
        for (std::size_t i = from; i <= to; ++i) {
            const int half = time[i] <= middle ? 0 : 1;
            sum[half] += quiet[i];
            ++n[half];
            low = std::min(low, quiet[i]);
            high = std::max(high, quiet[i]);
        }
        const double mean = (sum[0] + sum[1]) / static_cast<double>(n[0] + n[1]);
        // In 0.2 s a steady drift moves the halves apart by half of what it moves the foot.
        const double drift =
            2 * std::abs(sum[0] / static_cast<double>(n[0]) - sum[1] / static_cast<double>(n[1]));
        if (low <= band || low < mean - band || high > mean + band || drift > band) continue;
        std::vector<double> part(seen.value.begin() + static_cast<std::ptrdiff_t>(from),
                                 seen.value.begin() + static_cast<std::ptrdiff_t>(to) + 1);
        const double usual = median(part);
        for (double& v : part)
            v = std::abs(v - usual);
        const double scatter = median(part);
        while (to > from && std::abs(quiet[to] - usual) > scatter)
            --to;
        return time[to];
    }
    return kUnset;
}

double Foot::largest() const {
    return *std::max_element(input_.value.begin(), input_.value.end());
}

bool Foot::free(double from, double to) const {
    const std::vector<double>&time = input_.time, &value = input_.value;
    if (!input_.measured) {
        if (at(from).value != 0 || at(to).value != 0) return false;
        for (std::size_t i = 0; i < time.size(); ++i)
            if (time[i] > from && time[i] < to && value[i] != 0) return false;
        return true;
    }
    const std::vector<double> quiet = without_noise(input_);
    const double band = kNear * largest();
    // From the sample before `from` on to the one after `to`: between them lies the curve.
    for (std::size_t i = 0; i < time.size(); ++i) {
        const bool before = i + 1 < time.size() && time[i + 1] <= from;
        const bool after = i > 0 && time[i - 1] >= to;
        if (!before && !after && quiet[i] > band) return false;
    }
    return true;
}

} // namespace pedalbench
