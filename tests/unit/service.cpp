// Limits of service: every line at its limit and just past it, and what is taken from where it was
// read to where the limit is stated.
#include <doctest/doctest.h>

#include <map>
#include <string>
#include <vector>

#include "compare.hpp"
#include "parts/registry.hpp"
#include "record/service.hpp"
#include "runner/reader.hpp"
#include "system/system.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

constexpr double kInch = 25.4e-3;
using Given = std::map<std::string, double>;

/// One disc (300 mm, on a floating caliper), one drum, a pedal with 160 mm to the floor, a
/// cylinder.
Scenario car() {
    Scenario s;
    const auto add = [&s](const char* name, const char* kind, const Given& fields) {
        PartSpec part{name, find_kind(kind), Values(find_kind(kind)->fields)};
        for (const auto& [field, value] : fields)
            part.values.set(field, value);
        s.hardware.parts.push_back(part);
    };
    add("pedal", "pedal", {{"floor", 0.16}});
    add("master", "tandem_master", {});
    add("front", "disc_caliper", {{"radius", 0.12}});
    add("rear", "drum_brake", {});
    add("disc", "rotor", {{"diameter", 0.3}});
    s.hardware.wheels = {{"front_left", {"front", "disc"}}};
    return s;
}

Service service(const Scenario& s, const char* part, const Given& measured,
                const Given& limits = {}) {
    Service service;
    service.part = part;
    for (const PartSpec& spec : s.hardware.parts)
        if (spec.name == part) {
            service.measured = Values(measured_fields(*spec.kind));
            service.limits = Values(limit_fields(*spec.kind));
        }
    for (const auto& [name, value] : measured)
        service.measured.set(name, value);
    for (const auto& [name, value] : limits)
        service.limits.set(name, value);
    return service;
}

std::vector<ServiceLine> judged(Scenario s, const Service& what) {
    s.service = {what};
    return judge_service(s);
}

/// The one line that these measurements give.
ServiceLine line(const char* part, const Given& measured, const Given& limits = {}) {
    const Scenario s = car();
    const auto lines = judged(s, service(s, part, measured, limits));
    REQUIRE(lines.size() == 1);
    CHECK_MESSAGE(lines[0].missing.empty(), lines[0].missing);
    CHECK(lines[0].where == part);
    CHECK_FALSE(lines[0].source.empty());
    return lines[0];
}

ServiceLine stations(const std::vector<double>& inches, const Given& limits = {},
                     std::size_t which = 0) {
    const Scenario s = car();
    Service disc = service(s, "front", {}, limits);
    for (const double inch : inches)
        disc.thickness.push_back(inch * kInch);
    const auto lines = judged(s, disc);
    REQUIRE(lines.size() == (limits.count("minimum_thickness") ? 2 : 1));
    return lines[which];
}

} // namespace

TEST_CASE("thickness variation: thickest less thinnest, at most 0.0005 in") {
    const ServiceLine good = stations({1.2503, 1.2505, 1.2500, 1.2501});
    CHECK(good.what == "thickness variation");
    CHECK(good.pass);
    CHECK(near(good.measured, 0.0005 * kInch, 1e-12, 0));
    CHECK(good.margin == 0);
    CHECK(good.source == "common practice, no source");
    const ServiceLine bad = stations({1.2503, 1.25051, 1.2500, 1.2501});
    CHECK_FALSE(bad.pass);
    CHECK(near(bad.margin, -0.00001 * kInch, 1e-12, 0));
    const ServiceLine stated =
        stations({1.2503, 1.25051, 1.2500}, {{"thickness_variation", 20e-6}});
    CHECK(stated.pass);
    CHECK(stated.source == "as the scenario states it");
}

TEST_CASE("thickness: the thinnest station, against the figure of that disc alone") {
    const Given limit = {{"minimum_thickness", 1.2 * kInch}};
    const ServiceLine good = stations({1.2003, 1.2000, 1.2001}, limit, 1);
    CHECK(good.what == "thickness");
    CHECK(good.pass);
    CHECK(good.margin == 0);
    CHECK_FALSE(stations({1.2003, 1.1999, 1.2001}, limit, 1).pass);
    stations({0.5, 0.5}); // without that figure nothing is said
}

