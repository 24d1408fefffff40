// The page of a run: what is recorded for it, which rows of a long run it keeps, and that the other
// files of a run are the same with it and without.
#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "command.hpp"
#include "runner/page.hpp"
#include "runner/reader.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario stop() {
    runner::Findings findings;
    auto loaded = runner::read_scenario(source_folder() + "/scenarios/lessons/ordinary_stop.yaml",
                                        {}, findings);
    REQUIRE(loaded);
    return loaded->scenario;
}

bool has(const std::vector<std::string>& list, const std::string& word) {
    return std::find(list.begin(), list.end(), word) != list.end();
}

/// What stands in the page between the runs' script tags.
nlohmann::json runs_of(const std::string& page) {
    const std::string open = "<script type=\"application/json\" id=\"runs\">";
    const std::size_t from = page.find(open);
    REQUIRE(from != std::string::npos);
    const std::size_t end = page.find("</script>", from);
    return nlohmann::json::parse(page.substr(from + open.size(), end - from - open.size()));
}

} // namespace

TEST_CASE("each point of a circuit is recorded for the page once, and what the user records too") {
    const Scenario scenario = stop();
    const std::vector<std::string> channels = runner::page_channels(scenario);
    for (const std::string& path : scenario.record)
        CHECK_MESSAGE(has(channels, path), path);
    // The cylinder's outlet and the residual valve's inlet are one volume; so are that valve's
    // outlet and an end of the switch, which the hardware lists before it.
    CHECK(has(channels, "master.secondary.pressure"));
    CHECK(!has(channels, "rear_residual.inlet.pressure"));
    CHECK(has(channels, "switch.second.pressure"));
    CHECK(has(channels, "switch.second.free_air"));
    CHECK(!has(channels, "rear_residual.outlet.pressure"));
    CHECK(has(channels, "rear_left_pipe.outlet.pressure"));
    CHECK(has(channels, "hold_off.plate_lift"));
    CHECK(has(channels, "master.primary_reservoir.fluid"));
    CHECK(!has(channels, "rear_residual.outlet.dissolved_air"));
    auto sorted = channels;
    std::sort(sorted.begin(), sorted.end());
    CHECK(std::adjacent_find(sorted.begin(), sorted.end()) == sorted.end());
}

TEST_CASE("files get what the user records, a page everything") {
    Trace files;
    runner::PageTrace trace({"b.two"}, files);
    trace.begin({{"a.one", Dimension::length}, {"b.two", Dimension::pressure}});
    trace.row(0, std::vector<double>{1, 2});
    trace.event({0.5, "b", "bursts", {}});
    trace.row(1, std::vector<double>{3, 4});
    REQUIRE(files.channels.size() == 1);
    CHECK(files.channels[0].path == "b.two");
    CHECK(files.of("b.two") == std::vector<double>{2, 4});
    CHECK(files.events.size() == 1);
    CHECK(trace.channels().size() == 2);
    CHECK(trace.value(1, 0) == 3.0F);
    CHECK(trace.value(1, 1) == 4.0F);
    CHECK(trace.recorded(1));
    CHECK(!trace.recorded(0));
}

TEST_CASE("of a long run the page keeps both sides of events and more rows where more moves") {
    Trace files;
    runner::PageTrace trace({}, files);
    trace.begin({{"a.one", Dimension::length}});
    // 1000 s at one row a second; between 400 s and 410 s something moves; an event at 700 s.
    for (int i = 0; i <= 1000; ++i) {
        const double value = std::clamp((i - 400) / 10.0, 0.0, 1.0);
        trace.row(i, std::vector<double>{value});
        if (i == 700) {
            trace.row(std::nextafter(700.0, 1e9), std::vector<double>{value});
            trace.event({700, "a", "clicks", {}});
        }
    }
    CHECK(trace.rows(2000).size() == 1002); // all where they are few enough
    const std::vector<std::size_t> rows = trace.rows(100);
    CHECK(rows.size() <= 104); // two of the event, the first and the last besides
    CHECK(rows.size() >= 55);
    CHECK(std::is_sorted(rows.begin(), rows.end()));
    CHECK(rows.front() == 0);
    CHECK(rows.back() == 1001);
    const auto kept = [&rows](std::size_t row) {
        return std::find(rows.begin(), rows.end(), row) != rows.end();
    };
    CHECK(kept(700));
    CHECK(kept(701));
    // Half of the rows go by time, one in 20 s; half to the ten seconds of movement: every row.
    for (std::size_t row = 401; row <= 410; ++row)
        CHECK(kept(row));
    CHECK(std::count_if(rows.begin(), rows.end(),
                        [](std::size_t r) { return r > 410 && r < 690; }) <= 16);
}

TEST_CASE("run --page writes one file that fetches nothing, and leaves the others as they are") {
    const Folder folder;
    write_scenario(folder, "1 s", "[]");
    std::string text = folder.text("stop.yaml");
    text.replace(text.find("a gentle press"), 14, "'a </script><b> & <!--runs--> press'");
    folder.write("stop.yaml", text);
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--out", "plain"}) == 0);
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--page", "--out", "paged"}) == 0);
    CHECK(folder.text("plain/trace.csv") == folder.text("paged/trace.csv"));
    CHECK(folder.text("plain/events.csv") == folder.text("paged/events.csv"));
    CHECK(folder.text("plain/page.html").empty());

    const std::string page = folder.text("paged/page.html");
    CHECK(page.find("default-src 'none'") != std::string::npos);
    for (const char* word : {"src=\"", "@import", "url(http", "<link rel=\"style"})
        CHECK_MESSAGE(page.find(word) == std::string::npos, word);
    CHECK(page.find("a </script>") == std::string::npos);
    const nlohmann::json runs = runs_of(page);
    CHECK(runs["title"] == "a </script><b> & <!--runs--> press");
    CHECK(runs["runs"].size() == 1);
    CHECK(runs["runs"][0]["rows_of"].get<int>() > 1000);

    // Another run without a page takes the old one away: it would tell of another run.
    REQUIRE(run(folder, {"run", "stop.yaml", "--plots", "none", "--out", "paged"}) == 0);
    CHECK(folder.text("paged/page.html").empty());
}

