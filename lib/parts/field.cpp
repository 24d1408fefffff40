#include "parts/field.hpp"

#include <cmath>
#include <stdexcept>

namespace pedalbench {

Values::Values(std::span<const Field> table)
    : table_(table), value_(table.size()), given_(table.size(), false),
      changed_(table.size(), false), derived_(table.size(), false),
      overruled_(table.size(), false) {
    for (std::size_t i = 0; i < table.size(); ++i)
        value_[i] = table[i].fallback;
}

void Values::derive(std::string_view name, double value) {
    constexpr double kSame = 1e-6; // of the value: where a seal is searched for, the search ends
    const std::size_t i = index(name);
    if (given_[i] && std::abs(value - value_[i]) > kSame * std::abs(value_[i]))
        overruled_[i] = true;
    value_[i] = value;
    derived_[i] = true;
}

std::size_t Values::find(std::string_view name) const {
    for (std::size_t i = 0; i < table_.size(); ++i)
        if (table_[i].name == name) return i;
    return table_.size();
}

std::size_t Values::index(std::string_view name) const {
    const std::size_t i = find(name);
    if (i == table_.size()) throw std::logic_error("no field named " + std::string(name));
    return i;
}

} // namespace pedalbench
