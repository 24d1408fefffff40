#include "system/bleeding.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "parts/part.hpp"
#include "system/changes.hpp"
#include "system/system.hpp"

namespace pedalbench {
namespace {

constexpr double kMove = 0.5;  // s, of a foot that presses or lets go, and of a tank's valve
constexpr double kReact = 0.2; // s, between the two people at the car
constexpr double kHold = 0.5;  // s, of a press that only tries the pedal
constexpr double kRest = 1.0;  // s, after it
constexpr double kPour = 2.0;  // s, for topping up

constexpr Field kFields[] = {
    {"method", Dimension::choice, kUnset, 0, 3, Mark::given, "", "how the fluid is driven",
     "gravity|pedal|pressure|vacuum"},
    {"screw", Dimension::length, 1.2e-3, 0.1e-3, 5e-3, Mark::judgement, "half a turn",
     "opening of the screw"},
    {"strokes", Dimension::number, kUnset, 1, 200, Mark::given, "", "of the pedal, by a helper"},
    {"time", Dimension::time, kUnset, 0.1, 3600, Mark::given, "",
     "for which the screw stands open without the pedal"},
    {"force", Dimension::force, 150, 10, 1000, Mark::judgement,
     "slow and not to the floor by force", "of the helper's foot"},
    {"open", Dimension::time, 1.5, 0.1, 60, Mark::judgement, "until the pedal has sunk",
     "for which the screw is open in each stroke"},
    {"pause", Dimension::time, 1, 0, 60, Mark::judgement, "so that the cylinder fills again",
     "between two strokes, foot off"},
    {"left_open", Dimension::choice, 0, 0, 1, Mark::practice, "shut before the pedal comes up",
     "the screw stands open while the pedal comes up", "no|yes"},
    {"hose", Dimension::choice, 1, 0, 1, Mark::practice, "under the fluid of a jar",
     "what the end of the hose stands in", "air|fluid"},
    {"pressure", Dimension::pressure, 0.1e6, 1e3, 0.4e6, Mark::practice,
     "12-15 psi, US Army TB 9-2320-335-13&P", "of the tank at the reservoirs"},
    {"vacuum", Dimension::pressure, 60e3, 1e3, 95e3, Mark::practice, "hand pumps give 50-80 kPa",
     "at the end of the hose, below outside"},
    {"rod", Dimension::choice, 0, 0, 1, Mark::practice, "nobody touches it",
     "what is done with the rods of hold-off valves meanwhile", "free|held"},
    {"top_up", Dimension::volume, 0, 0, 1e-3, Mark::practice, "nothing",
     "fluid poured into the reservoirs before, half into each"},
};

/// The screw that hangs at the same point as part number i of a run, itself perhaps. A pipe or a
/// valve is no wheel.
std::string screw_at_point(const Hardware& hardware, const Run& run, std::size_t i) {
    for (std::size_t k = i; k < run.parts.size(); ++k) {
        const auto spec = std::find_if(hardware.parts.begin(), hardware.parts.end(),
                                       [&](const PartSpec& p) { return p.name == run.parts[k]; });
        if (spec == hardware.parts.end() || spec->kind->through) break;
        if (spec->kind->name == "bleeder") return spec->name;
    }
    return {};
}

std::string screw_in(const Hardware& hardware, const Run& run, const std::string& at) {
    for (std::size_t i = 0; i < run.parts.size(); ++i)
        if (run.parts[i] == at) return screw_at_point(hardware, run, i);
    for (const Run& branch : run.branches)
        if (const std::string found = screw_in(hardware, branch, at); !found.empty()) return found;
    return {};
}

std::vector<std::string> parts_of(const Hardware& hardware, std::string_view kind) {
    std::vector<std::string> names;
    for (const PartSpec& spec : hardware.parts)
        if (spec.kind->name == kind) names.push_back(spec.name);
    return names;
}

/// Writes changes and foot along one clock.
class Card {
  public:
    explicit Card(Scenario& scenario)
        : scenario_(scenario), hardware_(scenario.hardware), t_(scenario.bleeding.from) {
        scenario_.foot = {};
        foot(0, 0);
    }

    double write() {
        Bleeding& card = scenario_.bleeding;
        std::vector<BleedStep>& steps = card.steps;
        if (card.test > 0) card.test_before = try_pedal(card.test);
        for (std::size_t i = 0; i < steps.size(); ++i) {
            BleedStep& step = steps[i];
            top_up(step.how["top_up"]);
            step.from = t_;
            prepare(step);
            if (step.method() == BleedMethod::pedal)
                pump(step);
            else
                let_run(step);
            step.to = t_;
            tidy(step, i + 1 < steps.size() ? &steps[i + 1] : nullptr);
        }
        if (card.test > 0) card.test_after = try_pedal(card.test);
        foot(t_, 0);
        return t_;
    }

