// Which events the stepper finds, when, and what it costs.
#include "compare.hpp"
#include "solve/march.hpp"
#include "solve_problems.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

const double pi = std::acos(-1.0);

struct Seen {
    std::vector<double> t;
    std::vector<std::vector<int>> guards;

    void listen(solve::Stepper& stepper) {
        stepper.on_event = [this](const solve::Event& e) {
            t.push_back(e.t);
            guards.emplace_back(e.guards.begin(), e.guards.end());
        };
    }
};

} // namespace

TEST_CASE("events are found at their time, on the far side") {
    TwoSprings problem;
    problem.absolute = 1e-9;
    solve::Stepper stepper(problem);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{-1, 0};
    solve::march(problem, y, 0, 10, stepper);
    // Period pi + pi/2: passages at pi/2, pi, 2 pi, 2.5 pi. Bracket 1 us, error of the run 1e-7.
    REQUIRE(seen.t.size() == 4);
    const double wanted[] = {pi / 2, pi, 2 * pi, 2.5 * pi};
    for (int i = 0; i < 4; ++i)
        CHECK(near(seen.t[i], wanted[i], 1.2e-6, 0));
    CHECK(stepper.counters().events == 4);
    CHECK(stepper.counters().flips == 4);
    // Two looks a step, and per event at most 8 more.
    const auto& c = stepper.counters();
    MESSAGE("guard looks beyond two a step, per event: " << (c.guard_calls - 2.0 * c.steps) / 4);
    CHECK(c.guard_calls <= 2 * c.steps + 4 * 8);
    CHECK(near(y[0], -std::sin(10 - 2.5 * pi), 1e-6, 0)); // below since 2.5 pi, until 3.5 pi
}

TEST_CASE("a guard already past at the start is flipped before the first step") {
    TwoSprings problem; // mode "below", but the mass is above
    solve::Stepper stepper(problem);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{0.5, 0};
    solve::march(problem, y, 0, 0.5, stepper);
    CHECK(seen.t == std::vector<double>{0});
    CHECK(problem.above);
    CHECK(near(y[0], 0.5 * std::cos(1.0), 1e-7, 0)); // stiffness 4: angular speed 2
}

TEST_CASE("touching zero is not passing") {
    // A mass that starts on the seat of its guard and leaves downwards: no event until it is back,
    // half a period later.
    TwoSprings problem;
    solve::Stepper stepper(problem);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{0, -1};
    solve::march(problem, y, 0, 4, stepper);
    REQUIRE(seen.t.size() == 1);
    CHECK(near(seen.t[0], pi, 1.2e-6, 0));
}

TEST_CASE("inner points find a guard that is past only in the middle of a step") {
    // y = t; the guard is past for 0.45 < t < 0.55 only, a step of 1 sees it in the middle only.
    struct Brief : TwoSprings {
        Brief() {
            f = [](double, const double*, double* out) { out[0] = 1, out[1] = 0; };
            df = [](double, const double*, double* j, double* ft) {
                std::fill(j, j + 4, 0.0);
                ft[0] = ft[1] = 0;
            };
            fixed_step = true;
        }
        void guard_excess(double, const double* y, double* past) override {
            past[0] = above ? -1 : 0.0025 - (y[0] - 0.5) * (y[0] - 0.5);
        }
        std::vector<int> flip(double, const double*) override {
            above = true;
            return {0};
        }
    };
    for (int inner : {0, 1}) {
        Brief problem;
        solve::Options options;
        options.inner_points = inner;
        options.max_step = 1;
        solve::Stepper stepper(problem, options);
        std::vector<double> y{0, 0};
        double t = 0, dt = 1;
        REQUIRE(stepper.attempt(problem, y, t, dt));
        CHECK(problem.above == (inner == 1));
        CHECK(near(t, inner == 1 ? 0.45 : 1.0, 1e-6, 0));
        CHECK(near(y[0], t, 1e-14, 0));
        // Dense output holds up to the cut, and no farther.
        std::vector<double> at(2);
        stepper.interpolate(t / 2, at.data());
        CHECK(near(at[0], t / 2, 1e-14, 0));
        if (inner == 1) CHECK_THROWS_AS(stepper.interpolate(0.5, at.data()), std::out_of_range);
    }
}

