// Expectations: what the scenario's author says must come out, about channels or about events. A
// statement about something that can never occur would always hold or always fail, so it is
// refused.
#include <algorithm>
#include <cmath>

#include "circuit/layout.hpp"
#include "parts/part.hpp"
#include "reading.hpp"
#include "record/record.hpp"
#include "words.hpp"

namespace pedalbench::runner {

struct Known {
    std::vector<Channel> channels;
    std::vector<std::string> events; // "hold_off: plate opens"
    /// Names of the readings of some events.
    std::map<std::string, std::vector<std::string>> readings;
};

const Channel* find_channel(const std::vector<Channel>& channels, const Text& path,
                            std::string_view wanted_as, Findings& findings) {
    std::vector<std::string> paths;
    for (const Channel& c : channels) {
        if (c.path == path.text) return &c;
        paths.push_back(c.path);
    }
    // With the part's name right, its own quantities are the list that helps; else there are too
    // many.
    const std::string part = path.text.substr(0, path.text.find('.'));
    std::vector<std::string> same;
    for (const std::string& p : paths)
        if (p.starts_with(part + ".")) same.push_back(p);
    findings.add(path.at, wanted_as, path.text.empty() ? "nothing" : path.text,
                 same.empty() ? "part.quantity of a part in this car" : one_of(same),
                 nearest(path.text, paths));
    return nullptr;
}

namespace {

Known known_of(const Scenario& scenario) {
    Known known;
    known.channels = channels_of(scenario);
    const bool wired = has_lamp(scenario.hardware);
    for (const PartSpec& part : scenario.hardware.parts)
        for (const GuardInfo& guard : part.kind->guards)
            for (const std::string_view text : {guard.told(true, wired), guard.told(false, wired)})
                if (!text.empty()) {
                    known.events.push_back(part.name + ": " + std::string(text));
                    if (!guard.tell.empty())
                        known.readings[known.events.back()] = split(guard.tell, ',');
                }
    // Changes during the run are told as events, too.
    for (const Change& change : scenario.changes)
        if (change.at > 0) known.events.push_back(change.part + ": " + change.field + " becomes");
    for (const Fault& fault : scenario.faults) { // left out, it could still have been told
        const std::string_view field =
            fault.kind->field.empty() ? fault.kind->size_field : fault.kind->field;
        if (fault.left_out)
            known.events.push_back((fault.kind->inserts.empty() ? fault.at : fault.name) + ": " +
                                   std::string(field) + " becomes");
    }
    return known;
}

bool known_event(const Known& known, const Text& words, std::string_view path, Findings& findings) {
    for (const std::string& event : known.events)
        if (!words.text.empty() && event.find(words.text) != std::string::npos) return true;
    std::vector<std::string> near = known.events;
    for (const std::string& event : known.events)
        near.push_back(event.substr(event.find(": ") + 2));
    findings.add(words.at, path, words.text.empty() ? "nothing" : words.text,
                 "words of an event that a part of this car can tell", nearest(words.text, near));
    return false;
}

class ExpectationReader {
  public:
    ExpectationReader(const Node& node, const Source& source, std::string path, const Known& known)
        : node_(node), source_(source), path_(std::move(path)), map_(node, source, path_),
          known_(known) {}

    std::optional<study::Answer> read_answer(Hardware& hardware) {
        using Kind = study::Answer::Kind;
        const std::size_t before = source_.findings.size();
        if (!map_.is_map()) return {};
        of_study_ = true;
        if (const Node* text = map_.need("text", "what is looked at, in words"))
            if (const auto t = read_text(*text, source_, map_.path("text"), "words"))
                answer_.text = out_.text = trim(t->text);
        const Node* figure = map_.find("figure");
        const Node* channel = map_.find("channel");
        const Node* event = map_.find("event");
        const int ways = (figure != nullptr) + (channel != nullptr) + (event != nullptr);
        if (ways != 1) {
            source_.findings.add(source_.at(node_), path_,
                                 ways == 0 ? "neither figure nor channel nor event"
                                           : "more than one of figure, channel and event",
                                 "one of them");
            return {};
        }
        answer_.kind = figure ? Kind::field : Kind::result;
        if (figure) read_figure(*figure, hardware);
        if (channel) read_channel(*channel);
        if (event) read_event(*event);
        map_.finish();
        if (source_.findings.size() != before) return {};
        answer_.low = out_.low;
        answer_.high = out_.high;
        answer_.expectation = out_;
        return answer_;
    }

