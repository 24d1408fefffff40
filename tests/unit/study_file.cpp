// Study files as they are read, and the scenarios that come of them.
#include "study_folder.hpp"

#include <cmath>

#include <nlohmann/json.hpp>

#include "compare.hpp"
#include "runner/study_file.hpp"
#include "study/executor.hpp"
#include "study/sweep.hpp"

using namespace pedalbench;
using namespace pedalbench::test;
using nlohmann::json;

TEST_CASE("a study keeps a bounded number of rows, however many there are") {
    const Folder folder;
    write_valve(folder, "{random: 100000}");
    runner::Findings findings;
    const auto study = runner::read_study((folder.path / "study.yaml").string(), {}, findings);
    REQUIRE(study.has_value());
    const study::Rows rows(study->sweep);
    // What was made and not yet heard of is kept somewhere.
    struct Kept : study::OutcomeSink, study::Executor {
        std::size_t made = 0, heard = 0, most = 0;
        void outcome(std::size_t i, const study::Outcome&) override {
            CHECK_MESSAGE(i == heard, "by rising number");
            ++heard;
        }
        void run(std::size_t n, const std::function<void(std::size_t)>& job) override {
            for (std::size_t i = 0; i < n; ++i)
                job(i);
            made += 256 * n; // at most
            most = std::max(most, made - std::min(made, heard));
        }
    } kept;
    study::run_rows(rows, 0, rows.size(), kept, kept);
    CHECK(kept.heard == 100005);
    CHECK(kept.most <= 16384 + 256);
}

TEST_CASE(
    "the studies that come with the program can be swept, in the rows that the guide states") {
    std::size_t files = 0;
    std::ifstream in(kSource / "docs/tolerances.md", std::ios::binary);
    const std::string guide{std::istreambuf_iterator<char>(in), {}};
    for (const auto& entry : fs::directory_iterator(kSource / "scenarios/studies")) {
        const std::string name = entry.path().filename().string();
        CAPTURE(name);
        runner::Findings findings;
        const auto study = runner::read_study(entry.path().string(), {}, findings);
        REQUIRE(study.has_value());
        const std::size_t rows = study::Rows(study->sweep).size();
        std::string words = std::to_string(rows % 1000);
        if (rows >= 1000)
            words = std::to_string(rows / 1000) + " " + std::string(3 - words.size(), '0') + words;
        const std::size_t line = guide.find("sweep scenarios/studies/" + name + " ");
        REQUIRE(line != std::string::npos);
        CHECK_MESSAGE(guide.substr(line, 100).find("# " + words + " ") != std::string::npos, words);
        ++files;
    }
    CHECK(files >= 2);
}

