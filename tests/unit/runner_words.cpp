// Numbers in and out, and the nearest known word.
#include <doctest/doctest.h>

#include <limits>
#include <string>
#include <vector>

#include "runner/words.hpp"

using namespace pedalbench::runner;

TEST_CASE("the edit distance counts swaps of neighbours as one") {
    CHECK(edit_distance("", "") == 0);
    CHECK(edit_distance("abc", "") == 3);
    CHECK(edit_distance("piston", "piston") == 0);
    CHECK(edit_distance("pistn", "piston") == 1);
    CHECK(edit_distance("psiton", "piston") == 1);
    CHECK(edit_distance("kitten", "sitting") == 3);
}

TEST_CASE("the nearest word is near, or there is none") {
    const std::vector<std::string> known = {"piston", "radius", "friction", "secondary_spring"};
    CHECK(nearest("pistn", known) == "piston");
    CHECK(nearest("raduis", known) == "radius");
    CHECK(nearest("secondary", known) == "secondary_spring"); // only one begins so
    CHECK(nearest("wheel", known).empty());
    CHECK(nearest("", known).empty());
    CHECK(nearest("x", known).empty());
}

TEST_CASE("whole numbers are decimal and finite") {
    CHECK(whole_number("12.5") == 12.5);
    CHECK(whole_number(" 12 ") == 12.0);
    CHECK(whole_number("017") == 17.0);
    CHECK(whole_number("-3e2") == -300.0);
    for (const char* bad :
         {"", "-", "+", "+-1", ".", "nan", "inf", "-inf", "1e400", "1e-400", "0x1p3", "1,5", "1 2"})
        CHECK_MESSAGE(!whole_number(bad), bad);
}

TEST_CASE("numbers for people have no needless digits") {
    CHECK(show(0) == "0");
    CHECK(show(-0.0) == "0");
    CHECK(show(12.700000000000001) == "12.7");
    CHECK(show(1013.25) == "1013.25");
    CHECK(show(123456.78, 4) == "123457");
    CHECK(show(0.00085) == "0.00085");
    CHECK(show(8.5e-5) == "8.5e-05");
    CHECK(show(1e9) == "1e+09");
    CHECK(show(9.99999, 3) == "10");
    CHECK(show(std::numeric_limits<double>::quiet_NaN()) == "-");
}

TEST_CASE("lists and lines") {
    const std::vector<std::string> three = {"a", "b", "c"};
    CHECK(one_of(three) == "a, b or c");
    CHECK(split("no|yes", '|') == std::vector<std::string>{"no", "yes"});
    CHECK(split("a,,b", ',') == std::vector<std::string>{"a", "", "b"});
    CHECK(split("", ',').empty());
    CHECK(counted(1, "step") == "1 step");
    CHECK(counted(2, "step") == "2 steps");
    CHECK(wrapped("one two three", 9, "  ") == "  one two\n  three\n");
    CHECK(wrapped("", 9, "  ").empty());
}
