// How a description of circuits becomes nodes and states, and what is refused on the way.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "circuit/model.hpp"
#include "parts/registry.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

PartSpec part(const std::string& name, const char* kind,
              const std::vector<std::pair<const char*, double>>& given = {}) {
    PartSpec spec{name, find_kind(kind), Values(find_kind(kind)->fields)};
    for (const auto& [field, value] : given)
        spec.values.set(field, value);
    return spec;
}

/// Cylinder, one pipe and one brake on each outlet.
Hardware small_car() {
    Hardware h;
    h.fluid = Values(fluid_fields());
    h.surroundings = Values(surroundings_fields());
    h.parts = {part("pedal", "pedal", {{"ratio", 5}}),
               part("master", "tandem_master", {{"bore", 20e-3}}),
               part("front_pipe", "line", {{"length", 1.0}}),
               part("front", "disc_caliper", {{"piston", 50e-3}}),
               part("rear_pipe", "line", {{"length", 2.0}}),
               part("rear", "drum_brake", {{"cylinder", 19e-3}})};
    h.circuits = {{"primary", {{"front_pipe", "front"}, {}}},
                  {"secondary", {{"rear_pipe", "rear"}, {}}}};
    return h;
}

/// All refusals in one text, a line each; empty when it can be laid out.
std::string refusal(const Hardware& hardware) {
    try {
        make_layout(hardware);
    } catch (const InvalidHardware& wrong) {
        return wrong.what();
    }
    return "";
}

int node(const Layout& layout, const std::string& name) {
    for (std::size_t n = 0; n < layout.nodes.size(); ++n)
        if (layout.nodes[n].name == name) return static_cast<int>(n);
    return -1;
}

} // namespace

TEST_CASE("a pipe lies between two nodes, a brake hangs on the node where it is named") {
    const Layout l = make_layout(small_car());
    const int outlet = node(l, "master.primary"), behind = node(l, "front_pipe.outlet");
    REQUIRE(outlet >= 0);
    REQUIRE(behind >= 0);
    CHECK(l.nodes[behind].upstream == outlet);
    for (const Instance& i : l.instances) {
        if (i.name == "front_pipe") CHECK(i.node == std::vector<int>{outlet, behind});
        if (i.name == "front") CHECK(i.node == std::vector<int>{behind});
    }
    // Four line nodes with liquid, gas, temperature; two reservoirs and the drum's way to outside.
    CHECK(l.nodes.size() == 7);
    CHECK(std::count_if(l.nodes.begin(), l.nodes.end(),
                        [](const Node& n) { return n.kind == PortKind::line; }) == 4);
    int states = static_cast<int>(l.joints.size());
    for (const Node& n : l.nodes)
        states += n.states();
    const Hardware car = small_car();
    for (const PartSpec& p : car.parts)
        states += static_cast<int>(p.kind->states.size());
    CHECK(l.states == states);
}

TEST_CASE("branches start at the same node") {
    Hardware h = small_car();
    h.parts.push_back(part("second", "disc_caliper", {{"piston", 50e-3}}));
    h.parts.push_back(part("second_pipe", "line", {{"length", 1.0}}));
    h.circuits[0].run = {{"front_pipe"}, {{{"front"}, {}}, {{"second_pipe", "second"}, {}}}};
    const Layout l = make_layout(h);
    for (const Instance& i : l.instances) {
        if (i.name == "front" || i.name == "second_pipe")
            CHECK(i.node[0] == node(l, "front_pipe.outlet"));
        if (i.name == "second") CHECK(i.node[0] == node(l, "second_pipe.outlet"));
    }
}