  private:
    /// A change, unless the field stands so already.
    void set(const std::string& part, const char* field, double value, double over = 0) {
        const std::string path = part + "." + field;
        if (!stands_.count(path)) stands_[path] = (*find_values(hardware_, part))[field];
        if (stands_[path] == value) return;
        stands_[path] = value;
        scenario_.changes.push_back({part, field, value, t_, over, Origin::procedure});
    }
    void set_all(std::string_view kind, const char* field, double value, double over = 0) {
        for (const std::string& part : parts_of(hardware_, kind))
            set(part, field, value, over);
    }
    void foot(double t, double force) {
        FootInput& input = scenario_.foot;
        if (!input.time.empty() && t <= input.time.back()) return;
        input.time.push_back(t);
        input.value.push_back(force);
    }
    void press(double force) {
        foot(t_, 0);
        foot(t_ += kMove, force);
    }
    void release(double force) {
        foot(t_, force);
        foot(t_ += kMove, 0);
    }
    double try_pedal(double force) {
        press(force);
        const double end = t_ += kHold;
        release(force);
        t_ += kRest;
        return end;
    }

    void top_up(double volume) {
        if (volume <= 0) return;
        const std::string bottle = parts_of(hardware_, "pressure_bleeder").front();
        set(bottle, "pour", volume / kPour);
        t_ += kPour;
        set(bottle, "pour", 0);
    }
    void prepare(const BleedStep& step) {
        set(step.bleeder, "hose_end", step.how["hose"]);
        set_all("hold_off_valve", "rod", step.how["rod"]);
        if (step.method() == BleedMethod::vacuum) set(step.bleeder, "vacuum", step.how["vacuum"]);
        if (step.method() == BleedMethod::pressure) {
            set_all("pressure_bleeder", "pressure", step.how["pressure"], kMove);
            t_ += 2 * kMove;
        }
    }
    void let_run(const BleedStep& step) {
        set(step.bleeder, "opening", step.how["screw"]);
        t_ += step.how["time"];
        set(step.bleeder, "opening", 0);
        t_ += kReact;
    }
    /// Press, open; shut, let go. Left open, the screw is shut after the last stroke only.
    void pump(const BleedStep& step) {
        const double force = step.how["force"];
        const bool left_open = step.how.flag("left_open");
        for (int n = 0; n < static_cast<int>(step.how["strokes"]); ++n) {
            press(force);
            t_ += kReact;
            set(step.bleeder, "opening", step.how["screw"]);
            t_ += step.how["open"];
            if (!left_open) set(step.bleeder, "opening", 0);
            t_ += kReact;
            release(force);
            t_ += step.how["pause"];
        }
        set(step.bleeder, "opening", 0);
        t_ += kReact;
    }
    /// Takes away what the next line of the card does not want.
    void tidy(const BleedStep& step, const BleedStep* next) {
        set(step.bleeder, "vacuum", 0);
        if (!next || !next->how.flag("rod")) set_all("hold_off_valve", "rod", 0);
        const bool more = next && next->method() == BleedMethod::pressure;
        if (step.method() != BleedMethod::pressure || more) return;
        set_all("pressure_bleeder", "pressure", 0, kMove);
        t_ += 2 * kMove;
    }

    Scenario& scenario_;
    const Hardware hardware_; // as it stands without the card
    double t_;
    std::map<std::string, double> stands_;
};

} // namespace

std::span<const Field> bleed_fields() {
    return kFields;
}

std::string find_bleeder(const Hardware& hardware, const std::string& at) {
    for (const Circuit& circuit : hardware.circuits)
        if (const std::string found = screw_in(hardware, circuit.run, at); !found.empty())
            return found;
    return {};
}

std::vector<Refusal> refuse_step(const Hardware& hardware, const BleedStep& step) {
    std::vector<Refusal> refused;
    const auto want = [&](const char* field, bool wanted, const char* why) {
        if (!wanted) refused.push_back({field, why});
    };
    const bool pedal = step.method() == BleedMethod::pedal;
    const double strokes = step.how["strokes"];
    const bool tank = !parts_of(hardware, "pressure_bleeder").empty();
    if (pedal) {
        want("strokes", !std::isnan(strokes), "needed: how often the helper presses");
        want("strokes", std::isnan(strokes) || strokes == std::floor(strokes),
             "a whole number only");
    } else {
        want("time", !std::isnan(step.how["time"]), "needed: how long the screw stands open");
        want("left_open", !step.how.flag("left_open"), "belongs to the method pedal");
    }
    want("method", step.method() != BleedMethod::pressure || tank,
         "pressure needs a part of kind pressure_bleeder, of which this car has none");
    want("top_up", step.how["top_up"] == 0 || tank,
         "needs a part of kind pressure_bleeder at the reservoirs, of which this car has none");
    want("rod", !step.how.flag("rod") || !parts_of(hardware, "hold_off_valve").empty(),
         "held is for a hold_off_valve, of which this car has none");
    return refused;
}

double expand_bleeding(Scenario& scenario) {
    return Card(scenario).write();
}

} // namespace pedalbench
