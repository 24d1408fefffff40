#include <algorithm>
#include <cmath>

#include "circuit/layout.hpp"
#include "file_head.hpp"
#include "fingerprint.hpp"
#include "fit_file.hpp"
#include "measured_file.hpp"
#include "study/measurements.hpp"
#include "system/changes.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::ReadColumn;
using study::Varied;

constexpr std::size_t kMostRows = 20000;

class FitReader {
  public:
    FitReader(const Node& root, const Source& source, const StudyRequest& request)
        : root_(root), source_(source), findings_(source.findings), map_(root, source, ""),
          request_(request), targets_(source, request) {}

    std::optional<FitFile> read() {
        if (!read_head(root_, map_, {FileKind::fit})) return {};
        out_.title = optional_text(map_, "title");
        out_.text = optional_text(map_, "text");
        const Node* scenario = map_.need("scenario", "the path of a scenario");
        const Node* measured = map_.need("measured", "a map: file, along and columns");
        const Node* move = map_.need("move", "a map of what may move: part.field and its bounds");
        const Node* keep = map_.find("keep");
        const Node* units = map_.find("units");
        map_.finish();
        if (!scenario || !targets_.read_scenario_of(*scenario)) return {};
        if (targets_.car_alone())
            findings_.add(source_.at(*scenario), "scenario", "a car alone",
                          "a scenario with a foot that presses as it was pressed for the readings");
        out_.scenario = targets_.file();
        fit_.scenario = targets_.scenario();
        if (out_.title.empty()) out_.title = targets_.title();
        out_.units = targets_.units();
        if (units) read_output_units(*units, source_, out_.units);
        out_.units = out_.units.or_preset(request_.units);
        if (keep) fit_.kept = targets_.read_keep(*keep);
        if (move)
            fit_.moved =
                targets_.read_varied(*move, "move",
                                     [&](MapReader& map, const Node& node, const Field& field,
                                         Varied& v) { read_bounds(map, node, field, v); });
        if (measured && !targets_.car_alone()) read_measured(*measured);
        if (findings_.empty()) look(*measured, keep ? *keep : *move, *move);
        if (!findings_.empty()) return {};
        out_.key = key();
        return std::move(out_);
    }

  private:
    void read_bounds(MapReader& map, const Node& node, const Field& field, Varied& v) {
        if (!field.choices.empty()) {
            findings_.add(source_.at(node), v.path, "a choice", "a field that has a value");
            return;
        }
        const Node* between = map.need("between", "[the least, the most] that it could be");
        if (!between) return;
        const std::string path = v.path + ".between";
        if (between->kind != Node::Kind::list || between->items.size() != 2) {
            findings_.add(source_.at(*between), path, describe(*between),
                          "[the least, the most] that it could be");
            return;
        }
        const auto low = read_value(between->items[0], field, source_, path);
        const auto high = read_value(between->items[1], field, source_, path);
        if (!low || !high) return;
        v.distribution.low = *low;
        v.distribution.high = *high;
        if (*low >= *high)
            findings_.add(source_.at(*between), path, "the same or falling", "the least first");
        else if (v.nominal < *low || v.nominal > *high)
            findings_.add(source_.at(*between), path,
                          "bounds without " + field_text(field, v.nominal, out_.units),
                          "bounds that hold what the car has, where the search begins; or " +
                              v.path + " set by --set");
    }

    void read_measured(const Node& node) {
        MapReader map(node, source_, "measured");
        const Node* file = map.need("file", "the path of a CSV file");
        const Node* along = map.need("along", "a map: column, and its channel unless it is time");
        const Node* columns = map.need("columns", "a map of columns to their channels");
        map.finish();
        const auto path =
            file ? read_text(*file, source_, "measured.file", "a path") : std::nullopt;
        const auto csv = path ? MeasuredFile::open(*path, source_, "measured.file") : std::nullopt;
        if (!csv || !along || !columns) return;
        out_.measured = csv->file();
        try {
            channels_ = channels_of(fit_.scenario);
        } catch (const InvalidHardware& e) {
            for (const Refusal& r : e.refusals())
                findings_.refuse(source_.at(node), r.field, r.reason);
            return;
        }
        if (csv->rows() < 2 || csv->rows() > kMostRows) {
            findings_.add({csv->file()}, "", counted(static_cast<long>(csv->rows()), "row"),
                          "2 to 20000 rows of numbers below the line with the names");
            return;
        }
        read_along(*along, *csv);
        read_columns(*columns, *csv);
    }

