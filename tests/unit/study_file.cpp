// Study files as they are read, and the scenarios that come of them.
#include "study_folder.hpp"

#include <cmath>

#include <nlohmann/json.hpp>

#include "compare.hpp"
#include "runner/points_file.hpp"
#include "runner/result_folder.hpp"
#include "runner/study_file.hpp"
#include "study/evaluation.hpp"
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
                 "  switch.centring: {values: [detent, self]}\n"
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
    CHECK(v[4].distribution.values == std::vector<double>{1, 0});
    is(v[5].distribution, Kind::uniform, 283.15, 303.15);
    CHECK(v[6].targets[0].change >= 0); // the size of a leak that comes later
    // Alone: from the lowest to the highest, however a list is ordered.
    const study::Rows rows(study->sweep);
    CHECK(rows.name(9) == "switch.centring low");
    CHECK(rows.inputs(9)[4] == 0);
    CHECK(rows.inputs(10)[4] == 1);
    // What is set arrives, on all that share it.
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

TEST_CASE("a row keeps its reason and its digits on the way through the file") {
    const Folder folder;
    write_valve(folder, "{grid: 2}");
    runner::Findings findings;
    const auto study = runner::read_study((folder.path / "study.yaml").string(), {}, findings);
    REQUIRE(study.has_value());
    const study::Rows rows(study->sweep);
    using study::Outcome;
    Outcome complete, refused, failed, none, stopped;
    complete.end = none.end = Outcome::End::complete;
    const auto figure = [](double x) {
        return study::Figure{{}, study::Figure::Moment::held, Dimension::pressure, x, 0};
    };
    complete.figures = {figure(kPsi / 3), figure(-1e-7 * kPsi)};
    none.figures = {figure(kUnset), figure(kPsi)};
    refused.end = Outcome::End::refused;
    refused.reason = "a, \"b\",\nand c";
    failed.end = Outcome::End::failed;
    failed.reason = "no step is small enough";
    const fs::path block = folder.path / "block.csv";
    {
        runner::PointsWriter writer(block, *study, rows, 3);
        CHECK(writer.had() == 0);
        std::size_t i = 0;
        for (const Outcome* o : {&complete, &refused, &failed, &none, &stopped, &complete})
            writer.outcome(i++, *o);
        CHECK(writer.has() == 4); // what was stopped ends the file, whatever comes behind it
        CHECK_THROWS_AS(runner::PointsWriter(block, *study, rows, 3), runner::CannotWrite);
        CHECK(writer.close());
    }
    CHECK(runner::PointsWriter(block, *study, rows, 3).had() == 4);
    folder.write("points.csv", runner::points_header(*study) + folder.text("block.csv"));
    runner::PointsReader reader(folder.path / "points.csv", *study);
    std::vector<runner::PointsRow> read(4);
    for (runner::PointsRow& row : read)
        REQUIRE(reader.next(row));
    runner::PointsRow end;
    CHECK_FALSE(reader.next(end));
    for (std::size_t i = 0; i < 4; ++i)
        CHECK(read[i].number == 3 + i);
    CHECK(read[0].answers[0] == study->units.number(Dimension::pressure, kPsi / 3));
    CHECK(read[0].answers[1] == study->units.number(Dimension::pressure, -1e-7 * kPsi));
    CHECK(read[0].inputs[0] == study->units.number(Dimension::length, rows.inputs(3)[0]));
    CHECK(read[1].end == Outcome::End::refused);
    CHECK(read[1].remark == "refused: a, \"b\", and c");
    CHECK(std::isnan(read[1].answers[0]));
    CHECK(read[2].end == Outcome::End::failed);
    CHECK(read[2].remark == "failed: no step is small enough");
    CHECK(read[3].end == Outcome::End::complete);
    CHECK(std::isnan(read[3].answers[0]));
    CHECK(near(read[3].answers[1], 1, 1e-12, 0)); // kPsi has 13 digits
    folder.write("points.csv", runner::points_header(*study) + "0,as it is,1\n");
    runner::PointsReader short_of(folder.path / "points.csv", *study);
    CHECK_THROWS_AS(short_of.next(end), runner::CannotWrite);
}

TEST_CASE("a field's end that is lost is no point that was lost") {
    using study::Outcome;
    study::Sweep sweep;
    sweep.varied.resize(1);
    sweep.answers.resize(1);
    sweep.points.kind = study::PointSet::Kind::grid;
    study::Evaluation evaluation(sweep, {{std::nullopt, 5.0}});
    const double in[] = {1}, out[] = {3};
    // As it is, low, high, two points.
    std::size_t number = 0;
    for (const bool lost : {false, false, true, false, true})
        evaluation.row(number++, lost ? Outcome::End::refused : Outcome::End::complete, in, out,
                       lost ? "so" : "");
    CHECK(evaluation.refused() == 2);
    CHECK(evaluation.points_lost() == 1);
}

TEST_CASE("what is lost counts nowhere but as lost") {
    using study::Outcome;
    study::Sweep sweep;
    sweep.varied.resize(1);
    sweep.answers.resize(1);
    sweep.points.kind = study::PointSet::Kind::indices;
    sweep.points.n = 64;
    study::Evaluation evaluation(sweep, {{std::nullopt, 5.0}});
    // y = 3 x about x = 2; every fourth block has a row that failed.
    std::size_t number = 0;
    const auto row = [&](double x, bool fails) {
        const double in[] = {x}, out[] = {fails ? 1e9 : 3 * x};
        evaluation.row(number++, fails ? Outcome::End::failed : Outcome::End::complete, in, out,
                       fails ? "failed: so" : "");
    };
    row(2, false);
    row(1, false);
    row(3, false);
    for (std::size_t k = 0; k < 64; ++k) {
        const double a = 1 + static_cast<double>(k) / 32, b = 3 - static_cast<double>(k) / 64;
        row(a, false);
        row(b, k % 4 == 0);
        row(b, false);
    }
    const auto results = evaluation.finish();
    CHECK(evaluation.rows() == 3 + 192);
    CHECK(evaluation.failed() == 16);
    CHECK(evaluation.refused() == 0);
    CHECK(evaluation.points_lost() == 16);
    CHECK(evaluation.reason() == "failed: so");
    CHECK(evaluation.first_lost() == 4);
    const study::AnswerResult& r = results[0];
    CHECK(r.as_it_is == 6);
    CHECK(r.alone[0].low == 3);
    CHECK(r.alone[0].high == 9);
    CHECK(near(r.alone[0].per_cent, 1, 1e-14, 0)); // y = 3 x: one per cent for one
    CHECK(r.tally.count() == 128 - 16);
    CHECK(r.tally.most() < 10);
    // Above 5 lies x > 5/3: of a the k above 21.3, of b all that were not lost.
    CHECK(r.tally.above() == 42 + 48);
    REQUIRE(r.indices.has_value());
    CHECK(r.indices->blocks == 48);
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
