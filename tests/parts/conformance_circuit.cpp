// The assembled circuit, on the demo car with every kind of part in it: exact sparse Jacobian,
// exact df/dt, and answers that do not depend on the order in which parts are written.
#include <map>

#include "circuit/model.hpp"
#include "differences.hpp"
#include "places.hpp"
#include "runner/reader.hpp"
#include "samples.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr double kEps = std::numeric_limits<double>::epsilon();

using Vector = std::vector<double>;
using Modes = std::vector<char>;

PartSpec made(const std::string& name, const char* kind,
              const std::vector<std::pair<const char*, double>>& set = {}) {
    PartSpec spec{name, find_kind(kind), Values(find_kind(kind)->fields)};
    for (const auto& [field, value] : set)
        spec.values.set(field, value);
    return spec;
}

/// The demo car with a booster, pressure in its tank, a proportioning valve that feels the front, a
/// leak, an air pocket, an open bleeder, a flap and a pipe in pieces; with either kind of cylinder.
constexpr const char* kCylinders[] = {"tandem_master", "take_up_master"};

Hardware demo(const char* cylinder = kCylinders[0]) {
    runner::Findings findings;
    const auto loaded =
        runner::read_scenario(source_folder() + "/scenarios/hardware/marten.yaml", {}, findings);
    REQUIRE(loaded);
    Hardware car = loaded->scenario.hardware;
    car.parts.push_back(made("booster", "booster", {{"diameter", 0.23}}));
    car.parts.push_back(made("drip", "leak", {{"hole", 0.3e-3}}));
    car.parts.push_back(made("bubble", "air_pocket", {{"pocket", 0.2e-6}}));
    car.parts.push_back(made("rear_valve", "proportioning_valve",
                             {{"knee", 2e6}, {"slope", 0.35}, {"bypass_front", 0.5e6}}));
    car.circuits[0].run.parts.push_back("rear_valve.front");
    car.circuits[1].run.parts.insert(car.circuits[1].run.parts.end(),
                                     {"rear_valve", "drip", "bubble"});
    for (PartSpec& spec : car.parts) {
        if (spec.name == "master" && spec.kind->name != cylinder)
            spec = made("master", cylinder, {{"bore", 20e-3}, {"large_bore", 28e-3}});
        if (spec.name == "tank") {
            spec.values.set("pressure", 0.1e6);
            spec.values.set("content", 1e-3);
        }
        if (spec.name == "rear_left_bleeder") spec.values.set("opening", 1e-3);
        if (spec.name == "left_hose") spec.values.set("bore_back", 0.3e-3);
        if (spec.name == "rear_pipe") spec.values.set("segments", 3);
        if (spec.name == "front_residual") spec.values.set("fitted", 1);
    }
    return car;
}

std::map<std::string, int> places(const Model& model) {
    std::map<std::string, int> at;
    for (int i = 0; i < model.states(); ++i)
        at[model.layout().state_name(model.hardware(), i)] = i;
    REQUIRE(static_cast<int>(at.size()) == model.states()); // no two states share a name
    return at;
}

std::string guard_name(const Model& model, int k) {
    return model.layout().instances[model.guard_instance(k)].name + " " +
           std::string(model.guard_info(k).name);
}

