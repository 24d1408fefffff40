#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <fmt/format.h>

#include "circuit/layout.hpp"
#include "file_head.hpp"
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

class StudyReader {
  public:
    StudyReader(const Node& root, const Source& source, const StudyRequest& request)
        : root_(root), source_(source), findings_(source.findings), map_(root, source, ""),
          request_(request), targets_(source, request) {}

    std::optional<Study> read() {
        if (!read_head(root_, map_, {FileKind::study})) return {};
        study_.title = optional_text(map_, "title");
        study_.text = optional_text(map_, "text");
        const Node* scenario = map_.need("scenario", "the path of a scenario or of a car");
        const Node* vary = map_.need("vary", "a map of what varies: part.field and its values");
        const Node* points = map_.need("points", "sobol, latin_hypercube, random, grid or indices");
        const Node* answers = map_.need("answers", "a list of what is looked at");
        const Node* keep = map_.find("keep");
        const Node* units = map_.find("units");
        map_.finish();
        if (!scenario || !targets_.read_scenario_of(*scenario)) return {};
        sweep_.scenario = targets_.scenario();
        study_.units = targets_.units();
        if (study_.title.empty()) study_.title = targets_.title();
        if (units) read_output_units(*units, source_, study_.units);
        study_.units = study_.units.or_preset(request_.units);
        if (keep) sweep_.kept = targets_.read_keep(*keep);
        if (vary)
            sweep_.varied = targets_.read_varied(
                *vary, "vary",
                [&](MapReader& map, const Node& node, const Field& field, Varied& v) {
                    read_distribution(map, node, field, study_.units, v);
                });
        if (points) read_points(*points);
        if (answers) read_answers(*answers);
        if (findings_.empty()) look_at_ends(*vary, *answers);
        if (!findings_.empty()) return {};
        study_.key = key();
        return std::move(study_);
    }

  private:
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
                if (targets_.car_alone() && answer->kind != study::Answer::Kind::field)
                    findings_.add(source_.at(node.items[i]), path, "an answer of a run",
                                  "figures of the car alone, or a scenario with a foot");
                const Expectation& what = answer->expectation;
                if (answer->kind == study::Answer::Kind::result &&
                    what.moment == Expectation::Moment::at_time &&
                    what.time > sweep_.scenario.duration)
                    findings_.add(source_.at(node.items[i]), path + ".moment",
                                  "a moment behind the end of the run",
                                  "one up to " +
                                      study_.units.text(Dimension::time, sweep_.scenario.duration));
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
    TargetReader targets_;
    Study study_;
    Sweep& sweep_ = study_.sweep;
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

} // namespace pedalbench::runner
