// ctest: physics,slow 400
// Bleeding by a job card: what each method gives, what mistakes cost, and that the answers add up.
#include "circuit/layout.hpp"
#include "scenario.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// Another card for a lesson: its keys anew, by lines of (wheel, field, value).
struct Line {
    const char* at;
    std::vector<std::pair<const char*, double>> keys;
};
constexpr double kGravity = 0, kPedal = 1, kPressure = 2, kVacuum = 3;

Scenario with_card(const std::string& lesson, const std::vector<Line>& lines,
                   const std::vector<std::string>& sets = {}) {
    Scenario s = load(lesson, sets);
    s.expectations.clear();
    std::erase_if(s.changes, [](const Change& c) { return c.origin == Origin::procedure; });
    s.bleeding.steps.clear();
    for (const Line& line : lines) {
        BleedStep step;
        step.at = line.at;
        step.bleeder = find_bleeder(s.hardware, line.at);
        step.how = Values(bleed_fields());
        for (const auto& [key, value] : line.keys)
            step.how.set(key, value);
        REQUIRE(refuse_step(s.hardware, step).empty());
        s.bleeding.steps.push_back(step);
    }
    s.duration = expand_bleeding(s) + 1.5;
    std::stable_sort(s.changes.begin(), s.changes.end(),
                     [](const Change& a, const Change& b) { return a.at < b.at; });
    return s;
}

double bore_area(const Played& run, const std::string& pipe) {
    return circle(run.field(pipe + ".outer_diameter") - 2 * run.field(pipe + ".wall_thickness"));
}
double half_pipe(const Played& run, const std::string& pipe) {
    return 0.5 * bore_area(run, pipe) * run.field(pipe + ".length");
}
double half_hose(const Played& run, const std::string& hose) {
    return 0.5 * circle(run.field(hose + ".bore")) * run.field(hose + ".length");
}
/// Free air in a circuit at the end [m3 at 1 atm].
double air_in(const Played& run, const std::string& circuit) {
    double sum = 0;
    for (const AirPlace& place : run.summary.bleeding.left)
        if (place.circuit == circuit) sum += place.air;
    return sum;
}

} // namespace

TEST_CASE("bleeding: the files' own expectations") {
    for (const char* file : {"bleeding_gravity", "bleeding_pedal", "bleeding_left_open",
                             "bleeding_vacuum", "bleeding_order", "bleeding_reservoir_dry"})
        check_own_expectations(play(load(file)));
}

TEST_CASE("bleeding: what the card says is what its accounts say") {
    for (const char* file : {"bleeding_left_open", "bleeding_vacuum", "bleeding_reservoir_dry"}) {
        CAPTURE(std::string(file));
        const Played run = play(load(file));
        const BleedingResult& b = run.summary.bleeding;
        REQUIRE(b.wheels.size() == run.scenario.bleeding.steps.size());
        double left = 0, places = 0;
        for (const BledWheel& w : b.wheels)
            left += w.fluid_out - w.fluid_back;
        CHECK(near(b.used, left, 1e-12, 0));
        double counted = 0, back = 0, air_back = 0, told_back = 0, told_air = 0;
        for (const char* screw : {"front_left_bleeder", "rear_left_bleeder"}) {
            const std::string name(screw);
            counted += run.trace.rows.back()[run.index(name + ".outside.fluid")];
            back += run.trace.rows.back()[run.index(name + ".fluid_back")];
            air_back += run.trace.rows.back()[run.index(name + ".air_back")];
        }
        for (const BledWheel& w : b.wheels)
            told_back += w.fluid_back, told_air += w.air_back;
        CHECK(near(b.used, counted, 1e-9, 0));
        CHECK(near(told_back, back, 1e-9, 0));
        CHECK(near(told_air, air_back, 1e-9, 0));
        for (const AirPlace& place : b.left)
            places += place.air;
        CHECK(near(places, run.summary.ledger.gas_chambers, 1e-11, 1e-9));
    }
}

