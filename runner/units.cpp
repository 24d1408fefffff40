#include "units.hpp"

#include <cmath>
#include <stdexcept>
#include <vector>

#include "words.hpp"

namespace pedalbench::runner {

namespace {

using enum Dimension;

constexpr std::string_view kNames[] = {
    "number",      "length",        "area",         "volume",    "force",       "torque",
    "pressure",    "time",          "temperature",  "stiffness", "flexibility", "damping",
    "compliance",  "flow",          "velocity",     "density",   "viscosity",   "expansion",
    "mass",        "inertia",       "acceleration", "angle",     "rotation",    "power",
    "conductance", "heat capacity", "distance",     "choice",
};

// In the order of Dimension.
constexpr std::string_view kMetric[] = {
    "",     "mm",    "mm2",   "cm3",     "N",     "N m",  "bar",   "s",     "C",
    "N/mm", "mm/N",  "N s/m", "cm3/MPa", "cm3/s", "km/h", "kg/m3", "mm2/s", "1/K",
    "kg",   "kg m2", "m/s2",  "deg",     "rad/s", "W",    "W/K",   "kJ/K"};
constexpr std::string_view kUs[] = {
    "",       "in",     "in2",      "in3",     "lbf",   "lbf ft", "psi",   "s",   "F",
    "lbf/in", "in/lbf", "lbf s/in", "in3/psi", "in3/s", "in/s",   "kg/m3", "cSt", "1/K",
    "kg",     "kg m2",  "ft/s2",    "deg",     "rad/s", "W",      "W/K",   "kJ/K"};

std::string suggestion_for(std::string_view unit, Dimension dimension) {
    if (const std::string_view ours = usual_spelling(unit); !ours.empty()) return std::string(ours);
    std::vector<std::string> same;
    for (const Unit& u : units())
        if (u.dimension == dimension) same.emplace_back(u.name);
    return nearest(unit, same);
}

std::string single_blanks(std::string_view text) {
    std::string out;
    for (char c : trim(text)) {
        if (c == '\t' || c == '\n' || c == '\r') c = ' ';
        if (c != ' ' || out.empty() || out.back() != ' ') out += c;
    }
    return out;
}

} // namespace

const Unit* find_unit(std::string_view name) {
    for (const Unit& u : units())
        if (u.name == name) return &u;
    return nullptr;
}

std::string_view dimension_name(Dimension dimension) {
    return kNames[static_cast<std::size_t>(dimension)];
}

std::string dimension_with_article(Dimension dimension) {
    const std::string_view name = dimension_name(dimension);
    const bool vowel = std::string_view("aeiou").find(name.front()) != std::string_view::npos;
    return (vowel ? "an " : "a ") + std::string(name);
}

Datum datum_of(const Field& field) {
    const bool absolute = field.dimension == pressure && field.help.starts_with("absolute");
    return absolute ? Datum::absolute : Datum::gauge;
}

Quantity read_quantity(std::string_view text, Dimension dimension, Datum datum) {
    Quantity q;
    const std::string whole = single_blanks(text);
    const std::string found = whole.empty() ? "nothing" : whole;
    std::string_view rest = whole;
    const auto x = take_number(rest);
    if (!x) {
        q.problem = found;
        const bool comma = whole.find(',') != std::string::npos;
        if (const auto word = trim(rest);
            comma || (!word.empty() && (word[0] == '-' || (word[0] >= '0' && word[0] <= '9'))))
            q.problem += comma ? " (a decimal comma)" : " (beyond what can be computed)";
        return q;
    }
    rest = trim(rest);
    constexpr std::string_view kAbsolute = " absolute";
    const bool absolute = rest.ends_with(kAbsolute);
    if (absolute) rest.remove_suffix(kAbsolute.size());
    rest = trim(rest);

    if (rest.empty() && dimension != number) {
        q.problem = found + " without a unit";
        return q;
    }
    q.unit = find_unit(rest);
    if (!q.unit) {
        if (rest.front() == ',') {
            q.problem = found + " (a decimal comma)";
            return q;
        }
        q.problem = found + " (an unknown unit)";
        if (const std::string unit = suggestion_for(rest, dimension); !unit.empty())
            q.suggestion = show(*x, 12) + " " + unit;
        return q;
    }
    // A way along the road is a length; only the answers show it in another unit.
    if (q.unit->dimension != (dimension == distance ? length : dimension)) {
        q.problem = found + " (" + dimension_with_article(q.unit->dimension) + ")";
        return q;
    }
    if (absolute && dimension != pressure) {
        q.problem = found + " (only a pressure can be absolute)";
        return q;
    }
    if (datum == Datum::absolute && !absolute) {
        q.problem = found + " (a gauge pressure)";
        q.suggestion = whole + " absolute";
        return q;
    }
    q.value = q.unit->to_si(*x);
    if (absolute && datum == Datum::gauge) q.value -= kStandardAtmosphere;
    if (!std::isfinite(q.value)) q.problem = found + " (beyond what can be computed)";
    return q;
}

OutputUnits::OutputUnits(std::span<const std::string_view> names, std::string_view way) {
    for (const std::string_view name : names) {
        const Unit* unit = find_unit(name);
        if (!unit) throw std::logic_error("no unit named " + std::string(name));
        set(*unit);
    }
    unit_[static_cast<std::size_t>(distance)] = find_unit(way);
    unit_.back() = find_unit(""); // a choice is written as its number
}

OutputUnits OutputUnits::metric() {
    return OutputUnits(kMetric, "m");
}
OutputUnits OutputUnits::us() {
    return OutputUnits(kUs, "ft");
}

namespace {

/// What nobody could measure on a car and no run computes so finely: shown as nothing [SI].
double grain(Dimension dimension) {
    switch (dimension) {
    case length:
        return 1e-7;
    case volume:
        return 1e-12;
    case force:
    case torque:
        return 1e-3;
    case pressure:
        return 1;
    case flow:
        return 1e-12;
    default:
        return 0;
    }
}

} // namespace

std::string OutputUnits::text(Dimension dimension, double si, int digits) const {
    const Unit& unit = of(dimension);
    std::string text = show(unit.from_si(si), digits);
    return unit.name.empty() ? text : text + " " + std::string(unit.name);
}

std::string OutputUnits::found(Dimension dimension, double si, int digits) const {
    return text(dimension, std::abs(si) < grain(dimension) ? 0 : si, digits);
}

std::string field_text(const Field& field, double value, const Unit& unit, int digits) {
    if (std::isnan(value)) return "unset";
    if (field.dimension == choice) {
        const auto names = split(field.choices, '|');
        const auto i = static_cast<std::size_t>(value);
        return i < names.size() ? names[i] : show(value);
    }
    std::string text = show(unit.from_si(value), digits);
    if (!unit.name.empty()) (text += ' ') += unit.name;
    if (datum_of(field) == Datum::absolute) text += " absolute";
    return text;
}

std::string field_text(const Field& field, double value, const OutputUnits& units) {
    return field_text(field, value, units.of(field.dimension));
}

} // namespace pedalbench::runner
