#include "sweep_answers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "points_file.hpp"
#include "record/remarks.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;
using study::Alone;
using study::AnswerResult;
using study::PointSet;
using study::Share;

constexpr std::size_t kMostFields = 15; // in the report; the summary has all of them
constexpr double kQuantiles[] = {0.01, 0.05, 0.5, 0.95, 0.99};
std::string unit_of(const Study& study, Dimension d) {
    return std::string(study.units.of(d).name);
}

std::string cell(double x) {
    return std::isfinite(x) ? show(x, 5) : "-";
}

/// Three decimals, and no minus before a zero.
std::string fixed(double x) {
    return fmt::format("{:.3f}", std::abs(x) < 0.0005 ? 0 : x);
}

std::string cell(const Share& s) {
    if (!std::isfinite(s.value)) return "-";
    return fmt::format("{:>6} {:5.2f}..{:.2f}", fixed(s.value), s.likely.low, s.likely.high);
}

/// Long names get a line of their own.
std::string named(const std::string& indent, const std::string& name, std::size_t width,
                  const std::string& rest) {
    if (name.size() <= width) return fmt::format("{}{:<{}}{}\n", indent, name, width, rest);
    return wrapped(name, kWidth, indent) + fmt::format("{}{:<{}}{}\n", indent, "", width, rest);
}

std::vector<std::string> cautions(const Study& study) {
    return cautions_of(study.sweep.scenario, study.sweep.scenario.hardware);
}

const char* points_words(PointSet::Kind kind) {
    switch (kind) {
    case PointSet::Kind::grid:
        return "a grid";
    case PointSet::Kind::random:
        return "drawn at random";
    case PointSet::Kind::latin_hypercube:
        return "a Latin hypercube";
    case PointSet::Kind::sobol:
        return "a Sobol set";
    case PointSet::Kind::indices:
        return "Saltelli's design for Sobol's indices";
    }
    return "";
}

std::string points_words(const Study& study, const SweepResult& result) {
    const study::Sweep& sweep = study.sweep;
    const std::size_t first = 1 + 2 * sweep.varied.size();
    const std::string text = fmt::format(
        "{} over {} ({}); besides, the car as it is and each field alone at both its ends. ",
        sweep.varied.size() == 1 ? "1 field varies"
                                 : fmt::format("{} fields vary", sweep.varied.size()),
        counted(static_cast<long>(result.rows - std::min(result.rows, first)), "point"),
        points_words(sweep.points.kind));
    return text + (sweep.still() ? "All answers are figures of the car: nothing was simulated."
                                 : counted(static_cast<long>(result.rows), "run") + " in all.");
}

/// Empty where no row was lost.
std::string lost_words(const SweepResult& result) {
    if (result.refused + result.failed == 0) return {};
    return fmt::format("Lost: {} that a part refused and {} that could not go on; they count "
                       "nowhere below. The first, row {}: {}",
                       result.refused, result.failed, result.first_lost, result.reason);
}

std::string head(const Study& study, const SweepResult& result) {
    std::string out =
        wrapped(study.title, kWidth, "") + wrapped(points_words(study, result), kWidth, "");
    if (const std::string lost = lost_words(result); !lost.empty())
        out += wrapped(lost, kWidth, "  ");
    return out;
}

std::string spread_table(const Study& study, const SweepResult& result) {
    constexpr std::size_t kName = 30;
    std::string out =
        fmt::format("\n  {:<{}}{:<7} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}\n", "answer", kName,
                    "unit", "as it is", "mean", "deviation", "5 %", "50 %", "95 %");
    for (std::size_t a = 0; a < result.answers.size(); ++a) {
        const AnswerResult& r = result.answers[a];
        const study::Answer& answer = study.sweep.answers[a];
        const study::Histogram& h = r.tally.histogram();
        out += named("  ", answer.text, kName,
                     fmt::format("{:<7} {:>9} {:>9} {:>9} {:>9} {:>9} {:>9}",
                                 unit_of(study, answer.dimension), cell(r.as_it_is),
                                 cell(r.tally.mean()), cell(r.tally.deviation()),
                                 cell(h.quantile(0.05)), cell(h.quantile(0.5)),
                                 cell(h.quantile(0.95))));
        if (r.tally.none() > 0)
            out += fmt::format("  {:<{}}{} of {} runs have no such value\n", "", kName,
                               r.tally.none(), r.tally.judged());
    }
    return out;
}

std::string limits_words(const study::Tally& t, const std::string& unit) {
    const std::string u = unit.empty() ? "" : " " + unit;
    if (t.low() && t.high()) return cell(*t.low()) + " to " + cell(*t.high()) + u;
    return t.low() ? "at least " + cell(*t.low()) + u : "at most " + cell(*t.high()) + u;
}

