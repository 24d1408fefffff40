// Published and computed figures of brakes: a drum's shoes, the pressure ripple of an uneven disc.
#include <cmath>

#include "parts/samples.hpp"
#include "unit/compare.hpp"
#include "wheel/shoes.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {
constexpr double kDegree = M_PI / 180;
} // namespace

TEST_CASE("two pivoted shoes (textbook, Shigley example 16-2; from memory): 366 + 162 N m") {
    // 300 mm drum, lining 32 mm wide from 0 to 126 degrees, friction 0.32, anchors at (112, 50) mm
    // and so 122.7 mm from the centre, tip arm 212 mm; the leading shoe bears 1000 kPa at most.
    const double r = 0.15, width = 0.032, most = 1e6, arm = 0.212;
    const Shoes shoes(Shoes::leading_trailing, r, std::hypot(0.112, 0.050), arm, 0, 126 * kDegree);
    // The lining passes 90 degrees, so that the greatest pressure is p_a itself.
    const double tip = most * width * r * (shoes.pressure - 0.32 * shoes.friction) / arm;
    CHECK(near(tip, 2280, 0, 0.01));
    CHECK(near(tip * r * shoes.one(0.32, 1), 366, 0, 0.01));
    CHECK(near(tip * r * shoes.one(0.32, -1), 162, 0, 0.01));
    CHECK(near(tip * r * shoes.both(0.32), 528, 0, 0.01));
}

TEST_CASE("a drum's shoes: two leading, duo-servo, and where they lock") {
    const double r = 0.1, a = 0.08, c = 0.16;
    const auto made = [&](Shoes::Kind kind) {
        return Shoes(kind, r, a, c, 25 * kDegree, 130 * kDegree);
    };
    const Shoes pair = made(Shoes::leading_trailing);
    // The integrals by the mid-point rule.
    double pressure = 0, friction = 0;
    const int n = 20000;
    const double from = 25 * kDegree, step = 105 * kDegree / n;
    for (int i = 0; i < n; ++i) {
        const double t = from + (i + 0.5) * step;
        pressure += a * std::sin(t) * std::sin(t) * step;
        friction += std::sin(t) * (r - a * std::cos(t)) * step;
    }
    CHECK(near(pair.pressure, pressure, 0, 1e-7));
    CHECK(near(pair.friction, friction, 0, 1e-7));
    for (const double mu : {0.1, 0.3, 0.4}) {
        const double lead = pair.one(mu, 1), trail = pair.one(mu, -1);
        CHECK(lead > trail);
        CHECK(near(made(Shoes::two_leading).both(mu), 2 * lead, 0, 1e-14));
        // The primary shoe leans on the secondary: (c - a) from the cylinder and the drum's pull.
        const double lean = ((c - a) + lead * r) / a;
        CHECK(near(made(Shoes::duo_servo).both(mu), lead + lead * lean, 0, 1e-14));
    }
    // Slight friction helps no shoe: all alike, mu D c/B each.
    CHECK(near(pair.one(1e-6, 1), pair.one(1e-6, -1), 0, 1e-5));
    CHECK_FALSE(pair.locks(0.99 * pressure / friction));
    CHECK(pair.locks(1.01 * pressure / friction));
    const Specimen locked(
        *find_kind("drum_brake"),
        {{"cylinder", 0.02}, {"shoes", 1}, {"friction", 1.01 * pressure / friction}});
    REQUIRE(locked.refused.size() == 1);
    CHECK(locked.refused[0].field == "friction");
    const Specimen idle(*find_kind("drum_brake"), {{"cylinder", 0.02}, {"friction", 0.3}});
    REQUIRE(idle.refused.size() == 1);
    CHECK(idle.refused[0].field == "friction");
}

TEST_CASE("fade takes more from shoes that help themselves than from a stated factor") {
    // At the lining temperature where half of fade_loss is gone: friction 0.8 of the cold one.
    const auto torque = [](double kind, double T) {
        std::vector<std::pair<std::string, double>> set = {{"cylinder", 0.02}, {"shoes", kind}};
        const Specimen drum(*find_kind("drum_brake"), set);
        REQUIRE(drum.refused.empty());
        std::vector<double> local(static_cast<std::size_t>(drum.kind.locals()), 0.0);
        local[0] = 1e-3 + 11e-6 * drum.values["drum_radius"] * (T - kReferenceTemperature);
        local[static_cast<std::size_t>(drum.states())] = 10; // rad/s
        local[static_cast<std::size_t>(drum.states()) + 1] = T;
        const std::vector<char> mode(static_cast<std::size_t>(drum.guards()) + 1, 0);
        return -drum.rates(local, mode, false)[static_cast<std::size_t>(drum.states())];
    };
    const double hot = 623.15 + 100;
    CHECK(near(torque(0, hot) / torque(0, 293.15), 0.8, 0, 1e-9));
    const Shoes duo(Shoes::duo_servo, 0.1, 0.08, 0.16, 25 * kDegree, 130 * kDegree);
    const double wanted = duo.both(0.8 * 0.35) / duo.both(0.35);
    CHECK(wanted < 0.7); // by hand: 3.4 of 5.5
    CHECK(near(torque(3, hot) / torque(3, 293.15), wanted, 0, 1e-9));
}

TEST_CASE("thickness variation (computed): 57 mm, 0.15 and 0.25 cm3/MPa give 0.064 bar per um") {
    // Pads of one stiffness k, so that the caliper takes 2 A^2/k per pressure; a volume of
    // 0.25 cm3/MPa beside it; master piston and all else held. The soft seal hardly counts.
    const double area = 0.25 * M_PI * 57e-3 * 57e-3, caliper = 0.15e-12, rest = 0.25e-12;
    const double variation = 1e-6, k = 2 * area * area / caliper;
    Specimen part(*find_kind("disc_caliper"), {{"piston", 57e-3},
                                               {"pad_take_up", 0},
                                               {"pad_final", k},
                                               {"seal_stiffness", 1e5},
                                               {"seal_grip", 10},
                                               {"seal_grip_rise", 0},
                                               {"pin_friction", 0},
                                               {"pad_creep", 0}, // the closed form is elastic
                                               {"thickness_variation", variation}});
    REQUIRE(part.refused.empty());
    std::vector<double> local(static_cast<std::size_t>(part.kind.locals()), 0.0);
    const std::size_t angle = static_cast<std::size_t>(part.states()) + 2,
                      p = static_cast<std::size_t>(part.port_at(0));
    local[angle - 1] = local[p + 3] = kReferenceTemperature;
    const std::vector<char> mode(static_cast<std::size_t>(part.guards()) + 1, 0);
    local[p] = 2e6;
    // Settles at an angle: first at a held pressure, then with a closed volume.
    const auto settle = [&](double turned, double stiffness) {
        local[angle] = turned;
        for (int i = 0; i < 40000; ++i) {
            const std::vector<double> rate = part.rates(local, mode, false);
            for (std::size_t s = 0; s < static_cast<std::size_t>(part.states()); ++s)
                local[s] += 5e-6 * rate[s];
            local[p] -= 5e-6 * stiffness * area * rate[0];
        }
        return local[p];
    };
    settle(0, 0);
    const double thick = settle(0, 1 / rest), thin = settle(M_PI, 1 / rest);
    // t goes from half the variation above to half below: the variation itself, shared by two pads.
    const double wanted = area * variation / (caliper + rest);
    CHECK(near(wanted, 0.064e5, 0, 0.01));
    CHECK(near(thick - thin, wanted, 0, 0.02));
}
