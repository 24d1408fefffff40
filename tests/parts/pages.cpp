// Each part has its page in docs/parts, and the tables on it are those of the code. With
// PEDALBENCH_WRITE_EXPECTED=1 in the environment this test writes the tables into the pages instead
// of complaining.
#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <string>

#include "parts/registry.hpp"
#include "places.hpp"
#include "runner/units.hpp"
#include "runner/words.hpp"

using namespace pedalbench;
namespace fs = std::filesystem;

namespace {

const fs::path kDocs = fs::path(test::source_folder()) / "docs";
const std::string kEnd = "<!-- end of table -->\n";

std::string read(const fs::path& path) {
    std::ifstream in(path);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

std::string begin_of(const std::string& table) {
    return "<!-- table of " + table + ", written by the tests from the code -->\n";
}

std::string mark_of(Mark mark) {
    switch (mark) {
    case Mark::published:
        return "published";
    case Mark::practice:
        return "practice";
    case Mark::judgement:
        return "judgement";
    case Mark::given:
        break;
    }
    return "";
}

std::string fields_table(std::span<const Field> fields) {
    const auto units = runner::OutputUnits::metric();
    std::string text = "| field | default | allowed | meaning | where the default comes from |\n"
                       "|---|---|---|---|---|\n";
    for (const Field& f : fields) {
        std::string value = runner::field_text(f, f.fallback, units), allowed;
        if (f.fallback != f.fallback) value = f.mark == Mark::given ? "*needed*" : "derived";
        if (f.dimension == Dimension::choice)
            for (const char c : f.choices)
                allowed += c == '|' ? std::string(", ") : std::string(1, c);
        else
            allowed =
                runner::field_text(f, f.low, units) + " to " + runner::field_text(f, f.high, units);
        std::string from = mark_of(f.mark);
        if (!f.source.empty()) from += (from.empty() ? "" : ": ") + std::string(f.source);
        text += "| `" + std::string(f.name) + "` | " + value + " | " + allowed + " | " +
                std::string(f.help) + " | " + from + " |\n";
    }
    return text;
}

std::string quantities_table(const PartKind& kind) {
    std::string text = "| quantity | what it is |\n|---|---|\n";
    for (const QuantityInfo& q : kind.quantities)
        text += "| `" + std::string(q.name) + "` | " + runner::dimension_with_article(q.dimension) +
                ": " + std::string(q.help) + " |\n";
    return text;
}

/// Words of an event, and those of a car without a lamp where they differ.
std::string told(const GuardInfo& g, bool on) {
    const std::string wired(g.told(on, true)), bare(g.told(on, false));
    return bare == wired ? wired : wired + "; without a lamp in the car: " + bare;
}

std::string guards_table(const PartKind& kind) {
    const auto units = runner::OutputUnits::metric();
    std::string text =
        "| switch | dead band | told when it turns on | and off |\n|---|---|---|---|\n";
    for (const GuardInfo& g : kind.guards)
        text += "| " + std::string(g.name) + (g.latch ? " (latch)" : "") + " | " +
                // A band is a difference, and those of temperature are told in K.
                (g.dimension == Dimension::temperature ? runner::show(g.band, 4) + " K"
                                                       : units.text(g.dimension, g.band)) +
                " | " + told(g, true) + " | " + told(g, false) + " |\n";
    return text;
}

/// Compares one table of a page with the one wanted, or puts it there.
void check_table(const fs::path& page, const std::string& table, const std::string& wanted) {
    std::string text = read(page);
    const std::string begin = begin_of(table);
    const std::size_t from = text.find(begin);
    INFO(page.string(), " needs the lines ", begin, " and ", kEnd, " with this between them:\n",
         wanted);
    REQUIRE(from != std::string::npos);
    const std::size_t inside = from + begin.size(), to = text.find(kEnd, inside);
    REQUIRE(to != std::string::npos);
    if (std::getenv("PEDALBENCH_WRITE_EXPECTED")) {
        text.replace(inside, to - inside, wanted);
        std::ofstream(page, std::ios::binary) << text;
        text = read(page);
    }
    const std::size_t end = text.find(kEnd, inside);
    CHECK_MESSAGE(text.substr(inside, end - inside) == wanted, "the table of ", table, " on ",
                  page.string(), " is not that of the code; PEDALBENCH_WRITE_EXPECTED=1 writes it");
}

void check_fields(std::span<const Field> fields) {
    std::set<std::string_view> names;
    for (const Field& f : fields) {
        CAPTURE(f.name);
        CHECK(names.insert(f.name).second);
        CHECK(f.help.size() >= 8);
        if (f.mark != Mark::given) CHECK_FALSE(f.source.empty());
        if (f.mark == Mark::given) CHECK(f.fallback != f.fallback);
    }
}

} // namespace

TEST_CASE("fields, guards, states and quantities are named and explained") {
    check_fields(fluid_fields());
    check_fields(surroundings_fields());
    for (const PartKind* kind : part_kinds()) {
        CAPTURE(kind->name);
        check_fields(kind->fields);
        CHECK_FALSE(kind->summary.empty());
        std::set<std::string_view> names;
        for (const GuardInfo& g : kind->guards) {
            CAPTURE(g.name);
            CHECK_FALSE(g.name.empty());
            CHECK(names.insert(g.name).second);
            CHECK(g.band > 0);
        }
        for (const StateInfo& s : kind->states) {
            CHECK_FALSE(s.name.empty());
            CHECK(s.tolerance > 0);
        }
        std::set<std::string_view> quantities;
        for (const QuantityInfo& q : kind->quantities) {
            CAPTURE(q.name);
            CHECK(quantities.insert(q.name).second);
            CHECK(q.help.size() >= 8);
        }
        // Numbers that an event tells are channels of the part.
        for (const GuardInfo& g : kind->guards) {
            std::istringstream tell{std::string(g.tell)};
            for (std::string one; std::getline(tell, one, ',');) {
                bool found = one == "pressure" || quantities.count(one) > 0;
                for (const PortInfo& port : kind->ports)
                    found = found ||
                            one == std::string(port.name) +
                                       (port.kind == PortKind::reservoir ? ".fluid" : ".pressure");
                CHECK_MESSAGE(found, g.name, " tells ", one, ", which is no channel");
            }
        }
    }
}

TEST_CASE("every part has a page with the tables of the code, linked from the index") {
    const std::string index = read(kDocs / "README.md");
    for (const PartKind* kind : part_kinds()) {
        const std::string name(kind->name);
        CAPTURE(name);
        const fs::path page = kDocs / "parts" / (name + ".md");
        REQUIRE_MESSAGE(fs::exists(page), page.string(), " is missing");
        CHECK(index.find("(parts/" + name + ".md)") != std::string::npos);
        check_table(page, "fields", fields_table(kind->fields));
        if (!kind->quantities.empty()) check_table(page, "quantities", quantities_table(*kind));
        if (!kind->guards.empty()) check_table(page, "switches", guards_table(*kind));
        const std::string text = read(page);
        for (const char* heading : {"## Law", "## What it cannot show"})
            CHECK_MESSAGE(text.find(heading) != std::string::npos, page.string(), " lacks ",
                          heading);
    }
    check_table(kDocs / "parts" / "fluid.md", "fluid fields", fields_table(fluid_fields()));
    check_table(kDocs / "parts" / "fluid.md", "surroundings fields",
                fields_table(surroundings_fields()));
}

TEST_CASE("no page of a part that does not exist, and every page is reached from the index") {
    const std::string index = read(kDocs / "README.md");
    for (const auto& entry : fs::recursive_directory_iterator(kDocs)) {
        if (entry.path().extension() != ".md" || entry.path() == kDocs / "README.md") continue;
        const std::string path = fs::relative(entry.path(), kDocs).generic_string();
        CAPTURE(path);
        CHECK(index.find("(" + path + ")") != std::string::npos);
        if (path.starts_with("parts/") && path != "parts/fluid.md")
            CHECK(find_kind(entry.path().stem().string()) != nullptr);
    }
}

TEST_CASE("links between pages lead somewhere") {
    for (const auto& entry : fs::recursive_directory_iterator(kDocs)) {
        if (entry.path().extension() != ".md") continue;
        const std::string text = read(entry.path());
        for (std::size_t i = text.find("]("); i != std::string::npos; i = text.find("](", i + 2)) {
            std::string target = text.substr(i + 2, text.find(')', i) - i - 2);
            target = target.substr(0, target.find('#'));
            if (target.empty() || target.find("://") != std::string::npos) continue;
            CAPTURE(target);
            CHECK_MESSAGE(fs::exists(entry.path().parent_path() / target), entry.path().string(),
                          " links to what is not there");
        }
    }
}