/// Positions somewhere, every volume filled so that it stands at some pressure with some air in it.
Vector random_state(const Model& model, Draw& draw, double foot) {
    const Modes modes(model.guards() + 1, 0);
    Work work = model.make_work();
    Vector y = model.start(), f(y.size());
    const BrakeFluid fluid =
        make_surroundings(model.hardware().fluid, model.hardware().surroundings).fluid;
    for (std::size_t i = 0; i < model.layout().joints.size(); ++i)
        y[i] = draw.log_uniform(1e-6, 12e-3);
    for (const Instance& part : model.layout().instances) {
        const PartKind& kind = *model.hardware().parts[part.spec].kind;
        for (std::size_t s = 0; s < kind.states.size(); ++s) {
            if (kind.states[s].dimension == Dimension::volume) { // what a wall has given
                y[part.state + s] = draw.log_uniform(1e-12, 1e-7);
                continue;
            }
            const bool flow = kind.states[s].dimension == Dimension::flow;
            const double size = flow ? draw.log_uniform(1e-9, 3e-5) : draw.log_uniform(1e-7, 2e-3);
            y[part.state + s] = draw.chance(flow ? 0.5 : 0.2) ? -size : size;
            if (s > 0 && draw.chance(0.6)) // an anchor near its piston
                y[part.state + s] = y[part.state + s - 1] + 0.02 * y[part.state + s];
        }
    }
    model.rates(y.data(), {foot, 0}, modes.data(), false, work, f.data());
    for (std::size_t n = 0; n < model.layout().nodes.size(); ++n) {
        const Node& node = model.layout().nodes[n];
        if (node.kind != PortKind::line) continue;
        const double p = draw.chance(0.2) ? -draw.log_uniform(10, 9e4) : draw.log_uniform(100, 1e7);
        const double T = draw.uniform(253, 353), room = work.swept[n];
        REQUIRE(room > 0);
        const double gas = draw.log_uniform(1e-6, 2e-2) * room;
        const double taken =
            gas * kStandardPressure / (p + kStandardPressure) * T / kReferenceTemperature;
        y[node.state] = std::max(0.1 * room, room - taken) / fluid.specific_volume(p, T);
        y[node.state + 1] = gas;
        y[node.state + 2] = T;
        // Fresh, about full, or under less pressure than it was filled at.
        const double full =
            saturated_air(fluid, y[node.state], p + kStandardPressure - fluid.vapour_pressure(T));
        y[node.dissolved()] =
            full * (draw.chance(0.3) ? draw.uniform(0.98, 1.02) : draw.log_uniform(0.1, 10));
    }
    for (const Node& node : model.layout().nodes)
        if (node.kind == PortKind::reservoir && draw.chance(0.5))
            y[node.state] = draw.uniform(0.1e-6, 3e-6); // about to uncover its outlet
    return y;
}

Modes modes_of(const Model& model, const Vector& y, const Drive& drive, Work& work, Draw& draw) {
    Modes mode(model.guards() + 1, 0);
    for (int k = 0; k < model.guards(); ++k)
        if (model.guard_info(k).latch) mode[k] = draw.chance(0.3);
    Vector f(y.size());
    model.rates(y.data(), drive, mode.data(), false, work, f.data());
    for (int k = 0; k < model.guards(); ++k)
        if (!model.guard_info(k).latch) mode[k] = work.guard[k] > 0;
    return mode;
}

/// What counts as a large change of each state.
Vector typical(const Model& model) {
    Vector scale(model.states(), 1e-4); // positions
    for (const Instance& part : model.layout().instances) {
        const PartKind& kind = *model.hardware().parts[part.spec].kind;
        for (std::size_t s = 0; s < kind.states.size(); ++s)
            if (kind.states[s].dimension == Dimension::flow) scale[part.state + s] = 1e-5;
        for (std::size_t s = 0; s < kind.states.size(); ++s)
            if (kind.states[s].dimension == Dimension::volume) scale[part.state + s] = 1e-8;
    }
    for (const Node& node : model.layout().nodes) {
        scale[node.state] = scale[node.state + 1] = scale[node.dissolved()] = 1e-8;
        if (node.kind == PortKind::line) scale[node.state + 2] = 10;
    }
    return scale;
}

} // namespace

TEST_CASE("the demo car with all kinds of parts is what this file tests") {
    std::vector<PartSpec> parts;
    for (const char* cylinder : kCylinders)
        for (const PartSpec& spec : demo(cylinder).parts)
            parts.push_back(spec);
    for (const PartKind* kind : part_kinds()) {
        CAPTURE(kind->name);
        CHECK(std::any_of(parts.begin(), parts.end(),
                          [&](const PartSpec& spec) { return spec.kind == kind; }));
    }
}

