// Bad input files and the words in which they are refused, compared letter by letter. A file
// `name.yaml` here stands beside `name.expected`, and where the command line plays a part, beside
// `name.set` with one --set per line, and beside `name.without` with one --without per line.
// Whoever changes a message changes the expected one in the same commit.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "places.hpp"
#include "runner/file_head.hpp"
#include "runner/reader.hpp"
#include "runner/study_file.hpp"

using namespace pedalbench::runner;
namespace fs = std::filesystem;

namespace {

std::string text_of_file(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

std::vector<std::string> lines_of_file(const fs::path& path) {
    std::ifstream in(path);
    std::vector<std::string> lines;
    for (std::string line; std::getline(in, line);)
        lines.push_back(line);
    return lines;
}

void without(std::string& text, const std::string& piece) {
    for (std::size_t at; (at = text.find(piece)) != std::string::npos;)
        text.erase(at, piece.size());
}

} // namespace

TEST_CASE("every bad file is refused in the expected words") {
    const fs::path folder = fs::path(pedalbench::test::source_folder()) / "tests" / "refusals";
    std::vector<fs::path> files;
    for (const auto& entry : fs::directory_iterator(folder))
        if (entry.path().extension() == ".yaml") files.push_back(entry.path());
    std::sort(files.begin(), files.end());
    CHECK(files.size() >= 25);
    for (const fs::path& file : files) {
        CAPTURE(file.filename().string());
        Findings findings;
        const auto sets = lines_of_file(fs::path(file).replace_extension(".set"));
        const auto without_faults = lines_of_file(fs::path(file).replace_extension(".without"));
        if (kind_of(file.generic_string()) == FileKind::study)
            CHECK_FALSE(read_study(file.generic_string(), {}, findings).has_value());
        else
            CHECK_FALSE(
                read_scenario(file.generic_string(), sets, findings, without_faults).has_value());
        std::string found;
        for (const std::string& line : findings.lines())
            found += line + "\n";
        without(found, folder.generic_string() + "/");
        CHECK_FALSE(found.empty());
        const fs::path expected = fs::path(file).replace_extension(".expected");
        // With this variable set the files are written anew; read their differences before you
        // commit.
        if (std::getenv("PEDALBENCH_WRITE_EXPECTED"))
            std::ofstream(expected, std::ios::binary) << found;
        CHECK(found == text_of_file(expected));
    }
}

TEST_CASE("the good files beside the bad ones are accepted") {
    const std::string car = pedalbench::test::source_folder() + "/tests/refusals/cars/small.yaml";
    Findings findings;
    const auto loaded = read_scenario(car, {}, findings);
    CHECK(findings.empty());
    REQUIRE(loaded.has_value());
    CHECK(loaded->hardware_only);
}
