// The scenario as a whole: what stands in the file, in the order in which one thing needs another.
#include <algorithm>
#include <cmath>
#include <filesystem>

#include "circuit/layout.hpp"
#include "file_head.hpp"
#include "parts/registry.hpp"
#include "reader.hpp"
#include "reading.hpp"
#include "record/record.hpp"
#include "system/faults.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

const Field kDuration = limits("duration", Dimension::time, 1e-3, 3 * 3600);
const Field kSample = limits("sample", Dimension::time, 1e-5, 60);
const Field kAccuracy = limits("accuracy", Dimension::pressure, 1, 1e5);

class ScenarioReader {
  public:
    ScenarioReader(const Node& root, const Source& source, const std::vector<std::string>& sets,
                   const std::vector<std::string>& without, const std::vector<std::string>& with)
        : root_(root), source_(source), findings_(source.findings), map_(root, source, ""),
          without_(without) {
        for (std::size_t i = 0; i < sets.size(); ++i)
            read_set(sets[i], {"--set", static_cast<int>(i) + 1, 0});
        for (std::size_t i = 0; i < with.size(); ++i)
            read_set(with[i], {"--with", static_cast<int>(i) + 1, 0});
    }

    std::optional<Loaded> read() {
        if (!read_head(root_, map_, {FileKind::scenario, FileKind::car})) return {};
        scenario_.title = optional_text(map_, "title");
        scenario_.text = optional_text(map_, "text");
        loaded_.hardware_only = kind_of(root_) == FileKind::car;
        const bool hardware_fine =
            loaded_.hardware_only ? read_hardware(map_, hardware_, places_) : read_hardware_key();
        if (hardware_fine && scenario_.title.empty()) scenario_.title = hardware_.title;
        if (loaded_.hardware_only) {
            hardware_.title = scenario_.title;
            leave_out(without_, nullptr, faults_, findings_);
            if (finish_hardware(hardware_fine) && !scenario_.changes.empty())
                rehearse(scenario_, places_, findings_);
        } else {
            read_rest(hardware_fine);
        }
        map_.finish();
        if (!findings_.empty()) return {};
        return std::move(loaded_);
    }

  private:
    /// A value from the command line; used once its place in the scenario is known.
    struct Set {
        Text path, value;
        bool used = false;
    };

    void read_set(const std::string& set, const Position& at) {
        const std::size_t equals = set.find('=');
        const std::string path(trim(set.substr(0, equals)));
        if (equals == std::string::npos || path.empty())
            findings_.add(at, "", set.empty() ? "nothing" : set,
                          "path=value, such as front_left.piston=48 mm");
        else
            sets_.push_back({{path, at}, {std::string(trim(set.substr(equals + 1))), at}});
    }

    bool read_hardware_key() {
        const Node* node =
            map_.need("hardware", "the path of a hardware file, or the hardware itself");
        if (!node) return false;
        if (node->kind == Node::Kind::map) {
            MapReader inner(*node, source_, "");
            hardware_.title = optional_text(inner, "title");
            const bool fine = read_hardware(inner, hardware_, places_);
            inner.finish();
            return fine;
        }
        const auto path = read_text(*node, source_, "hardware", "a path, or the hardware itself");
        if (!path) return false;
        namespace fs = std::filesystem;
        const std::string file =
            (fs::path(source_.file).parent_path() / path->text).lexically_normal().generic_string();
        const auto text = read_text_file(file, path->at, "hardware", findings_);
        if (!text) return false;
        const std::size_t before = findings_.size();
        const auto root = parse_yaml(*text, file, findings_);
        if (!root) return false;
        const Source source{file, findings_};
        MapReader inner(*root, source, "");
        if (!read_head(*root, inner, {FileKind::car})) return false;
        hardware_.title = optional_text(inner, "title");
        optional_text(inner, "text");
        read_hardware(inner, hardware_, places_);
        inner.finish();
        return findings_.size() == before;
    }