TEST_CASE("the sparse Jacobian of the whole car agrees with differences") {
    for (const char* cylinder : kCylinders) {
        const Model model(demo(cylinder));
        const Vector scale = typical(model);
        const SparsePattern& pattern = model.pattern();
        const int n = model.states();
        Draw draw(7);
        Work work = model.make_work(), other = model.make_work();
        long sharp = 0, all = 0, looked_at = 0;
        for (int trial = 0; trial < 12; ++trial) {
            const Drive drive{draw.uniform(0, 400), 300};
            const Vector y = random_state(model, draw, drive.value);
            const Modes mode = modes_of(model, y, drive, work, draw);
            const bool located = trial % 2 == 1;

            Vector values(pattern.column.size()), dfdt(n), f(n);
            model.jacobian(y.data(), drive, mode.data(), located, work, values.data(), dfdt.data());
            model.rates(y.data(), drive, mode.data(), located, work, f.data());
            const Vector guard = work.guard;
            Vector dense(static_cast<std::size_t>(n) * n, 0.0), noise(n, 0.0), size(n, 0.0);
            for (int i = 0; i < n; ++i) {
                for (int s = pattern.row_start[i]; s < pattern.row_start[i + 1]; ++s) {
                    const int j = pattern.column[s];
                    dense[static_cast<std::size_t>(i) * n + j] = values[s];
                    noise[i] += std::abs(values[s] * y[j]);
                    size[i] += std::abs(values[s] * scale[j]);
                }
                noise[i] = 8 * kEps * (noise[i] + std::abs(f[i]));
            }
            for (int j = 0; j < n; ++j) {
                const auto along = [&](double x) -> Vector {
                    Vector moved = y, g(n);
                    moved[j] = x;
                    model.rates(moved.data(), drive, mode.data(), located, other, g.data());
                    for (int k = 0; k < model.guards(); ++k)
                        if (!model.guard_info(k).latch && (other.guard[k] > 0) != (guard[k] > 0))
                            return {};
                    return g;
                };
                const auto d = central_differences(along, y[j], scale[j], noise);
                for (int i = 0; i < n; ++i) {
                    const double exact = dense[static_cast<std::size_t>(i) * n + j];
                    if (exact == 0 && d[i].value == 0) continue;
                    ++all;
                    if (!(d[i].doubt * scale[j] <=
                          1e-4 * std::abs(exact) * scale[j] + 1e-6 * size[i]))
                        continue;
                    ++sharp;
                    looked_at += exact != 0;
                    const Nearness match = near(d[i].value, exact, 3 * d[i].doubt, 1e-6);
                    if (!match)
                        CHECK_MESSAGE(false, model.layout().state_name(model.hardware(), i), " by ",
                                      model.layout().state_name(model.hardware(), j), ": ",
                                      toString(match));
                }
            }
        }
        CHECK(sharp >= 0.9 * all);
        CHECK(looked_at > 3000);
    }
}

TEST_CASE("df/dt is exact for a foot on a ramp, by force and by travel") {
    for (const double by_travel : {0.0, 1.0}) {
        Hardware car = demo();
        for (PartSpec& spec : car.parts)
            if (spec.kind->driven) spec.values.set("driven_by", by_travel);
        const Model model(car);
        const int n = model.states();
        Draw draw(11);
        Work work = model.make_work();
        for (int trial = 0; trial < 20; ++trial) {
            // A pad that is pushed further than the arm has come, so that the foot bears on it.
            const Drive drive = by_travel != 0 ? Drive{draw.uniform(0.2, 0.3), 0.1}
                                               : Drive{draw.uniform(10, 400), 300};
            const Vector y = random_state(model, draw, drive.value);
            const Modes mode = modes_of(model, y, drive, work, draw);
            Vector values(model.pattern().column.size()), dfdt(n), up(n), down(n);
            model.jacobian(y.data(), drive, mode.data(), true, work, values.data(), dfdt.data());
            const double h = 1e-4;
            const Drive later{drive.value + h * drive.rate, drive.rate};
            const Drive sooner{drive.value - h * drive.rate, drive.rate};
            model.rates(y.data(), later, mode.data(), true, work, up.data());
            model.rates(y.data(), sooner, mode.data(), true, work, down.data());
            bool moves = false;
            for (int i = 0; i < n; ++i) {
                const double size = std::abs(up[i]) + std::abs(down[i]);
                CHECK(near((up[i] - down[i]) / (2 * h), dfdt[i], 8 * kEps * size / h, 1e-9));
                moves = moves || dfdt[i] != 0;
            }
            CHECK(moves);
        }
    }
}

