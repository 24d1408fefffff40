#include "record/remarks.hpp"

#include <algorithm>
#include <cmath>

#include "circuit/layout.hpp"
#include "parts/part.hpp"
#include "parts/registry.hpp"

namespace pedalbench {
namespace {

/// Of fluid or air: what is less cannot be told from the give of walls and the error of the run.
constexpr double kDrop = 1e-9; // m3

/// Width of the allowed range for the size of the value. A zero says that something is not there,
/// and a choice has no width: both stand last among their equals.
double looseness(const Assumed& a) {
    if (a.field->dimension == Dimension::choice || a.value == 0) return 0;
    return (a.field->high - a.field->low) / std::abs(a.value);
}

int firmness(Mark mark) {
    return mark == Mark::judgement ? 0 : mark == Mark::practice ? 1 : 2;
}

/// The warning lamp itself, or in a car without one the switch that stands for it.
bool lights_lamp(const PartKind& kind, bool wired) {
    return std::any_of(kind.guards.begin(), kind.guards.end(),
                       [wired](const GuardInfo& g) { return g.told(true, wired) == "lamp lit"; });
}

/// Contacts that light the lamp without anything being wrong.
bool meant_to_light(const std::string& contact) {
    return contact.ends_with(".parking_contact") || contact.ends_with(".proof_contact");
}

std::string listed(const std::vector<std::string>& words) {
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i)
        text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
    return text;
}

std::vector<std::string> parts_of(const std::vector<Amount>& amounts) {
    std::vector<std::string> parts;
    for (const Amount& amount : amounts)
        parts.push_back(amount.part);
    return parts;
}

/// Spans of light from the events; a lamp that is lit from the start has no event that says so.
std::vector<Lit> lit_spans(const Summary& summary, bool at_start) {
    std::vector<Lit> spans;
    if (at_start) spans.push_back({});
    for (const Event& e : summary.events) {
        const bool open = !spans.empty() && std::isnan(spans.back().to);
        if (e.text == "lamp lit" && !open) spans.push_back({e.time});
        if (e.text == "lamp dark" && open) spans.back().to = e.time;
    }
    return spans;
}

/// The entry of a wheel; a new one if the run has kept none.
WheelEnd& wheel_of(Summary& summary, const std::string& part) {
    for (WheelEnd& wheel : summary.wheels)
        if (wheel.part == part) return wheel;
    summary.wheels.push_back({part});
    return summary.wheels.back();
}

} // namespace

const PartKind* kind_of(const Hardware& hardware, const std::string& path) {
    const std::string part = path.substr(0, path.find('.'));
    for (const PartSpec& spec : hardware.parts)
        if (spec.name == part) return spec.kind;
    return nullptr;
}

std::vector<Assumed> assumed_of(const Hardware& hardware) {
    std::vector<Assumed> assumed;
    const auto add = [&assumed](const std::string& part, const Values& values) {
        for (std::size_t i = 0; i < values.size(); ++i) {
            const Field& field = values.table()[i];
            if (values.given(i) || values.changed(i) || values.derived(i) ||
                std::isnan(field.fallback) || field.name == "driven_by")
                continue;
            assumed.push_back({part + "." + std::string(field.name), &field, values.at(i)});
        }
    };
    add("fluid", hardware.fluid);
    add("surroundings", hardware.surroundings);
    for (const PartSpec& spec : hardware.parts)
        add(spec.name, spec.values);
    std::stable_sort(assumed.begin(), assumed.end(), [](const Assumed& a, const Assumed& b) {
        const int x = firmness(a.field->mark), y = firmness(b.field->mark);
        return x != y ? x < y : looseness(a) > looseness(b);
    });
    return assumed;
}

std::vector<Reading> derived_of(const Hardware& hardware) {
    std::vector<Reading> derived;
    for (const PartSpec& spec : hardware.parts)
        for (std::size_t i = 0; i < spec.values.size(); ++i) {
            const Field& field = spec.values.table()[i];
            if (!spec.values.derived(i)) continue;
            // "The same as another field" needs no telling, unless that was derived as well.
            bool copied = false;
            for (std::size_t j = 0; j < spec.values.size(); ++j)
                copied =
                    copied || (!spec.values.derived(j) && spec.values.at(j) == spec.values.at(i) &&
                               spec.values.table()[j].dimension == field.dimension);
            if (copied) continue;
            derived.push_back(
                {spec.name + "." + std::string(field.name), field.dimension, spec.values.at(i)});
        }
    return derived;
}

