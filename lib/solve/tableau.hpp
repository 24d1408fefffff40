// Coefficients of linearly implicit Runge-Kutta (Rosenbrock) methods, as data.
#pragma once

#include <array>
#include <string_view>

namespace pedalbench::solve {

/// A Rosenbrock method of order 4 with an embedded method of order 3, in the transformed form of
/// Hairer & Wanner, "Solving Ordinary Differential Equations II", 2nd ed., eq. (IV.7.25):
///
///   (I/(h gamma) - J) u_i = f(t + alpha_i h, y + sum_j a_ij u_j) + sum_j c_ij u_j / h + d_i h f_t
///   y_1 = y + sum_i m_i u_i,   error = sum_i e_i u_i
///
/// with J = df/dy and f_t = df/dt at the start of the step, j < i in the stage sums. Inside the
/// step, with theta = (t - t_0)/h in [0, 1], a polynomial of order 3 (same book, section IV.7):
///
///   y(theta) = (1 - theta) y_0 + theta (y_1 + (1 - theta) (k_2 + theta k_3)),
///   k_2 = sum_i dense[0]_i u_i,   k_3 = sum_i dense[1]_i u_i
///
/// The u carry the unit of the state; all coefficients are pure numbers.
struct Tableau {
    static constexpr int stages = 6;
    using Row = std::array<double, stages>;

    std::string_view name;
    double gamma;
    std::array<Row, stages> a; // strictly lower triangular
    std::array<Row, stages> c; // strictly lower triangular
    Row alpha;                 // time of each stage
    Row d;                     // weight of df/dt
    Row m;                     // weights of the solution
    Row e;                     // weights of the error estimate
    std::array<Row, 2> dense;
};

/// Order 4(3), L-stable, stiffly accurate (the embedded method too). Hairer & Wanner, section
/// IV.7 and their code RODAS. The smaller errors where nothing is stiff.
const Tableau& rodas4();

/// Order 4(3), L-stable, stiffly accurate, and without order reduction on y' = L (y - p(t)) + p'(t)
/// with large -L: G. Steinebach, "Order-reduction of ROW-methods for DAEs and method of lines
/// applications", preprint 1741, TH Darmstadt 1995. The default: at a tolerance of 1e-6 it takes 75
/// steps where rodas4 takes 225 to 510 (tests/unit/solve_stiff.cpp), and at most 15 % more where
/// rodas4 is at its best.
const Tableau& rodas4p();

} // namespace pedalbench::solve