TEST_CASE("guards that pass together flip together, the earliest first otherwise") {
    // y = t; guards at 0.3, 0.3 and 0.6 in units 1e9 apart; one step covers all.
    struct Three : Made {
        bool gone[3] = {false, false, false};
        Three()
            : Made(
                  1, [](double, const double*, double* out) { out[0] = 1; },
                  [](double, const double*, double* j, double* ft) { j[0] = ft[0] = 0; }) {
            fixed_step = true;
        }
        int guards() const override { return 3; }
        double excess(int k, double y) const {
            const double at[] = {0.3, 0.3, 0.6}, unit[] = {1e-9, 1.0, 1e6};
            return gone[k] ? -unit[k] : unit[k] * (y - at[k]);
        }
        void guard_excess(double, const double* y, double* past) override {
            for (int k = 0; k < 3; ++k)
                past[k] = excess(k, y[0]);
        }
        std::vector<int> flip(double, const double* y) override {
            std::vector<int> flipped;
            for (int k = 0; k < 3; ++k)
                if (excess(k, y[0]) > 0) flipped.push_back(k);
            for (int k : flipped)
                gone[k] = true;
            return flipped;
        }
    };
    Three problem;
    solve::Options options;
    options.max_step = 1;
    solve::Stepper stepper(problem, options);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{0};
    solve::march(problem, y, 0, 1, stepper);
    REQUIRE(seen.t.size() == 2);
    CHECK(seen.guards[0] == std::vector<int>{0, 1});
    CHECK(seen.guards[1] == std::vector<int>{2});
    CHECK(near(seen.t[0], 0.3, 1e-6, 0));
    CHECK(near(seen.t[1], 0.6, 1e-6, 0));
    CHECK(near(y[0], 1, 1e-14, 0));
}

TEST_CASE("a guard that is not a number ends the run; minus infinity only waits") {
    struct Odd : TwoSprings {
        double idle = 0;
        void guard_excess(double, const double* y, double* past) override {
            past[0] = y[0] < -0.5 ? idle : (above ? -y[0] : y[0]);
        }
    };
    Odd problem;
    problem.idle = -std::numeric_limits<double>::infinity();
    solve::Stepper stepper(problem);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{-1, 0};
    solve::march(problem, y, 0, 3, stepper);
    REQUIRE(seen.t.size() == 1);
    CHECK(near(seen.t[0], pi / 2, 1.2e-6, 0));

    Odd bad;
    bad.idle = std::nan("");
    y = {-1, 0};
    CHECK_THROWS_WITH_AS(solve::march(bad, y, 0, 3, stepper),
                         "a guard is not finite at t = 0 s, step 0 s: spring seat", solve::Failure);
}

TEST_CASE("an event of a state that follows its input at once") {
    // y = sin t by y' = L (y - sin t) + cos t, L = -1e6, guard at y = 1/2: t = pi/6. The tolerance
    // of 1e-6 in y is 1.2e-6 in t (slope cos(pi/6)), plus the bracket of 1e-6.
    struct Follower : Made {
        bool gone = false;
        Follower() : Made(prothero_robinson(-1e6)) { absolute = 1e-6; }
        int guards() const override { return 1; }
        void guard_excess(double, const double* y, double* past) override {
            past[0] = gone ? -1.0 : y[0] - 0.5;
        }
        std::vector<int> flip(double, const double*) override {
            gone = true;
            return {0};
        }
    };
    Follower problem;
    solve::Stepper stepper(problem);
    Seen seen;
    seen.listen(stepper);
    std::vector<double> y{0};
    solve::march(problem, y, 0, 10, stepper);
    REQUIRE(seen.t.size() == 1);
    CHECK(near(seen.t[0], pi / 6, 2.2e-6, 0));
}

TEST_CASE("the same model with and without location agrees") {
    // Without guards the law itself asks for the sign of y: the error test shortens the steps at
    // the kinks. Both runs hold 1e-9 a step; 1e-6 at the end.
    struct Plain : TwoSprings {
        int guards() const override { return 0; }
        Plain() {
            f = [](double, const double* y, double* out) {
                out[0] = y[1];
                out[1] = y[0] > 0 ? -4 * y[0] : -y[0];
            };
            df = [](double, const double* y, double* j, double* ft) {
                j[0] = j[3] = ft[0] = ft[1] = 0;
                j[1] = 1;
                j[2] = y[0] > 0 ? -4 : -1;
            };
        }
    };
    Plain plain;
    TwoSprings located;
    solve::Stepper a(plain), b(located);
    std::vector<double> y{-1, 0}, z{-1, 0};
    solve::march(plain, y, 0, 10, a);
    solve::march(located, z, 0, 10, b);
    MESSAGE("steps and refusals: " << a.counters().steps << ", " << a.counters().rejected
                                   << " continuous; " << b.counters().steps << ", "
                                   << b.counters().rejected << " located");
    CHECK(a.counters().guard_calls == 0);
    CHECK(near(y[0], z[0], 1e-6, 0));
    CHECK(near(y[1], z[1], 1e-6, 0));
}