    std::optional<Expectation> read() {
        const std::size_t before = source_.findings.size();
        if (!map_.is_map()) return {};
        if (const Node* text = map_.need("text", "what is expected, in words"))
            if (const auto t = read_text(*text, source_, map_.path("text"), "words"))
                out_.text = trim(t->text);
        const Node* channel = map_.find("channel");
        const Node* event = map_.find("event");
        if ((channel != nullptr) == (event != nullptr)) {
            source_.findings.add(source_.at(node_), path_,
                                 channel ? "both channel and event" : "neither channel nor event",
                                 "one of them");
            return {};
        }
        channel ? read_channel(*channel) : read_event(*event);
        map_.finish();
        if (source_.findings.size() != before) return {};
        return out_;
    }

  private:
    /// A field of the car, stated or derived.
    void read_figure(const Node& node, Hardware& hardware) {
        const auto path = read_text(node, source_, map_.path("figure"), "part.field");
        if (!path) return;
        const auto place = find_place(hardware, *path, map_.path("figure"), source_.findings);
        if (place) {
            answer_.field = {place->owner, std::string(place->field().name)};
            answer_.dimension = place->field().dimension;
        }
        const Channel known{"figure", answer_.dimension};
        read_bounds(answer_.dimension, place ? &known : nullptr);
    }

    /// One of the numbers that are told with an event.
    void read_reading(const Node& node) {
        const std::string path = map_.path("reading");
        answer_.kind = study::Answer::Kind::reading;
        const auto name = read_text(node, source_, path, "the name of a reading of this event");
        if (!name) return;
        answer_.reading = name->text;
        std::vector<std::string> told;
        const Channel* channel = nullptr;
        for (const auto& [event, names] : known_.readings) {
            if (event.find(out_.channel) == std::string::npos) continue;
            for (const std::string& one : names) {
                const std::string full = event.substr(0, event.find(": ")) + "." + one;
                if (std::find(told.begin(), told.end(), one) == told.end()) told.push_back(one);
                for (const Channel& c : known_.channels)
                    if (one == name->text && c.path == full) channel = &c;
            }
        }
        if (!channel)
            source_.findings.add(name->at, path, name->text.empty() ? "nothing" : name->text,
                                 told.empty() ? "no reading; this event has none" : one_of(told),
                                 nearest(name->text, told));
        else
            answer_.dimension = channel->dimension;
        read_bounds(answer_.dimension, channel);
    }

    void read_channel(const Node& node) {
        const Node* moment =
            map_.need("moment", "peak, lowest, held, residual or a time such as 2.5 s");
        if (moment) read_moment(*moment);
        const auto path = read_text(node, source_, map_.path("channel"), "part.quantity");
        if (!path) return;
        const Channel* channel =
            find_channel(known_.channels, *path, map_.path("channel"), source_.findings);
        out_.channel = path->text;
        if (channel) answer_.dimension = channel->dimension;
        if (const Node* since = map_.find("since"))
            read_since(*since, channel ? channel->dimension : Dimension::number);
        const bool some = read_bounds(channel ? channel->dimension : Dimension::number, channel);
        if (!some && !of_study_)
            source_.findings.add(source_.at(node_), path_, "no bounds",
                                 "between, below, above, or about with within");
    }

    void read_moment(const Node& node) {
        using enum Expectation::Moment;
        const std::string path = map_.path("moment");
        const auto text = read_text(node, source_, path, "a word or a time");
        if (!text) return;
        if (!text->text.empty() && text->text[0] >= '0' && text->text[0] <= '9') {
            static const Field time = limits("time", Dimension::time, 0, 3600);
            out_.moment = at_time;
            if (const auto t = read_value(*text, time, path, source_.findings)) out_.time = *t;
            return;
        }
        static const std::vector<std::string> kWords = {"peak", "lowest", "held", "residual"};
        constexpr Expectation::Moment kMoments[] = {peak, lowest, held, residual};
        const auto i = std::find(kWords.begin(), kWords.end(), text->text);
        if (i != kWords.end()) {
            out_.moment = kMoments[i - kWords.begin()];
            return;
        }
        source_.findings.add(text->at, path, text->text,
                             one_of(kWords) + ", or a time such as 2.5 s",
                             nearest(text->text, kWords));
    }