std::vector<std::string> cautions_of(const Scenario& scenario, const Hardware& hardware) {
    std::vector<std::string> cautions = {
        "A model for teaching, diagnosis support and design checks; it does not prove that a car "
        "is safe to drive.",
        "Work on brakes follows the maker's service data, local law and trained persons."};
    // Whether a field is, or during the run will be, other than at rest (a shut screw, a free rod).
    const auto uses = [&](std::string_view part_kind, std::string_view field) {
        for (const PartSpec& spec : hardware.parts) {
            if (spec.kind->name != part_kind) continue;
            if (spec.values[field] != 0) return true;
            for (const Change& c : scenario.changes)
                if (spec.name == c.part && c.field == field && c.value != 0) return true;
        }
        return false;
    };
    if (uses("hold_off_valve", "rod"))
        cautions.push_back("Never wedge a hold-off valve with something rigid: under pressure its "
                           "bare diaphragm bursts and the circuit is lost. Use the proper tool, "
                           "and take it off before driving.");
    if (uses("bleeder", "opening") || uses("pressure_bleeder", "pressure"))
        cautions.push_back("Bleed every circuit that was opened and check the pedal before "
                           "driving; never blow a piston out with air.");
    if (!scenario.bleeding.steps.empty()) {
        cautions.push_back("Never let a reservoir run dry: what goes in then is air, and it has to "
                           "come out at every screw of that circuit again.");
        cautions.push_back("Never use bled fluid again, nor fluid from an open can: it holds water "
                           "and dirt. Brake fluid spoils paint; wash it off with water at once, "
                           "and keep it from eyes and skin.");
        cautions.push_back("After bleeding: every screw shut and dry, tank and tools off, "
                           "reservoirs at their mark, a pedal that stands hard under a strong foot "
                           "for a minute, and a first stop at a walking pace.");
    }
    std::vector<std::string> outside;
    for (const ServiceLine& line : judge_service(scenario))
        if (!line.pass) outside.push_back(line.what + " at " + line.where);
    if (!outside.empty())
        cautions.push_back("Outside the limits of service: " + listed(outside) +
                           ". Such a part does not go back on the road as it is, whatever this run "
                           "shows.");
    return cautions;
}

std::vector<Amount> fluid_lost(const Summary& summary, const Hardware& hardware) {
    std::vector<Amount> lost;
    for (const ChannelFigures& f : summary.channels) {
        const std::string& path = f.channel.path;
        const PartKind* kind = kind_of(hardware, path);
        // What leaves by a bleed screw is meant to.
        if (kind && path.ends_with(".outside.fluid") && kind->name != "bleeder" && f.last > kDrop)
            lost.push_back({path.substr(0, path.find('.')), f.last});
    }
    return lost;
}

std::vector<Amount> air_drawn(const Summary& summary, const Hardware& hardware) {
    std::vector<Amount> drawn;
    for (const ChannelFigures& f : summary.channels) {
        const std::string& path = f.channel.path;
        const PartKind* kind = kind_of(hardware, path);
        // A pressure bleeder stands on the cylinder's reservoirs and has their figures.
        if (!kind || !path.ends_with(".air") || kind->name == "pressure_bleeder" ||
            !(f.lowest < f.settled - kDrop))
            continue;
        const std::string part = path.substr(0, path.find('.'));
        if (drawn.empty() || drawn.back().part != part) drawn.push_back({part, 0});
        drawn.back().volume += f.settled - f.lowest;
    }
    return drawn;
}

void judge_the_end(Summary& summary, const Hardware& hardware) {
    bool lit_at_start = false;
    const bool wired = has_lamp(hardware);
    std::vector<std::string> reasons, dragging, contacts, boiled;
    const Surroundings around = make_surroundings(hardware.fluid, hardware.surroundings);
    for (const PartSpec& spec : hardware.parts)
        summary.has_lamp = summary.has_lamp || lights_lamp(*spec.kind, wired);
    for (const ChannelFigures& f : summary.channels) {
        const std::string& path = f.channel.path;
        const std::string part = path.substr(0, path.find('.'));
        const PartKind* kind = kind_of(hardware, path);
        if (!kind) continue;
        if (path.ends_with("contact") && f.last > 0) contacts.push_back(path);
        if (path.ends_with(".fluid_temperature") &&
            around.fluid.vapour_pressure(f.peak) > around.pressure)
            boiled.push_back(part);
        if (lights_lamp(*kind, wired) && (path.ends_with(".lit") || path.ends_with(".contact"))) {
            lit_at_start = lit_at_start || f.settled > 0;
            summary.lamp_lit_at_end = summary.lamp_lit_at_end || f.last > 0;
        }
        if (path == part + ".torque") wheel_of(summary, part).torque = f.residual;
        if (path == part + ".parking_contact") wheel_of(summary, part).parked = f.last > 0;
    }
    for (const Event& e : summary.events)
        if (e.text.starts_with("tank runs low")) {
            summary.cautions.push_back(
                "The tank ran low: shut the screw and fill it before it blows air into the "
                "reservoirs, or everything is to be bled again.");
            break;
        }
    if (!boiled.empty())
        summary.cautions.push_back(
            "The fluid became hotter than it bears without pressure at " + listed(boiled) +
            ": with the foot off it boils, and the next stroke finds vapour. Stop, let everything "
            "cool, and change the fluid; a brake that has boiled is not driven on.");
    summary.lamp_lit = lit_spans(summary, lit_at_start);
    for (const WheelEnd& wheel : summary.wheels)
        if (wheel.drags()) dragging.push_back(wheel.part);
    const bool meant =
        !contacts.empty() && std::all_of(contacts.begin(), contacts.end(), meant_to_light);
    if (summary.lamp_lit_at_end && !meant) {
        std::erase_if(contacts, meant_to_light);
        reasons.push_back("the warning lamp is lit" +
                          (wired && !contacts.empty() ? " by " + listed(contacts) : ""));
    }
    if (const auto lost = fluid_lost(summary, hardware); !lost.empty())
        reasons.push_back("fluid was lost at " + listed(parts_of(lost)));
    if (const auto drawn = air_drawn(summary, hardware); !drawn.empty())
        reasons.push_back("air was drawn in at " + listed(parts_of(drawn)));
    if (!dragging.empty())
        reasons.push_back(listed(dragging) + (dragging.size() == 1 ? " drags" : " drag"));
    if (!reasons.empty())
        summary.cautions.push_back(
            "This car stays where it is until the cause is found and mended: " + listed(reasons) +
            ".");
}

} // namespace pedalbench
