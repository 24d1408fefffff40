// ctest: quick 60
// The command `match`: its table of readings.
#include <doctest/doctest.h>

#include <sstream>

#include "command.hpp"

using namespace pedalbench::test;

TEST_CASE("readings stand in columns in either units") {
    const Folder folder;
    const std::string complaint = source_folder() + "/tests/page/rig_complaint.yaml";
    for (const char* units : {"metric", "us"}) {
        REQUIRE(run(folder,
                    {"match", complaint, "--units", units, "--plots", "none", "--out", "m"}) == 0);
        std::istringstream report(folder.text("m/report.txt"));
        std::string line;
        while (line.find("read on the car") == std::string::npos)
            REQUIRE(std::getline(report, line));
        const std::size_t column = line.find("the car as it is");
        REQUIRE(column != std::string::npos);
        int rows = 0;
        while (std::getline(report, line) && !line.empty()) {
            ++rows;
            CAPTURE(line);
            REQUIRE(line.size() > column);
            CHECK(line.substr(column - 2, 2) == "  ");
            CHECK(line[column] != ' ');
            CHECK(line.size() <= 100);
        }
        CHECK(rows == 6);
    }
}