    void read_since(const Node& node, Dimension dimension) {
        static const Field time = limits("time", Dimension::time, 0, 3600);
        out_.since = read_value(node, time, source_, map_.path("since"));
        if (dimension == Dimension::temperature) // 5 C more are not 278 K
            source_.findings.add(source_.at(node), map_.path("since"), "a change of temperature",
                                 "two readings, one at each moment");
        else if (out_.since && out_.moment == Expectation::Moment::at_time &&
                 *out_.since >= out_.time)
            source_.findings.add(source_.at(node), map_.path("since"), node.text,
                                 "a time before the moment");
    }

    void read_event(const Node& node) {
        const std::string path = map_.path("event");
        if (const auto words = read_text(node, source_, path, "words of an event")) {
            out_.channel = words->text;
            known_event(known_, *words, path, source_.findings);
        }
        out_.moment = Expectation::Moment::event_time;
        answer_.dimension = Dimension::time;
        if (of_study_)
            if (const Node* reading = map_.find("reading")) return read_reading(*reading);
        if (const Node* times = map_.find("times")) {
            out_.moment = Expectation::Moment::event_count;
            answer_.dimension = Dimension::number;
            return read_times(*times);
        }
        if (of_study_) {
            read_bounds(Dimension::time, &kAnyTime);
            return;
        }
        if (const Node* before = map_.find("before")) {
            const auto words =
                read_text(*before, source_, map_.path("before"), "words of an event");
            if (words && known_event(known_, *words, map_.path("before"), source_.findings))
                out_.before = words->text;
        }
        // Bounds of its time are welcome; without any, the event must happen.
        if (!read_bounds(Dimension::time, &kAnyTime) && out_.before.empty()) {
            out_.moment = Expectation::Moment::event_count;
            out_.low = 1;
        }
    }

    /// `times: 2` or `times: [1, 3]`.
    void read_times(const Node& node) {
        const std::string path = map_.path("times");
        std::vector<double> counts;
        for (const Node& item :
             node.kind == Node::Kind::list ? node.items : std::vector<Node>{node}) {
            const auto x = item.kind == Node::Kind::text ? whole_number(item.text) : std::nullopt;
            if (!x || *x < 0 || *x != std::floor(*x)) {
                source_.findings.add(source_.at(item), path, describe(item),
                                     "a whole number, or two for a range");
                return;
            }
            counts.push_back(*x);
        }
        if (counts.empty() || counts.size() > 2 || counts.front() > counts.back()) {
            source_.findings.add(source_.at(node), path, describe(node),
                                 "a whole number, or two rising ones for a range");
            return;
        }
        out_.low = counts.front();
        out_.high = counts.back();
    }

    std::optional<double> bound(const Node& node, Dimension dimension, std::string_view key) {
        if (dimension == Dimension::choice) dimension = Dimension::number;
        return read_value(node, limits(key, dimension, 0, 0), source_, map_.path(key));
    }

    /// Reads the bounds; without a channel their unit is unknown, and only the keys are looked at.
    bool read_bounds(Dimension dimension, const Channel* channel) {
        const Node* between = map_.find("between");
        const Node* below = map_.find("below");
        const Node* above = map_.find("above");
        const Node* about = map_.find("about");
        const Node* within = map_.find("within");
        if ((about != nullptr) != (within != nullptr)) {
            source_.findings.add(source_.at(about ? *about : *within), path_,
                                 about ? "about without within" : "within without about", "both");
            return true;
        }
        const int ways = (between != nullptr) + (below || above) + (about != nullptr);
        if (ways > 1)
            source_.findings.add(source_.at(node_), path_, "bounds given twice",
                                 "between, or below and above, or about with within");
        if (ways != 1) return ways > 0;
        if (!channel) return true;
        if (between) read_between(*between, dimension);
        if (below) out_.high = bound(*below, dimension, "below");
        if (above) out_.low = bound(*above, dimension, "above");
        if (about) read_about(*about, *within, dimension);
        if (out_.low && out_.high && *out_.low > *out_.high)
            source_.findings.add(source_.at(between ? *between : node_), path_,
                                 "a lower bound above the upper one", "them the other way round");
        return true;
    }

