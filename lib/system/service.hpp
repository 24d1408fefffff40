// What a workshop has measured on a part, and the limits that it holds the part against. Plain
// data; lib/record/service judges it.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "parts/field.hpp"

namespace pedalbench {

struct PartKind;
struct Hardware;

/// Measurements and limits of one part. What was not measured is unset; a limit that nobody
/// publishes is unset until the user states it.
struct Service {
    std::string part;
    Values measured;               // table: measured_fields()
    Values limits;                 // table: limit_fields()
    std::vector<double> thickness; // m, at stations round the disc, in order
    std::string rim;               // type of the rim on this wheel
    std::vector<std::string> rims; // types that fit over this brake
};

/// What can be measured on a part of that kind, and what it is held against; empty for a kind on
/// which nothing is measured.
std::span<const Field> measured_fields(const PartKind& kind);
std::span<const Field> limit_fields(const PartKind& kind);
/// Of disc and drum brakes: stations of thickness, and the rim around it.
bool has_disc(const PartKind& kind);
bool has_rim(const PartKind& kind);

/// Thickest less thinnest [m].
double thickness_variation(std::span<const double> stations);
/// A disc that runs out of true is tilted: what was read at one radius, at another [m].
double run_out_at(double read, double read_at, double radius);

/// One field that a measurement states.
struct Stated {
    std::string_view field;
    double value;
};
/// What the measurements say of the fields of a brake, so that the run has the disc that was
/// measured: thickness variation, and run-out at the radius of the linings.
std::vector<Stated> stated_by(const Service& service, const Values& part);

} // namespace pedalbench