TEST_CASE("bleeding by gravity: what is left of a pocket falls with exp(-Q/V)") {
    // An account of bubbles alone: with air in solution a few hundredths of a cubic centimetre come
    // out of it on the way, as the pressure falls along the line.
    const Played run = play(load("bleeding_gravity", {"fluid.solubility=0"}));
    const BledWheel& front = run.summary.bleeding.wheels.at(0);
    // Air counts at 1 atm; at the caliper's few kilopascals it is hardly less room.
    const double passed = front.fluid_out + front.air_out;
    const double room = run.field("front_left.dead_volume") + half_hose(run, "left_hose");
    const double before = run.at("front_left_bleeder.free_air", 0);
    const double fresh = run.field("fluid.free_air") * room;
    const double share = std::exp(-passed / room);
    CHECK(near(front.air_left, before * share + fresh * (1 - share), 0, 0.03));
    // And what is gone from the caliper is in the jar, give or take what the fluid brought.
    CHECK(near(front.air_out, before - front.air_left, run.field("fluid.free_air") * passed * 1.1,
               0.02));
}

TEST_CASE("bleeding by the pedal: volume per stroke and strokes needed for a pocket") {
    for (const char* pocket : {"1 cm3", "2 cm3", "3 cm3"}) {
        CAPTURE(std::string(pocket));
        const Played run =
            play(load("bleeding_pedal", {std::string("rear_left_bleeder.pocket=") + pocket}));
        const double area = master_area(run), stroke = run.field("master.secondary_stroke");
        const double most = area * stroke,
                     least = area * (stroke - run.field("master.port_travel"));
        const double room = run.field("rear_left.dead_volume") + half_pipe(run, "rear_left_pipe");
        // The piston of the open wheel stands out while the foot comes on: up to where the shoes
        // touch and a little into the lining, twice its area.
        const double wide = room + 2 * circle(run.field("rear_left.cylinder")) *
                                       (run.field("rear_left.clearance") + 0.5e-3);
        const double fresh = run.field("fluid.free_air") * wide;
        double before = run.at("rear_left_bleeder.free_air", 0);
        for (int n = 1; n <= 6; ++n) {
            CAPTURE(n);
            const double from = 1 + 3.9 * (n - 1), to = from + 3.9;
            const double fluid = run.at("rear_left_bleeder.outside.fluid", to) -
                                 run.at("rear_left_bleeder.outside.fluid", from);
            const double air = run.at("rear_left_bleeder.outside.air", to) -
                               run.at("rear_left_bleeder.outside.air", from);
            // A stroke gives what its piston has; the pocket's share of it, at a pressure between
            // that of the press and none, is not fluid.
            CHECK(fluid < most);
            CHECK(fluid + air > 0.97 * least);
            const double left = run.at("rear_left_bleeder.free_air", to);
            CHECK(left > before * std::exp(-(fluid + air) / room));
            CHECK(left < before * std::exp(-fluid / wide) + fresh);
            before = left;
        }
        CHECK(run.summary.bleeding.wheels.at(0).air_back == 0);
    }
}

TEST_CASE("bleeding with the screw left open: the pedal pays for the air that came in") {
    const Played bare = play(load("bleeding_left_open"));
    const BleedingResult& b = bare.summary.bleeding;
    // Air in the circuit grew by what came in less what left; the test press squeezes it.
    const BledWheel& w = b.wheels.at(0);
    CHECK(w.air_back > 0.1e-6);
    const double p = bare.at("front_left.pressure", bare.scenario.bleeding.test_after);
    const double squeezed = (w.air_back - w.air_out) * p / (p + kStandardPressure);
    CHECK(near(b.pedal_after - b.pedal_before,
               bare.field("pedal.ratio") / master_area(bare) * squeezed, 0, 0.15));

    const auto with = [](const char* key, double value) {
        const std::vector<std::pair<const char*, double>> keys = {
            {"method", kPedal}, {"strokes", 3}, {"force", 100}, {"rod", 1}, {key, value}};
        return play(with_card("bleeding_left_open", {{"front_left", keys}}));
    };
    const Played jar = with("left_open", 1);
    CHECK(jar.summary.bleeding.wheels.at(0).air_back == 0);
    CHECK(jar.summary.bleeding.wheels.at(0).fluid_back > 0.1e-6);
    CHECK(jar.summary.bleeding.pedal_after < jar.summary.bleeding.pedal_before + 0.5e-3);

    const Played in_time = with("hose", 0);
    CHECK(in_time.summary.bleeding.wheels.at(0).air_back < 0.02e-6);
    CHECK(in_time.summary.bleeding.pedal_after < in_time.summary.bleeding.pedal_before + 0.5e-3);
}