    void read_along(const Node& node, const MeasuredFile& csv) {
        MapReader map(node, source_, "measured.along");
        const Node* column_node = map.need("column", "the name of a column");
        const Node* channel_node = map.find("channel");
        map.finish();
        const auto name = column_node ? read_text(*column_node, source_, "measured.along.column",
                                                  "a column's name")
                                      : std::nullopt;
        if (!name) return;
        out_.along = name->text;
        fit_.over.dimension = Dimension::time;
        if (channel_node) {
            const auto path =
                read_text(*channel_node, source_, "measured.along.channel", "part.quantity");
            const Channel* channel =
                path ? find_channel(channels_, *path, "measured.along.channel", findings_)
                     : nullptr;
            if (!channel) return;
            fit_.over = *channel;
        }
        const auto column =
            csv.column(*name, fit_.over.dimension, "measured.along.column", findings_);
        if (!column) return;
        const Field any = limits(column->name, fit_.over.dimension, -1e12, 1e12);
        for (std::size_t row = 0; row < csv.rows(); ++row) {
            const auto x = csv.cell(row, *column, any, findings_);
            if (!x) return;
            if (fit_.over.path.empty() && !fit_.at.empty() && *x <= fit_.at.back()) {
                findings_.add(
                    csv.at(row, *column), column->name, csv.text(row),
                    "times that rise from row to row; or the channel along which the rows "
                    "were read, under measured.along.channel");
                return;
            }
            fit_.at.push_back(*x);
        }
    }

    void read_columns(const Node& node, const MeasuredFile& csv) {
        if (node.kind != Node::Kind::map || node.items.empty()) {
            findings_.add(source_.at(node), "measured.columns", describe(node),
                          "a map of columns to their channels");
            return;
        }
        std::size_t stated = 0;
        for (std::size_t i = 0; i < node.items.size(); ++i) {
            const Text name{node.keys[i].text, source_.at(node.keys[i])};
            const std::string path = "measured.columns." + name.text;
            MapReader map(node.items[i], source_, path);
            const Node* channel_node = map.need("channel", "part.quantity of this car");
            const Node* error_node = map.find("error");
            map.finish();
            stated += error_node != nullptr;
            const auto channel_path =
                channel_node ? read_text(*channel_node, source_, path + ".channel", "part.quantity")
                             : std::nullopt;
            const Channel* channel =
                channel_path ? find_channel(channels_, *channel_path, path + ".channel", findings_)
                             : nullptr;
            if (!channel) continue;
            if (channel->path == fit_.over.path) {
                findings_.add(source_.at(*channel_node), path + ".channel", channel->path,
                              "another channel than that of measured.along, which the rows show "
                              "as it is read");
                continue;
            }
            const auto column = csv.column(name, channel->dimension, "measured.columns", findings_);
            if (!column) continue;
            ReadColumn out{name.text, *channel, {}, {}};
            const Field any = limits(column->name, channel->dimension, -1e12, 1e12);
            for (std::size_t row = 0; row < csv.rows() && findings_.size() < 20; ++row)
                out.value.push_back(csv.empty(row, *column)
                                        ? kUnset
                                        : csv.cell(row, *column, any, findings_).value_or(kUnset));
            if (error_node) {
                read_error(*error_node, path + ".error", csv, out);
            } else {
                for (const double value : out.value)
                    out.error.push_back(study::reading_error(channel->dimension, value));
            }
            fit_.columns.push_back(std::move(out));
        }
        if (stated > 0 && stated < node.items.size())
            findings_.add(source_.at(node), "measured.columns",
                          "an error for " + std::to_string(stated) + " of " +
                              counted(static_cast<long>(node.items.size()), "column"),
                          "an error for each of them, or for none");
        fit_.errors_stated = stated > 0;
    }

