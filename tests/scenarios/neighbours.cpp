// ctest: physics,slow 900
// Neighbouring faults side by side: what they share they share, and one reading parts them. With
// PEDALBENCH_WRITE_EXPECTED=1 in the environment the table in docs/faults.md is written anew.
#include "neighbours.hpp"
#include "places.hpp"

#include <cstdlib>
#include <fstream>
#include <sstream>

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

Scenario car(Drive drive, const std::vector<std::string>& sets) {
    switch (drive) {
    case Drive::slow:
        return slow_stop(300, sets);
    case Drive::van: {
        Scenario s = load("proportioning_valve", sets);
        s.expectations.clear();
        const Scenario stop = plain();
        s.foot = stop.foot;
        s.duration = stop.duration;
        return s;
    }
    case Drive::bypass:
        return bypassed(sets);
    case Drive::pumped: {
        Scenario s = plain(sets);
        s.foot = quick_presses();
        s.duration = 3;
        return s;
    }
    case Drive::descent:
        return descent(485, sets);
    case Drive::let_go:
        return let_go(sets);
    case Drive::booster: {
        Scenario s = load("booster_reserve", sets);
        s.expectations.clear();
        s.changes.clear();
        s.foot = force({{0, 0}, {1, 100}, {3, 100}, {3.1, 0}});
        s.duration = 6;
        return s;
    }
    case Drive::take_up: {
        Scenario s = load("hard_stop_all_disc", sets);
        s.expectations.clear();
        s.changes.clear();
        s.foot = force({{0, 0},
                        {0.5, 0},
                        {1.3, 100},
                        {2.3, 100},
                        {2.6, 0},
                        {3.5, 0},
                        {4.3, 100},
                        {5.3, 100},
                        {5.6, 0},
                        {6.5, 0},
                        {7.5, 270},
                        {9.5, 270},
                        {9.8, 0}});
        s.duration = 13;
        return s;
    }
    case Drive::all_disc: {
        Scenario s = load("hard_stop_all_disc", sets);
        s.expectations.clear();
        s.duration = 8; // the take-up chamber gives back its last through a groove
        return s;
    }
    case Drive::creep: {
        Scenario s = plain(sets);
        s.foot = force({{0, 0}, {2, 300}, {9, 300}, {12, 0}});
        s.duration = 15;
        return s;
    }
    case Drive::firm: {
        Scenario s = load("look_alike_cylinder", sets);
        s.expectations.clear();
        return intact(s);
    }
    case Drive::twice: {
        Scenario s = plain(sets);
        s.foot =
            force({{0, 0}, {2, 0}, {3, 300}, {3.5, 300}, {4, 0}, {5, 0}, {6, 300}, {6.5, 300}});
        s.duration = 6.5;
        return s;
    }
    case Drive::rolling: {
        std::vector<std::string> all{"car.start_speed=10 m/s", "car.hold_speed=10 m/s",
                                     "car.drive_force=20000 N", "car.adhesion=1.3"};
        all.insert(all.end(), sets.begin(), sets.end());
        Scenario s = plain(all);
        s.foot = force({{0, 0}, {1, 300}, {5, 300}});
        s.duration = 5;
        return s;
    }
    case Drive::stop:
        break;
    }
    return plain(sets);
}

/// A hub leans before the first stroke, so that it can be straight again in it.
Played play(Drive drive, const Side& side) {
    Scenario s = car(drive, side.sets);
    if (*side.kind) {
        const double from = side.changes.empty() ? 0 : 0.3, over = side.changes.empty() ? 0 : 0.5;
        REQUIRE(find_fault(side.kind) != nullptr);
        const auto refused =
            apply_fault(s, {"fault", find_fault(side.kind), side.at, side.size, from, over});
        REQUIRE(refused.empty());
    }
    s.changes.insert(s.changes.end(), side.changes.begin(), side.changes.end());
    return pedalbench::test::play(s);
}

const Row* row_of(std::string_view kind) {
    for (const Row& row : rows())
        if (row.first.kind == kind || row.second.kind == kind) return &row;
    return nullptr;
}

std::string words(std::string_view kind) {
    std::string text(kind.empty() ? "air in the lines" : kind);
    return kind.empty() ? text : '`' + text + '`';
}

std::string befalls(const FaultKind& kind) {
    if (!kind.inserts.empty()) return "any point; inserts a `" + std::string(kind.inserts) + '`';
    return '`' + std::string(kind.part) + '.' + std::string(kind.field) + '`';
}

std::string table() {
    std::string text =
        "| kind | changes | what it is, and its size | looks like | what both show | "
        "the reading that tells | here | there |\n|---|---|---|---|---|---|---|---|\n";
    for (const FaultKind& kind : fault_kinds()) {
        const Row* row = row_of(kind.name);
        if (!row) continue;
        const bool first = row->first.kind == kind.name;
        const char* other = first ? row->second.kind : row->first.kind;
        text += "| `" + std::string(kind.name) + "` | " + befalls(kind) + " | " +
                std::string(kind.help) + " | " + words(other) + " | " + row->shared + " | " +
                row->reading + " | " + (first ? row->of_first : row->of_second) + " | " +
                (first ? row->of_second : row->of_first) + " |\n";
    }
    return text;
}

} // namespace

TEST_CASE("neighbours: what they share they share, and one reading parts them") {
    for (const Row& row : rows()) {
        CAPTURE(std::string(row.first.kind));
        CAPTURE(std::string(row.second.kind));
        const Played first = play(row.drive, row.first), second = play(row.drive, row.second);
        const Played sound = play(row.drive, {"", ""});
        int number = 0;
        for (const Alike& alike : row.alike) {
            CAPTURE(number++);
            const double one = alike.take(first), other = alike.take(second),
                         usual = alike.take(sound);
            CAPTURE(one);
            CAPTURE(other);
            CAPTURE(usual);
            CHECK(one >= alike.low);
            CHECK(one <= alike.high);
            CHECK(other >= alike.low);
            CHECK(other <= alike.high);
            CHECK((usual >= alike.low && usual <= alike.high) == alike.sound_too);
        }
        const double one = row.tells(first), other = row.tells(second);
        const double usual = row.tells(sound);
        CHECK_MESSAGE(one >= row.above,
                      row.reading << ": " << one << " and " << other << ", sound " << usual);
        CHECK_MESSAGE(other <= row.below,
                      row.reading << ": " << one << " and " << other << ", sound " << usual);
        CHECK(row.above > row.below);
    }
}

TEST_CASE("the table of faults on its page is that of the code") {
    const std::string path = source_folder() + "/docs/faults.md";
    std::ifstream in(path);
    REQUIRE(in);
    std::ostringstream content;
    content << in.rdbuf();
    std::string text = content.str();
    const std::string begin = "<!-- table of faults, written by the tests from the code -->\n",
                      end = "<!-- end of table -->\n";
    const std::size_t from = text.find(begin), to = text.find(end);
    REQUIRE(from != std::string::npos);
    REQUIRE(to != std::string::npos);
    const std::size_t inside = from + begin.size();
    if (std::getenv("PEDALBENCH_WRITE_EXPECTED")) {
        std::ofstream(path) << text.substr(0, inside) + table() + text.substr(to);
        return;
    }
    CHECK(text.substr(inside, to - inside) == table());
}
