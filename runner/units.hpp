// The closed table of trade units, quantities as people write them, and the units of the answers.
#pragma once

#include <array>
#include <span>
#include <string>
#include <string_view>

#include "parts/field.hpp"

namespace pedalbench::runner {

/// One unit: SI value = (x + offset) * numerator / denominator. Factors are kept as the exact
/// ratios of their definitions, so that a reader can check them and nothing is rounded twice.
struct Unit {
    std::string_view name;
    Dimension dimension;
    double numerator = 1;
    double denominator = 1;
    double offset = 0;

    double to_si(double x) const { return (x + offset) * numerator / denominator; }
    double from_si(double si) const { return si * denominator / numerator - offset; }
};

/// Gauge pressure at the edges is absolute pressure less this.
inline constexpr double kStandardAtmosphere = 101325; // Pa

std::span<const Unit> units();
/// The unit of that name, or null.
const Unit* find_unit(std::string_view name);

/// What the table calls a unit that people often spell in another way ("psig"); empty if unknown.
std::string_view usual_spelling(std::string_view unit);

/// "pressure"; also the key under `units:` in a scenario.
std::string_view dimension_name(Dimension dimension);
/// "a pressure", "an area", "a number".
std::string dimension_with_article(Dimension dimension);

/// A quantity read from text. `problem` is empty when all is well; else it says what was found and
/// why that is not enough, and `suggestion` may hold a better spelling.
struct Quantity {
    double value = kUnset; // SI; pressure as gauge, or as absolute where absolute was wanted
    const Unit* unit = nullptr;
    std::string problem;
    std::string suggestion;
};

/// What a pressure counts from.
enum class Datum { gauge, absolute };

/// Reads "115 psi", "22.2 mm", "1013 mbar absolute", "0.2 %". A number without a unit is a problem
/// except for Dimension::number. A gauge value where an absolute one is wanted is a problem too:
/// the two differ by an atmosphere and nobody could tell which was meant.
Quantity read_quantity(std::string_view text, Dimension dimension, Datum datum = Datum::gauge);

/// The table marks a field as absolute pressure by the first word of its help.
Datum datum_of(const Field& field);

/// One unit per dimension, for everything that is written.
class OutputUnits {
  public:
    static OutputUnits metric();
    static OutputUnits us();
    /// The preset "metric" or "us"; these for an empty name.
    OutputUnits or_preset(std::string_view name) const {
        return name == "metric" ? metric() : name == "us" ? us() : *this;
    }

    const Unit& of(Dimension dimension) const {
        return *unit_[static_cast<std::size_t>(dimension)];
    }
    void set(const Unit& unit) { unit_[static_cast<std::size_t>(unit.dimension)] = &unit; }
    double number(Dimension dimension, double si) const { return of(dimension).from_si(si); }
    /// "8.6 bar"; a choice is shown as its number.
    std::string text(Dimension dimension, double si, int digits = 4) const;
    /// The same for what came out of a run, where what is too small to measure is 0.
    std::string found(Dimension dimension, double si, int digits = 4) const;

  private:
    static constexpr std::size_t kDimensions = static_cast<std::size_t>(Dimension::choice) + 1;
    explicit OutputUnits(std::span<const std::string_view> names, std::string_view way);
    std::array<const Unit*, kDimensions> unit_{};
};

/// "12.7 mm", "yes", "1013.25 mbar absolute": a field's value as its user would write it.
std::string field_text(const Field& field, double value, const Unit& unit, int digits = 6);
std::string field_text(const Field& field, double value, const OutputUnits& units);

} // namespace pedalbench::runner
