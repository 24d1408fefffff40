#include "page.hpp"

#include <algorithm>
#include <utility>

#include <nlohmann/json.hpp>

#include "page_run_json.hpp"
#include "page_template.hpp"
#include "reader.hpp"

namespace pedalbench::runner {

namespace {

using Json = nlohmann::ordered_json;

/// A page stays under 3 MB with all its runs, its answers, its text and what draws it.
constexpr std::size_t kNumbers = 2'500'000; // bytes of text

constexpr std::string_view kTitlePlace = "<!--title-->", kRunsPlace = "<!--runs-->";

std::string html(std::string_view text) {
    std::string out;
    for (const char c : text) {
        if (c == '<')
            out += "&lt;";
        else if (c == '&')
            out += "&amp;";
        else
            out += c;
    }
    return out;
}

/// JSON inside a script element: no `<` may stand in it, or a text could end the element.
std::string safe(const std::string& json) {
    std::string out;
    out.reserve(json.size());
    for (const char c : json) {
        if (c == '<')
            out += "\\u003c";
        else
            out += c;
    }
    return out;
}

void fill(std::string& page, std::string_view place, const std::string& text) {
    for (std::size_t at = 0; (at = page.find(place, at)) != std::string::npos; at += text.size())
        page.replace(at, place.size(), text);
}

} // namespace

bool can_write_pages(Findings& findings) {
    if (kPageTemplate.empty()) findings.refuse({"command line"}, "--page", kNoPageTemplate);
    return !kPageTemplate.empty();
}

std::string page(const PageContent& content, const OutputUnits& units) {
    Json j;
    j["format"] = kFormat;
    j["version"] = PEDALBENCH_VERSION;
    j["runs"] = Json::array();
    std::size_t room = kNumbers;
    for (const auto& [name, study] :
         {std::pair{"match", content.match}, std::pair{"sweep", content.sweep}}) {
        j[name] = study ? *study : Json(nullptr);
        room -= std::min(room / 2, study ? study->dump().size() : 0);
    }
    const auto rows = page_rows(content.runs, room);
    for (std::size_t i = 0; i < content.runs.size(); ++i)
        j["runs"].push_back(page_run_json(content.runs[i], units, rows[i]));
    const std::string title = !content.title.empty() ? content.title
                              : content.runs.empty() ? content.sweep->at("title").get<std::string>()
                                                     : content.runs.front().scenario->title;
    j["title"] = title;
    j["sentences"] = content.sentences;
    std::string out(kPageTemplate);
    fill(out, kTitlePlace, html(title));
    // A text that is not UTF-8 cannot come from a file we accepted; replace rather than fail late.
    fill(out, kRunsPlace, safe(j.dump(-1, ' ', false, Json::error_handler_t::replace)));
    return out;
}

} // namespace pedalbench::runner