TEST_CASE("distributions and targets as a study states them") {
    const Folder folder;
    write_runs(folder, 4);
    folder.write("all.yaml",
                 "pedalbench: 1\nscenario: press.yaml\nvary:\n"
                 "  front.friction: {about: 0.4, within: 10 %, shape: normal}\n"
                 "  front.piston: {within: 0.3 mm, shape: normal, deviation: 0.2 mm}\n"
                 "  rear.cylinder: {between: [18 mm, 20 mm], about: 18.5 mm, shape: triangular}\n"
                 "  front_pipe.length: {between: [1 m, 3 m], also: [rear_pipe.length]}\n"
                 "  switch.centring: {values: [self, detent]}\n"
                 "  surroundings.temperature: {within: 10 K}\n"
                 "  hole.hole: {between: [0.1 mm, 0.2 mm]}\n"
                 "points: {sobol: 8}\nanswers:\n"
                 "  - {text: bore, figure: rear.cylinder}\n"
                 "  - {text: touches, event: 'front: outer pad touches'}\n"
                 "  - {text: how often, event: 'front: outer pad touches', times: [1, 2]}\n");
    runner::Findings findings;
    const auto study = runner::read_study((folder.path / "all.yaml").string(), {}, findings);
    for (const std::string& line : findings.lines())
        FAIL(line);
    REQUIRE(study.has_value());
    const auto& v = study->sweep.varied;
    REQUIRE(v.size() == 7);
    using Kind = study::Distribution::Kind;
    const auto is = [](const study::Distribution& d, Kind kind, double low, double high) {
        CHECK(d.kind == kind);
        CHECK(near(d.low, low, 0, 1e-12));
        CHECK(near(d.high, high, 0, 1e-12));
    };
    is(v[0].distribution, Kind::normal, 0.36, 0.44); // a share of the middle
    CHECK(near(v[0].distribution.deviation, 0.04 / 3, 0, 1e-12));
    is(v[1].distribution, Kind::normal, 49.7e-3, 50.3e-3); // about the car's 50 mm
    CHECK(v[1].distribution.deviation == 0.2e-3);
    is(v[2].distribution, Kind::triangular, 18e-3, 20e-3);
    CHECK(near(v[2].distribution.middle, 18.5e-3, 0, 1e-12));
    is(v[3].distribution, Kind::uniform, 1, 3);
    CHECK(v[3].targets.size() == 2);
    CHECK(v[4].distribution.values == std::vector<double>{0, 1});
    is(v[5].distribution, Kind::uniform, 283.15, 303.15);
    CHECK(v[6].targets[0].change >= 0); // the size of a leak that comes later
    // What is set arrives, on all that share it.
    const study::Rows rows(study->sweep);
    const Scenario s = rows.scenario_at(rows.first_point() + 3);
    const auto x = rows.inputs(rows.first_point() + 3);
    CHECK(study::value_of(s, {"front_pipe", "length"}) == x[3]);
    CHECK(study::value_of(s, {"rear_pipe", "length"}) == x[3]);
    CHECK(study::value_of(s, {"surroundings", "temperature"}) == x[5]);
    CHECK(study::value_of(s, v[6].targets[0]) == x[6]);
    CHECK(study->sweep.answers[1].dimension == Dimension::time);
    CHECK(study->sweep.answers[2].low == 1);
    CHECK(study->sweep.answers[2].high == 2);
}

TEST_CASE("fields are set at once: no order decides, and what lies between is not refused") {
    // Opening above the stated full pressure would be refused, were it set before that one.
    const Folder folder;
    write_valve(folder, "{grid: 2}");
    folder.write("study.yaml", "pedalbench: 1\ntitle: a valve\nscenario: valve.yaml\nvary:\n"
                               "  hold_off.open: {between: [3.5 MPa, 3.9 MPa]}\n"
                               "  hold_off.full: {between: [5 MPa, 6 MPa]}\n"
                               "points: {grid: 2}\nanswers:\n"
                               "  - {text: spring, figure: hold_off.plate_spring}\n");
    REQUIRE(run(folder, {"sweep", "study.yaml", "--out", "r", "--plots", "none"}) == 0);
    const json summary = json::parse(folder.text("r/summary.json"));
    CHECK(summary["points"]["refused"] == 2); // opening alone, with full at 500 psi
    CHECK(summary["answers"][0]["values"] == 4);
    // F = full A1 (open - shut)/(full - shut): largest at the highest opening and the lowest full.
    const double a1 = 0.25 * M_PI * 0.014 * 0.014, shut = 10 * kPsi;
    CHECK(near(summary["answers"][0]["most"], 5e6 * a1 * (3.9e6 - shut) / (5e6 - shut), 0, 1e-9));
}

TEST_CASE("a study is about areas where pressures are stated, and says so") {
    // Without `keep` the stated pressures rule, and no area could move them.
    const Folder folder;
    write_valve(folder, "{sobol: 8}");
    std::string text = folder.text("study.yaml");
    const std::size_t spring = text.find("  hold_off.plate_spring"), keep = text.find("keep:");
    text.erase(spring, text.find("points:") - spring);
    CHECK(keep > spring);
    folder.write("bare.yaml", text);
    CHECK(run(folder, {"sweep", "bare.yaml"}) == 2);
    CHECK(folder.text("err").find("answers.1.figure: is moved by nothing that varies") !=
          std::string::npos);
    CHECK_FALSE(fs::exists(folder.path / "runs"));
}
