// Who locks first in a hard stop, with and without a proportioning valve, by the ideal
// distribution.
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// The van squeezes its pedal until wheels lock, on a road of some adhesion. Air and rolling
/// resistance, which shift load and ask nothing of a tyre's brake, are left out.
Played squeezed(double adhesion, bool valve) {
    Scenario s =
        load(valve ? "hard_stop_rear_valve" : "hard_stop_no_rear_valve",
             {"car.adhesion=" + std::to_string(adhesion), "car.drag_area=0 m2", "car.rolling=0"});
    s.expectations.clear();
    // Slowly, so that brakes follow their laws, and fast enough to be still well under way.
    s.foot = force({{0, 0}, {0.2, 0}, {1.2, 180}, {13.2, 560}});
    s.duration = 11;
    for (PartSpec& part : s.hardware.parts)
        if (part.name == "car") part.values.set("start_speed", 55);
    std::erase_if(s.changes, [](const Change& c) { return c.field == "start_speed"; });
    return play(s);
}

/// Deceleration over g at which both axles use the road alike, by the brakes' laws: discs with 2 mu
/// r (p A less what the seal holds), drums with C r A (p less what pushes the shoes out and the
/// cups hold), the hold-off valve's outlet at (p A1 - F)/A2 until it is full, the other's at knee +
/// slope (p - knee); no knee: without. The rear's share of all brake force is then its share of the
/// load, 1 - f - z h/L.
struct Ideal {
    const Played& run;
    bool valve;

    struct Axles {
        double front, rear; // torque, N m
    };
    Axles torques(double p) const {
        const auto f = [&](const char* name) { return run.field(name); };
        const double a1 = circle(f("hold_off.plate_diameter")), a2 = f("hold_off.outlet_area");
        const double out = std::min(p, std::max(0.0, (p * a1 - f("hold_off.plate_spring")) / a2));
        const double disc = circle(f("front_left.piston")) - f("front_left.seal_grip_rise");
        const double front = 2 * f("front_left.friction") * f("front_left.radius") *
                             std::max(0.0, out * disc - f("front_left.seal_grip"));
        const double knee = f("rear_valve.knee"), slope = f("rear_valve.slope");
        const double behind = valve && p > knee ? knee + slope * (p - knee) : p;
        const double drum = circle(f("rear_left.cylinder"));
        const double springs =
            f("rear_left.push_out") * drum + f("rear_left.spring_rate") * f("rear_left.clearance");
        const double rear =
            f("rear_left.shoe_factor") * f("rear_left.drum_radius") *
            std::max(0.0, behind * drum * (1 - f("rear_left.cup_friction_rise")) - springs);
        return {2 * front, 2 * rear};
    }
    /// z; the wheels have to be slowed with the car, each by I a/r of its brake's torque.
    double braking(double p) const {
        const Axles t = torques(p);
        const double r = run.field("car.tyre_radius"), wheels = 4 * run.field("car.wheel_inertia");
        return (t.front + t.rear) / (r * (run.field("car.mass") + wheels / (r * r)) * 9.80665);
    }
    /// Rear's share of the force less its share of the load: above zero the rear locks first.
    double surplus(double p) const {
        const Axles t = torques(p);
        const double slowed = 2 * run.field("car.wheel_inertia") * braking(p) * 9.80665 /
                              run.field("car.tyre_radius");
        return (t.rear - slowed) / (t.front + t.rear - 2 * slowed) -
               (1 - run.field("car.front_share") -
                braking(p) * run.field("car.centre_height") / run.field("car.wheelbase"));
    }
    double critical() const {
        double low = 1.5e6, high = 9e6;
        REQUIRE(surplus(low) < 0);
        REQUIRE(surplus(high) > 0);
        for (int i = 0; i < 50; ++i) {
            const double middle = 0.5 * (low + high);
            (surplus(middle) > 0 ? high : low) = middle;
        }
        return braking(low);
    }
};

const char* const kFront = "front left wheel locks";
const char* const kRear = "rear left wheel locks";

bool rear_first(const Played& run) {
    const double front = run.when(kFront), rear = run.when(kRear);
    REQUIRE((front == front || rear == rear));
    return !(front == front) || rear < front;
}

} // namespace

TEST_CASE("a hard stop: the rear locks first without the valve, the front with it") {
    for (const char* lesson : {"hard_stop_rear_valve", "hard_stop_no_rear_valve"})
        check_own_expectations(play(load(lesson)));
}

TEST_CASE(
    "lock order turns over where the rear's share of the force passes its share of the load") {
    const Played without = squeezed(1.3, false), with = squeezed(1.3, true);
    const double z = Ideal{without, false}.critical(), far = Ideal{with, true}.critical();
    MESSAGE("by the laws: without the valve at " << z << " g, with it at " << far << " g");
    CHECK(z > 0.4);
    CHECK(z < 0.6);
    // UN R13: the front curve above the rear's from 0.15 to 0.8.
    CHECK(far > 0.8);
    // On a road that holds all that is asked both axles use it alike at that deceleration.
    const std::vector<double> front = without.of("car.front_adhesion"),
                              rear = without.of("car.rear_adhesion"),
                              slows = without.of("car.deceleration");
    std::size_t i = 0;
    while (i < slows.size() && (without.trace.time[i] < 2 || rear[i] < front[i]))
        ++i;
    REQUIRE(i < slows.size());
    CHECK(near(slows[i] / 9.80665, z, 0.02, 0));
}

TEST_CASE("lock order on roads below and above that deceleration") {
    const Played sample = squeezed(1.3, false);
    const double z = Ideal{sample, false}.critical();
    CHECK_FALSE(rear_first(squeezed(z - 0.08, false)));
    CHECK(rear_first(squeezed(z + 0.08, false)));
    for (const double road : {z - 0.08, z + 0.08, 0.75})
        CHECK_FALSE(rear_first(squeezed(road, true)));
}