/// How many lie outside; empty for an answer without limits.
std::string outside_words(const Study& study, const SweepResult& result, std::size_t a) {
    const study::Tally& t = result.answers[a].tally;
    if (!t.limited() || t.judged() == 0) return {};
    const study::Answer& answer = study.sweep.answers[a];
    const auto n = static_cast<double>(t.judged());
    std::string line = fmt::format("{}, limits {}: {} of {} outside, {:.3g} %", answer.text,
                                   limits_words(t, unit_of(study, answer.dimension)), t.outside(),
                                   t.judged(), 100 * static_cast<double>(t.outside()) / n);
    if (study.sweep.points.kind != PointSet::Kind::grid) {
        const study::Interval i = study::clopper_pearson(t.outside(), t.judged());
        line += fmt::format(" (at 95 % confidence {:.3g} to {:.3g} %)", 100 * i.low, 100 * i.high);
    }
    if (t.outside() > 0) line += fmt::format("; {} below, {} above", t.below(), t.above());
    if (t.none() > 0) line += fmt::format(", {} without such a value", t.none());
    if (const std::size_t lost = result.points_lost; lost > 0)
        line += fmt::format(". {} that cannot be built or run {} not among them", lost,
                            lost == 1 ? "is" : "are");
    return line;
}

std::string limits_table(const Study& study, const SweepResult& result) {
    std::string out;
    for (std::size_t a = 0; a < result.answers.size(); ++a)
        if (const std::string line = outside_words(study, result, a); !line.empty())
            out += wrapped(line, kWidth, "  ");
    return out.empty() ? out : "\nOutside the limits\n" + out;
}

std::string moves_table(const Study& study, const SweepResult& result) {
    const bool indices = study.sweep.points.kind == PointSet::Kind::indices;
    const std::size_t name = indices ? 26 : 40;
    std::string out =
        "\nWhat moves it. At low, at high: the answer with that field alone at its ends";
    out += ";\nper cent: of the answer, for one per cent of the field.";
    if (indices)
        out += " First: the share of the variance that the\nfield makes on its own; total: with "
               "what it does together with others; each with its 95 % interval.";
    out += "\n";
    for (std::size_t a = 0; a < result.answers.size(); ++a) {
        const AnswerResult& r = result.answers[a];
        const study::Answer& answer = study.sweep.answers[a];
        const std::string unit = unit_of(study, answer.dimension);
        out += wrapped(answer.text + (unit.empty() ? "" : " [" + unit + "]"), kWidth, "  ");
        if (!r.moves() && std::all_of(r.alone.begin(), r.alone.end(),
                                      [](const Alone& x) { return !(x.swing() > 0); })) {
            out += "    nothing that varies moves it\n";
            continue;
        }
        out += fmt::format("    {:<{}}{:>10} {:>10} {:>8}{}\n", "field", name, "at low", "at high",
                           "per cent", indices ? "   first            total" : "");
        for (std::size_t k = 0; k < std::min(kMostFields, r.order.size()); ++k) {
            const std::size_t d = r.order[k];
            const Alone& x = r.alone[d];
            std::string rest = fmt::format("{:>10} {:>10} {:>8}", cell(x.low), cell(x.high),
                                           std::isfinite(x.per_cent) ? fixed(x.per_cent) : "-");
            if (r.indices)
                rest += fmt::format("  {:<17} {}", cell(r.indices->first[d]),
                                    cell(r.indices->total[d]));
            out += named("    ", study.sweep.varied[d].path, name, rest);
        }
        if (r.indices && r.indices->blocks < study.sweep.points.n)
            out += fmt::format("    from the {} of {} blocks in which no row was lost or without "
                               "the value\n",
                               r.indices->blocks, study.sweep.points.n);
        if (r.order.size() > kMostFields)
            out += fmt::format("    and {} more in summary.json\n", r.order.size() - kMostFields);
    }
    return out;
}

Json bound(const std::optional<double>& x) {
    return x ? Json(*x) : Json(nullptr);
}

Json share_json(const Share& s) {
    return {{"value", json_number(s.value)},
            {"low", json_number(s.likely.low)},
            {"high", json_number(s.likely.high)}};
}

Json unit_json(const Study& study, Dimension d) {
    const std::string unit = unit_of(study, d);
    return unit.empty() ? "1" : unit;
}

