// The factors of a step matrix against Eigen's dense product.
#include "compare.hpp"
#include "solve/step_matrix.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <functional>
#include <random>

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// A pattern of n rows with a full diagonal and `others` more entries a row, and values for it.
struct Random {
    solve::Pattern pattern;
    std::vector<double> values;
    Eigen::MatrixXd full;

    Random(int n, int others, std::mt19937& any) : full(Eigen::MatrixXd::Zero(n, n)) {
        std::uniform_int_distribution<int> where(0, n - 1);
        std::vector<std::vector<char>> there(n, std::vector<char>(n, 0));
        for (int i = 0; i < n; ++i) {
            there[i][i] = 1;
            for (int k = 0; k < others; ++k)
                there[i][where(any)] = 1;
        }
        pattern.size = n;
        pattern.row_start.push_back(0);
        for (const auto& row : there) {
            for (int j = 0; j < n; ++j)
                if (row[j]) pattern.column.push_back(j);
            pattern.row_start.push_back(static_cast<int>(pattern.column.size()));
        }
        values.resize(pattern.column.size());
        fill(any);
    }
    void fill(std::mt19937& any) {
        std::uniform_real_distribution<double> value(-1, 1);
        for (double& v : values)
            v = value(any);
        spread();
    }
    void spread() {
        for (int i = 0; i < pattern.size; ++i)
            for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                full(i, pattern.column[k]) = values[k];
    }
    void set(int i, int j, double v) {
        for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
            if (pattern.column[k] == j) values[k] = v;
        spread();
    }
    void set_diagonal(double v) {
        for (int i = 0; i < pattern.size; ++i)
            set(i, i, v);
    }
    /// As a step matrix has it: A = 0 I - J.
    bool factorise(solve::StepMatrix& lu) const {
        std::vector<double> jacobian(values.size());
        std::transform(values.begin(), values.end(), jacobian.begin(), std::negate<>{});
        return lu.factorise(0, jacobian.data());
    }
    /// Largest share of a row's own size that A x leaves of b.
    double rest(solve::StepMatrix& lu) const {
        const Eigen::VectorXd b = Eigen::VectorXd::LinSpaced(pattern.size, 1, 2);
        Eigen::VectorXd x(pattern.size);
        lu.solve(b.data(), x.data());
        const Eigen::VectorXd size = full.cwiseAbs() * x.cwiseAbs() + b.cwiseAbs();
        return ((full * x - b).cwiseAbs().array() / size.array()).maxCoeff();
    }
};

} // namespace

TEST_CASE("factors of random sparse matrices solve them") {
    // Diagonal pivots of random matrices let multipliers grow, seldom to the limit of 1e5: each
    // digit of growth is one of the sixteen lost.
    std::mt19937 any(7);
    for (const int n : {1, 2, 5, 30, 120}) {
        Random a(n, 3, any);
        solve::StepMatrix lu(a.pattern);
        for (int again = 0; again < 20; ++again) {
            CAPTURE(n);
            a.fill(any);
            REQUIRE(a.factorise(lu));
            CHECK(a.rest(lu) < 1e-16 * solve::StepMatrix::growth_limit * n);
        }
    }
}

TEST_CASE("what of the pattern is zero may be something else each time") {
    std::mt19937 any(3);
    std::bernoulli_distribution empty(0.7);
    Random a(40, 6, any);
    solve::StepMatrix lu(a.pattern);
    for (int again = 0; again < 50; ++again) {
        a.fill(any);
        for (double& v : a.values)
            if (empty(any)) v = 0;
        a.set_diagonal(4);
        for (int same = 0; same < 2; ++same) { // the shape of before, other values
            REQUIRE(a.factorise(lu));
            CHECK(a.rest(lu) < 1e-15);
            for (double& v : a.values)
                v *= 1.25;
            a.spread();
        }
    }
    CHECK(lu.searches() == 0);
}

TEST_CASE("an entry of the factors that came to nothing by chance is there the next time") {
    // All ones but for two entries on the diagonal: after the pivot of 1 nothing is left of the
    // entries beside the others. Whichever row is eliminated first, one of the three has that
    // pivot.
    std::mt19937 any(5);
    for (const int first : {0, 1, 2}) {
        Random a(3, 40, any); // a full pattern
        REQUIRE(a.values.size() == 9);
        solve::StepMatrix lu(a.pattern);
        for (const double beside : {1.0, 2.0}) {
            for (int i = 0; i < 3; ++i)
                for (int j = 0; j < 3; ++j)
                    a.set(i, j, i != j ? (i + j == 2 ? beside : 1) : i == first ? 1 : 4 + i);
            REQUIRE(a.factorise(lu));
            CHECK(a.rest(lu) < 1e-15);
        }
    }
}

