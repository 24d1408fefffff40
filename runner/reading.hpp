// Shared by the readers of hardware and scenario: maps that know their unread keys, and values
// checked against a field's row in its table.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "findings.hpp"
#include "located.hpp"
#include "study/sweep.hpp"
#include "system/faults.hpp"
#include "system/system.hpp"
#include "units.hpp"

namespace pedalbench::runner {

/// Where things were written: "front_left", "front_left.piston", "faults.leak", "circuits".
using Places = std::map<std::string, Position>;

/// A text with its place: from a file or from the command line.
struct Text {
    std::string text;
    Position at;
};

/// One file on its way in.
struct Source {
    std::string file;
    Findings& findings;

    Position at(const Node& node) const { return {file, node.line, node.column}; }
    Position at(const Node::Key& key) const { return {file, key.line, key.column}; }
};

std::string join(std::string_view path, std::string_view key);

/// Reads a map by its keys. Whatever was not asked for by the time of finish() is refused.
class MapReader {
  public:
    /// Refuses a node that is not a map; then every key seems to be missing, without further words.
    MapReader(const Node& node, const Source& source, std::string path);

    bool is_map() const { return is_map_; }
    /// The value of a key, or null.
    const Node* find(std::string_view key);
    /// The value of a key that must be there; `allowed` says what belongs there.
    const Node* need(std::string_view key, std::string_view allowed);
    /// Refuses keys that nobody asked for. Call it last.
    void finish();

    const Source& source() const { return source_; }
    std::string path(std::string_view key) const { return join(path_, key); }

  private:
    const Node& node_;
    const Source& source_;
    std::string path_;
    bool is_map_;
    std::vector<std::string> asked_;
};

/// The text of a node; anything else is refused.
std::optional<Text> read_text(const Node& node, const Source& source, std::string_view path,
                              std::string_view allowed);
/// Text of a key that may be missing.
std::string optional_text(MapReader& map, std::string_view key);

/// A value checked against its row: dimension, range, choices.
std::optional<double> read_value(const Text& text, const Field& field, std::string_view path,
                                 Findings& findings);
std::optional<double> read_value(const Node& node, const Field& field, const Source& source,
                                 std::string_view path);
/// "a length from 10 mm to 100 mm", "yes or no".
std::string allowed_text(const Field& field, const Unit* unit = nullptr);

/// A row for a value that is not a part's.
Field limits(std::string_view name, Dimension dimension, double low, double high);

/// Which of the words a text is; refused with the nearest of them otherwise.
std::optional<std::size_t> read_word(const Text& text, const std::vector<std::string>& words,
                                     std::string_view path, Findings& findings);

/// Names of parts and faults: lower case, digits and underscores, so that paths need no quotes.
bool is_name(std::string_view name);

/// The field that a path such as "front_left.piston" or "fluid.free_air" means.
struct FieldPlace {
    PartSpec* part = nullptr; // null for the fluid and the surroundings
    Values* values = nullptr;
    std::size_t index = 0;
    std::string owner; // "front_left", "fluid"

