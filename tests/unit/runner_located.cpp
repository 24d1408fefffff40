// The located tree: the traps of lenient YAML, each with the words of its refusal.
#include <doctest/doctest.h>

#include <string>

#include "runner/located.hpp"
#include "runner/reading.hpp"

using namespace pedalbench::runner;

namespace {

/// The only complaint about a text, or "fine".
std::string complaint(const std::string& text) {
    Findings findings;
    const auto root = parse_yaml(text, "f", findings);
    CHECK(root.has_value() == findings.empty());
    if (findings.empty()) return "fine";
    CHECK(findings.size() == 1);
    return findings.lines().front();
}

} // namespace

TEST_CASE("every node and key knows where it stands") {
    Findings findings;
    const auto root = parse_yaml("a: 1\nb:\n  - x\n  - {c: 'it''s', d: [2]}\n", "f", findings);
    REQUIRE(root);
    CHECK(root->kind == Node::Kind::map);
    REQUIRE(root->items.size() == 2);
    CHECK(root->keys[1].text == "b");
    CHECK(root->keys[1].line == 2);
    CHECK(root->keys[1].column == 1);
    const Node& list = root->items[1];
    REQUIRE(list.items.size() == 2);
    CHECK(list.items[0].line == 3);
    CHECK(list.items[0].column == 5);
    CHECK(list.items[1].items[0].text == "it's");
    CHECK(list.items[1].keys[1].column == 18);
}

TEST_CASE("what YAML lets pass and we do not") {
    CHECK(complaint("a: 1\nb: 2\na: 3") ==
          "f:3:1: found the key `a` a second time (first in line 1), allowed each key once");
    CHECK(complaint("a: 1\n---\nb: 2") ==
          "f:3:1: found text after the end of the document, allowed one document per file");
    CHECK(complaint("a: 1\n...\nb: 2") ==
          "f:3:1: found text after the end of the document, allowed one document per file");
    CHECK(complaint("{a: 1} b") ==
          "f:1:8: found text after the end of the document, allowed one document per file");
    CHECK(complaint("a: \"x") == "f:1:6: cannot be read as YAML: illegal EOF in scalar");
    CHECK(complaint("a: [1,,2]") == "f:1:7: found an empty entry, allowed a value");
    CHECK(complaint("a: [1, 2") == "f:1:1: cannot be read as YAML: end of sequence flow not found");
    CHECK(complaint("a:\nb: 1") == "f:1:1: found nothing after `a:`, allowed a value");
    CHECK(complaint("a: {b, c: 1}") == "f:1:5: found nothing after `b:`, allowed a value");
    CHECK(complaint("a: ~") == "f:1:1: found nothing after `a:`, allowed a value");
    CHECK(complaint("a: &x 1\nb: *x") == "f:1:4: found an anchor (&), allowed plain values");
    CHECK(complaint("a: !!int 1") == "f:1:4: found a tag (!), allowed plain values");
    CHECK(complaint("? [1]\n: 2") == "f:1:3: found a list or map as a key, allowed a word");
    CHECK(complaint("a:\n\tb: 1") == "f:2:1: found a tab in the indentation, allowed blanks");
    CHECK(complaint("") == "f:1:1: found an empty file, allowed a map of keys and values");
    CHECK(complaint("# nothing\n") ==
          "f:1:1: found an empty file, allowed a map of keys and values");
}

TEST_CASE("only printable UTF-8 is text") {
    using namespace std::string_literals;
    CHECK(complaint("a: \xc3\xa4") == "fine");
    CHECK(complaint("\xef\xbb\xbf"
                    "a: 1\r\nb: 2\r\n") == "fine");
    CHECK(complaint("a: \xf0\x9f\x9a\x97") == "fine");
    CHECK(complaint("a: 1\nb: \xff") ==
          "f:2:4: found a byte that is not UTF-8, allowed text in UTF-8");
    CHECK(complaint("a: \xc0\xaf") ==
          "f:1:4: found a byte that is not UTF-8, allowed text in UTF-8");
    CHECK(complaint("a: \xed\xa0\x80") ==
          "f:1:4: found a byte that is not UTF-8, allowed text in UTF-8");
    CHECK(complaint("a: \xe2\x82") ==
          "f:1:4: found a byte that is not UTF-8, allowed text in UTF-8");
    CHECK(complaint("a: b\0c"s) == "f:1:5: found a control character, allowed text in UTF-8");
    CHECK(complaint("a: \"\\x00\"") == "f:1:4: found a control character, allowed plain text");
}

TEST_CASE("size and depth have limits") {
    CHECK(complaint("a: " + std::string(15, '[') + "1" + std::string(15, ']')) == "fine");
    CHECK(complaint("a: " + std::string(5000, '[') + std::string(5000, ']')) ==
          "f:1:19: found lists or maps more than 16 deep");
    std::string many = "a: [";
    for (int i = 0; i < 200001; ++i)
        many += "1,";
    CHECK(complaint(many + "1]") ==
          "f:1:1: found more than 200000 values, allowed a measured trace as a "
          "CSV file beside the scenario");
}

TEST_CASE("a key that nobody read is refused with its neighbour") {
    Findings findings;
    const auto root = parse_yaml("a: {radius: 1, raduis: 2}", "f", findings);
    REQUIRE(root);
    const Source source{"f", findings};
    MapReader map(root->items[0], source, "wheel");
    CHECK(map.find("radius") != nullptr);
    CHECK(map.find("friction") == nullptr);
    CHECK(map.need("kind", "a kind of part") == nullptr);
    map.finish();
    const auto lines = findings.lines();
    REQUIRE(lines.size() == 2);
    CHECK(lines[0] == "f:1:4: wheel.kind: found nothing, allowed a kind of part");
    CHECK(lines[1] ==
          "f:1:16: wheel.raduis: found an unknown key, allowed radius, friction or kind; did "
          "you mean radius?");
}

TEST_CASE("twenty refusals at most, by file and place") {
    Findings findings;
    findings.add({"b", 1, 1}, "", "x", "y");
    for (int i = 25; i > 0; --i)
        findings.add({"a", i, 1}, "p.f", "x", "y", "z");
    const auto lines = findings.lines();
    REQUIRE(lines.size() == 21);
    CHECK(lines[0] == "b:1:1: found x, allowed y");
    CHECK(lines[1] == "a:1:1: p.f: found x, allowed y; did you mean z?");
    CHECK(lines[19] == "a:19:1: p.f: found x, allowed y; did you mean z?");
    CHECK(lines[20] == "and 6 more");
}
