#include "sweep_page.hpp"

#include <algorithm>

#include <nlohmann/json.hpp>

#include "json_values.hpp"
#include "points_file.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kMostDots = 3000;     // more cannot be told apart
constexpr std::size_t kMostNumbers = 90000; // of all dots, so that a page stays below 3 MB

Json bins_json(const study::AnswerResult& r) {
    Json all = Json::array();
    for (const Bin& bin : bins_of(r))
        all.push_back({{"from", bin.from}, {"to", bin.to}, {"points", bin.points}});
    return all;
}

/// Column by column, as points.csv has them; a row that was lost has no answers and is left out.
Json rows_json(const std::filesystem::path& points, const Study& study, const SweepResult& result) {
    const std::size_t fields = study.sweep.varied.size(), answers = study.sweep.answers.size();
    const std::size_t most = std::min(kMostDots, kMostNumbers / (fields + answers));
    const std::size_t every = std::max<std::size_t>(1, (result.rows + most - 1) / most);
    Json number = Json::array(), what = Json::array();
    std::vector<Json> inputs(fields, Json::array()), found(answers, Json::array());
    PointsReader reader(points, study);
    for (PointsRow row; reader.next(row);) {
        if (row.number % every != 0 || row.end != study::Outcome::End::complete) continue;
        number.push_back(row.number);
        what.push_back(row.what);
        for (std::size_t d = 0; d < fields; ++d)
            inputs[d].push_back(json_number(row.inputs[d]));
        for (std::size_t a = 0; a < answers; ++a)
            found[a].push_back(json_number(row.answers[a]));
    }
    return {{"every", every},
            {"number", number},
            {"what", what},
            {"inputs", inputs},
            {"answers", found}};
}

} // namespace

Json sweep_page_values(const std::filesystem::path& dir, const Study& study,
                       const SweepResult& result) {
    Json j = sweep_values(study, result);
    j["text"] = study.text;
    j["car"] = study.sweep.scenario.hardware.title;
    for (std::size_t a = 0; a < result.answers.size(); ++a)
        j["answers"][a]["bins"] = bins_json(result.answers[a]);
    j["rows"] = rows_json(dir / "points.csv", study, result);
    return j;
}

} // namespace pedalbench::runner
