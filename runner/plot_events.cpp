#include "plot_events.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <map>
#include <numeric>
#include <string_view>
#include <utility>

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostNotes = 32; // lines under a picture
constexpr std::size_t kMostMarks = 20;
constexpr std::size_t kMostThings = 20, kFewThings = 3; // that one mark tells
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

/// What happens, of a field that is set with its value: "hole becomes 2.5 mm".
std::string what_happens(const Event& event, const OutputUnits& units) {
    constexpr std::string_view kBecomes = "becomes";
    const std::size_t at = event.text.find(kBecomes);
    if (!is_set(event) || event.readings.size() != 1) return event.text;
    const Reading& to = event.readings.front();
    std::string text = event.text;
    return text.insert(at + kBecomes.size(), " " + units.found(to.dimension, to.value, 3));
}

std::string in_words(const Event& event, const OutputUnits& units) {
    std::string text = event.part + ": " + what_happens(event, units);
    if (is_set(event) && event.readings.size() == 1) return text;
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

bool Group::has_room_for(const Event& event, std::size_t things) const {
    std::set<std::string_view> texts{event.text};
    for (const Event* told : events)
        texts.insert(told->text);
    return texts.size() <= things;
}

std::string Group::words(const OutputUnits& units) const {
    Happenings all;
    for (const Event* event : events)
        all.add(event->part, what_happens(*event, units));
    return all.words();
}

std::vector<std::size_t> in_turn(const std::vector<Turn>& turns, const Axis& time) {
    std::vector<std::size_t> order(turns.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return std::pair(turns[a].rank, turns[a].time) < std::pair(turns[b].rank, turns[b].time);
    });
    std::array<std::size_t, kStretches> given{};
    std::vector<std::pair<std::size_t, int>> when(turns.size()); // round, stretch
    for (const std::size_t i : order) {
        const double share = (turns[i].time - time.low) / (time.high - time.low);
        const int stretch = std::clamp(static_cast<int>(kStretches * share), 0, kStretches - 1);
        std::size_t& round = given[static_cast<std::size_t>(stretch)];
        round = std::max(round, turns[i].round);
        when[i] = {round++, stretch};
    }
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return when[a] < when[b]; });
    return order;
}

Marked marked(const std::vector<Event>& events, const std::set<std::string>& recorded,
              const Axis& time, std::size_t most, std::size_t things) {
    Marked out;
    std::vector<const Event*> asking;
    std::map<std::string_view, long> of_part; // how often it speaks
    for (const Event& event : events) {
        // What is set before the start is how the car is, not what happens.
        if (event.time < time.low || event.time > time.high || (event.time <= 0 && is_set(event)))
            continue;
        asking.push_back(&event);
        ++of_part[event.part];
    }
    std::set<std::pair<std::string_view, std::string_view>> told;
    std::vector<Turn> turns;
    for (const Event* event : asking) {
        constexpr long kMost = 1'000'000; // events of a part
        const bool again = !told.insert({event->part, event->text}).second;
        // What is set is what the rest comes from.
        const long standing = !is_set(*event) && !recorded.contains(event->part);
        turns.push_back({event->time,
                         (2 * standing + again) * kMost + std::min(of_part[event->part], kMost - 1),
                         again ? 1U : 0U});
    }
    const double touch = 4 * (time.high - time.low) / kPanelWidth;
    for (const std::size_t i : in_turn(turns, time)) {
        const Event* event = asking[i];
        const auto after = std::find_if(out.groups.begin(), out.groups.end(),
                                        [&](const Group& g) { return g.time >= event->time; });
        auto near = after;
        if (after != out.groups.begin() &&
            (after == out.groups.end() ||
             event->time - std::prev(after)->time < after->time - event->time))
            near = std::prev(after);
        if (near != out.groups.end() && std::abs(near->time - event->time) <= touch) {
            if (near->has_room_for(*event, things))
                near->events.push_back(event);
            else
                ++out.left_out;
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
    for (Group& group : out.groups) // as they came: all are of one list
        std::sort(group.events.begin(), group.events.end());
    return out;
}

std::size_t Story::number(const Group& group) {
    const std::string words = group.words(units_);
    const auto same = std::find_if(told_.begin(), told_.end(),
                                   [&words](const Told& t) { return t.words == words; });
    const std::size_t i = static_cast<std::size_t>(same - told_.begin());
    if (same == told_.end()) told_.push_back({group, words, 0, 0});
    ++told_[i].times;
    told_[i].last = group.events.front()->time; // its mark may stand beside
    return i + 1;
}

std::vector<Note> Story::notes(std::size_t most) const {
    std::vector<Note> notes;
    for (const Told& told : told_) {
        std::string text = told.words;
        const auto& events = told.first.events;
        const double from = events.front()->time, until = events.back()->time;
        if (events.size() == 1) text = in_words(*events.front(), units_);
        // Before the words: behind them it would say how long the last of them lasts.
        if (seconds(until) != seconds(from)) text = "to " + seconds(until) + ": " + text;
        if (told.times == 2) text += "; again at " + seconds(told.last);
        // Not how often it happened: where there is no room some of that has no mark.
        if (told.times > 2) text += "; again at " + std::to_string(told.times - 1) + " more marks";
        const std::vector<std::string> lines = text_lines(text, note_letters(Picture{}.note_text));
        if (notes.size() + lines.size() > most) {
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

std::set<std::string> recorded_parts(const TraceFile& trace) {
    std::set<std::string> parts;
    for (const TraceColumn& column : trace.columns)
        parts.insert(column.path.substr(0, column.path.find('.')));
    return parts;
}

void add_events(Picture& picture, const std::vector<Event>& events,
                const std::set<std::string>& recorded, const OutputUnits& units) {
    const Axis& time = picture.panels.front().x;
    // Where not all fits below, a mark tells fewer things, then there are fewer marks.
    std::size_t things = kMostThings;
    for (std::size_t most = kMostMarks;; things > kFewThings ? --things : --most) {
        const Marked found = marked(events, recorded, time, most, things);
        Story story(units);
        picture.marks.clear();
        for (const Group& group : found.groups)
            picture.marks.push_back({group.time, std::to_string(story.number(group))});
        const std::size_t room = std::min(kMostNotes, room_for_notes(picture));
        picture.notes = story.notes(found.left_out > 0 && room > 0 ? room - 1 : room);
        const bool whole = picture.notes.empty() || picture.notes.back().text != kOthers;
        if (!whole && most > 1) continue;
        if (whole && found.left_out > 0) picture.notes.push_back({"", "", kOthers});
        return;
    }
}

} // namespace pedalbench::runner