    /// "0.5 bar", the same for all rows, or the name of a column.
    void read_error(const Node& node, const std::string& path, const MeasuredFile& csv,
                    ReadColumn& out) {
        const auto text = read_text(node, source_, path, "a quantity, or the name of a column");
        if (!text) return;
        if (!csv.has(text->text)) {
            const auto x =
                read_value(*text, limits(path, out.channel.dimension, 0, 0), path, findings_);
            if (x && *x <= 0) findings_.add(text->at, path, text->text, "an error above zero");
            out.error.assign(csv.rows(), x.value_or(1));
            return;
        }
        const auto column = csv.column(*text, out.channel.dimension, path, findings_);
        if (!column) return;
        const Field above = limits(path, out.channel.dimension, 1e-12, 1e12);
        for (std::size_t row = 0; row < csv.rows() && findings_.size() < 20; ++row)
            out.error.push_back(std::isnan(out.value[row])
                                    ? 1
                                    : csv.cell(row, *column, above, findings_).value_or(1));
    }

    /// Enough readings, and fields that do something.
    void look(const Node& measured, const Node& keep, const Node& move) {
        std::size_t readings = 0;
        for (const ReadColumn& c : fit_.columns)
            readings += static_cast<std::size_t>(std::count_if(
                c.value.begin(), c.value.end(), [](double x) { return !std::isnan(x); }));
        if (readings < fit_.moved.size())
            findings_.add(source_.at(measured), "measured",
                          counted(static_cast<long>(readings), "reading"),
                          "at least as many as there are fields under move");
        std::vector<double> x;
        for (const Varied& v : fit_.moved)
            x.push_back(v.nominal);
        Scenario start = study::with_values(fit_.scenario, fit_.kept, fit_.moved, x);
        for (const Refusal& r : complete(start.hardware))
            findings_.refuse(source_.at(keep), "keep", r.field + ": " + r.reason);
        if (!findings_.empty()) return;
        for (std::size_t i = 0; i < x.size(); ++i) {
            auto moved = x;
            moved[i] = fit_.moved[i].distribution.low == x[i] ? fit_.moved[i].distribution.high
                                                              : fit_.moved[i].distribution.low;
            Scenario s = study::with_values(fit_.scenario, fit_.kept, fit_.moved, moved);
            if (!complete(s.hardware).empty()) continue; // as a bound it is no answer
            if (study::value_of(s, fit_.moved[i].targets.front()) != moved[i])
                findings_.refuse(source_.at(move.keys[i]), fit_.moved[i].path,
                                 "has no effect, since it follows from other fields of this part: "
                                 "move or keep those");
        }
    }

    std::string key() const {
        Digest d;
        d.add(fingerprint(fit_.scenario, {}));
        for (const study::Kept& k : fit_.kept) {
            d.add(k.target.part + "." + k.target.field);
            d.add(k.value);
        }
        for (const Varied& v : fit_.moved)
            for (const study::Target& t : v.targets)
                d.add(t.part + "." + t.field + " " + std::to_string(t.change));
        d.add(fit_.over.path);
        for (const double x : fit_.at)
            d.add(x);
        for (const ReadColumn& c : fit_.columns)
            d.add(c.channel.path);
        return d.text();
    }

    const Node& root_;
    const Source& source_;
    Findings& findings_;
    MapReader map_;
    const StudyRequest& request_;
    TargetReader targets_;
    FitFile out_;
    study::Fit& fit_ = out_.fit;
    std::vector<Channel> channels_;
};

} // namespace

std::optional<FitFile> read_fit(const std::string& file, const StudyRequest& request,
                                Findings& findings) {
    const auto text = read_text_file(file, {file}, "", findings);
    if (!text) return {};
    const auto root = parse_yaml(*text, file, findings);
    if (!root) return {};
    const Source source{file, findings};
    return FitReader(*root, source, request).read();
}

} // namespace pedalbench::runner
