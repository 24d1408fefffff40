// Central differences with an honest estimate of their own error.
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

namespace pedalbench::test {

/// df/dx by central differences over steps of many sizes: the one that agrees best with its larger
/// neighbour.
struct Difference {
    double value = 0;
    double doubt = std::numeric_limits<double>::infinity(); // truncation and rounding
};

/// `f(x)` gives a vector and may refuse a step by giving an empty one (a switch lies between);
/// `noise` is the rounding to expect in each of its entries. One Difference per entry.
template <class F>
std::vector<Difference> central_differences(F&& f, double x, double scale,
                                            const std::vector<double>& noise) {
    std::vector<Difference> best(noise.size());
    std::vector<double> last;
    for (double h = 1e-2 * scale; h > 0.9e-10 * scale; h *= 0.1) {
        const double up = x + h, down = x - h;
        const std::vector<double> above = f(up), below = f(down);
        if (above.empty() || below.empty()) {
            last.clear();
            continue;
        }
        std::vector<double> now(noise.size());
        for (std::size_t i = 0; i < noise.size(); ++i) {
            now[i] = (above[i] - below[i]) / (up - down);
            if (last.empty()) continue;
            const double doubt = std::abs(now[i] - last[i]) + noise[i] / h;
            if (doubt < best[i].doubt) best[i] = {now[i], doubt};
        }
        last = now;
    }
    return best;
}

} // namespace pedalbench::test
