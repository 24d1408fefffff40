// Brake torque of one wheel from the forces on its linings.
#pragma once

namespace pedalbench {

/// Disc: two faces, each friction times its own clamping force, at the effective radius [N m]. With
/// equal faces this is the textbook 2 mu A r p.
inline double disc_torque(double friction, double radius, double inner, double outer) {
    return friction * radius * (inner + outer);
}

/// Drum: shoe factor (drum tangential force over the force at one shoe tip, both shoes together)
/// times tip force times drum radius [N m].
inline double drum_torque(double shoe_factor, double radius, double tip_force) {
    return shoe_factor * radius * tip_force;
}

} // namespace pedalbench
