// The coefficients against the conditions they have to meet.
#include "compare.hpp"
#include "solve/tableau.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr int n = solve::Tableau::stages;
using Row = solve::Tableau::Row;
using Square = std::array<Row, n>;

Square product(const Square& x, const Square& y) {
    Square z{};
    for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
            for (int k = 0; k < n; ++k)
                z[i][j] += x[i][k] * y[k][j];
    return z;
}
Row times(const Square& x, const Row& v) {
    Row z{};
    for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
            z[i] += x[i][j] * v[j];
    return z;
}
Row times(const Row& v, const Square& x) {
    Row z{};
    for (int i = 0; i < n; ++i)
        for (int j = 0; j < n; ++j)
            z[j] += v[i] * x[i][j];
    return z;
}
Row each(const Row& x, const Row& y) {
    Row z{};
    for (int i = 0; i < n; ++i)
        z[i] = x[i] * y[i];
    return z;
}
double dot(const Row& x, const Row& y) {
    double z = 0;
    for (int i = 0; i < n; ++i)
        z += x[i] * y[i];
    return z;
}

/// Inverse of a lower triangular matrix by forward substitution.
Square inverse(const Square& l) {
    Square z{};
    for (int j = 0; j < n; ++j)
        for (int i = j; i < n; ++i) {
            double sum = i == j ? 1 : 0;
            for (int k = j; k < i; ++k)
                sum -= l[i][k] * z[k][j];
            z[i][j] = sum / l[i][i];
        }
    return z;
}

/// The method in the form of its order conditions (Hairer & Wanner II, section IV.7): C = I/gamma -
/// Gamma^-1, a = A Gamma^-1, m = b Gamma^-1; B = A + Gamma; small letters are row sums.
struct Plain {
    Square gamma{}, A{}, B{};
    Row alpha{}, beta{}, d{};

    explicit Plain(const solve::Tableau& t) {
        Square inv{};
        for (int i = 0; i < n; ++i)
            for (int j = 0; j <= i; ++j)
                inv[i][j] = (i == j ? 1 / t.gamma : 0) - t.c[i][j];
        gamma = inverse(inv);
        A = product(t.a, gamma);
        const Row one{1, 1, 1, 1, 1, 1};
        for (int i = 0; i < n; ++i)
            for (int j = 0; j < n; ++j)
                B[i][j] = A[i][j] + gamma[i][j];
        alpha = times(A, one);
        beta = times(B, one);
        d = times(gamma, one);
    }
};

/// Coefficients are printed with 16 digits and reach 57: sums of products are good to about 1e-12.
constexpr double digits = 2e-12;

/// Conditions up to order 3 or 4 for weights b of a step that ends at theta.
void check_order(const Plain& p, const Row& b, int order, double theta) {
    const Row one{1, 1, 1, 1, 1, 1};
    const double t2 = theta * theta, t3 = t2 * theta, t4 = t3 * theta;
    CHECK(near(dot(b, one), theta, digits, 0));
    CHECK(near(dot(b, p.beta), t2 / 2, digits, 0));
    CHECK(near(dot(b, each(p.alpha, p.alpha)), t3 / 3, digits, 0));
    CHECK(near(dot(b, times(p.B, p.beta)), t3 / 6, digits, 0));
    if (order < 4) return;
    CHECK(near(dot(b, each(p.alpha, each(p.alpha, p.alpha))), t4 / 4, digits, 0));
    CHECK(near(dot(b, each(p.alpha, times(p.A, p.beta))), t4 / 8, digits, 0));
    CHECK(near(dot(b, times(p.B, each(p.alpha, p.alpha))), t4 / 12, digits, 0));
    CHECK(near(dot(b, times(p.B, times(p.B, p.beta))), t4 / 24, digits, 0));
}

Row minus(const Row& x, const Row& y) {
    Row z{};
    for (int i = 0; i < n; ++i)
        z[i] = x[i] - y[i];
    return z;
}

/// R(infinity) = 1 - b B^-1 1 (same book, eq. (IV.7.15) with z -> infinity).
double at_infinity(const Plain& p, const Row& b) {
    const Row one{1, 1, 1, 1, 1, 1};
    return 1 - dot(b, times(inverse(p.B), one));
}

} // namespace

TEST_CASE("tableaux meet their order conditions") {
    for (const auto* t : {&solve::rodas4(), &solve::rodas4p()}) {
        CAPTURE(t->name);
        const Plain p(*t);
        for (int i = 0; i < n; ++i) {
            CAPTURE(i);
            CHECK(near(t->alpha[i], p.alpha[i], digits, 0)); // time of a stage fits its argument
            CHECK(near(t->d[i], p.d[i], digits, 0));         // else order 1 when time drives
        }
        check_order(p, times(t->m, p.gamma), 4, 1);
        check_order(p, times(minus(t->m, t->e), p.gamma), 3, 1);
        for (double theta : {0.1, 0.25, 0.5, 0.9}) {
            Row inside{}; // of the u: theta (m + (1 - theta) (dense0 + theta dense1))
            for (int i = 0; i < n; ++i)
                inside[i] =
                    theta * (t->m[i] + (1 - theta) * (t->dense[0][i] + theta * t->dense[1][i]));
            check_order(p, times(inside, p.gamma), 3, theta);
        }
    }
}

TEST_CASE("tableaux damp what is infinitely fast, the error estimate too") {
    for (const auto* t : {&solve::rodas4(), &solve::rodas4p()}) {
        CAPTURE(t->name);
        const Plain p(*t);
        CHECK(near(at_infinity(p, times(t->m, p.gamma)), 0, digits, 0));
        CHECK(near(at_infinity(p, times(minus(t->m, t->e), p.gamma)), 0, digits, 0));
        // Stiffly accurate: b is the last row of B, and the last stage sits at t + h.
        const Row b = times(t->m, p.gamma);
        for (int i = 0; i < n; ++i)
            CHECK(near(b[i], p.B[n - 1][i], digits, 0));
        CHECK(t->alpha[n - 1] == 1.0);
    }
}

TEST_CASE("tableaux do not amplify on the imaginary axis") {
    // With R(infinity) = 0 and its only pole at 1/gamma > 0 this makes them L-stable. R(iy) = 1 +
    // z b (I - z B)^-1 1 by forward substitution in complex numbers, written out in pairs.
    for (const auto* t : {&solve::rodas4(), &solve::rodas4p()}) {
        const Plain p(*t);
        const Row b = times(t->m, p.gamma);
        double most = 0;
        for (double y = 0.01; y < 1e4; y *= 1.05) {
            Row re{}, im{}; // x = (I - i y B)^-1 1
            double r_re = 1, r_im = 0;
            for (int i = 0; i < n; ++i) {
                double u = 1, v = 0;
                for (int j = 0; j < i; ++j) {
                    u -= y * p.B[i][j] * im[j];
                    v += y * p.B[i][j] * re[j];
                }
                const double g = y * p.B[i][i], size = 1 + g * g; // divide by 1 - i g
                re[i] = (u - v * g) / size;
                im[i] = (v + u * g) / size;
                r_re -= y * b[i] * im[i];
                r_im += y * b[i] * re[i];
            }
            most = std::max(most, std::hypot(r_re, r_im));
        }
        CAPTURE(t->name);
        CHECK(most <= 1 + 1e-10);
    }
}
