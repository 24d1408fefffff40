#include "plot_events.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <string_view>
#include <utility>

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostNotes = 32; // lines under a picture: with them it still stands on a page
constexpr std::size_t kMostMarks = 20;
constexpr const char* kOthers = "All the others stand in events.csv.";

/// Milliseconds matter in a stop, not in minutes of bleeding.
std::string seconds(double time) {
    std::array<char, 32> text;
    std::snprintf(text.data(), text.size(), time < 100 ? "%.3f s" : "%.1f s", time);
    return text.data();
}

/// Somebody, or the file, has set a field.
bool is_set(const Event& event) {
    return event.text.find(" becomes") != std::string::npos;
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

void Happenings::add(const std::string& part, const std::string& what) {
    auto same =
        std::find_if(said_.begin(), said_.end(), [&](const auto& s) { return s.first == part; });
    if (same == said_.end()) same = said_.insert(same, {part, {}});
    if (std::find(same->second.begin(), same->second.end(), what) == same->second.end())
        same->second.push_back(what);
}

std::string Happenings::words() const {
    std::vector<std::pair<std::vector<std::string>, std::string>> merged; // what, of whom
    for (const auto& [part, what] : said_) {
        const auto same = std::find_if(merged.begin(), merged.end(),
                                       [&what](const auto& m) { return m.first == what; });
        if (same == merged.end())
            merged.push_back({what, part});
        else
            same->second += ", " + part;
    }
    std::string text;
    for (const auto& [what, parts] : merged) {
        if (!text.empty()) text += "; ";
        if (!parts.empty()) text += parts + ": ";
        for (const std::string& one : what)
            text += (&one == &what.front() ? "" : ", ") + one;
    }
    return text;
}

std::string Group::words() const {
    Happenings all;
    for (const Event* event : events)
        all.add(event->part, event->text);
    return all.words();
}

Marked marked(const std::vector<Event>& events, const Axis& time, std::size_t most) {
    Marked out;
    std::map<std::pair<std::string_view, std::string_view>, std::size_t> times; // so far
    std::vector<std::pair<std::size_t, const Event*>> order;
    for (const Event& event : events) {
        // What is set before the start is how the car is, not what happens.
        if (event.time < time.low || event.time > time.high || (event.time <= 0 && is_set(event)))
            continue;
        order.push_back({times[{event.part, event.text}]++, &event});
    }
    std::stable_sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
        return std::pair(is_set(*a.second), a.first) < std::pair(is_set(*b.second), b.first);
    });
    const double touch = 4 * (time.high - time.low) / kPanelWidth;
    for (const auto& [before, event] : order) {
        const auto after = std::find_if(out.groups.begin(), out.groups.end(),
                                        [&](const Group& g) { return g.time >= event->time; });
        auto near = after;
        if (after != out.groups.begin() &&
            (after == out.groups.end() ||
             event->time - std::prev(after)->time < after->time - event->time))
            near = std::prev(after);
        if (near != out.groups.end() && std::abs(near->time - event->time) <= touch) {
            near->events.push_back(event);
            continue;
        }
        std::vector<Group> more = out.groups;
        more.insert(more.begin() + (after - out.groups.begin()), Group{event->time, {event}});
        std::vector<EventMark> marks;
        for (const Group& group : more)
            marks.push_back({group.time, ""});
        const std::vector<int> rows = mark_rows(marks, time);
        if (more.size() > most || std::find(rows.begin(), rows.end(), -1) != rows.end())
            ++out.left_out;
        else
            out.groups = std::move(more);
    }
    for (Group& group : out.groups)
        std::stable_sort(group.events.begin(), group.events.end(),
                         [](const Event* a, const Event* b) { return a->time < b->time; });
    return out;
}

std::size_t Story::number(const Group& group) {
    const std::string words = group.words();
    const auto same = std::find_if(told_.begin(), told_.end(),
                                   [&words](const Told& t) { return t.words == words; });
    const std::size_t i = static_cast<std::size_t>(same - told_.begin());
    if (same == told_.end()) told_.push_back({group, words, 0, 0});
    ++told_[i].times;
    told_[i].last = group.events.front()->time; // its mark may stand beside
    return i + 1;
}

std::vector<Note> Story::notes(const OutputUnits& units) const {
    std::vector<Note> notes;
    for (const Told& told : told_) {
        std::string text = told.words;
        const auto& events = told.first.events;
        const double from = events.front()->time, until = events.back()->time;
        if (events.size() == 1) text = in_words(*events.front(), units);
        if (seconds(until) != seconds(from)) text += ", until " + seconds(until);
        if (told.times == 2) text += "; again at " + seconds(told.last);
        if (told.times > 2)
            text +=
                "; again " + std::to_string(told.times - 1) + " times until " + seconds(told.last);
        const std::vector<std::string> lines = text_lines(text, note_letters(Picture{}.note_text));
        if (notes.size() + lines.size() > kMostNotes) {
            notes.push_back({"", "", kOthers});
            return notes;
        }
        const std::string number = std::to_string(&told - told_.data() + 1);
        for (const std::string& line : lines)
            notes.push_back(&line == &lines.front() ? Note{number, seconds(from), line}
                                                    : Note{"", "", line});
    }
    return notes;
}

void add_events(Picture& picture, const std::vector<Event>& events, const OutputUnits& units) {
    const Axis& time = picture.panels.front().x;
    for (std::size_t most = kMostMarks;; --most) {
        const Marked found = marked(events, time, most);
        Story story;
        picture.marks.clear();
        for (const Group& group : found.groups)
            picture.marks.push_back({group.time, std::to_string(story.number(group))});
        picture.notes = story.notes(units);
        const bool whole = picture.notes.empty() || picture.notes.back().text != kOthers;
        if (!whole && most > 1) continue;
        if (whole && found.left_out > 0) picture.notes.push_back({"", "", kOthers});
        return;
    }
}

} // namespace pedalbench::runner
