#include "match_page.hpp"

#include <algorithm>
#include <memory>

#include <nlohmann/json.hpp>

#include "compare_sentences.hpp"
#include "csv_sink.hpp"
#include "match_answers.hpp"
#include "page.hpp"
#include "study/beside.hpp"

namespace pedalbench::runner {

namespace {

/// What the complaint records, and what was read or is to be read next: the plots then show it.
void record_readings(Scenario& scenario, const study::Match& match) {
    using Moment = Expectation::Moment;
    std::vector<std::string> record = recorded_of(scenario);
    const auto add = [&record](const Expectation& e) {
        if (e.moment == Moment::event_time || e.moment == Moment::event_count) return;
        if (std::find(record.begin(), record.end(), e.channel) == record.end())
            record.push_back(e.channel);
    };
    for (const Expectation& reading : scenario.readings)
        add(reading);
    for (const study::NextReading& next : match.next)
        add(next.what.what);
    scenario.record = std::move(record);
}

/// A run on the page.
struct Played {
    RunName run;
    Scenario scenario;
    Summary summary;
    std::unique_ptr<CsvSink> files;
    std::unique_ptr<PageTrace> trace;
};

std::vector<Played> planned(const Scenario& complaint, const study::Match& match) {
    Scenario sound = complaint;
    record_readings(sound, match);
    std::vector<Played> list;
    const study::Explanation& first = match.leaders.front();
    if (!first.faults.empty()) {
        Scenario faulty = sound;
        std::string name;
        for (std::size_t i = 0; i < first.faults.size(); ++i) {
            faulty = study::with_fault(faulty, first.faults[i], first.u[i]);
            name += (i == 0 ? "with " : " and ") + std::string(first.faults[i].kind->name) +
                    " at " + first.faults[i].at;
        }
        std::replace(name.begin(), name.end(), '_', ' '); // as people say it
        list.push_back({{name, name, "", complaint.title, 1}, faulty, {}, {}, {}});
    }
    const int number = static_cast<int>(list.size()) + 1;
    list.push_back(
        {{"the car as it is", "as it is", "", complaint.title, number}, sound, {}, {}, {}});
    return list;
}

/// What differs, told from the car as it is.
std::vector<std::string> differences(const std::vector<Played>& played, const OutputUnits& units) {
    if (played.size() < 2) return {};
    Compared compared;
    compared.units = units;
    std::vector<const Scenario*> scenarios;
    for (std::size_t i = played.size(); i-- > 0;) {
        compared.runs.push_back(played[i].run);
        compared.entries.push_back({played[i].run.name, played[i].scenario, played[i].summary});
        scenarios.push_back(&played[i].scenario);
    }
    compared.comparison = study::compare(compared.entries);
    compared.setup = study::setup_of(scenarios);
    return sentences(compared);
}

} // namespace

std::string match_page(const ResultFolder& folder, const Scenario& complaint,
                       const study::Match& match, const OutputUnits& units,
                       study::Executor& executor, const RunOptions& options) {
    std::vector<Played> played = planned(complaint, match);
    std::vector<Scenario> scenarios;
    std::vector<Sink*> sinks;
    for (Played& p : played) {
        p.files = std::make_unique<CsvSink>(folder.writing(), units, p.run.number);
        p.trace = std::make_unique<PageTrace>(recorded_of(p.scenario), *p.files);
        sinks.push_back(p.trace.get());
        scenarios.push_back(p.scenario);
        scenarios.back().record = page_channels(p.scenario);
    }
    std::vector<study::Ran> ran = study::run_beside(scenarios, sinks, executor, options);
    for (std::size_t i = played.size(); i-- > 0;) {
        if (!played[i].files->close())
            throw CannotWrite("cannot write the traces in " + folder.writing().string());
        if (ran[i].end == study::Outcome::End::stopped) return {};
        // The search has run them both: what it could not run does not lead.
        mark_recorded(ran[i].summary, recorded_of(played[i].scenario));
        played[i].summary = std::move(ran[i].summary);
    }
    PageContent content;
    for (const Played& p : played)
        content.runs.push_back(
            {played.size() > 1 ? p.run.name : "", &p.scenario, &p.summary, p.trace.get()});
    content.sentences = differences(played, units);
    const nlohmann::ordered_json values = match_values(complaint, match, units);
    content.match = &values;
    return page(content, units);
}

} // namespace pedalbench::runner
