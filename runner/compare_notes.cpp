#include "compare_notes.hpp"

#include <algorithm>
#include <cmath>

#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::Fact;
using study::known;
using study::YesNo;
using Kind = Fact::Kind;
using Moment = study::Figure::Moment;

std::string fault_text(const Fault& fault, const OutputUnits& units) {
    std::string text = std::string(fault.kind->name) + " at " + fault.at;
    const Field* size = size_field(*fault.kind);
    if (size && known(fault.size))
        text += ", " + field_text(*size, fault.size, units.of(size->dimension), 4);
    if (fault.from > 0) text += ", from " + show(fault.from) + " s";
    if (fault.over > 0) text += ", over " + show(fault.over) + " s";
    return text;
}

} // namespace

std::vector<std::string> setup_lines(const Compared& compared) {
    const study::Setup& setup = compared.setup;
    const OutputUnits& units = compared.units;
    constexpr std::size_t kShown = 12;
    std::vector<std::string> lines;
    const auto where = [&](std::size_t r) { return compared.runs[r].where; };
    for (const study::SetupFault& fault : setup.faults) {
        std::vector<std::string> in, text;
        for (std::size_t r = 0; r < fault.in.size(); ++r) {
            if (!fault.in[r] || fault.in[r]->left_out) continue;
            in.push_back(where(r));
            text.push_back(fault_text(*fault.in[r], units));
        }
        if (in.empty()) continue; // it happens in none
        std::string line = "fault " + fault.name;
        if (std::all_of(text.begin(), text.end(), [&](const auto& t) { return t == text[0]; })) {
            line += ", " + text[0] + ": only " + listed(in);
        } else {
            for (std::size_t i = 0; i < in.size(); ++i)
                line += (i == 0 ? ": " : "; ") + in[i] + " " + text[i];
            if (in.size() < fault.in.size()) line += "; nowhere else";
        }
        lines.push_back(line);
    }
    for (std::size_t i = 0; i < setup.fields.size(); ++i) {
        if (i == kShown) {
            lines.push_back(counted(static_cast<long>(setup.fields.size() - kShown),
                                    "more field of the cars", "more fields of the cars"));
            break;
        }
        const study::SetupField& field = setup.fields[i];
        std::string text = field.path + ": ";
        for (std::size_t r = 0; r < field.value.size(); ++r)
            text += (r == 0 ? "" : ", ") +
                    field_text(*field.field, field.value[r], units.of(field.field->dimension), 4) +
                    " " + where(r);
        lines.push_back(text);
    }
    if (!setup.parts.empty())
        lines.push_back("other cars: not all have, or not of the same kind, " +
                        (setup.parts.size() <= kShown
                             ? listed(setup.parts)
                             : counted(static_cast<long>(setup.parts.size()), "part")));
    std::vector<std::string> duration, start;
    for (std::size_t r = 0; r < compared.entries.size(); ++r) {
        const Scenario& s = compared.entries[r].scenario;
        duration.push_back(show(s.duration) + " s " + where(r));
        start.push_back((s.after_a_stop ? "after a stop " : "new ") + where(r));
    }
    if (setup.foot) lines.emplace_back("the foot does not do the same: times and travels show it");
    if (setup.duration) lines.push_back("duration: " + listed(duration));
    if (setup.start) lines.push_back("start: " + listed(start));
    if (setup.later) lines.emplace_back("what is changed during the run is not the same");
    return lines;
}

std::vector<std::string> alike(const Compared& compared) {
    std::vector<std::string> lines, dragging;
    long wheels = 0, kept = 0, held = 0;
    std::vector<std::string> failed, outside;
    for (const Fact& fact : compared.comparison.facts) {
        const bool all_known =
            std::find(fact.yes.begin(), fact.yes.end(), YesNo::unknown) == fact.yes.end();
        if (fact.differs() || !all_known) continue;
        const bool yes = fact.yes.front() == YesNo::yes;
        switch (fact.kind) {
        case Kind::drags:
            ++wheels;
            if (yes) dragging.push_back(fact.part);
            break;
        case Kind::lit_at_end:
            if (yes) lines.emplace_back("the lamp is lit at the end");
            break;
        case Kind::lit:
            if (!yes) lines.emplace_back("the lamp is never lit");
            break;
        case Kind::fluid_lost:
            lines.emplace_back(yes ? "fluid is lost" : "no fluid is lost");
            break;
        case Kind::air_drawn:
            lines.emplace_back(yes ? "air is drawn in" : "no air is drawn in");
            break;
        case Kind::dragged:
            break;
        case Kind::service:
            kept += yes;
            if (!yes) outside.push_back(fact.text + " at " + fact.part);
            break;
        case Kind::expectation:
            held += yes;
            if (!yes) failed.push_back("\"" + fact.text + "\"");
            break;
        case Kind::event:
            break;
        }
    }
    std::vector<std::string> out;
    if (!dragging.empty())
        out.push_back(listed(dragging) + (dragging.size() > 1 ? " drag" : " drags"));
    else if (wheels > 0)
        out.push_back(wheels == static_cast<long>(compared.entries.front().summary.wheels.size())
                          ? "no wheel drags"
                          : "the other wheels do not drag");
    out.insert(out.end(), lines.begin(), lines.end());
    if (kept > 0)
        out.push_back(counted(kept, "limit of service is", "limits of service are") + " kept");
    for (const std::string& line : outside)
        out.push_back(line + " is outside its limit");
    if (held > 0) out.push_back(counted(held, "expectation holds", "expectations hold"));
    for (const std::string& text : failed)
        out.push_back(text + " fails");
    return out;
}

std::vector<std::string> not_comparable(const Compared& compared) {
    std::vector<std::string> lines;
    const study::Comparison& c = compared.comparison;
    for (std::size_t r = 0; r < compared.runs.size(); ++r) {
        std::vector<std::string> only;
        for (const study::Lone& lone : c.lone)
            if (lone.in[r]) only.push_back(lone.channel);
        if (only.empty()) continue;
        std::string text =
            "Not in every car: " + counted(static_cast<long>(only.size()), "channel") + " " +
            compared.runs[r].where + ", ";
        constexpr std::size_t kShown = 8;
        const bool some = only.size() > kShown;
        if (some) only.resize(kShown);
        lines.push_back(text + (some ? "such as " : "") + listed(only));
    }
    for (const auto& [moment, why] :
         {std::pair{Moment::held, "held figures: the foot was never constant for 0.2 s"},
          std::pair{Moment::residual,
                    "residual figures: the foot was not off for the last second"}})
        for (std::size_t r = 0; r < compared.runs.size(); ++r)
            if (std::any_of(c.figures.begin(), c.figures.end(), [&, m = moment](const auto& f) {
                    return f.moment == m && !known(f.value[r]);
                }))
                lines.push_back("Not compared " + compared.runs[r].where + ": " + why);
    return lines;
}

} // namespace pedalbench::runner
