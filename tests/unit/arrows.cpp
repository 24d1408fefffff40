// The house rules that a reader cannot be expected to check by eye: which folder may include which,
// what the library keeps out, and that no pair of files in parts/ is left unregistered.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "places.hpp"

namespace fs = std::filesystem;

namespace {

const fs::path kSource = pedalbench::test::source_folder();

struct Include {
    int line;
    std::string target;
    bool quoted; // "parts/field.hpp" rather than <vector>
};

struct File {
    std::string path; // relative to the repository, with forward slashes
    std::string text;
    std::vector<Include> includes;
    int lines = 0;
};

std::string read(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

File read_file(const fs::path& path) {
    File file;
    file.path = fs::relative(path, kSource).generic_string();
    file.text = read(path);
    std::istringstream in(file.text);
    for (std::string line; std::getline(in, line);) {
        ++file.lines;
        std::size_t i = line.find_first_not_of(" \t");
        if (i == std::string::npos || line[i] != '#') continue;
        i = line.find_first_not_of(" \t", i + 1);
        if (i == std::string::npos || line.compare(i, 7, "include") != 0) continue;
        const std::size_t open = line.find_first_of("\"<", i);
        if (open == std::string::npos) continue;
        const bool quoted = line[open] == '"';
        const std::size_t close = line.find(quoted ? '"' : '>', open + 1);
        if (close == std::string::npos) continue;
        file.includes.push_back({file.lines, line.substr(open + 1, close - open - 1), quoted});
    }
    return file;
}

std::vector<File> sources(const std::string& folder) {
    std::vector<File> files;
    if (!fs::exists(kSource / folder)) return files;
    for (const auto& entry : fs::recursive_directory_iterator(kSource / folder)) {
        const fs::path ext = entry.path().extension();
        if (entry.is_regular_file() && (ext == ".cpp" || ext == ".hpp"))
            files.push_back(read_file(entry.path()));
    }
    std::sort(files.begin(), files.end(),
              [](const File& a, const File& b) { return a.path < b.path; });
    return files;
}

std::string first_folder(const std::string& path) {
    return path.substr(0, path.find('/'));
}

/// "runner", or the folder below lib/.
std::string house_of(const File& file) {
    if (file.path.starts_with("runner/")) return "runner";
    const std::string below = file.path.substr(std::string("lib/").size());
    return below.find('/') == std::string::npos ? "" : first_folder(below);
}

/// What a folder may include besides itself: runner -> study -> record, solve -> circuit -> system
/// -> parts, wheel -> hydraulics -> fluid; solve knows nothing of brakes.
const std::map<std::string, std::set<std::string>>& arrows() {
    static const std::map<std::string, std::set<std::string>> table = {
        {"fluid", {}},
        {"hydraulics", {"fluid"}},
        {"parts", {"wheel", "hydraulics", "fluid"}}, // side by side
        {"wheel", {"parts", "hydraulics", "fluid"}},
        {"system", {"parts", "wheel", "hydraulics", "fluid"}},
        {"circuit", {"system", "parts", "wheel", "hydraulics", "fluid"}},
        {"solve", {}},
        {"record", {"solve", "circuit", "system", "parts", "wheel", "hydraulics", "fluid"}},
        {"study",
         {"record", "solve", "circuit", "system", "parts", "wheel", "hydraulics", "fluid"}},
        {"runner",
         {"study", "record", "solve", "circuit", "system", "parts", "wheel", "hydraulics",
          "fluid"}},
    };
    return table;
}

/// The circuit poses its equations in the solver's terms, without knowing how they are solved.
bool excepted(const std::string& file, const std::string& target) {
    return file.starts_with("lib/circuit/") && target == "solve/problem.hpp";
}

std::string where(const File& file, const Include& include) {
    return file.path + ":" + std::to_string(include.line) + " includes " + include.target;
}

bool holds(const std::set<std::string>& set, const std::string& value) {
    return set.find(value) != set.end();
}

} // namespace

TEST_CASE("no include runs against the arrows") {
    std::vector<File> files = sources("lib");
    const std::vector<File> runner = sources("runner");
    files.insert(files.end(), runner.begin(), runner.end());
    REQUIRE(files.size() > 0);
    for (const File& file : files) {
        const std::string house = house_of(file);
        CAPTURE(file.path);
        REQUIRE_MESSAGE(arrows().count(house) == 1, file.path, " lies in no known folder of lib/");
        const std::set<std::string>& allowed = arrows().at(house);
        for (const Include& include : file.includes) {
            if (!include.quoted) continue;
            CAPTURE(where(file, include));
            CHECK_MESSAGE(include.target.find("..") == std::string::npos,
                          "paths start at lib/ or at the repository, never at '..'");
            if (include.target.find('/') == std::string::npos) {
                CHECK_MESSAGE(fs::exists((kSource / file.path).parent_path() / include.target),
                              "no such file beside the one that includes it");
                continue;
            }
            const std::string target = first_folder(include.target);
            CHECK_MESSAGE(
                (target == house || holds(allowed, target) || excepted(file.path, include.target)),
                "an arrow runs back: ", house, " must not know ", target);
            const fs::path root = target == "runner" ? kSource : kSource / "lib";
            CHECK_MESSAGE(fs::exists(root / include.target), "no such file");
        }
    }
}

TEST_CASE("the library knows no file, terminal, clock, thread or file format") {
    const std::set<std::string> banned = {
        "iostream",   "fstream",
        "filesystem", "stdio.h",
        "print",      "syncstream",
        "ctime",      "time.h",
        "thread",     "mutex",
        "future",     "atomic",
        "stop_token", "condition_variable",
        "csignal",    "signal.h",
        "unistd.h",
    };
    const std::set<std::string> banned_folders = {"yaml-cpp", "fmt", "CLI", "nlohmann",
                                                  "hdf5",     "mpi", "sys"};
    const std::set<std::string> threads = {"thread", "mutex", "atomic", "stop_token",
                                           "condition_variable"};
    for (const File& file : sources("lib"))
        for (const Include& include : file.includes) {
            if (include.quoted) continue;
            CAPTURE(where(file, include));
            if (house_of(file) == "study" && holds(threads, include.target)) continue;
            CHECK_FALSE(holds(banned, include.target));
            CHECK_FALSE(holds(banned_folders, first_folder(include.target)));
            // The summary states how long a run took; nothing else may look at a clock.
            if (include.target == "chrono") CHECK(file.path.starts_with("lib/record/"));
        }
}

TEST_CASE("the library prints nothing") {
    // <cstdio> is welcome for snprintf alone.
    for (const File& file : sources("lib"))
        for (const std::string word :
             {" printf(", "std::printf", "fprintf", " puts(", "std::puts", "fopen", "std::cout",
              "std::cerr", "std::clog", "getenv", "std::exit", "std::abort"}) {
            CAPTURE(file.path);
            CAPTURE(word);
            CHECK(file.text.find(word) == std::string::npos);
        }
}

TEST_CASE("public headers of the library are quick to include") {
    for (const File& file : sources("lib")) {
        if (!file.path.ends_with(".hpp") || file.path.find("_impl") != std::string::npos) continue;
        for (const Include& include : file.includes) {
            CAPTURE(where(file, include));
            CHECK_FALSE(first_folder(include.target) == "Eigen");
            // The stepper speaks the tags of Boost.Odeint's concepts.
            if (!file.path.starts_with("lib/solve/"))
                CHECK_FALSE(first_folder(include.target) == "boost");
        }
    }
}

TEST_CASE("every pair of files in parts is registered") {
    const std::set<std::string> not_a_part = {"part", "part_of", "field", "registry"};
    const fs::path folder = kSource / "lib" / "parts";
    std::set<std::string> headers, bodies;
    for (const File& file : sources("lib/parts")) {
        const fs::path path = file.path;
        (path.extension() == ".hpp" ? headers : bodies).insert(path.stem().string());
    }
    const File registry =
        fs::exists(folder / "registry.cpp") ? read_file(folder / "registry.cpp") : File{};
    for (const std::string& name : headers) {
        if (holds(not_a_part, name)) continue;
        CAPTURE(name);
        CHECK_MESSAGE(holds(bodies, name), "a part is a pair of files: ", name, ".cpp is missing");
        const bool registered =
            std::any_of(registry.includes.begin(), registry.includes.end(),
                        [&](const Include& i) { return i.target == "parts/" + name + ".hpp"; });
        CHECK_MESSAGE(registered, "lib/parts/registry.cpp does not include parts/", name, ".hpp");
    }
    for (const std::string& name : bodies) {
        CAPTURE(name);
        CHECK_MESSAGE(holds(headers, name), "a part is a pair of files: ", name, ".hpp is missing");
    }
}

TEST_CASE("the top level holds what it is meant to hold and nothing else") {
    const std::set<std::string> allowed = {
        "CMakeLists.txt", "README.md", "DEVELOPERS.md", "lib", "runner",
        "scenarios",      "tests",     "plots",         "docs"};
    for (const auto& entry : fs::directory_iterator(kSource)) {
        const std::string name = entry.path().filename().string();
        CAPTURE(name);
        // Dot files are free; build folders and results are ignored by git.
        if (name.starts_with(".") || name.starts_with("build") || name == "runs") continue;
        CHECK(holds(allowed, name));
    }
}

TEST_CASE("no source file is longer than 500 lines") {
    for (const char* folder : {"lib", "runner"})
        for (const File& file : sources(folder)) {
            CAPTURE(file.path);
            CHECK(file.lines <= 500);
        }
}