Json answer_json(const Study& study, const study::Answer& answer, const AnswerResult& r) {
    const study::Tally& t = r.tally;
    Json j = {{"text", answer.text},
              {"unit", unit_json(study, answer.dimension)},
              {"as_it_is", json_number(r.as_it_is)},
              {"values", t.count()},
              {"without", t.none()},
              {"mean", json_number(t.mean())},
              {"deviation", json_number(t.deviation())},
              {"least", json_number(t.least())},
              {"most", json_number(t.most())}};
    j["quantiles"] = Json::array();
    for (const double q : kQuantiles)
        j["quantiles"].push_back({{"share", q}, {"value", json_number(t.histogram().quantile(q))}});
    j["limits"] = nullptr;
    if (t.limited()) {
        Json limits = {
            {"low", bound(t.low())},  {"high", bound(t.high())}, {"judged", t.judged()},
            {"outside", t.outside()}, {"below", t.below()},      {"above", t.above()},
            {"confidence", nullptr},  {"share_low", nullptr},    {"share_high", nullptr}};
        if (study.sweep.points.kind != PointSet::Kind::grid && t.judged() > 0) {
            const study::Interval i = study::clopper_pearson(t.outside(), t.judged());
            limits["confidence"] = 0.95;
            limits["share_low"] = i.low;
            limits["share_high"] = i.high;
        }
        j["limits"] = std::move(limits);
    }
    j["moved_by"] = Json::array();
    for (const std::size_t d : r.order) {
        const Alone& x = r.alone[d];
        Json by = {
            {"path", study.sweep.varied[d].path},      {"field_low", json_number(x.input_low)},
            {"field_high", json_number(x.input_high)}, {"at_low", json_number(x.low)},
            {"at_high", json_number(x.high)},          {"per_cent", json_number(x.per_cent)}};
        if (r.indices) {
            by["first"] = share_json(r.indices->first[d]);
            by["total"] = share_json(r.indices->total[d]);
        }
        j["moved_by"].push_back(std::move(by));
    }
    if (r.indices) j["blocks"] = r.indices->blocks;
    return j;
}

} // namespace

SweepResult evaluate(const std::filesystem::path& points, const Study& study) {
    std::vector<study::Limits> limits;
    for (const study::Answer& a : study.sweep.answers) {
        const auto in_units = [&](const std::optional<double>& x) {
            return x ? std::optional<double>(study.units.number(a.dimension, *x)) : std::nullopt;
        };
        limits.emplace_back(in_units(a.low), in_units(a.high));
    }
    study::Evaluation evaluation(study.sweep, limits);
    PointsReader reader(points, study);
    for (PointsRow row; reader.next(row);)
        evaluation.row(row.number, row.end, row.inputs, row.answers, row.remark);
    SweepResult result;
    result.answers = evaluation.finish();
    result.rows = evaluation.rows();
    result.complete = evaluation.complete();
    result.refused = evaluation.refused();
    result.failed = evaluation.failed();
    result.points_lost = evaluation.points_lost();
    result.first_lost = evaluation.first_lost();
    result.reason = evaluation.reason();
    return result;
}

std::string sweep_report(const Study& study, const SweepResult& result) {
    std::string out = head(study, result) + spread_table(study, result) +
                      limits_table(study, result) + moves_table(study, result) + "\n";
    for (const std::string& caution : cautions(study))
        out += "  ! " + wrapped(caution, kWidth, "    ").substr(4);
    return out;
}

Json sweep_values(const Study& study, const SweepResult& result) {
    const PointSet& set = study.sweep.points;
    const bool drawn =
        set.kind == PointSet::Kind::random || set.kind == PointSet::Kind::latin_hypercube;
    Json j = {{"format", 1},
              {"title", study.title},
              {"key", study.key},
              {"points",
               {{"kind", study::name_of(set.kind)},
                {"rows", result.rows},
                {"seed", drawn ? Json(set.seed) : Json(nullptr)},
                {"complete", result.complete},
                {"refused", result.refused},
                {"failed", result.failed},
                {"first_lost", result.reason.empty() ? Json(nullptr) : Json(result.first_lost)},
                {"reason", result.reason.empty() ? Json(nullptr) : Json(result.reason)},
                {"in_words", points_words(study, result)},
                {"lost_in_words", lost_words(result)}}}};
    j["varied"] = Json::array();
    for (const study::Varied& v : study.sweep.varied) {
        Json also = Json::array();
        for (const study::Target& t : v.targets)
            also.push_back(t.part + "." + t.field);
        j["varied"].push_back(
            {{"path", v.path},
             {"sets", std::move(also)},
             {"unit", unit_json(study, v.dimension)},
             {"as_it_is", json_number(study.units.number(v.dimension, v.nominal))}});
    }
    j["answers"] = Json::array();
    for (std::size_t a = 0; a < result.answers.size(); ++a) {
        j["answers"].push_back(answer_json(study, study.sweep.answers[a], result.answers[a]));
        j["answers"].back()["outside_in_words"] = outside_words(study, result, a);
    }
    j["cautions"] = Json::array();
    for (const std::string& caution : cautions(study))
        j["cautions"].push_back(caution);
    return j;
}

std::string sweep_json(const Study& study, const SweepResult& result) {
    return sweep_values(study, result).dump(2) + "\n";
}

} // namespace pedalbench::runner
