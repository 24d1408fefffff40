#include "record/bleeding.hpp"

#include <algorithm>
#include <cmath>

namespace pedalbench {
namespace {

/// Which of the parts that meet at a point lends it its name: a brake, a cylinder, a valve, a pipe.
int rank(const PartKind& kind) {
    if (kind.has(JointKind::heat)) return 0;
    if (kind.has(JointKind::rod)) return 1;
    if (!kind.through) return 4;
    return kind.name == "line" || kind.name == "hose" ? 3 : 2;
}

} // namespace

BleedingLog::BleedingLog(const Model& model, const Scenario& scenario)
    : model_(model), scenario_(scenario), lowest_(scenario.bleeding.steps.size(), HUGE_VAL),
      false_air_(scenario.bleeding.steps.size(), 0) {
    const Bleeding& card = scenario.bleeding;
    if (card.steps.empty()) return;
    for (const BleedStep& step : card.steps) {
        marks_.push_back(step.from);
        marks_.push_back(step.to);
    }
    for (const double t : {card.test_before, card.test_after})
        if (!std::isnan(t)) marks_.push_back(t);
    std::sort(marks_.begin(), marks_.end());
    for (const PartSpec& spec : model.hardware().parts)
        if (spec.values.find("reservoir_volume") < spec.values.size())
            for (const PortInfo& port : spec.kind->ports)
                if (port.kind == PortKind::reservoir)
                    levels_.push_back(
                        model_.channel(spec.name + "." + std::string(port.name) + ".fluid"));
}

void BleedingLog::row(double t, const std::vector<double>& values) {
    if (marks_.empty()) return;
    const std::vector<BleedStep>& steps = scenario_.bleeding.steps;
    while (step_ < steps.size() && t > steps[step_].to)
        ++step_;
    if (step_ < steps.size() && t >= steps[step_].from) {
        const BleedStep& step = steps[step_];
        for (const std::size_t level : levels_)
            lowest_[step_] = std::min(lowest_[step_], values[level]);
        // It flows at one rate from one change to the next, and each change has its row.
        if (!now_.empty())
            false_air_[step_] += (t - last_) * now_[model_.channel(step.bleeder + ".false_air")];
    }
    now_ = values;
    last_ = t;
    while (taken_.size() < marks_.size() && t >= marks_[taken_.size()])
        taken_.push_back({marks_[taken_.size()], values});
}

double BleedingLog::at(double t, std::size_t channel) const {
    for (const Snapshot& s : taken_)
        if (s.time == t) return s.values[channel];
    return now_.empty() ? kUnset : now_[channel]; // the run ended before
}

/// By how much a count of a screw grew while its line of the card was worked.
double BleedingLog::since(const BleedStep& step, const std::string& quantity) const {
    const std::size_t channel = model_.channel(step.bleeder + "." + quantity);
    return at(step.to, channel) - at(step.from, channel);
}

double BleedingLog::pedal_at(double t) const {
    if (std::isnan(t)) return kUnset;
    for (const PartSpec& spec : model_.hardware().parts)
        if (spec.kind->driven) return at(t, model_.channel(spec.name + ".travel"));
    return kUnset;
}

std::vector<AirPlace> BleedingLog::places() const {
    std::vector<AirPlace> places;
    const Layout& layout = model_.layout();
    for (std::size_t n = 0; n < layout.nodes.size(); ++n) {
        if (layout.nodes[n].kind != PortKind::line) continue;
        std::size_t root = n;
        while (layout.nodes[root].upstream >= 0)
            root = static_cast<std::size_t>(layout.nodes[root].upstream);
        const std::string outlet = layout.nodes[root].name;
        AirPlace place{outlet.substr(outlet.find('.') + 1), {}, kUnset};
        int best = 5;
        std::string channel;
        for (const Instance& i : layout.instances) {
            const PartKind& kind = *model_.hardware().parts[i.spec].kind;
            const auto ports = std::count_if(kind.ports.begin(), kind.ports.end(),
                                             [](auto& p) { return p.kind == PortKind::line; });
            for (std::size_t port = 0; port < i.node.size(); ++port) {
                if (i.node[port] != static_cast<int>(n) || rank(kind) >= best) continue;
                best = rank(kind);
                place.name = i.name + (ports > 1 ? "." + std::string(kind.ports[port].name) : "");
                channel = place.name + ".free_air";
            }
        }
        place.air = now_.empty() ? kUnset : now_[model_.channel(channel)];
        places.push_back(place);
    }
    return places;
}

BleedingResult BleedingLog::finish() const {
    BleedingResult result;
    const std::vector<BleedStep>& steps = scenario_.bleeding.steps;
    for (std::size_t i = 0; i < steps.size(); ++i) {
        const BleedStep& step = steps[i];
        BledWheel wheel;
        wheel.at = step.at;
        wheel.bleeder = step.bleeder;
        wheel.method = step.method();
        wheel.from = step.from;
        wheel.to = step.to;
        wheel.fluid_back = since(step, "fluid_back");
        wheel.air_back = since(step, "air_back");
        wheel.fluid_out = since(step, "outside.fluid") + wheel.fluid_back;
        wheel.air_out = since(step, "outside.air") + wheel.air_back;
        wheel.false_air = false_air_[i];
        wheel.air_left = at(step.to, model_.channel(step.bleeder + ".free_air"));
        for (const std::size_t level : levels_)
            wheel.levels.push_back(
                {model_.channels()[level].path, Dimension::volume, at(step.to, level)});
        wheel.ran_dry = lowest_[i] < kReservoirOutlet;
        result.used += wheel.fluid_out - wheel.fluid_back;
        result.wheels.push_back(wheel);
    }
    if (steps.empty()) return result;
    result.left = places();
    result.pedal_before = pedal_at(scenario_.bleeding.test_before);
    result.pedal_after = pedal_at(scenario_.bleeding.test_after);
    return result;
}

} // namespace pedalbench
