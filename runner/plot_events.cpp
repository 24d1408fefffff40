#include "plot_events.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <utility>

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostNotes = 24; // lines under a picture

std::string seconds(double time) {
    std::array<char, 32> text;
    std::snprintf(text.data(), text.size(), "%.3f s", time);
    return text.data();
}

std::string in_words(const Event& event, const OutputUnits& units) {
    std::string text = event.part + ": " + event.text;
    for (std::size_t i = 0; i < event.readings.size(); ++i) {
        const Reading& reading = event.readings[i];
        text += (i == 0 ? " (" : ", ") + reading.name + ' ' +
                units.found(reading.dimension, reading.value, 3);
        if (i + 1 == event.readings.size()) text += ')';
    }
    return text;
}

} // namespace

std::string Group::words() const {
    std::vector<std::pair<std::string, std::vector<std::string>>> said; // what, who
    for (const Event* event : events) {
        const auto same = std::find_if(said.begin(), said.end(),
                                       [&](const auto& s) { return s.first == event->text; });
        if (same == said.end())
            said.push_back({event->text, {event->part}});
        else if (std::find(same->second.begin(), same->second.end(), event->part) ==
                 same->second.end())
            same->second.push_back(event->part);
    }
    std::string text;
    for (const auto& [what, who] : said) {
        if (!text.empty()) text += "; ";
        for (const std::string& part : who)
            text += (&part == &who.front() ? "" : ", ") + part;
        text += ": " + what;
    }
    return text;
}

std::vector<Group> groups_of(const std::vector<Event>& events, const Axis& time) {
    std::vector<Group> groups;
    std::vector<EventMark> marks;
    const double touch = 4 * (time.high - time.low) / kPanelWidth;
    for (const Event& event : events) {
        if (event.time < time.low || event.time > time.high) continue;
        bool apart = groups.empty() || event.time - groups.back().time > touch;
        if (apart) {
            marks.push_back({event.time, ""});
            if (mark_rows(marks, time).back() < 0) {
                marks.pop_back();
                apart = false;
            }
        }
        if (apart) groups.push_back({event.time, {}});
        groups.back().events.push_back(&event);
    }
    return groups;
}

std::size_t Story::number(const Group& group) {
    const std::string words = group.words();
    const auto same = std::find_if(told_.begin(), told_.end(),
                                   [&words](const Told& t) { return t.words == words; });
    const std::size_t i = static_cast<std::size_t>(same - told_.begin());
    if (same == told_.end()) told_.push_back({group, words, 0, 0});
    ++told_[i].times;
    told_[i].last = group.time;
    return i + 1;
}

std::vector<Note> Story::notes(const OutputUnits& units) const {
    std::vector<Note> notes;
    for (const Told& told : told_) {
        std::string text = told.words;
        if (told.first.events.size() == 1) text = in_words(*told.first.events.front(), units);
        if (told.times == 2) text += "; again at " + seconds(told.last);
        if (told.times > 2)
            text +=
                "; again " + std::to_string(told.times - 1) + " times until " + seconds(told.last);
        const std::vector<std::string> lines = text_lines(text, note_letters(Picture{}.note_text));
        if (notes.size() + lines.size() > kMostNotes) {
            notes.push_back({"", "", "All the others stand in events.csv."});
            return notes;
        }
        const std::string number = std::to_string(&told - told_.data() + 1);
        for (const std::string& line : lines)
            notes.push_back(&line == &lines.front() ? Note{number, seconds(told.first.time), line}
                                                    : Note{"", "", line});
    }
    return notes;
}

} // namespace pedalbench::runner