TEST_CASE("a diagonal pivot that is not there is looked for elsewhere, and stays found") {
    std::mt19937 any(11);
    Random a(40, 4, any);
    a.set_diagonal(4);
    solve::StepMatrix lu(a.pattern);
    REQUIRE(a.factorise(lu));
    CHECK(lu.searches() == 0);
    CHECK(a.rest(lu) < 1e-15);
    const double determinant = a.full.determinant();
    for (int i = 0; i < 40; i += 2)
        a.set(i, i, 0);
    REQUIRE(std::fabs(a.full.determinant() / determinant) > 1e-30); // not singular by chance
    a.set(3, 3, 1e-9);
    REQUIRE(a.factorise(lu));
    CHECK(a.rest(lu) < 1e-13);
    const long searches = lu.searches();
    for (int again = 0; again < 5; ++again) { // the same kind of values: the pivots will do
        for (double& v : a.values)
            v *= 1.01;
        a.spread();
        REQUIRE(a.factorise(lu));
        CHECK(a.rest(lu) < 1e-13);
    }
    CHECK(lu.searches() == searches);
}

TEST_CASE("growth that a later pivot takes away again is growth") {
    // Condition 2. On the diagonal the first pivot of 3e-8 adds 3e7 to the others' entries, and the
    // second takes it away with the digits: 1.7e-8 would be left of b.
    std::mt19937 any(1);
    Random a(3, 40, any); // a full pattern
    const double rows[3][3] = {{3.3e-8, 3.2e-3, 1}, {3.2e-3, 1, 0.5}, {1, 0.5, 0.3}};
    for (int i = 0; i < 3; ++i)
        for (int j = 0; j < 3; ++j)
            a.set(i, j, rows[i][j]);
    solve::StepMatrix lu(a.pattern);
    REQUIRE(a.factorise(lu));
    CHECK(a.rest(lu) < 1e-14);
}

TEST_CASE("units of the states play no part: no pivots are looked for") {
    std::mt19937 any(17);
    Random a(30, 3, any);
    a.set_diagonal(5);
    for (int i = 0; i < 30; ++i)
        for (int k = a.pattern.row_start[i]; k < a.pattern.row_start[i + 1]; ++k) {
            const auto unit = [](int state) { return state % 3 == 0 ? 1e-9 : state % 3; };
            a.values[k] *= unit(i) / unit(a.pattern.column[k]);
        }
    a.spread();
    solve::StepMatrix lu(a.pattern);
    REQUIRE(a.factorise(lu));
    CHECK(lu.searches() == 0);
    CHECK(a.rest(lu) < 1e-14);
}

TEST_CASE("a column without a pivot is named as the matrix counts it") {
    std::mt19937 any(19);
    Random a(20, 3, any);
    a.set_diagonal(5);
    solve::StepMatrix lu(a.pattern);
    for (const int empty : {0, 7, 19}) {
        Random without = a;
        for (int i = 0; i < 20; ++i)
            without.set(i, empty, 0);
        CHECK_FALSE(without.factorise(lu));
        CHECK(lu.pivotless() == empty);
        REQUIRE(a.factorise(lu)); // of use again
        CHECK(a.rest(lu) < 1e-14);
    }
}

TEST_CASE("two rows that only swapped pivots solve") {
    // [0 1; 1 0] has no pivot on its diagonal and solves to the other's right side.
    solve::Pattern p;
    p.size = 2;
    p.row_start = {0, 2, 4};
    p.column = {0, 1, 0, 1};
    solve::StepMatrix lu(p);
    const double swap[] = {0, -1, -1, 0}, b[] = {3, 5};
    double x[2];
    REQUIRE(lu.factorise(0, swap));
    CHECK(lu.searches() == 1);
    lu.solve(b, x);
    CHECK(x[0] == 5);
    CHECK(x[1] == 3);
    const double singular[] = {1, 1, 1, 1};
    CHECK_FALSE(lu.factorise(0, singular));
}

TEST_CASE("fill in is no more than elimination in a good order needs") {
    // An arrow: one state that all others feel. Its own place first would fill the whole matrix;
    // last, it fills nothing: 3 n - 2 entries.
    solve::Pattern p;
    const int n = 50;
    p.size = n;
    p.row_start.push_back(0);
    for (int i = 0; i < n; ++i) {
        for (int j = 0; j < n; ++j)
            if (i == 0 || j == 0 || i == j) p.column.push_back(j);
        p.row_start.push_back(static_cast<int>(p.column.size()));
    }
    CHECK(solve::StepMatrix(p).most_entries() == 3 * n - 2);
}