TEST_CASE("a pipe in segments is a chain of equal pieces with the volume of the whole") {
    Hardware whole = small_car(), cut = small_car();
    for (PartSpec& p : cut.parts)
        if (p.name == "rear_pipe") p.values.set("segments", 4);
    const Model a(whole), b(cut);
    CHECK(b.layout().nodes.size() == a.layout().nodes.size() + 3);
    int at = node(b.layout(), "rear_pipe#4.outlet");
    for (const char* name :
         {"rear_pipe#3.outlet", "rear_pipe#2.outlet", "rear_pipe.outlet", "master.secondary"}) {
        REQUIRE(at >= 0);
        at = b.layout().nodes[at].upstream;
        CHECK(b.layout().nodes[at].name == name);
    }
    // The same fluid in all. Inner ends stand as high as the cylinder, the end at the drum 0.35 m
    // lower: 3.6 kPa on the 0.2 % of air in half a pipe (17.5 cm3 in all) is 0.6 mm3.
    const std::vector<double> y = a.start(), z = b.start();
    CHECK(near(b.ledger(z.data()).liquid_chambers, a.ledger(y.data()).liquid_chambers, 1e-9, 0));
    CHECK(near(b.ledger(z.data()).gas_chambers, a.ledger(y.data()).gas_chambers, 0, 1e-6));
}

TEST_CASE("no two states and no two channels share a name") {
    Hardware h = small_car();
    for (PartSpec& p : h.parts)
        if (p.name == "rear_pipe") p.values.set("segments", 4);
    const Model model(h);
    std::set<std::string> names;
    for (int i = 0; i < model.states(); ++i)
        CHECK(names.insert(model.layout().state_name(model.hardware(), i)).second);
    std::set<std::string> channels;
    for (const ChannelInfo& c : model.channels()) {
        CAPTURE(c.path);
        CHECK(channels.insert(c.path).second);
    }
}

TEST_CASE("rows of the Jacobian are in order and hold their diagonal") {
    const Model model(small_car());
    const SparsePattern& p = model.pattern();
    for (int i = 0; i < model.states(); ++i) {
        const auto begin = p.column.begin() + p.row_start[i],
                   end = p.column.begin() + p.row_start[i + 1];
        CHECK(std::is_sorted(begin, end));
        CHECK(std::adjacent_find(begin, end) == end);
        CHECK(std::binary_search(begin, end, i));
    }
}

TEST_CASE("at the start each node stands under the fluid above it, and a tank adds its pressure") {
    for (const double tank : {0.0, 0.15e6}) {
        Hardware h = small_car();
        h.parts.push_back(part("tank", "pressure_bleeder", {{"pressure", tank}}));
        for (PartSpec& p : h.parts) {
            if (p.name == "front") p.values.set("height", 0.3);
            if (p.name == "rear") p.values.set("height", 0.5);
        }
        const Model model(h);
        Work work = model.make_work();
        const std::vector<double> y = model.start();
        const std::vector<char> modes(model.guards(), 0);
        std::vector<double> values(model.channels().size());
        model.channel_values(y.data(), {}, modes.data(), false, work, values.data());
        const auto channel = [&](const std::string& path) {
            for (std::size_t i = 0; i < values.size(); ++i)
                if (model.channels()[i].path == path) return values[i];
            FAIL(path << " is no channel");
            return 0.0;
        };
        const double rho_g = 1060 * 9.80665; // reservoir at 0.85 m, cylinder at 0.75 m
        // The nucleus of 1e-12 m3 and the solver of the volume: together below 1 Pa.
        CHECK(near(channel("front.pressure"), tank + rho_g * (0.85 - 0.3), 1, 0));
        CHECK(near(channel("rear.pressure"), tank + rho_g * (0.85 - 0.5), 1, 0));
        CHECK(near(channel("master.primary.pressure"), tank + rho_g * 0.1, 1, 0));
    }
}

TEST_CASE("the ledger adds up what stands where") {
    const Model model(small_car());
    std::vector<double> y = model.start();
    const FluidLedger rest = model.ledger(y.data());
    CHECK(near(rest.liquid_reservoirs, 200e-6, 0, 1e-12)); // 100 cm3 each
    CHECK(rest.liquid_outside == 0);
    CHECK(rest.gas_chambers > 0);
    const Layout& l = model.layout();
    y[l.nodes[node(l, "front_pipe.outlet")].state] += 3e-6;
    y[l.nodes[node(l, "rear.outside")].state + 1] -= 2e-6;
    const FluidLedger now = model.ledger(y.data());
    CHECK(near(now.liquid_chambers - rest.liquid_chambers, 3e-6, 1e-18, 1e-9));
    CHECK(near(now.gas_outside, -2e-6, 0, 1e-12));
    CHECK(now.liquid_reservoirs == rest.liquid_reservoirs);
}

