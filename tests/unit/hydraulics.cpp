// General laws: openings, pipes, friction, what a flow carries.
#include <doctest/doctest.h>

#include "hydraulics/carry.hpp"
#include "hydraulics/mechanics.hpp"
#include "hydraulics/one_way.hpp"
#include "hydraulics/tube.hpp"
#include "parts/part.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {
const Stream<double> kFluid{1050, 18e-6}; // DOT 4 at 20 C
double hole(double dp, double d, double length) {
    return orifice_flow(dp, 0.5 * d, length, kFluid);
}
} // namespace

TEST_CASE("an opening: laminar limit, turbulent limit, odd") {
    const double d = 0.7e-3, r = 0.5 * d, length = 1e-3, mu = 1050 * 18e-6;
    // Creeping: Sampson 3 mu / r^3 and Poiseuille 8 mu l / (pi r^4) in series.
    const double a = 3 * mu / (r * r * r) + 8 * mu * length / (M_PI * std::pow(r, 4));
    CHECK(near(hole(0.01, d, length), 0.01 / a, 0, 1e-4));
    // Jet: Cd A sqrt(2 dp / rho), approached from below.
    const double jet = 0.65 * M_PI * r * r * std::sqrt(2 * 20e6 / 1050);
    CHECK(hole(20e6, d, length) < jet);
    CHECK(near(hole(20e6, d, length), jet, 0, 0.02));
    CHECK(near(hole(-3e5, d, length), -hole(3e5, d, length), 0, 1e-15));
    CHECK(hole(0, d, length) == 0);
    // Between: |dp| = a Q + b Q^2, to the rounding near zero.
    const double q = hole(1e5, d, length), b = 1050 / (2 * std::pow(0.65 * M_PI * r * r, 2));
    CHECK(near(a * q + b * q * q, 1e5, 0, 0.01));
}

TEST_CASE("an opening is smooth through zero: what bends the line there is of third order") {
    // An odd smooth law is linear up to h^3; a kink in slope or curvature would leave a rest of
    // first or second.
    const auto rest = [](double h) {
        return std::abs(hole(2 * h, 1e-3, 1e-3) - 2 * hole(h, 1e-3, 1e-3));
    };
    for (const double h : {0.5, 0.25, 0.125})
        CHECK(near(rest(h) / rest(h / 2), 8, 0.1, 0));
}

TEST_CASE("nothing flows through no opening") {
    CHECK(opening_flow(1e6, 0.0, 1e-3, kFluid) == 0);
    CHECK(opening_flow(1e6, -1e-9, 1e-3, kFluid) == 0);
    CHECK(orifice_flow(1e6, 0.0, 1e-3, kFluid) == 0);
    CHECK(check_flow(0.0, 1e5, 5e-6, 5e3, kFluid) == 0);
}

TEST_CASE("a lip across a round hole leaves the segment") {
    const double d = 0.7e-3, whole = 0.25 * M_PI * d * d;
    CHECK(hole_beyond_lip(-1e-4, d) == 0);
    CHECK(near(hole_beyond_lip(0.5 * d, d), 0.5 * whole, 0, 1e-12));
    CHECK(hole_beyond_lip(1.1 * d, d) == whole);
    // Segment of 120 degrees: height r/2, area r^2 (pi/3 - sqrt(3)/4).
    CHECK(near(hole_beyond_lip(0.25 * d, d), 0.25 * d * d * (M_PI / 3 - std::sqrt(3.0) / 4), 0,
               1e-12));
    // Its slope is the chord.
    const Dual<1> u = Dual<1>::seed(0.2e-3, 0);
    CHECK(near(hole_beyond_lip(u, d).d[0], 2 * std::sqrt(0.2e-3 * 0.5e-3), 0, 1e-12));
}

TEST_CASE("a pipe: Hagen-Poiseuille below Re 2100, Blasius above 4000, rising all the way") {
    const double bore = 20e-3, rho = 872.5, mu = 0.15531;
    const Stream<double> oil{rho, mu / rho};
    const double q = 72e-3 / 3600; // 72 L/h
    CHECK(near(tube_drop(q, bore, 1.0, oil), 128 * mu * q / (M_PI * std::pow(bore, 4)), 0, 1e-12));
    CHECK(friction_ratio(2099.0) == 1);
    CHECK(near(friction_ratio(10000.0), 0.3164 * std::pow(10000.0, 0.75) / 64, 0, 1e-12));
    CHECK(friction_ratio(-3000.0) == friction_ratio(3000.0));
    double last = 0;
    for (double flow = 1e-7; flow < 2e-4; flow *= 1.1) {
        const double drop = tube_drop(flow, 3.34e-3, 1.0, kFluid);
        CHECK(drop > last);
        last = drop;
    }
}