    /// Whatever the parts derive, then early changes and the command line. True when the car can
    /// work.
    bool finish_hardware(bool fine) {
        if (!fine) return false;
        const std::size_t before = findings_.size();
        for (Set& set : sets_) {
            if (set.used) continue;
            set.used = true;
            if (set_of_fault(set.path, set.value, faults_, findings_)) continue;
            const auto place = find_place(hardware_, set.path, "path", findings_, other_paths());
            if (!place) continue;
            const auto value = read_value(set.value, place->field(), set.path.text, findings_);
            if (!value) continue;
            // The last change before the start wins; and what was said here is not assumed.
            if (place->values->given(place->index) || !std::isnan(place->field().fallback))
                place->values->set(place->index, *value);
            add_change(scenario_,
                       {place->owner, std::string(place->field().name), *value, 0, 0,
                        Origin::command_line},
                       set.path.at, places_);
        }
        if (findings_.size() == before) complete_parts(hardware_, 0, places_, findings_);
        return findings_.size() == before;
    }

    std::vector<std::string> other_paths() const {
        if (loaded_.hardware_only) return {};
        return {"accuracy", "duration", "sample"};
    }

    /// A value of the file, unless the command line has a better one.
    std::optional<double> setting(std::string_view key, const Field& field) {
        const Node* node = map_.find(key);
        std::optional<double> value;
        if (node) value = read_value(*node, field, source_, map_.path(key));
        for (Set& set : sets_) {
            if (set.path.text != key) continue;
            set.used = true;
            value = read_value(set.value, field, key, findings_);
        }
        return value;
    }

    void read_rest(bool fine) {
        const Node* bleeding = map_.find("bleeding");
        const Node* foot = bleeding
                               ? map_.find("foot")
                               : map_.need("foot", "what the foot does: force, travel or trace");
        if (foot) read_foot(*foot, source_, scenario_.foot);
        if (bleeding && fine) read_bleeding(*bleeding, source_, scenario_, places_, foot);
        read_times();
        read_start();
        if (const Node* units = map_.find("units"))
            read_output_units(*units, source_, loaded_.units);
        const Node* faults = map_.find("faults");
        const Node* changes = map_.find("changes");
        const std::size_t before = findings_.size();
        if (fine && faults) faults_ = read_faults(*faults, source_, hardware_, places_);
        if (fine && changes) read_changes(*changes, source_, scenario_, places_);
        // A fault or change that was refused would be missing among the names below.
        const bool named = findings_.size() == before;
        leave_out(without_, faults, faults_, findings_);
        set_driven_by();
        const Node* measurements = map_.find("measurements");
        const Node* limits_of_service = map_.find("limits");
        std::vector<std::string> measured;
        if (fine)
            measured = read_service(measurements, limits_of_service, source_, scenario_, places_);
        // Without a sound car there are no paths and channels to compare the rest with.
        const bool sound =
            finish_hardware(fine) && apply_faults(faults_, scenario_, places_, findings_) && named;
        std::stable_sort(scenario_.changes.begin(), scenario_.changes.end(),
                         [](const Change& a, const Change& b) { return a.at < b.at; });
        const std::size_t at_rehearsal = findings_.size();
        if (sound) refuse_measured_twice(measured, scenario_, places_, findings_);
        if (sound) refuse_unjudged(scenario_, places_, findings_);
        if (sound) rehearse(scenario_, places_, findings_);
        const bool works = findings_.size() == at_rehearsal;
        if (fine && foot) refuse_beyond_floor(source_.at(*foot));
        const Node* record = map_.find("record");
        const Node* expectations = map_.find("expectations");
        const Node* readings = map_.find("readings");
        const Node* ruled_out = map_.find("ruled_out");
        const Node* lesson = map_.find("lesson");
        if (!sound || !works) return;
        try {
            if (record) read_record(*record, source_, scenario_);
            if (expectations)
                read_expectations(*expectations, "expectations", source_, scenario_,
                                  scenario_.expectations);
            if (readings)
                read_expectations(*readings, "readings", source_, scenario_, scenario_.readings);
            if (ruled_out) read_ruled_out(*ruled_out, source_, scenario_);
            if (lesson) read_lesson(*lesson, source_, scenario_, loaded_.lesson);
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings_.refuse(places_["circuits"], r.field, r.reason);
        }
    }

