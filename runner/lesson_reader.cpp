// A lesson: what a trainer says while a page plays the run back, step by step.
#include "reader.hpp"
#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

void read_step(const Node& node, const Source& source, const std::string& path,
               const Scenario& scenario, std::vector<LessonStep>& out) {
    MapReader map(node, source, path);
    if (!map.is_map()) return;
    LessonStep step;
    const Node* at = map.find("at");
    const Node* event = map.find("event");
    if ((at != nullptr) == (event != nullptr))
        source.findings.add(source.at(node), path,
                            at ? "both at and event" : "neither at nor event",
                            "one of them: a time, or the words of an event");
    else if (at)
        step.time = read_value(*at, limits("at", Dimension::time, 0, scenario.duration), source,
                               map.path("at"))
                        .value_or(0);
    else if (const auto words = read_text(*event, source, map.path("event"), "words of an event");
             words && check_event(scenario, *words, map.path("event"), source.findings))
        step.event = words->text;
    if (const Node* part = map.need("part", "the name of the part that is shown"))
        if (const auto name = read_text(*part, source, map.path("part"), "the name of a part")) {
            std::vector<std::string> names;
            for (const PartSpec& spec : scenario.hardware.parts)
                names.push_back(spec.name);
            if (const auto i = read_word(*name, names, map.path("part"), source.findings))
                step.part = names[*i];
        }
    constexpr std::string_view kSay = "a sentence or two for the class";
    if (const Node* say = map.need("say", kSay))
        if (const auto text = read_text(*say, source, map.path("say"), kSay)) {
            step.say = trim(text->text);
            if (step.say.empty()) source.findings.add(text->at, map.path("say"), "nothing", kSay);
        }
    step.ask = optional_text(map, "ask");
    step.answer = optional_text(map, "answer");
    if (step.ask.empty() != step.answer.empty())
        source.findings.add(source.at(node), path,
                            step.ask.empty() ? "an answer and no question" : "ask without answer",
                            "ask and answer together");
    map.finish();
    out.push_back(std::move(step));
}

} // namespace

void read_lesson(const Node& node, const Source& source, const Scenario& scenario,
                 std::vector<LessonStep>& out) {
    if (node.kind != Node::Kind::list) {
        source.findings.add(source.at(node), "lesson", describe(node), "a list of steps");
        return;
    }
    for (std::size_t i = 0; i < node.items.size(); ++i)
        read_step(node.items[i], source, "lesson." + std::to_string(i + 1), scenario, out);
}

} // namespace pedalbench::runner
