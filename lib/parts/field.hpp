// The field table: what a user may set on a part, in one place for reader, listings, paths and
// tests.
#pragma once

#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace pedalbench {

/// What kind of quantity a field or a channel is. Inside everything is SI; units appear at the
/// edges.
enum class Dimension {
    number,        // dimensionless
    length,        // m
    area,          // m2
    volume,        // m3
    force,         // N
    torque,        // N m
    pressure,      // Pa gauge
    time,          // s
    temperature,   // K
    stiffness,     // N/m
    flexibility,   // m/N
    damping,       // N s/m
    compliance,    // m3/Pa
    flow,          // m3/s
    velocity,      // m/s
    density,       // kg/m3
    viscosity,     // m2/s (kinematic)
    expansion,     // 1/K
    mass,          // kg
    inertia,       // kg m2
    acceleration,  // m/s2
    angle,         // rad
    rotation,      // rad/s
    power,         // W
    conductance,   // W/K
    heat_capacity, // J/K
    distance,      // m, along the road
    choice,        // index into Field::choices
};

/// Where a default comes from: published source, common practice, judgement; `given` has no
/// default.
enum class Mark { published, practice, judgement, given };

inline constexpr double kUnset = std::numeric_limits<double>::quiet_NaN();

/// One row of a field table. Range limits are inclusive and in SI.
struct Field {
    std::string_view name;
    Dimension dimension = Dimension::number;
    double fallback = kUnset; // the default; unset: required (Mark::given) or derived from others
    double low = 0;
    double high = 0;
    Mark mark = Mark::judgement;
    std::string_view source; // where the default comes from, in words
    std::string_view help;
    std::string_view choices = {}; // "no|yes", "force|travel": names of the values 0, 1, ...
    bool at_start =
        false; // says how a run begins, so that a change during the run would do nothing
};

/// A refusal of hardware: which field and why, in words that name the fix.
struct Refusal {
    std::string field;
    std::string reason;
};

/// The values of one part's fields, in table order. Looked up by name when a part is made, never
/// later.
class Values {
  public:
    Values() = default;
    explicit Values(std::span<const Field> table);

    /// Value of a field in SI; throws std::logic_error for a name that is not in the table.
    double operator[](std::string_view name) const { return value_[index(name)]; }
    void set(std::string_view name, double value) { set(index(name), value); }
    void set(std::size_t i, double value) {
        value_[i] = value;
        given_[i] = true;
        overruled_[i] = false;
    }
    /// A later change of a complete set of values: this field wins over what it was derived from.
    void change(std::size_t i, double value) {
        value_[i] = value;
        changed_[i] = true;
    }
    /// Another value for what nobody stated, as if the table had it for a default: unlike set() it
    /// does not count as the user's word, so that nothing else follows from it having been said.
    void assume(std::size_t i, double value) { value_[i] = value; }
    bool changed(std::string_view name) const { return changed_[index(name)]; }
    bool changed(std::size_t i) const { return changed_[i]; }
    /// Fills in a derived value without marking it as given by the user.
    void derive(std::string_view name, double value);
    /// Whether it follows from others: nobody stated it, or a change of another field has overruled
    /// what was stated.
    bool derived(std::size_t i) const {
        return derived_[i] && (!given_[i] || overruled_[i]) && !changed_[i];
    }
    bool given(std::string_view name) const { return given_[index(name)]; }
    bool given(std::size_t i) const { return given_[i]; }
    double at(std::size_t i) const { return value_[i]; }
    bool flag(std::string_view name) const { return value_[index(name)] != 0; }
    std::size_t size() const { return value_.size(); }
    std::span<const Field> table() const { return table_; }
    /// Position of a name in the table, or size() when there is none.
    std::size_t find(std::string_view name) const;

  private:
    std::size_t index(std::string_view name) const;

    std::span<const Field> table_;
    std::vector<double> value_;
    std::vector<bool> given_, changed_, derived_, overruled_;
};

} // namespace pedalbench