    void read_times() {
        if (const auto value = setting("accuracy", kAccuracy)) scenario_.accuracy = *value;
        // Long enough after the last corner for residuals to count: the foot must be off for 1 s.
        const auto& time = scenario_.foot.time;
        scenario_.duration = (time.empty() ? 0 : time.back()) + 1.5;
        if (const auto value = setting("duration", kDuration)) scenario_.duration = *value;
        if (const auto value = setting("sample", kSample)) scenario_.sample = *value;
    }

    void read_start() {
        const Node* start = map_.find("start");
        if (!start) return;
        if (const auto text = read_text(*start, source_, "start", "new or after a stop"))
            if (const auto i = read_word(*text, {"new", "after a stop"}, "start", findings_))
                scenario_.after_a_stop = *i == 1;
    }

    /// A foot that must follow a travel cannot go through the floor.
    void refuse_beyond_floor(const Position& at) {
        const FootInput& foot = scenario_.foot;
        if (foot.kind != FootInput::Kind::travel || foot.value.empty()) return;
        const auto most = std::max_element(foot.value.begin(), foot.value.end());
        for (const PartSpec& part : hardware_.parts) {
            if (!part.kind->driven || part.values.find("floor") == part.values.size()) continue;
            double floor = part.values["floor"];
            for (const Change& c : scenario_.changes)
                if (c.part == part.name && c.field == "floor" && c.at <= 0) floor = c.value;
            if (*most <= floor) continue;
            const OutputUnits units = OutputUnits::metric();
            const double when = foot.time[static_cast<std::size_t>(most - foot.value.begin())];
            findings_.add(at, "foot",
                          units.text(Dimension::length, *most) + " of travel at " +
                              units.text(Dimension::time, when),
                          "at most " + units.text(Dimension::length, floor) +
                              ", where the pedal meets the floor: less travel, or more room by " +
                              part.name + ".floor");
        }
    }

    /// The part that takes the foot learns whether it is pushed by a force or moved by a travel.
    void set_driven_by() {
        for (PartSpec& part : hardware_.parts) {
            if (!part.kind->driven || part.values.find("driven_by") == part.values.size()) continue;
            const double wanted = scenario_.foot.kind == FootInput::Kind::force ? 0 : 1;
            if (part.values.given("driven_by") && part.values["driven_by"] != wanted)
                findings_.add(places_[part.name + ".driven_by"], part.name + ".driven_by",
                              "another kind than the foot input's",
                              "it left out; the foot input says it");
            part.values.derive("driven_by", wanted);
        }
    }

    const Node& root_;
    const Source& source_;
    Findings& findings_;
    MapReader map_;
    Loaded loaded_;
    Scenario& scenario_ = loaded_.scenario;
    Hardware& hardware_ = scenario_.hardware;
    Places places_;
    std::vector<Set> sets_;
    std::vector<Fault> faults_;
    const std::vector<std::string>& without_;
};

} // namespace

std::optional<Loaded> read_scenario(const std::string& file, const std::vector<std::string>& sets,
                                    Findings& findings, const std::vector<std::string>& without,
                                    const std::vector<std::string>& with) {
    const auto text = read_text_file(file, {file}, "", findings);
    if (!text) return {};
    const auto root = parse_yaml(*text, file, findings);
    if (!root) return {};
    const Source source{file, findings};
    return ScenarioReader(*root, source, sets, without, with).read();
}

std::optional<Glance> glance(const std::string& file, Findings& findings) {
    const auto text = read_text_file(file, {file}, "", findings);
    if (!text) return {};
    const auto root = parse_yaml(*text, file, findings);
    if (!root) return {};
    const Source source{file, findings};
    MapReader map(*root, source, "");
    using enum FileKind;
    if (!read_head(*root, map, {car, scenario, study, fit})) return {};
    Glance seen{optional_text(map, "title"), optional_text(map, "text")};
    const std::optional<FileKind> kind = kind_of(*root);
    if (kind == study)
        seen.command = "sweep";
    else if (kind == fit)
        seen.command = "fit";
    else if (map.find("readings"))
        seen.command = "match";
    seen.hardware_only = kind == car;
    return seen;
}

} // namespace pedalbench::runner
