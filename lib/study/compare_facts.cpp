#include "study/compare_facts.hpp"

#include <algorithm>
#include <cmath>

#include "record/remarks.hpp"

namespace pedalbench::study {
namespace {

const WheelEnd* find_wheel(const Summary& summary, const std::string& part) {
    for (const WheelEnd& wheel : summary.wheels)
        if (wheel.part == part) return &wheel;
    return nullptr;
}

void wheel_facts(const std::vector<Entry>& runs, std::vector<Fact>& facts) {
    std::vector<std::string> parts;
    for (const Entry& run : runs)
        for (const WheelEnd& wheel : run.summary.wheels)
            if (std::find(parts.begin(), parts.end(), wheel.part) == parts.end())
                parts.push_back(wheel.part);
    for (const std::string& part : parts) {
        Fact drags{Fact::Kind::drags, part, "", Dimension::torque, {}, {}};
        Fact dragged{Fact::Kind::dragged, part, "", Dimension::torque, {}, {}};
        for (const Entry& run : runs) {
            const WheelEnd* w = find_wheel(run.summary, part);
            const bool judged = w && known(w->torque) && !w->parked;
            drags.yes.push_back(judged ? answer(w->drags()) : YesNo::unknown);
            drags.value.push_back(w ? w->torque : kUnset);
            // A wheel that drags at the end has said so.
            const bool earlier = w && known(w->most) && !w->drags();
            dragged.yes.push_back(earlier ? answer(w->dragged()) : YesNo::unknown);
            dragged.value.push_back(w ? w->most : kUnset);
        }
        facts.push_back(std::move(drags));
        facts.push_back(std::move(dragged));
    }
}

void lamp_facts(const std::vector<Entry>& runs, std::vector<Fact>& facts) {
    Fact at_end{Fact::Kind::lit_at_end, "", "", Dimension::time, {}, {}};
    Fact lit{Fact::Kind::lit, "", "", Dimension::time, {}, {}};
    for (const Entry& run : runs) {
        const Summary& s = run.summary;
        const bool ever = s.has_lamp && !s.lamp_lit.empty();
        at_end.yes.push_back(s.has_lamp ? answer(s.lamp_lit_at_end) : YesNo::unknown);
        at_end.value.push_back(ever && s.lamp_lit_at_end ? s.lamp_lit.back().from : kUnset);
        lit.yes.push_back(s.has_lamp ? answer(ever) : YesNo::unknown);
        lit.value.push_back(ever ? s.lamp_lit.front().from : kUnset);
    }
    const bool told = at_end.differs();
    facts.push_back(std::move(at_end));
    if (!told) facts.push_back(std::move(lit));
}

void fluid_facts(const std::vector<Entry>& runs, std::vector<Fact>& facts) {
    Fact lost{Fact::Kind::fluid_lost, "", "", Dimension::volume, {}, {}};
    Fact drawn{Fact::Kind::air_drawn, "", "", Dimension::volume, {}, {}};
    const auto add = [](Fact& fact, const std::vector<Amount>& amounts) {
        double all = 0;
        for (const Amount& amount : amounts)
            all += amount.volume;
        fact.yes.push_back(answer(!amounts.empty()));
        fact.value.push_back(all);
    };
    for (const Entry& run : runs) {
        add(lost, fluid_lost(run.summary, run.scenario.hardware));
        add(drawn, air_drawn(run.summary, run.scenario.hardware));
    }
    facts.push_back(std::move(lost));
    facts.push_back(std::move(drawn));
}

/// Lines that at least two runs have. `lines` gives those of a summary, `same` tells two of them
/// apart, `put` fills in the fact.
template <class Lines, class Same, class Put>
void line_facts(const std::vector<Entry>& runs, std::vector<Fact>& facts, const Lines& lines,
                const Same& same, const Put& put) {
    for (std::size_t r = 0; r < runs.size(); ++r)
        for (const auto& line : lines(runs[r].summary)) {
            Fact fact{};
            std::size_t before = 0, in = 0;
            for (std::size_t k = 0; k < runs.size(); ++k) {
                const auto& others = lines(runs[k].summary);
                const auto found = std::find_if(others.begin(), others.end(),
                                                [&](const auto& o) { return same(o, line); });
                fact.yes.push_back(YesNo::unknown);
                fact.value.push_back(kUnset);
                if (found == others.end()) continue;
                ++in;
                before += k < r;
                put(fact, *found);
            }
            if (before == 0 && in > 1) facts.push_back(std::move(fact));
        }
}

void judged_facts(const std::vector<Entry>& runs, std::vector<Fact>& facts) {
    line_facts(
        runs, facts, [](const Summary& s) -> const std::vector<ServiceLine>& { return s.service; },
        [](const ServiceLine& a, const ServiceLine& b) {
            return a.what == b.what && a.where == b.where;
        },
        [](Fact& fact, const ServiceLine& line) {
            fact.kind = Fact::Kind::service;
            fact.part = line.where;
            fact.text = line.what;
            fact.dimension = line.dimension;
            fact.yes.back() = answer(line.pass);
            fact.value.back() = line.measured;
        });
    line_facts(
        runs, facts,
        [](const Summary& s) -> const std::vector<ExpectationResult>& { return s.expectations; },
        [](const ExpectationResult& a, const ExpectationResult& b) { return a.text == b.text; },
        [](Fact& fact, const ExpectationResult& e) {
            fact.kind = Fact::Kind::expectation;
            fact.text = e.text;
            fact.dimension = e.dimension;
            fact.yes.back() = answer(e.held);
            fact.value.back() = e.found;
        });
}

} // namespace

std::vector<Fact> facts_of(const std::vector<Entry>& runs) {
    std::vector<Fact> facts;
    wheel_facts(runs, facts);
    lamp_facts(runs, facts);
    fluid_facts(runs, facts);
    judged_facts(runs, facts);
    return facts;
}

} // namespace pedalbench::study
