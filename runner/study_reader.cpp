#include <algorithm>
#include <cmath>
#include <filesystem>
#include <stdexcept>

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "reader.hpp"
#include "reading.hpp"
#include "study_file.hpp"
#include "system/changes.hpp"
#include "words.hpp"

#ifndef PEDALBENCH_VERSION
#define PEDALBENCH_VERSION "unknown"
#endif

namespace pedalbench::runner {

namespace {

using study::Distribution;
using study::PointSet;
using study::Sweep;
using study::Target;
using study::Varied;

constexpr double kMostPoints = 1e9;
/// A field of the car as it starts, or the size of a fault that comes later.
struct Place {
    Target target;
    const Field* field = nullptr;
};

class StudyReader {
  public:
    StudyReader(const Node& root, const Source& source, const StudyRequest& request)
        : root_(root), source_(source), findings_(source.findings), map_(root, source, ""),
          request_(request) {}

    std::optional<Study> read() {
        if (!read_format(root_, map_)) return {};
        study_.title = optional_text(map_, "title");
        study_.text = optional_text(map_, "text");
        const Node* scenario = map_.need("scenario", "the path of a scenario or of a car");
        const Node* vary = map_.need("vary", "a map of what varies: part.field and its values");
        const Node* points = map_.need("points", "sobol, latin_hypercube, random, grid or indices");
        const Node* answers = map_.need("answers", "a list of what is looked at");
        const Node* keep = map_.find("keep");
        const Node* units = map_.find("units");
        map_.finish();
        if (!scenario || !read_scenario_of(*scenario)) return {};
        if (units) read_output_units(*units, source_, study_.units);
        study_.units = study_.units.or_preset(request_.units);
        if (keep) read_keep(*keep);
        if (vary) read_vary(*vary);
        if (points) read_points(*points);
        if (answers) read_answers(*answers);
        if (findings_.empty()) look_at_ends(*vary, *answers);
        if (!findings_.empty()) return {};
        study_.key = key();
        return std::move(study_);
    }

  private:
    bool read_scenario_of(const Node& node) {
        const auto path = read_text(node, source_, "scenario", "a path");
        if (!path) return false;
        namespace fs = std::filesystem;
        const std::string file =
            (fs::path(source_.file).parent_path() / path->text).lexically_normal().generic_string();
        auto loaded = read_scenario(file, request_.sets, findings_, request_.without);
        if (!loaded) return false;
        car_alone_ = loaded->hardware_only;
        study_.units = loaded->units;
        if (study_.title.empty()) study_.title = loaded->scenario.title;
        try {
            sweep_.scenario = study::started(loaded->scenario);
        } catch (const std::invalid_argument& e) {
            findings_.refuse({file}, "", e.what());
            return false;
        }
        return true;
    }

    /// "part.field", or "fault.size".
    std::optional<Place> find(const Text& path, std::string_view wanted_as) {
        Scenario& scenario = sweep_.scenario;
        for (const Fault& fault : scenario.faults) {
            const bool inserted = !fault.kind->inserts.empty();
            const std::string part = inserted ? fault.name : fault.at,
                              field(inserted ? fault.kind->size_field : fault.kind->field);
            // The field of an inserted leak is its size too, whatever it is called.
            if (path.text != fault.name + ".size" && !(inserted && path.text == join(part, field)))
                continue;
            const Field* size = size_field(*fault.kind);
            if (!size || fault.left_out) {
                findings_.add(path.at, wanted_as, path.text,
                              fault.left_out
                                  ? "a fault that is not left out"
                                  : "a fault with a size, unlike " + std::string(fault.kind->name));
                return {};
            }
            Place place{{part, field}, size};
            for (std::size_t i = 0; i < scenario.changes.size(); ++i) {
                const Change& c = scenario.changes[i];
                if (c.origin == Origin::fault && c.part == place.target.part &&
                    c.field == place.target.field)
                    place.target.change = static_cast<std::ptrdiff_t>(i);
            }
            return place;
        }
        const auto found = find_place(scenario.hardware, path, wanted_as, findings_);
        if (!found) return {};
        return Place{{found->owner, std::string(found->field().name)}, &found->field()};
    }

    /// No target twice: which of the two would win?
    void claim(const Target& target, const Text& path, std::string_view wanted_as) {
        const std::string name = join(target.part, target.field);
        if (std::find(claimed_.begin(), claimed_.end(), name) != claimed_.end())
            findings_.add(path.at, wanted_as, path.text + " a second time", "each field once");
        claimed_.push_back(name);
    }

