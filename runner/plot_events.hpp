// The events of a run as a picture tells them: numbered marks, and a short list of what they mean.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "picture.hpp"
#include "record/record.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Events that share a mark because their marks would touch.
struct Group {
    double time;
    std::vector<const Event*> events;

    /// What happened, without the numbers: "front_left, front_right: pads touch; ...".
    std::string words() const;
};

struct Marked {
    std::vector<Group> groups; // by time
    std::size_t left_out = 0;  // events that no mark tells
};

/// Groups events so that every mark can carry its number, with at most so many marks. What happens
/// once in a run comes before what happens a hundred times, and that before what is set by hand.
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