    const Field& field() const { return values->table()[index]; }
};
std::optional<FieldPlace> find_place(Hardware& hardware, const Text& path,
                                     std::string_view wanted_as, Findings& findings,
                                     const std::vector<std::string>& others = {});

/// Parts, fluid, surroundings and circuits out of a map that may hold other keys as well. True when
/// nothing was refused.
bool read_hardware(MapReader& map, Hardware& hardware, Places& places);
/// Circuits: every part stands once, and nothing is left over.
void read_circuits(const Node& node, const Source& source, Hardware& hardware);
/// Wheels: what sits on each wheel of the vehicle; null where the file says nothing.
void read_wheels(const Node* node, const Source& source, const Position& parts_at,
                 Hardware& hardware);
/// Derives what the parts can derive, and reports what they refuse. From part number `first` on.
void complete_parts(Hardware& hardware, std::size_t first, const Places& places,
                    Findings& findings);

/// What the foot does, under `foot:`.
void read_foot(const Node& node, const Source& source, FootInput& foot);
/// A time: "before the start" may be any at or before zero. And a span of time.
inline const Field kWhen = limits("at", Dimension::time, -3600, 3600);
inline const Field kOver = limits("over", Dimension::time, 0, 3600);
/// A time (or for "over" a span) that may be left out and is zero then.
double read_when(MapReader& map, std::string_view key);
/// The key in Places of the change of a field at a time.
std::string change_key(const Change& change);
/// What a mechanic's card says, under `bleeding:`; expanded into changes and a foot. `has_foot`:
/// the scenario writes one of its own.
void read_bleeding(const Node& node, const Source& source, Scenario& scenario, Places& places,
                   bool has_foot);
/// Changes of fields, before the start or during the run.
void read_changes(const Node& node, const Source& source, Scenario& scenario, Places& places);
/// Adds a change, which was written at `at`.
void add_change(Scenario& scenario, Change change, const Position& at, Places& places);
/// Faults by name, not yet applied, so that the command line can still set their size and time.
std::vector<Fault> read_faults(const Node& node, const Source& source, const Hardware& hardware,
                               Places& places);
/// Sets "leak.size" and its kin. False when the path is not one of a fault.
bool set_of_fault(const Text& path, const Text& value, std::vector<Fault>& faults,
                  Findings& findings);
/// Marks the faults that the command line leaves out ("all": every one of them).
void leave_out(const std::vector<std::string>& without, const Node* node,
               std::vector<Fault>& faults, Findings& findings);
/// The row of the field that a fault's size sets; null when it has no size.
const Field* size_field(const FaultKind& kind);
/// Refuses two faults, or a fault and the command line, that both set a field from the start on:
/// one of them would win, and nobody could see which. True when nothing was refused.
bool apply_faults(const std::vector<Fault>& faults, Scenario& scenario, Places& places,
                  Findings& findings);
/// Goes through the later changes and faults once, so that one which cannot work, or which has no
/// effect because its field follows from others, is refused before the run and not in the middle of
/// it.
void rehearse(const Scenario& scenario, const Places& places, Findings& findings);
/// What was measured on the car, and its limits. Fields that are measured go into the car; their
/// paths come back.
std::vector<std::string> read_service(const Node* measurements, const Node* limits,
                                      const Source& source, Scenario& scenario, Places& places);
/// Refuses early changes, faults and --set of a field that was measured.
void refuse_measured_twice(const std::vector<std::string>& measured, const Scenario& scenario,
                           const Places& places, Findings& findings);
/// Refuses measurements that nothing can be said of, since a limit or another figure is missing.
void refuse_unjudged(const Scenario& scenario, const Places& places, Findings& findings);
void read_output_units(const Node& node, const Source& source, OutputUnits& units);
/// Statements about the result, and the channels to record; both need a complete scenario.
/// `key`: expectations, or readings, which have the same grammar.
void read_expectations(const Node& node, std::string_view key, const Source& source,
                       const Scenario& scenario, std::vector<Expectation>& out);
void read_ruled_out(const Node& node, const Source& source, Scenario& scenario);
/// Refuses words that are in no event which this scenario can tell.
bool check_event(const Scenario& scenario, const Text& words, std::string_view path,
                 Findings& findings);
struct LessonStep;
/// Steps for the page, under `lesson:`.
void read_lesson(const Node& node, const Source& source, const Scenario& scenario,
                 std::vector<LessonStep>& out);
void read_record(const Node& node, const Source& source, Scenario& scenario);

/// The channel that a path means; refused, and null, where the car has none of that name.
const Channel* find_channel(const std::vector<Channel>& channels, const Text& path,
                            std::string_view wanted_as, Findings& findings);
/// Channels and events that a car can have.
struct Known;
/// How a field of a study is spread, from the keys of its map; messages in `units`.
void read_distribution(MapReader& map, const Node& node, const Field& field,
                       const OutputUnits& units, study::Varied& varied);
/// Reads what a study looks at: as expectations are written, but the bounds may be missing, a field
/// of the car may be meant (`figure`), and of an event a `reading` instead of its time.
class AnswerReader {
  public:
    /// Throws InvalidHardware.
    explicit AnswerReader(const Scenario& scenario);
    ~AnswerReader();
    AnswerReader(const AnswerReader&) = delete;
    AnswerReader& operator=(const AnswerReader&) = delete;
    std::optional<study::Answer> read(const Node& node, const Source& source,
                                      const std::string& path);

  private:
    Hardware hardware_;
    std::unique_ptr<const Known> known_;
};

} // namespace pedalbench::runner
