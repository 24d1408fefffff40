// The events of a run as a picture tells them: numbered marks, and a short list of what they mean.
#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "picture.hpp"
#include "record/record.hpp"
#include "trace_file.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// What happened to which parts, in few words: "front_left, front_right: pads touch; hold_off:
/// check shuts, plate opens". What befalls nobody has an empty part.
class Happenings {
  public:
    void add(const std::string& part, const std::string& what);
    std::string words() const;

  private:
    std::vector<std::pair<std::string, std::vector<std::string>>> said_; // of whom, what
};

/// Events that share a mark because their marks would touch.
struct Group {
    double time;
    std::vector<const Event*> events;

    /// Whether it still tells at most so many different things with one more, of whomever.
    bool has_room_for(const Event& event, std::size_t things) const;
    /// What happened, with no number but that which a field is set to.
    std::string words(const OutputUnits& units) const;
};

struct Marked {
    std::vector<Group> groups; // by time
    std::size_t left_out = 0;  // events that no mark tells
};

/// Something that asks for a mark: the lower the rank the sooner, and not before that round.
struct Turn {
    double time;
    long rank;
    std::size_t round = 0;
};

/// In what order they get it, by their index. The run is divided into kStretches; in each round
/// every stretch may give the next one of its own, so that no part of the run stays without marks.
std::vector<std::size_t> in_turn(const std::vector<Turn>& turns, const Axis& time);
inline constexpr int kStretches = 6;

/// Groups events so that every mark can carry its number, with at most so many marks and each of
/// them telling at most so many things. In each stretch of the run what befalls parts that are
/// recorded comes first, and what somebody or the file sets; of that what happens for the first
/// time, then parts to which little happens, then the earlier one. What happens again waits until
/// each stretch has told of something that is new.
Marked marked(const std::vector<Event>& events, const std::set<std::string>& recorded,
              const Axis& time, std::size_t most, std::size_t things = 20);

/// Groups that say the same have one number and one note.
class Story {
  public:
    explicit Story(const OutputUnits& units) : units_(units) {}
    /// The number of this group, counted from 1.
    std::size_t number(const Group& group);
    /// In at most so many lines; then a last one says where the others stand.
    std::vector<Note> notes(std::size_t most = 32) const;

  private:
    const OutputUnits& units_;
    struct Told {
        Group first;
        std::string words;
        int times;
        double last;
    };
    std::vector<Told> told_;
};

/// The parts of which a trace has a channel.
std::set<std::string> recorded_parts(const TraceFile& trace);

/// Marks events in a picture over time, and says beneath what they are.
void add_events(Picture& picture, const std::vector<Event>& events,
                const std::set<std::string>& recorded, const OutputUnits& units);

} // namespace pedalbench::runner