TEST_CASE("bleeding by vacuum: with cups that bear it no air comes in at the drum") {
    const Played run = play(
        load("bleeding_vacuum", {"rear_left.lip_bears=70 kPa", "rear_right.lip_bears=70 kPa"}));
    const double end = run.summary.bleeding.wheels.at(1).to - 0.3;
    // Pipes of 3.5 m and hose 2.44e10 Pa s/m3, residual valve, port, cup path and screw under
    // 60 + 4.7 kPa: 1.73 cm3/s, and 51 kPa below outside at the wheel.
    CHECK(near(run.at("rear_left_bleeder.flow", end), 1.726e-6, 0, 0.04));
    CHECK(near(run.at("rear_left.pressure", end), -51.4e3, 0, 0.04));
    CHECK(run.lowest("rear_left.outside.air") == 0);
    // Under 51 kPa below outside the fluid holds s dp/p0 less air. All of that cannot come out, the
    // part T/(T + release time) does in a stirred cylinder of 4.6 cm3 that keeps its fluid for T =
    // 2.7 s, and some has come before.
    const double time = 4.6e-6 / 1.726e-6, part = time / (time + run.field("fluid.release_time"));
    const double less = run.field("fluid.solubility") *
                        (run.at("rear_left.pressure", 0) - run.at("rear_left.pressure", end)) /
                        kStandardPressure;
    // The false air is told for as long as the pump holds, and is in no account.
    for (const BledWheel& w : run.summary.bleeding.wheels) {
        CHECK(near(w.false_air, 8 * 2.566e-6, 0, 0.02));
        CHECK(w.air_out < 0.1e-6 + less * w.fluid_out);
        CHECK(w.air_out > part * less * w.fluid_out);
        CHECK(w.air_back == 0);
    }
    const Played bubbles =
        play(load("bleeding_vacuum", {"rear_left.lip_bears=70 kPa", "rear_right.lip_bears=70 kPa",
                                      "fluid.solubility=0"}));
    for (const BledWheel& w : bubbles.summary.bleeding.wheels)
        CHECK(w.air_out < 0.1e-6);
}

namespace {

/// Mixed rooms in a row, from the cylinder to a screw: what is left of the air in each when
/// volumes have been drawn by the screws in turn.
struct Rooms {
    std::vector<double> common, common_air;
    std::map<std::string, double> room, air;

    void draw(const std::string& wheel, double volume) {
        constexpr int kSteps = 4000;
        for (int k = 0; k < kSteps; ++k) {
            double carried = 0; // clean fluid from the reservoir
            for (std::size_t i = 0; i < common.size(); ++i) {
                const double out = volume / kSteps * common_air[i] / common[i];
                common_air[i] += carried - out;
                carried = out;
            }
            air[wheel] += carried - volume / kSteps * air[wheel] / room[wheel];
        }
    }
};

} // namespace

TEST_CASE("bleeding order: it decides where air is left, hardly how much") {
    const std::vector<std::pair<const char*, double>> keys = {{"method", kPressure}, {"time", 9}};
    double left[2] = {}, used[2] = {};
    for (const bool far_first : {true, false}) {
        CAPTURE(far_first);
        const char* first = far_first ? "rear_right" : "rear_left";
        const char* second = far_first ? "rear_left" : "rear_right";
        const Played run = play(with_card("bleeding_order", {{first, keys}, {second, keys}}));
        const double share = run.field("fluid.free_air");
        Rooms rooms;
        const double rest = run.field("master.dead_volume") +
                            master_area(run) * run.field("master.secondary_stroke");
        rooms.common = {rest + 0.1e-6, 0.1e-6 + half_pipe(run, "rear_pipe"),
                        half_pipe(run, "rear_pipe") + half_hose(run, "rear_hose"),
                        half_hose(run, "rear_hose") + half_pipe(run, "rear_left_pipe") +
                            half_pipe(run, "rear_right_pipe")};
        for (const double room : rooms.common)
            rooms.common_air.push_back(share * room);
        for (const std::string wheel : {"rear_left", "rear_right"}) {
            rooms.room[wheel] = run.field(wheel + ".dead_volume") + half_pipe(run, wheel + "_pipe");
            rooms.air[wheel] = share * rooms.room[wheel];
        }
        const BleedingResult& b = run.summary.bleeding;
        for (const BledWheel& w : b.wheels)
            rooms.draw(w.at, w.fluid_out + w.air_out);
        CHECK(near(b.wheels[0].air_left, rooms.air[first], 0, 0.12));
        CHECK(near(b.wheels[1].air_left, rooms.air[second], 0, 0.12));
        CHECK(b.wheels[0].air_left > 1.2 * b.wheels[1].air_left);
        left[far_first] = air_in(run, "secondary");
        used[far_first] = b.used;
    }
    CHECK(near(left[0], left[1], 0, 0.10));
    CHECK(near(used[0], used[1], 0, 0.02));
}

