// The events of a run as a picture tells them: numbered marks, and a short list of what they mean.
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "picture.hpp"
#include "record/record.hpp"
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

    /// What happened, without the numbers.
    std::string words() const;
};

struct Marked {
    std::vector<Group> groups; // by time
    std::size_t left_out = 0;  // events that no mark tells
};

/// Groups events so that every mark can carry its number, with at most so many marks. What happens
/// for the first time comes before what happens again, and that before what is set by hand; of
/// equals the earlier one.
Marked marked(const std::vector<Event>& events, const Axis& time, std::size_t most);

/// Groups that say the same have one number and one note.
class Story {
  public:
    /// The number of this group, counted from 1.
    std::size_t number(const Group& group);
    std::vector<Note> notes(const OutputUnits& units) const;

  private:
    struct Told {
        Group first;
        std::string words;
        int times;
        double last;
    };
    std::vector<Told> told_;
};

/// Marks events in a picture over time, and says beneath what they are.
void add_events(Picture& picture, const std::vector<Event>& events, const OutputUnits& units);

} // namespace pedalbench::runner
