// Faults: named ways of changing fields of one part. A fault never edits hardware; it says which
// field gets which value when, and what must stand in the circuit from the start at size zero.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "parts/part.hpp"
#include "system/system.hpp"

namespace pedalbench {

/// The sizes of a fault that a workshop meets, from hardly noticed (`mild`) to `worst`: by
/// judgement. Whoever searches looks between them.
struct Sizes {
    enum class Scale {
        none,        // has no size
        linear,      // SI
        logarithmic, // SI, equal steps are equal ratios
        times        // the same, of multiples of the sound car's value
    };
    Scale scale = Scale::none;
    double mild = kUnset, worst = kUnset;

    /// Size at u from 0 (mild) to 1 (worst), in SI.
    double at(double u, double sound) const;
};

/// A kind of fault that a scenario may name.
struct FaultKind {
    std::string_view name;  // "leak"
    std::string_view part;  // kind of the part that it befalls, "fluid", "surroundings"; empty: any
    std::string_view field; // the field that changes; empty where a part is inserted
    std::string_view inserts;    // kind of part inserted at zero size ("leak"), else empty
    std::string_view size_field; // which field (of the inserted or the named part) `size` sets
    double value = kUnset;       // the value it gets when the fault has no size
    std::string_view help;
    Sizes sizes = {};
    bool known = false; // somebody does it on purpose, or sees it at once: nobody has to find it

    bool befalls(const PartKind& kind) const { return part.empty() || kind.is(part); }
};

std::span<const FaultKind> fault_kinds();
const FaultKind* find_fault(std::string_view name);
/// Fields of what a kind befalls, or of what it inserts; none where that is any part.
std::span<const Field> fields_of(const FaultKind& kind);
/// May this kind come in the middle of a run? What says how a run begins may not, nor may the fluid
/// or the air become another.
bool comes_later(const FaultKind& kind);

/// Inserts what the fault needs and adds its changes to the scenario. Returns what is wrong, if
/// anything.
std::vector<Refusal> apply_fault(Scenario& scenario, const Fault& fault);

} // namespace pedalbench