    void read_between(const Node& node, Dimension dimension) {
        if (node.kind != Node::Kind::list || node.items.size() != 2) {
            const bool list = node.kind == Node::Kind::list;
            source_.findings.add(source_.at(node), map_.path("between"),
                                 list ? "a list of " + std::to_string(node.items.size())
                                      : describe(node),
                                 "a list of two values");
            return;
        }
        out_.low = bound(node.items[0], dimension, "between");
        out_.high = bound(node.items[1], dimension, "between");
    }

    void read_about(const Node& about, const Node& within, Dimension dimension) {
        const auto middle = bound(about, dimension, "about");
        if (!middle) return;
        const bool share = within.kind == Node::Kind::text && trim(within.text).ends_with('%');
        // Ten per cent of a temperature in C would depend on where its zero lies.
        if (share && dimension == Dimension::temperature) {
            source_.findings.add(source_.at(within), map_.path("within"), within.text, "kelvins");
            return;
        }
        auto room = bound(within, share ? Dimension::number : dimension, "within");
        if (!room) return;
        if (share) room = *room * std::abs(*middle);
        if (!(*room > 0)) {
            source_.findings.add(source_.at(within), map_.path("within"), within.text,
                                 "more than zero");
            return;
        }
        out_.low = *middle - *room;
        out_.high = *middle + *room;
    }

    inline static const Channel kAnyTime{"time", Dimension::time};

    const Node& node_;
    const Source& source_;
    std::string path_;
    MapReader map_;
    const Known& known_;
    Expectation out_;
    bool of_study_ = false;
    study::Answer answer_;
};

} // namespace

void read_expectations(const Node& node, std::string_view key, const Source& source,
                       const Scenario& scenario, std::vector<Expectation>& out) {
    if (node.kind != Node::Kind::list) {
        source.findings.add(source.at(node), std::string(key), describe(node), "a list");
        return;
    }
    const Known known = known_of(scenario);
    for (std::size_t i = 0; i < node.items.size(); ++i) {
        ExpectationReader reader(node.items[i], source,
                                 std::string(key) + "." + std::to_string(i + 1), known);
        auto e = reader.read();
        if (!e) continue;
        // What was read on a car was read while it was looked at, and never exactly.
        const std::string path = std::string(key) + "." + std::to_string(i + 1);
        const bool timed = e->moment == Expectation::Moment::at_time;
        if (key == "readings" && timed && e->time > scenario.duration)
            source.findings.add(source.at(node.items[i]), path + ".moment",
                                "a moment behind the end of the run",
                                "one at which the foot was watched");
        if (key == "readings" && e->low && e->high && *e->low == *e->high &&
            e->moment != Expectation::Moment::event_count)
            source.findings.add(source.at(node.items[i]), path, "a reading without any error",
                                "how far it may be off, under within or between");
        out.push_back(std::move(*e));
    }
}

bool check_event(const Scenario& scenario, const Text& words, std::string_view path,
                 Findings& findings) {
    return known_event(known_of(scenario), words, path, findings);
}

AnswerReader::AnswerReader(const Scenario& scenario)
    : hardware_(scenario.hardware), known_(std::make_unique<const Known>(known_of(scenario))) {}
AnswerReader::~AnswerReader() = default;

std::optional<study::Answer> AnswerReader::read(const Node& node, const Source& source,
                                                const std::string& path) {
    return ExpectationReader(node, source, path, *known_).read_answer(hardware_);
}

void read_record(const Node& node, const Source& source, Scenario& scenario) {
    if (node.kind != Node::Kind::list) {
        source.findings.add(source.at(node), "record", describe(node), "a list of part.quantity");
        return;
    }
    const Known known = known_of(scenario);
    for (const Node& item : node.items) {
        const auto path = read_text(item, source, "record", "part.quantity");
        if (!path || !find_channel(known.channels, *path, "record", source.findings)) continue;
        const auto& list = scenario.record;
        if (std::find(list.begin(), list.end(), path->text) != list.end())
            source.findings.add(path->at, "record", path->text + " a second time",
                                "each channel once");
        else
            scenario.record.push_back(path->text);
    }
}

} // namespace pedalbench::runner