TEST_CASE("run-out grows with the radius: read at one, limited one inch from the edge") {
    // The limit stands at 150 mm - 25.4 mm = 124.6 mm.
    const double limit = 0.0025 * kInch, ratio = 0.1246 / 0.1;
    const auto read = [](double run_out, const Given& limits = {}) {
        return line("front", {{"run_out", run_out}, {"run_out_radius", 0.1}}, limits);
    };
    const ServiceLine good = read(limit / ratio);
    CHECK(good.what == "run-out");
    CHECK(near(good.measured, limit, 1e-12, 0));
    CHECK(good.pass);
    CHECK(read(limit / ratio).margin == 0);
    CHECK_FALSE(read(limit / ratio * 1.001).pass);
    CHECK_FALSE(read(limit * 0.9).pass); // within it where it was read, not where it counts
    CHECK(read(limit, {{"run_out_radius", 0.1}}).pass);
    CHECK_FALSE(read(limit * 1.001, {{"run_out_radius", 0.1}}).pass);
    CHECK(read(limit * 1.2, {{"run_out_from_edge", 0.07}}).pass); // at 80 mm: 0.96 of it
}

TEST_CASE("metal removed: both sides together in any split, in one chucking") {
    const auto removed = [](double inner, double outer) {
        return line("front", {{"removed_inner", inner * kInch}, {"removed_outer", outer * kInch}});
    };
    CHECK(removed(0.025, 0.025).pass);
    CHECK(removed(0.050, 0).pass);
    CHECK(removed(0.010, 0.040).margin == 0);
    CHECK_FALSE(removed(0.010, 0.0401).pass);
    CHECK_FALSE(removed(0, 0.0501).pass);
    CHECK(near(removed(0.02, 0.01).margin, 0.02 * kInch, 1e-12, 0));

    const ServiceLine one = line("front", {{"one_chucking", 1}});
    const ServiceLine two = line("front", {{"one_chucking", 0}});
    CHECK(one.pass);
    CHECK_FALSE(two.pass);
    CHECK(two.measured_word == "each side in a chucking of its own");
    CHECK(two.limit_word == "both sides in one chucking");
    CHECK(line("front", {{"one_chucking", 0}}, {{"one_chucking", 0}}).pass);
}

TEST_CASE("lining left, of disc and drum; the drum's diameter against what is cast on it") {
    for (const char* part : {"front", "rear"}) {
        CHECK(line(part, {{"lining", kInch / 16}}).pass);
        CHECK_FALSE(line(part, {{"lining", kInch / 16 - 10e-6}}).pass);
        CHECK_FALSE(line(part, {{"lining", 2e-3}}, {{"lining", 3e-3}}).pass);
    }
    const Given cast = {{"drum_diameter", 0.2046}};
    CHECK(line("rear", {{"drum_diameter", 0.2046}}, cast).margin == 0);
    CHECK(line("rear", {{"drum_diameter", 0.2046}}, cast).pass);
    CHECK_FALSE(line("rear", {{"drum_diameter", 0.20461}}, cast).pass);
}

TEST_CASE("free play between two limits, reserve as a share of the way to the floor") {
    for (const double play : {3e-3, 5e-3, 8e-3})
        CHECK(line("pedal", {{"free_play", play}}).pass);
    for (const double play : {2.99e-3, 8.01e-3})
        CHECK_FALSE(line("pedal", {{"free_play", play}}).pass);
    CHECK(near(line("pedal", {{"free_play", 5e-3}}).margin, 2e-3, 1e-12, 0));
    CHECK(near(line("pedal", {{"free_play", 9e-3}}).margin, -1e-3, 1e-12, 0));
    // 20 % of 160 mm.
    CHECK(line("pedal", {{"reserve", 32e-3}}).pass);
    CHECK_FALSE(line("pedal", {{"reserve", 31.9e-3}}).pass);
    CHECK_FALSE(line("pedal", {{"reserve", 39e-3}}, {{"reserve", 40e-3}}).pass);
}

