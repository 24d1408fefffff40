// What a bleeding procedure brought, as the report and summary.json say it.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "runner/bleeding_report.hpp"
#include "runner/report.hpp"
#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;
using namespace pedalbench::runner;

namespace {

BleedStep line(const char* at, BleedMethod method, const char* key, double value) {
    BleedStep step{at, std::string(at) + "_screw", Values(bleed_fields())};
    step.how.set("method", static_cast<double>(method));
    step.how.set(key, value);
    return step;
}

Scenario card() {
    Scenario s;
    s.bleeding.test = 200;
    s.bleeding.steps = {line("rear", BleedMethod::pedal, "strokes", 6),
                        line("front", BleedMethod::vacuum, "time", 20)};
    return s;
}

Summary brought() {
    Summary s;
    s.complete = true;
    BledWheel rear;
    rear.at = "rear";
    rear.bleeder = "rear_screw";
    rear.method = BleedMethod::pedal;
    rear.fluid_out = 27.5e-6;
    rear.air_out = 2.05e-6;
    rear.fluid_back = 0.25e-6;
    rear.air_left = 0.014e-6;
    rear.levels = {{"master.primary_reservoir.fluid", Dimension::volume, 1e-6}};
    rear.ran_dry = true;
    BledWheel front;
    front.at = "front";
    front.method = BleedMethod::vacuum;
    front.fluid_out = 60e-6;
    front.air_back = -1e-13; // round-off of an account
    front.false_air = 51e-6;
    s.bleeding.wheels = {rear, front};
    s.bleeding.used = 87.25e-6;
    s.bleeding.pedal_before = 92e-3;
    s.bleeding.pedal_after = 61e-3;
    for (int i = 0; i < 8; ++i)
        s.bleeding.left.push_back(
            {i % 2 ? "secondary" : "primary", "place_" + std::to_string(i), (i + 1) * 0.1e-6});
    return s;
}

} // namespace

TEST_CASE("the report tells a card line by line") {
    const std::string text = bleeding_report(card(), brought(), OutputUnits::metric());
    const auto says = [&text](const char* words) {
        CAPTURE(text);
        CAPTURE(std::string(words));
        CHECK(text.find(words) != std::string::npos);
    };
    says("rear                 pedal    6 strokes      27.50    2.050    0.250    0.000    0.014  "
         "1.0\n"
         "    a reservoir ran dry here and gave air\n");
    says("front                vacuum   20 s           60.00    0.000    0.000    0.000    0.000");
    says("and 51 cm3 of air past the threads into the hose, which never were in the brake");
    says("fluid used 87.2 cm3");
    says("pedal under 200 N: 92 mm before, 61 mm after");
    // The six largest by name, the other two in one line.
    CHECK(text.find("place_7") < text.find("place_2"));
    CHECK(text.find("place_1") == std::string::npos);
    says("everywhere else                            0.300 cm3");
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t end = text.find('\n', from);
        CHECK(end - from <= 100);
        from = end + 1;
    }
    // A scenario without a card has no such chapter.
    CHECK(report(card(), brought(), OutputUnits::metric()).find("\nBleeding\n") !=
          std::string::npos);
    CHECK(report({}, {}, OutputUnits::metric()).find("Bleeding") == std::string::npos);
}

TEST_CASE("summary.json has every figure of a card") {
    const auto j = bleeding_json(card(), brought(), OutputUnits::metric());
    CHECK(j["unit"] == "cm3");
    REQUIRE(j["wheels"].size() == 2);
    const auto& rear = j["wheels"][0];
    CHECK(rear["at"] == "rear");
    CHECK(rear["bleeder"] == "rear_screw");
    CHECK(rear["method"] == "pedal");
    CHECK(rear["strokes"] == 6);
    CHECK(near(rear["open_s"], 9, 1e-12, 0));
    CHECK(near(rear["fluid_out"], 27.5, 1e-9, 0));
    CHECK(near(rear["air_out"], 2.05, 1e-9, 0));
    CHECK(near(rear["fluid_back"], 0.25, 1e-9, 0));
    CHECK(near(rear["reservoirs"]["master.primary_reservoir"], 1, 1e-9, 0));
    CHECK(rear["ran_dry"] == true);
    const auto& front = j["wheels"][1];
    CHECK(front["strokes"].is_null());
    CHECK(near(front["open_s"], 20, 1e-12, 0));
    CHECK(near(front["air_past_threads"], 51, 1e-9, 0));
    CHECK(front["ran_dry"] == false);
    CHECK(near(j["fluid_used"], 87.25, 1e-9, 0));
    CHECK(near(j["pedal"]["before"], 92, 1e-9, 0));
    CHECK(near(j["pedal"]["after"], 61, 1e-9, 0));
    REQUIRE(j["air_left"].size() == 8);
    CHECK(j["air_left"][1]["circuit"] == "secondary");
    CHECK(near(j["air_left"][1]["air"], 0.2, 1e-9, 0));
}
