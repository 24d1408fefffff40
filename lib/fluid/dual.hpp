// Forward differentiation: a value with its derivatives along N directions.
#pragma once

#include <array>
#include <cmath>
#include <utility>

namespace pedalbench {

/// A number that carries dv/d(seed i) in d[i]. The laws are written once on a scalar type and run
/// with double for values and with Dual for exact derivatives.
template <int N>
struct Dual {
    /// Derivatives held: an even number, which processors take two at a time. The odd one out is 0
    /// or never read.
    static constexpr int kHeld = N > 1 ? N + N % 2 : 1;

    double v;
    std::array<double, kHeld> d;

    Dual() = default;               // holds nothing yet, as a double
    Dual(double value) : v(value) { // NOLINT: constants mix freely with duals
        clear(std::make_index_sequence<kHeld>{});
    }
    static Dual seed(double value, int direction) {
        Dual r(value);
        r.d[direction] = 1;
        return r;
    }
    /// A value with its rate in time.
    static Dual moving(double value, double rate) requires(N == 1) {
        Dual r(value);
        r.d[0] = rate;
        return r;
    }
    /// f(v) with slope f'(v): the chain rule in one place.
    Dual chain(double f, double slope) const {
        Dual r(f, Unfilled{});
        for (int i = 0; i < kHeld; ++i)
            r.d[i] = slope * d[i];
        return r;
    }

    Dual operator-() const { return chain(-v, -1); }
    Dual& operator+=(const Dual& o) { return *this = *this + o; }
    Dual& operator-=(const Dual& o) { return *this = *this - o; }
    Dual& operator*=(const Dual& o) { return *this = *this * o; }

    friend Dual operator+(const Dual& a, const Dual& b) {
        Dual r(a.v + b.v, Unfilled{});
        for (int i = 0; i < kHeld; ++i)
            r.d[i] = a.d[i] + b.d[i];
        return r;
    }
    friend Dual operator-(const Dual& a, const Dual& b) {
        Dual r(a.v - b.v, Unfilled{});
        for (int i = 0; i < kHeld; ++i)
            r.d[i] = a.d[i] - b.d[i];
        return r;
    }
    friend Dual operator*(const Dual& a, const Dual& b) {
        Dual r(a.v * b.v, Unfilled{});
        for (int i = 0; i < kHeld; ++i)
            r.d[i] = a.d[i] * b.v + a.v * b.d[i];
        return r;
    }
    friend Dual operator/(const Dual& a, const Dual& b) {
        Dual r(a.v / b.v, Unfilled{});
        for (int i = 0; i < kHeld; ++i)
            r.d[i] = (a.d[i] - r.v * b.d[i]) / b.v;
        return r;
    }
    friend Dual operator+(const Dual& a, double b) { return a.chain(a.v + b, 1); }
    friend Dual operator-(const Dual& a, double b) { return a.chain(a.v - b, 1); }
    friend Dual operator*(const Dual& a, double b) { return a.chain(a.v * b, b); }
    friend Dual operator/(const Dual& a, double b) { return a.chain(a.v / b, 1 / b); }
    friend Dual operator+(double a, const Dual& b) { return b.chain(a + b.v, 1); }
    friend Dual operator-(double a, const Dual& b) { return b.chain(a - b.v, -1); }
    friend Dual operator*(double a, const Dual& b) { return b.chain(a * b.v, a); }
    friend Dual operator/(double a, const Dual& b) { return b.chain(a / b.v, -a / (b.v * b.v)); }

  private:
    /// For results whose derivatives are all written next: filling them with zeros first would cost
    /// more than the operation itself.
    struct Unfilled {};
    Dual(double value, Unfilled) : v(value) {}
    /// One by one: for a loop compilers call upon a string instruction that takes ten times as
    /// long.
    template <std::size_t... i>
    void clear(std::index_sequence<i...>) {
        ((d[i] = 0), ...);
    }
};

inline double value_of(double x) {
    return x;
}
template <int N>
double value_of(const Dual<N>& x) {
    return x.v;
}

/// f(x) given its value and slope there, for double and Dual alike.
inline double chain(double, double f, double) {
    return f;
}
template <int N>
Dual<N> chain(const Dual<N>& x, double f, double slope) {
    return x.chain(f, slope);
}

template <class S>
S square_root(const S& x) {
    const double r = std::sqrt(value_of(x));
    return chain(x, r, r > 0 ? 0.5 / r : 0.0);
}
/// Of a number, of one with derivatives, or of an array of numbers side by side.
template <class S>
auto exponential(const S& x) {
    if constexpr (requires { x.exp(); }) {
        return x.exp().eval();
    } else {
        const double e = std::exp(value_of(x));
        return chain(x, e, e);
    }
}
template <class S>
S sine(const S& x) {
    return chain(x, std::sin(value_of(x)), std::cos(value_of(x)));
}
template <class S>
S cosine(const S& x) {
    return chain(x, std::cos(value_of(x)), -std::sin(value_of(x)));
}
/// 0 for x <= -width, 1 for x >= width, a quintic between, twice differentiable; keeps its digits
/// near 0, and as smooth_step(-x) near 1.
template <class S>
S smooth_step(const S& x, double width) {
    const double u = 0.5 + 0.5 * value_of(x) / width;
    if (u >= 1) return S(1.0);
    if (u <= 0) return S(0.0);
    return chain(x, u * u * u * (10 + u * (6 * u - 15)), 15 * u * u * (1 - u) * (1 - u) / width);
}
template <class S>
S logarithm(const S& x) {
    return chain(x, std::log(value_of(x)), 1 / value_of(x));
}

} // namespace pedalbench