TEST_CASE("leak-hold: what is lost in the time of the limit") {
    const auto fall = [](double time, double fallen, const Given& limits = {}) {
        return line("master", {{"hold_time", time}, {"hold_fall", fallen}}, limits);
    };
    CHECK(fall(10, 0).pass);
    CHECK_FALSE(fall(10, 0.1e-3).pass);
    CHECK(fall(30, 3e-3, {{"hold_fall", 1e-3}}).pass); // 1 mm in each 10 s
    CHECK_FALSE(fall(30, 3.01e-3, {{"hold_fall", 1e-3}}).pass);
    const auto loss = [](double time, double lost) {
        return line("master", {{"hold_time", time}, {"hold_loss", lost}},
                    {{"hold_time", 60}, {"hold_loss", 2e5}});
    };
    CHECK(loss(60, 2e5).pass);
    CHECK(loss(120, 4e5).margin == 0);
    CHECK_FALSE(loss(60, 2.001e5).pass);
    CHECK(loss(60, 1e5).dimension == Dimension::pressure);
}

TEST_CASE("a rim must be of a type that fits") {
    const Scenario s = car();
    Service rear = service(s, "rear", {});
    rear.rim = "five_inch";
    rear.rims = {"four_inch", "five_inch"};
    auto lines = judged(s, rear);
    REQUIRE(lines.size() == 1);
    CHECK(lines[0].pass);
    CHECK(lines[0].limit_word == "four_inch, five_inch");
    rear.rim = "six_inch";
    CHECK_FALSE(judged(s, rear)[0].pass);
}

TEST_CASE("what cannot be judged says what is missing, and never passes") {
    Scenario s = car();
    const auto missing = [&s](const char* part, const Given& measured) {
        const auto lines = judged(s, service(s, part, measured));
        REQUIRE(lines.size() == 1);
        CHECK_FALSE(lines[0].pass);
        return lines[0].missing;
    };
    const auto names = [](const std::string& text, const char* word) {
        CHECK_MESSAGE(text.find(word) != std::string::npos, text);
    };
    names(missing("front", {{"run_out", 1e-5}}), "run_out_radius");
    names(missing("front", {{"removed_inner", 0}}), "removed_outer");
    names(missing("rear", {{"drum_diameter", 0.2}}), "limits.rear.drum_diameter");
    names(missing("master", {{"hold_time", 9.9}, {"hold_fall", 0}}), "hold_time");
    names(missing("master", {{"hold_fall", 0}}), "hold_time");
    names(missing("master", {{"hold_time", 60}, {"hold_loss", 0}}), "limits.master.hold_loss");
    s.hardware.wheels.clear();
    names(missing("front", {{"run_out", 1e-5}, {"run_out_radius", 0.1}}), "diameter");
    s.hardware.parts[0].values = Values(find_kind("pedal")->fields);
    names(missing("pedal", {{"reserve", 0.1}}), "floor");
}

TEST_CASE("nothing measured, nothing judged; limits alone are no line") {
    const Scenario s = car();
    CHECK(judge_service(s).empty());
    CHECK(judged(s, service(s, "front", {}, {{"minimum_thickness", 0.03}, {"lining", 0.01}}))
              .empty());
    CHECK(measured_fields(*find_kind("hose")).empty());
}

TEST_CASE("the measured disc becomes the disc of the run, at the radius of its linings") {
    const Scenario s = car();
    Service disc = service(s, "front", {{"run_out", 0.05e-3}, {"run_out_radius", 0.1}});
    disc.thickness = {22.01e-3, 22.03e-3, 22.00e-3};
    const auto stated = stated_by(disc, s.hardware.parts[2].values);
    REQUIRE(stated.size() == 2);
    CHECK(stated[0].field == "thickness_variation");
    CHECK(near(stated[0].value, 0.03e-3, 1e-12, 0));
    CHECK(stated[1].field == "run_out");
    CHECK(near(stated[1].value, 0.06e-3, 1e-12, 0)); // 120 mm over 100 mm
    CHECK(stated_by(service(s, "pedal", {{"reserve", 0.1}}), s.hardware.parts[0].values).empty());
}
