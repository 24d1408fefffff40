// Cars of any layout, built and run through the library alone.
#include <doctest/doctest.h>

#include "circuit/model.hpp"
#include "parts/registry.hpp"
#include "record/record.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

using Fields = std::vector<std::pair<const char*, double>>;

void add(Hardware& car, const std::string& name, const char* kind, const Fields& given = {}) {
    PartSpec spec;
    spec.name = name;
    spec.kind = find_kind(kind);
    REQUIRE(spec.kind != nullptr);
    spec.values = Values(spec.kind->fields);
    for (const auto& [field, value] : given)
        spec.values.set(field, value);
    car.parts.push_back(spec);
}

Hardware bare(const Fields& master = {}) {
    Hardware car;
    car.fluid = Values(fluid_fields());
    car.surroundings = Values(surroundings_fields());
    Fields fields = {{"bore", 20.6e-3}};
    fields.insert(fields.end(), master.begin(), master.end());
    add(car, "pedal", "pedal", {{"ratio", 5}});
    add(car, "master", "tandem_master", fields);
    return car;
}

void add_wheel(Hardware& car, const std::string& name, bool disc) {
    add(car, name + "_pipe", "line", {{"length", 1.5}});
    add(car, name, disc ? "disc_caliper" : "drum_brake",
        {{disc ? "piston" : "cylinder", disc ? 48e-3 : 17.5e-3}});
}

Run wheel(const std::string& name) {
    return {{name + "_pipe", name}, {}};
}

/// Each circuit serves one front and the opposite rear wheel; or all four wheels have discs.
Hardware diagonal(bool all_disc) {
    Hardware car = bare();
    for (const char* name : {"fl", "fr"})
        add_wheel(car, name, true);
    for (const char* name : {"rl", "rr"})
        add_wheel(car, name, all_disc);
    car.circuits = {{"primary", {{}, {wheel("fl"), wheel("rr")}}},
                    {"secondary", {{}, {wheel("fr"), wheel("rl")}}}};
    return car;
}

struct Ran {
    Summary summary;
    Trace trace;
};

Ran run(const Hardware& car, std::vector<std::pair<double, double>> points, double duration) {
    Scenario s;
    s.hardware = car;
    for (const auto& [t, f] : points)
        s.foot.time.push_back(t), s.foot.value.push_back(f);
    s.duration = duration;
    Ran r;
    r.summary = simulate(s, r.trace);
    REQUIRE_MESSAGE(r.summary.complete, r.summary.error);
    CHECK(r.summary.ledger.relative_error <= 1e-11);
    CHECK(r.summary.ledger.gas_relative_error <= 1e-11);
    return r;
}

const std::vector<std::pair<double, double>> kStop = {{0, 0}, {1.5, 250}, {2.5, 250}, {3.5, 0}};

} // namespace

TEST_CASE("diagonal split and all-disc cars stop and let go") {
    for (const bool all_disc : {false, true}) {
        CAPTURE(all_disc);
        const Ran r = run(diagonal(all_disc), kStop, 5);
        const double p1 = r.summary.of("master.primary.pressure").held;
        CHECK(p1 > 2e6);
        for (const char* name : {"fl", "fr", "rl", "rr"}) {
            const std::string n = name;
            CHECK(near(r.summary.of(n + ".pressure").held, p1, 0.12e6,
                       0)); // springs and friction: (S1-S2-f2)/A
            CHECK(r.summary.of(n + ".torque").held > 50);
            CHECK(r.summary.of(n + ".torque").residual < 4);
            // Without a residual valve the wheels rest at the reservoir's head: 0.45 m of fluid
            // is 4.7 kPa.
            CHECK(near(r.summary.of(n + ".pressure").residual, 1060 * 9.80665 * 0.45, 1.5e3, 0));
        }
    }
}

TEST_CASE("at rest every pressure is the weight of the fluid above it") {
    const Ran r = run(diagonal(true), {{0, 0}, {1, 0}}, 1);
    const double rho_g = 1060 * 9.80665;
    CHECK(near(r.summary.of("fl.pressure").settled, rho_g * (0.85 - 0.40), 30, 0));
    CHECK(near(r.summary.of("master.primary.pressure").settled, rho_g * (0.85 - 0.75), 30, 0));
}

TEST_CASE("an uncaged cylinder closes its ports one after the other: twice the port travel before "
          "pressure") {
    // Caged: x1 = x_p + (V1 + V2)/A. Uncaged: the primary shuts its port first, then the secondary:
    // 2 x_p.
    const auto first_stroke = [](bool caged) {
        Hardware car = diagonal(true);
        car.fluid.set("free_air", 0); // bubbles would take their share of the stroke
        for (PartSpec& p : car.parts)
            if (p.name == "master") {
                p.values.set("caged", caged);
                p.values.set("primary_spring", caged ? 150 : 70);
                p.values.set("secondary_spring", caged ? 80 : 100);
            }
        const Ran r = run(car, {{0, 0}, {240, 60}, {245, 60}}, 245);
        const double pressed = r.summary.of("master.primary.pressure").held;
        REQUIRE(pressed > 50e3);
        // What the two circuits have taken is what the chambers gave: the rest of x1 went over the
        // ports.
        const double x1 = r.summary.of("master.primary_travel").held;
        const double area = 0.25 * M_PI * 20.6e-3 * 20.6e-3;
        double taken = 0;
        for (const char* n : {"fl", "fr", "rl", "rr"})
            taken += 0.25 * M_PI * 48e-3 * 48e-3 *
                     (r.summary.of(std::string(n) + ".piston_travel").held -
                      r.summary.of(std::string(n) + ".piston_travel").settled);
        return x1 - taken / area;
    };
    // So slowly that the port lets go all that the piston displaces until the lip has covered
    // nearly all of it; the last tenth of a millimetre passes next to nothing, in either cylinder.
    const double one = first_stroke(true);
    MESSAGE("caged " << one * 1e3 << " mm, not caged " << first_stroke(false) * 1e3 << " mm");
    CHECK(near(one, 1.1e-3, 0.3e-3, 0));
    CHECK(near(first_stroke(false), 2 * one, 0, 0.08));
}

TEST_CASE("a pipe in segments comes to the same rest and the same hold as one piece") {
    Hardware whole = diagonal(true), cut = diagonal(true);
    for (PartSpec& p : cut.parts)
        if (p.name == "fl_pipe") p.values.set("segments", 6);
    const Ran a = run(whole, kStop, 5), b = run(cut, kStop, 5);
    CHECK(near(a.summary.of("fl.pressure").held, b.summary.of("fl.pressure").held, 1e3, 0));
    CHECK(near(a.summary.of("pedal.travel").held, b.summary.of("pedal.travel").held, 0.02e-3, 0));
    CHECK(b.summary.solver.states ==
          a.summary.solver.states + 5 * (2 + 4)); // a column and a node each
}

TEST_CASE("hardware that cannot be built is refused by name") {
    Hardware twice = diagonal(true);
    twice.circuits[1].run.branches.push_back(wheel("fl"));
    CHECK_THROWS_AS(make_layout(twice), InvalidHardware);
    Hardware nowhere = diagonal(true);
    nowhere.circuits[0].outlet = "tertiary";
    CHECK_THROWS_WITH(make_layout(nowhere),
                      doctest::Contains("circuits.tertiary: no part has an outlet of that name"));
    Hardware loose = diagonal(true);
    add(loose, "spare", "bleeder");
    CHECK_THROWS_WITH(make_layout(loose),
                      doctest::Contains("spare: its line is joined to nothing"));
}