    void read_keep(const Node& node) {
        if (node.kind != Node::Kind::list) {
            findings_.add(source_.at(node), "keep", describe(node), "a list of part.field");
            return;
        }
        for (const Node& item : node.items) {
            const auto path = read_text(item, source_, "keep", "part.field");
            const auto place = path ? find(*path, "keep") : std::nullopt;
            if (!place) continue;
            claim(place->target, *path, "keep");
            sweep_.kept.push_back({place->target, value_of(sweep_.scenario, place->target)});
        }
    }

    void read_vary(const Node& node) {
        if (node.kind != Node::Kind::map || node.items.empty()) {
            findings_.add(source_.at(node), "vary", describe(node),
                          "a map of part.field and its values");
            return;
        }
        for (std::size_t i = 0; i < node.items.size(); ++i) {
            const Text path{node.keys[i].text, source_.at(node.keys[i])};
            const auto place = find(path, "vary");
            if (!place) continue;
            claim(place->target, path, "vary");
            Varied v;
            v.path = path.text;
            v.targets = {place->target};
            v.dimension = place->field->dimension;
            v.nominal = value_of(sweep_.scenario, place->target);
            read_varied(node.items[i], *place->field, v);
            sweep_.varied.push_back(std::move(v));
        }
    }

    void read_varied(const Node& node, const Field& field, Varied& v) {
        MapReader map(node, source_, v.path);
        if (!map.is_map()) return;
        if (const Node* also = map.find("also")) read_also(*also, field, v);
        read_distribution(map, node, field, study_.units, v);
        map.finish();
    }

    void read_also(const Node& node, const Field& field, Varied& v) {
        const std::string as = v.path + ".also";
        if (node.kind != Node::Kind::list) {
            findings_.add(source_.at(node), as, describe(node), "a list of part.field");
            return;
        }
        for (const Node& item : node.items) {
            const auto path = read_text(item, source_, as, "part.field");
            const auto place = path ? find(*path, as) : std::nullopt;
            if (!place) continue;
            if (place->field->dimension != field.dimension) {
                findings_.add(path->at, as, dimension_with_article(place->field->dimension),
                              dimension_with_article(field.dimension) + ", as " + v.path + " is");
                continue;
            }
            claim(place->target, *path, as);
            v.targets.push_back(place->target);
        }
    }

    std::optional<double> whole(const Node& node, const std::string& as, double low, double high) {
        const auto x = node.kind == Node::Kind::text ? whole_number(node.text) : std::nullopt;
        if (x && *x == std::floor(*x) && *x >= low && *x <= high) return x;
        findings_.add(source_.at(node), as, describe(node),
                      fmt::format("a whole number from {:.0f} to {:.0f}", low, high));
        return {};
    }

    void read_points(const Node& node) {
        MapReader map(node, source_, "points");
        if (!map.is_map()) return;
        using enum PointSet::Kind;
        constexpr std::pair<const char*, PointSet::Kind> kSets[] = {
            {"sobol", sobol},
            {"latin_hypercube", latin_hypercube},
            {"random", random},
            {"grid", grid},
            {"indices", indices}};
        int ways = 0;
        PointSet& set = sweep_.points;
        for (const auto& [word, kind] : kSets) {
            const Node* n = map.find(word);
            if (!n) continue;
            ++ways;
            set.kind = kind;
            if (kind == grid)
                read_grid(*n);
            else if (const auto x =
                         whole(*n, map.path(word), kind == indices ? 64 : 1, kMostPoints))
                set.n = static_cast<std::size_t>(*x);
        }
        const Node* seed = map.find("seed");
        if (seed && set.kind != random && set.kind != latin_hypercube)
            findings_.add(source_.at(*seed), "points.seed", "a seed where nothing is drawn",
                          "it left out");
        else if (seed)
            if (const auto x = whole(*seed, "points.seed", 0, 9e15))
                set.seed = static_cast<std::uint64_t>(*x);
        map.finish();
        if (ways != 1)
            findings_.add(source_.at(node), "points",
                          ways == 0 ? "no points" : "points given twice",
                          "one of sobol, latin_hypercube, random, grid and indices");
        if (!findings_.empty()) return;
        try {
            if (static_cast<double>(study::Points(set, sweep_.varied.size()).size()) > kMostPoints)
                throw std::invalid_argument("more than 1 000 000 000 points");
        } catch (const std::invalid_argument& e) {
            findings_.refuse(source_.at(node), "points", e.what());
        }
    }