TEST_CASE("bleeding: a reservoir run dry halfway costs strokes") {
    const std::pair<const char*, double> pedal{"method", kPedal};
    const auto card = [&](double first, double top, double second) {
        return play(with_card("bleeding_reservoir_dry",
                              {{"rear_left", {pedal, {"strokes", first}}},
                               {"rear_left", {pedal, {"strokes", second}, {"top_up", top}}}},
                              {"master.reservoir_volume=22 cm3"}));
    };
    const Played dry = card(8, 360e-6, 30);
    const BleedingResult& b = dry.summary.bleeding;
    CHECK(b.wheels[0].ran_dry);
    CHECK_FALSE(b.wheels[1].ran_dry);
    // What was poured in has left the bottle, half into each reservoir.
    CHECK(near(dry.lowest("tank.outside.fluid"), -360e-6, 1e-12, 0));
    CHECK(near(b.wheels[1].levels.at(0).value - b.wheels[0].levels.at(0).value, 180e-6, 0.5e-6, 0));
    // Eight strokes less the fluid that there was are air: at most all of it.
    const double stroke = master_area(dry) * dry.field("master.secondary_stroke");
    const double drawn = -dry.lowest("master.secondary_reservoir.air");
    CHECK(drawn < 8 * stroke - dry.field("master.reservoir_volume") + 2e-6);
    CHECK(drawn > 0.5e-6);
    const auto secondary = [&](double t) {
        double sum = 0;
        for (const AirPlace& place : b.left)
            if (place.circuit == "secondary") sum += dry.at(place.name + ".free_air", t);
        return sum;
    };
    CHECK(near(air_in(dry, "secondary"),
               secondary(0) + drawn - b.wheels[0].air_out - b.wheels[1].air_out, 0.3e-6, 0));

    // The same 16 strokes with the reservoir topped up in time leave next to nothing. Run dry, 16
    // strokes after the topping up have not come to that yet, 30 have.
    const Played in_time = card(3, 120e-6, 13);
    CHECK_FALSE(in_time.summary.bleeding.wheels[0].ran_dry);
    CHECK(in_time.lowest("master.secondary_reservoir.air") > -0.01e-6);
    CHECK(air_in(in_time, "secondary") < 0.3e-6);
    const auto after = [&](int strokes) { return secondary(b.wheels[1].from + 3.9 * strokes); };
    CHECK(after(8) > 10 * air_in(in_time, "secondary"));
    CHECK(after(16) > air_in(in_time, "secondary"));
    CHECK(after(30) < 0.3e-6);
}

TEST_CASE("bleeding by a tank: the front waits for a hand on the rod, by the card") {
    const auto front = [](double rod) {
        return play(with_card(
                        "bleeding_gravity",
                        {{"front_left",
                          {{"method", kPressure}, {"pressure", 207e3}, {"time", 5}, {"rod", rod}}}},
                        {"front_left_bleeder.pocket=0 cm3"}))
            .summary.bleeding.wheels.at(0);
    };
    CHECK(front(0).fluid_out + front(0).air_out < 1e-6);
    // 8.3 cm3/s of mixture by the resistances with the check open.
    const BledWheel held = front(1);
    CHECK(near(held.fluid_out + held.air_out, 5 * 8.315e-6, 0, 0.06));
}
