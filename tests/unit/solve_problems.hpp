// Small problems with known solutions for the tests of the solver.
#pragma once

#include "solve/stepper.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <string>
#include <vector>

namespace pedalbench::test {

inline solve::Pattern full_pattern(int n) {
    solve::Pattern p;
    p.size = n;
    for (int i = 0; i <= n; ++i)
        p.row_start.push_back(i * n);
    for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
            p.column.push_back(j);
    return p;
}

/// A problem put together from functions. Norm: largest |e| / (absolute + relative |y|); with
/// fixed_step the error is never too large, so that the caller's step stands.
struct Made : solve::Problem {
    using Rates = std::function<void(double, const double*, double*)>;
    using Slopes = std::function<void(double, const double*, double*, double*)>;

    solve::Pattern shape;
    Rates f;
    Slopes df;
    double absolute = 1e-9, relative = 0;
    bool fixed_step = false;

    Made(int n, Rates rates, Slopes slopes)
        : shape(full_pattern(n)), f(std::move(rates)), df(std::move(slopes)) {}

    const solve::Pattern& pattern() const override { return shape; }
    void rates(double t, const double* y, double* out) override { f(t, y, out); }
    void jacobian(double t, const double* y, double* values, double* dfdt) override {
        df(t, y, values, dfdt);
    }
    double error_norm(const double* y, const double* e) const override {
        if (fixed_step) return 0;
        double most = 0;
        for (int i = 0; i < size(); ++i) {
            const double r = std::fabs(e[i]) / (absolute + relative * std::fabs(y[i]));
            if (!(r <= most)) most = r; // keeps NaN
        }
        return most;
    }
};

/// (cos t, sin t): u' = -v (u2 + v2), v' = u (u2 + v2). Nonlinear, without explicit time.
inline Made circle() {
    return Made(
        2,
        [](double, const double* y, double* f) {
            const double r2 = y[0] * y[0] + y[1] * y[1];
            f[0] = -y[1] * r2;
            f[1] = y[0] * r2;
        },
        [](double, const double* y, double* j, double* ft) {
            const double u = y[0], v = y[1];
            j[0] = -2 * u * v;
            j[1] = -u * u - 3 * v * v;
            j[2] = 3 * u * u + v * v;
            j[3] = 2 * u * v;
            ft[0] = ft[1] = 0;
        });
}

/// (exp(sin t), 1/(1 + t)): y' = y cos t, z' = -z/(1 + t). Driven by time.
inline Made driven() {
    return Made(
        2,
        [](double t, const double* y, double* f) {
            f[0] = y[0] * std::cos(t);
            f[1] = -y[1] / (1 + t);
        },
        [](double t, const double* y, double* j, double* ft) {
            j[0] = std::cos(t);
            j[1] = j[2] = 0;
            j[3] = -1 / (1 + t);
            ft[0] = -y[0] * std::sin(t);
            ft[1] = y[1] / ((1 + t) * (1 + t));
        });
}

/// Prothero & Robinson: y' = L (y - sin t) + cos t, y = sin t.
inline Made prothero_robinson(double lambda) {
    return Made(
        1,
        [lambda](double t, const double* y, double* f) {
            f[0] = lambda * (y[0] - std::sin(t)) + std::cos(t);
        },
        [lambda](double t, const double*, double* j, double* ft) {
            j[0] = lambda;
            ft[0] = -lambda * std::cos(t) - std::sin(t);
        });
}

/// A mass on a spring of stiffness 1 below y = 0 and 4 above: continuous rates, one guard.
/// From y = -1 at rest: y = -cos t up to pi/2, then sin(2 (t - pi/2))/2 up to pi, then
/// -sin(t - pi) up to 2 pi.
struct TwoSprings : Made {
    bool above = false;

    TwoSprings() : Made(2, {}, {}) {
        f = [this](double, const double* y, double* out) {
            out[0] = y[1];
            out[1] = above ? -4 * y[0] : -y[0];
        };
        df = [this](double, const double*, double* j, double* ft) {
            j[0] = j[3] = ft[0] = ft[1] = 0;
            j[1] = 1;
            j[2] = above ? -4 : -1;
        };
    }
    int guards() const override { return 1; }
    void guard_excess(double, const double* y, double* past) override {
        past[0] = above ? -y[0] : y[0];
    }
    std::vector<int> flip(double, const double* y) override {
        if (!((above ? -y[0] : y[0]) > 0)) return {};
        above = !above;
        return {0};
    }
    std::string guard_name(int) const override { return "spring seat"; }
    std::string state_name(int i) const override { return i == 0 ? "position" : "speed"; }
};

/// y'' = -y, and for good y'' = -y - 1/2 once y has passed 0.3: rates jump. From y = -1 at rest:
/// y = -cos t up to t1 = acos(-0.3); then about -1/2: y = -1/2 + 0.8 cos s + v1 sin s with
/// s = t - t1, v1 = sin t1.
struct Latch : TwoSprings {
    Latch() {
        f = [this](double, const double* y, double* out) {
            out[0] = y[1];
            out[1] = -y[0] - (above ? 0.5 : 0.0);
        };
        df = [](double, const double*, double* j, double* ft) {
            j[0] = j[3] = ft[0] = ft[1] = 0;
            j[1] = 1;
            j[2] = -1;
        };
    }
    void guard_excess(double, const double* y, double* past) override {
        past[0] = above ? -1.0 : y[0] - 0.3;
    }
    std::vector<int> flip(double, const double* y) override {
        if (above || !(y[0] > 0.3)) return {};
        above = true;
        return {0};
    }
};

/// Runs with steps of h (shorter only at events and at the end); returns the state at t1.
inline std::vector<double> run_fixed(solve::Problem& problem, std::vector<double> y, double t,
                                     double t1, double h, solve::Options options) {
    options.max_step = h;
    solve::Stepper stepper(problem, options);
    while (t1 - t > 1e-12) {
        double dt = std::min(h, t1 - t);
        stepper.attempt(problem, y, t, dt);
    }
    return y;
}

/// Slope of the error between a step and one that is 2^halvings smaller.
inline double slope(double coarse, double fine, int halvings) {
    return std::log2(coarse / fine) / halvings;
}

} // namespace pedalbench::test