TEST_CASE("compare --page holds two runs and what differs; three are refused") {
    const Folder folder;
    write_scenario(folder, "1 s", "[]");
    REQUIRE(run(folder, {"compare", "stop.yaml", "--with", "pedal.ratio=4", "--plots", "none",
                         "--page", "--out", "both"}) == 0);
    const nlohmann::json runs = runs_of(folder.text("both/page.html"));
    REQUIRE(runs["runs"].size() == 2);
    CHECK(runs["runs"][0]["name"] == "as it is");
    CHECK(runs["runs"][1]["name"] == "with pedal.ratio=4");
    CHECK(!runs["sentences"].empty());
    CHECK(runs["runs"][0]["parts"][0]["fields"]["ratio"] !=
          runs["runs"][1]["parts"][0]["fields"]["ratio"]);
    CHECK(run(folder, {"compare", "stop.yaml", "stop.yaml", "stop.yaml", "--page"}) == 2);
    CHECK(folder.text("err").find("3 files and --page") != std::string::npos);
}

TEST_CASE("match --page holds the answers, and the fault that leads beside the car as it is") {
    const Folder folder;
    const std::string complaint = source_folder() + "/tests/page/rig_complaint.yaml";
    REQUIRE(run(folder, {"match", complaint, "--page", "--out", "paged"}) == 0);
    const nlohmann::json page = runs_of(folder.text("paged/page.html"));
    const nlohmann::json summary = nlohmann::json::parse(folder.text("paged/summary.json"));
    CHECK(page["match"] == summary);
    CHECK(page["sweep"].is_null());
    REQUIRE(page["runs"].size() == 2);
    REQUIRE(summary["leaders"][0]["faults"][0]["kind"] == "seal_without_rollback");
    CHECK(page["runs"][0]["name"] == "with seal without rollback at front");
    CHECK(page["runs"][1]["name"] == "the car as it is");
    // The seal takes back what was found, and all of it in the sound car.
    const auto rollback = [&page](int run) {
        for (const auto& part : page["runs"][run]["parts"])
            if (part["name"] == "front") return part["fields"]["seal_rollback"].get<double>();
        return -1.0;
    };
    CHECK(std::abs(rollback(0) - 0.3) < 0.05);
    CHECK(rollback(1) == 1);
    CHECK(!page["sentences"].empty());
    // What was read is among the plots.
    for (const auto& channel : page["runs"][0]["channels"])
        if (channel["path"] == "front.pressure") CHECK(channel["recorded"] == true);
    for (const char* picture : {"readings.svg", "readings.png", "readings.pdf"})
        CHECK_MESSAGE(!folder.text(std::string("paged/") + picture).empty(), picture);

    REQUIRE(run(folder, {"match", complaint, "--plots", "none", "--out", "plain"}) == 0);
    for (const char* file : {"report.txt", "summary.json", "readings.csv"})
        CHECK_MESSAGE(folder.text(std::string("plain/") + file) ==
                          folder.text(std::string("paged/") + file),
                      file);
    CHECK(folder.text("plain/page.html").empty());
    CHECK(folder.text("plain/trace_1.csv").empty());
}

TEST_CASE("sweep --page holds the summary, the bins and every third row") {
    const Folder folder;
    folder.write("study.yaml", "pedalbench: 1\ntitle: springs\nscenario: " + source_folder() +
                                   "/scenarios/hardware/marten.yaml\n"
                                   "vary: {hold_off.plate_spring: {within: 4 %},\n"
                                   "       hold_off.plate_diameter: {within: 0.04 mm}}\n"
                                   "points: {random: 7000}\n"
                                   "answers: [{text: opens at, figure: hold_off.open, "
                                   "about: 8.6 bar, within: 3 %}]\n");
    REQUIRE(run(folder, {"sweep", "study.yaml", "--page", "--plots", "none", "--out", "paged"}) ==
            0);
    const nlohmann::json page = runs_of(folder.text("paged/page.html"));
    const nlohmann::json summary = nlohmann::json::parse(folder.text("paged/summary.json"));
    CHECK(page["title"] == "springs");
    CHECK(page["runs"].empty());
    const nlohmann::json& sweep = page["sweep"];
    for (const auto& [key, value] : summary["answers"][0].items())
        CHECK_MESSAGE(sweep["answers"][0][key] == value, key);
    std::size_t points = 0;
    for (const auto& bin : sweep["answers"][0]["bins"])
        points += bin["points"].get<std::size_t>();
    CHECK(points == 7000);
    // 7005 rows and 3000 dots at most: every third.
    CHECK(sweep["rows"]["every"] == 3);
    CHECK(sweep["rows"]["number"].size() == 2335);
    CHECK(sweep["rows"]["number"][1] == 3);
    CHECK(sweep["rows"]["answers"][0][0] == summary["answers"][0]["as_it_is"]);
}