TEST_CASE("unsteady friction: none in steady flow, against the change otherwise, forgotten with "
          "its own time") {
    CHECK(UnsteadyFriction::drop(1e-5, 1e-5, 3.34e-3, 1.0, kFluid) == 0);
    CHECK(UnsteadyFriction::drop(2e-5, 1e-5, 3.34e-3, 1.0, kFluid) > 0);
    // w' = n nu / r^2 (q - w): 200 x 18e-6 / 1.67e-3^2 = 1291 per second.
    CHECK(near(UnsteadyFriction::rate(1e-5, 0.0, 3.34e-3, kFluid), 1291e-5, 0, 1e-3));
}

TEST_CASE("friction: holds exactly below the limit, slips by the overstress, gives back the "
          "spring's travel") {
    const Friction f{4e5, 300};
    char mode[2] = {0, 0};
    double value[2];
    Gates gates(mode, value, false);
    CHECK(f.slip(gates, 0, 24.9, 25.0) == 0);
    CHECK(f.slip(gates, 0, -24.9, 25.0) == 0);
    CHECK(near(f.slip(gates, 0, 28.0, 25.0), 3.0 / 300, 0, 1e-12));
    CHECK(near(f.slip(gates, 0, -28.0, 25.0), -3.0 / 300, 0, 1e-12));
    // Slid by 1 mm at the limit and let go: the force is zero after exactly 25 N / k of way back.
    const double anchor = 1e-3 - 25 / 4e5;
    CHECK(near(f.force(1e-3, anchor), 25, 0, 1e-9));
    CHECK(near(f.force(1e-3 - 25 / 4e5, anchor), 0, 1e-9, 0));
}

TEST_CASE("a pad stiffens from its first to its final slope") {
    const Progressive pad{1.2e7, 7e7, 0.08e-3};
    const double h = 1e-9;
    CHECK(pad.force(0.0) == 0);
    CHECK(near(pad.force(h) / h, 1.2e7, 0, 1e-4));
    CHECK(near((pad.force(2e-3 + h) - pad.force(2e-3)) / h, 7e7, 0, 1e-4));
    CHECK(near(pad.force(2e-3), 7e7 * (2e-3 - 0.08e-3), 0, 1e-6)); // the take-up is used
}

TEST_CASE("what a flow carries: the upstream mixture, nothing at rest, nothing lost") {
    PortIn<double> a{1e6, 0.9, 0.1, 293, 0}, b{0, 0.5, 0.5, 293, 0};
    for (const double q : {1e-5, 5e-9, 0.0, -5e-9, -1e-5}) {
        PortOut<double> from, to;
        carry(a, b, from, to, q);
        CHECK(from.liquid + to.liquid == 0);
        CHECK(from.gas + to.gas == 0);
        if (q == 0) CHECK(to.liquid == 0);
        if (q == 1e-5) CHECK(near(to.liquid, 0.9e-5, 0, 1e-12));
        if (q == -1e-5) CHECK(near(to.gas, -0.5e-5, 0, 1e-12));
    }
    CHECK(upstream_share(1e-8) == 1);
    CHECK(upstream_share(-1e-8) == 0);
    CHECK(upstream_share(0.0) == 0.5);
}

TEST_CASE("dual numbers differentiate every operation that the laws use") {
    using D = Dual<2>;
    const double x0 = 1.3, y0 = 0.7, h = 1e-6;
    const auto f = [](auto x, auto y) {
        return (x * y - 2.0 / x + y / 3.0 + square_root(x + 1.0) * exponential(-1.0 * y) +
                logarithm(x * x) - (5.0 - y)) /
               (1.0 + x * x);
    };
    const D r = f(D::seed(x0, 0), D::seed(y0, 1));
    CHECK(near(r.v, f(x0, y0), 0, 1e-15));
    CHECK(near(r.d[0], (f(x0 + h, y0) - f(x0 - h, y0)) / (2 * h), 0, 1e-8));
    CHECK(near(r.d[1], (f(x0, y0 + h) - f(x0, y0 - h)) / (2 * h), 0, 1e-8));
}