TEST_CASE("a sensing port stands where a circuit names it, or while unused at the part's first") {
    Hardware car = small_car();
    car.parts.push_back(part("valve", "proportioning_valve", {{"knee", 2e6}, {"slope", 0.3}}));
    car.circuits[1].run.parts = {"valve", "rear_pipe", "rear"};
    const auto nodes_of_valve = [](const Layout& layout) {
        for (const Instance& i : layout.instances)
            if (i.name == "valve") return i.node;
        return std::vector<int>{};
    };
    const Layout unused = make_layout(car);
    REQUIRE(nodes_of_valve(unused).size() == 3);
    CHECK(nodes_of_valve(unused)[2] == nodes_of_valve(unused)[0]);

    car.parts.back().values.set("bypass_front", 0.5e6);
    CHECK(refusal(car) == "valve: its front is joined to nothing: name it in a circuit");
    const auto front = [&car](std::vector<std::string> run) {
        car.circuits[0].run.parts = std::move(run);
    };
    front({"front_pipe", "valve.front", "front"});
    const Layout used = make_layout(car);
    CHECK(nodes_of_valve(used)[2] == node(used, "front_pipe.outlet"));
    // It takes nothing from the line that it stands in: no state more, no node more.
    CHECK(used.states == unused.states);
    for (const Instance& i : used.instances)
        if (i.name == "front") CHECK(i.node[0] == node(used, "front_pipe.outlet"));

    front({"valve.front", "front_pipe", "valve.front", "front"});
    CHECK(refusal(car) == "valve: its front stands in the circuits twice");
    front({"front_pipe", "valve.rear", "front"});
    CHECK(refusal(car) == "circuits: no part feels a pressure at valve.rear\n"
                          "valve: its front is joined to nothing: name it in a circuit");
    front({"front_pipe", "valves.front", "front"});
    CHECK(refusal(car) == "circuits: no part feels a pressure at valves.front\n"
                          "valve: its front is joined to nothing: name it in a circuit");
    front({"front_pipe", "valve.inlet", "front"}); // not a port that only feels
    CHECK(refusal(car).find("no part feels a pressure at valve.inlet") != std::string::npos);
}

TEST_CASE("what cannot be joined is refused by name") {
    Hardware h = small_car();
    h.circuits[1].run.parts.push_back("front");
    CHECK(refusal(h) == "front: stands in the circuits more often than it has ports");

    h = small_car();
    h.circuits[1].run.parts.push_back("front_pipe");
    CHECK(refusal(h) == "front_pipe: stands in the circuits twice");

    h = small_car();
    for (PartSpec& p : h.parts)
        if (p.name == "front_pipe") p.values.set("segments", 3);
    h.circuits[1].run.parts.push_back("front_pipe");
    CHECK(refusal(h) == "front_pipe: stands in the circuits twice");

    h = small_car();
    h.circuits[0].run.parts.push_back("font");
    CHECK(refusal(h) == "circuits: there is no part named font");

    h = small_car();
    h.circuits[1].outlet = "third";
    CHECK(refusal(h).find("circuits.third: no part has an outlet of that name") !=
          std::string::npos);
    CHECK(refusal(h).find("master: its secondary is joined to nothing") != std::string::npos);

    h = small_car();
    h.circuits[1].run.parts = {"rear_pipe"};
    CHECK(refusal(h) == "rear: its line is joined to nothing: name it in a circuit");
}

TEST_CASE(
    "an outlet that starts two circuits is refused: the second would take the first one's place") {
    Hardware h = small_car();
    h.parts.push_back(part("spare", "bleeder"));
    h.circuits.push_back({"primary", {{"spare"}, {}}});
    CHECK(refusal(h) != "");
}

TEST_CASE("a car without a cylinder cannot be built") {
    Hardware h = small_car();
    h.parts = {h.parts[0]};
    h.circuits.clear();
    CHECK_THROWS_WITH_AS(Model{h}, doctest::Contains("no master cylinder"), InvalidHardware);
}