    /// One number for all directions, or a list of one for each. Where values are listed, each of
    /// them is taken.
    void read_grid(const Node& node) {
        const bool list = node.kind == Node::Kind::list;
        std::vector<std::size_t>& counts = sweep_.points.counts;
        if (list && node.items.size() != sweep_.varied.size()) {
            findings_.add(source_.at(node), "points.grid",
                          "a list of " + std::to_string(node.items.size()),
                          "as many numbers as there are fields under vary, or one number");
            return;
        }
        for (std::size_t d = 0; d < sweep_.varied.size(); ++d) {
            const auto n = whole(list ? node.items[d] : node, "points.grid", 1, 1e6);
            if (!n) return;
            const auto& values = sweep_.varied[d].distribution.values;
            counts.push_back(values.empty() ? static_cast<std::size_t>(*n) : values.size());
        }
    }

    void read_answers(const Node& node) {
        if (node.kind != Node::Kind::list || node.items.empty()) {
            findings_.add(source_.at(node), "answers", describe(node), "a list");
            return;
        }
        try {
            AnswerReader reader(sweep_.scenario);
            for (std::size_t i = 0; i < node.items.size(); ++i) {
                const std::string path = "answers." + std::to_string(i + 1);
                auto answer = reader.read(node.items[i], source_, path);
                if (!answer) continue;
                for (const study::Answer& other : sweep_.answers)
                    if (other.text == answer->text)
                        findings_.add(source_.at(node.items[i]), path + ".text",
                                      answer->text + " a second time", "a text of its own");
                if (car_alone_ && answer->kind != study::Answer::Kind::field)
                    findings_.add(source_.at(node.items[i]), path, "an answer of a run",
                                  "figures of the car alone, or a scenario with a foot");
                sweep_.answers.push_back(std::move(*answer));
            }
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings_.refuse(source_.at(node), r.field, r.reason);
        }
    }

    /// Tries each field at both its ends: one that cannot be set is a mistake, and so is a figure
    /// of the car that nothing moves.
    void look_at_ends(const Node& vary, const Node& answers) {
        const study::Rows rows(sweep_);
        std::vector<std::vector<double>> found(sweep_.answers.size());
        for (std::size_t row = 0; row < rows.first_point(); ++row) {
            const study::Outcome outcome = rows.look(row);
            for (std::size_t a = 0; a < outcome.figures.size(); ++a)
                found[a].push_back(outcome.figures[a].value);
            if (row == 0 && outcome.end != study::Outcome::End::complete) {
                findings_.refuse(source_.at(vary), "keep", outcome.reason);
                return;
            }
            if (row == 0) continue;
            Scenario varied = rows.scenario_at(row);
            const std::size_t d = (row - 1) / 2;
            const double wanted = rows.inputs(row)[d];
            if (!complete(varied.hardware).empty()) continue; // a row that will be refused
            for (const Target& t : sweep_.varied[d].targets)
                if (value_of(varied, t) != wanted && row % 2 == 1)
                    findings_.refuse(source_.at(vary.keys[d]), sweep_.varied[d].path,
                                     "has no effect, since it follows from other fields of this "
                                     "part: vary or keep those");
        }
        for (std::size_t a = 0; a < found.size(); ++a)
            if (sweep_.answers[a].kind == study::Answer::Kind::field &&
                std::all_of(found[a].begin(), found[a].end(),
                            [&](double x) { return x == found[a][0]; }))
                findings_.refuse(
                    source_.at(answers.items[a]), "answers." + std::to_string(a + 1) + ".figure",
                    "is moved by nothing that varies: vary, or keep, what it should follow from");
    }

    std::string key() const {
        Findings all = findings_; // with the text of every file in it
        all.note("pedalbench " PEDALBENCH_VERSION);
        for (const std::string& set : request_.sets)
            all.note("set " + set);
        for (const std::string& fault : request_.without)
            all.note("without " + fault);
        for (int d = 0; d <= static_cast<int>(Dimension::choice); ++d)
            all.note(study_.units.of(static_cast<Dimension>(d)).name);
        return all.noted().text();
    }

    const Node& root_;
    const Source& source_;
    Findings& findings_;
    MapReader map_;
    const StudyRequest& request_;
    Study study_;
    Sweep& sweep_ = study_.sweep;
    bool car_alone_ = false;
    std::vector<std::string> claimed_;
};

} // namespace

std::optional<Study> read_study(const std::string& file, const StudyRequest& request,
                                Findings& findings) {
    const auto text = read_text_file(file, {file}, "", findings);
    if (!text) return {};
    const auto root = parse_yaml(*text, file, findings);
    if (!root) return {};
    const Source source{file, findings};
    return StudyReader(*root, source, request).read();
}

bool is_study(const std::string& file) {
    Findings unheard;
    const auto text = read_text_file(file, {file}, "", unheard);
    const auto root = text ? parse_yaml(*text, file, unheard) : std::nullopt;
    return root && std::any_of(root->keys.begin(), root->keys.end(),
                               [](const Node::Key& k) { return k.text == "vary"; });
}

} // namespace pedalbench::runner