TEST_CASE("the order in which parts are written changes nothing") {
    for (const char* cylinder : kCylinders) {
        const Hardware car = demo(cylinder);
        const Model model(car);
        const std::map<std::string, int> at = places(model);
        Draw draw(13);
        for (int trial = 0; trial < 8; ++trial) {
            Hardware shuffled = car;
            for (std::size_t i = shuffled.parts.size(); i > 1; --i)
                std::swap(shuffled.parts[i - 1], shuffled.parts[draw.below(i)]);
            if (trial == 0) // the tank before the cylinder whose reservoirs it feeds
                std::stable_partition(shuffled.parts.begin(), shuffled.parts.end(),
                                      [](const PartSpec& s) { return s.name == "tank"; });
            const Model other(shuffled);
            REQUIRE(other.states() == model.states());
            // State by name. A reservoir is named after whichever part comes first: match by what
            // follows.
            const auto plain = [](std::string name) {
                const auto dot = name.find('.');
                return name.find("_reservoir") != std::string::npos ? name.substr(dot) : name;
            };
            std::map<std::string, int> there;
            for (const auto& [name, i] : places(other))
                there[plain(name)] = i;
            const auto mapped = [&](const Vector& y) {
                Vector z(y.size());
                for (const auto& [name, i] : at)
                    z[there.at(plain(name))] = y[i];
                return z;
            };

            const Vector rest = model.start(), other_rest = other.start(), wanted = mapped(rest);
            for (std::size_t i = 0; i < rest.size(); ++i) {
                CAPTURE(other.layout().state_name(other.hardware(), static_cast<int>(i)));
                CHECK(near(other_rest[i], wanted[i], 0, 1e-14));
            }

            const Drive drive{draw.uniform(0, 400), 0};
            const Vector y = random_state(model, draw, drive.value), z = mapped(y);
            Work work = model.make_work(), other_work = other.make_work();
            const Modes mode = modes_of(model, y, drive, work, draw);
            std::map<std::string, char> mode_of;
            for (int k = 0; k < model.guards(); ++k)
                mode_of[guard_name(model, k)] = mode[k];
            Modes other_mode(other.guards() + 1);
            for (int k = 0; k < other.guards(); ++k)
                other_mode[k] = mode_of.at(guard_name(other, k));

            Vector f(y.size()), g(y.size());
            model.rates(y.data(), drive, mode.data(), true, work, f.data());
            other.rates(z.data(), drive, other_mode.data(), true, other_work, g.data());
            const Vector moved = mapped(f);
            // Pressures are solved to 1e-13 of the liquid's stiffness, sums are taken in another
            // order.
            Vector values(model.pattern().column.size()), dfdt(f.size()), noise(f.size(), 0.0);
            model.jacobian(y.data(), drive, mode.data(), true, work, values.data(), dfdt.data());
            for (int i = 0; i < model.states(); ++i)
                for (int s = model.pattern().row_start[i]; s < model.pattern().row_start[i + 1];
                     ++s)
                    noise[i] += 16 * kEps * std::abs(values[s] * y[model.pattern().column[s]]);
            const Vector allowed = mapped(noise);
            for (std::size_t i = 0; i < g.size(); ++i) {
                CAPTURE(other.layout().state_name(other.hardware(), static_cast<int>(i)));
                CHECK(near(g[i], moved[i], allowed[i], 1e-14));
            }
        }
    }
}
