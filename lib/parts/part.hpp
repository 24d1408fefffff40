// What a part is to the circuit: counts, names, and laws on local variables. A part never knows the
// circuit it sits in: it sees its ports, its joints, its own states and nothing else.
#pragma once

#include <algorithm>
#include <array>
#include <memory>
#include <span>
#include <string_view>
#include <vector>

#include "fluid/brake_fluid.hpp"
#include "fluid/dissolved_air.hpp"
#include "fluid/dual.hpp"
#include "hydraulics/carry.hpp"
#include "hydraulics/control_volume.hpp"
#include "parts/field.hpp"

namespace pedalbench {

enum class PortKind {
    line,      // a closed control volume: pressure follows from content
    reservoir, // open to the tank pressure: content is the level
    outside,   // the world: what leaves or enters is counted
    sensing,   // feels the pressure of a line elsewhere, where a circuit names it "part.port"
    level,     // a reservoir, seen by its level: p stands for the fluid in it [m3]
};

struct PortInfo {
    std::string_view name;
    PortKind kind = PortKind::line;
    /// The field that uses a sensing port. While it is zero nobody need name the port; it then
    /// stands at the part's first.
    std::string_view used_by = {};
    /// A line port that no circuit reaches: a volume of the part alone.
    bool inner = false;
};

/// What parts share beside fluid: one number, of which every part at the joint sees the same value,
/// and to whose change each adds. capacity x rate = sum of what the parts give.
enum class JointKind {
    rod,   // position [m]; parts give forces [N]; capacity is damping [N s/m], so quasi-static
    wheel, // speed of rotation [rad/s]; parts give torques [N m]; capacity is inertia [kg m2]
    angle, // of the wheel [rad]; whoever turns it gives its speed; capacity 1
    heat,  // temperature at the friction faces [K]; parts give heat [W]; capacity in J/K
    wire,  // to the warning lamp: closed contacts, followed in the bulb's time; a part gives 1 for
           // each of its contacts while that is closed; capacity is the time [s]
};

inline Dimension dimension_of(JointKind kind) {
    switch (kind) {
    case JointKind::rod:
        return Dimension::length;
    case JointKind::wheel:
        return Dimension::rotation;
    case JointKind::angle:
        return Dimension::angle;
    case JointKind::heat:
        return Dimension::temperature;
    case JointKind::wire:
        break;
    }
    return Dimension::number;
}

struct JointInfo {
    std::string_view name;
    JointKind kind = JointKind::rod;
    bool holds = false; // this part brings capacity; a joint that no part holds is left open
};

struct StateInfo {
    std::string_view name;
    Dimension dimension;
    double tolerance; // local error that nobody would notice, in the state's own SI unit
};

/// A guard is a quantity whose sign switches a law. Rates are continuous where it passes zero, only
/// a latch may jump. The dead band is in the guard's own unit: the mode flips when the guard is
/// past it.
struct GuardInfo {
    std::string_view name;
    Dimension dimension;
    double band;
    std::string_view on;   // event text when it turns on; empty: not worth telling
    std::string_view off;  // event text when it turns off
    std::string_view tell; // names of the quantities that belong to the event, comma between
    bool latch = false;
    double lasts = -1; // s that a mode must last to be told; below zero: as lasting() says
    /// Told in place of on and off in a car in which no lamp holds the part's wire.
    std::string_view on_unwired = {}, off_unwired = {};

    /// What flips back within a millisecond was a valve on its edge; a latch stays as it is.
    double lasting() const { return lasts >= 0 ? lasts : latch ? 0 : 1e-3; }
    std::string_view told(bool turns_on, bool wired) const {
        const std::string_view bare = turns_on ? on_unwired : off_unwired;
        return wired || bare.empty() ? (turns_on ? on : off) : bare;
    }
};

struct QuantityInfo {
    std::string_view name;
    Dimension dimension;
    std::string_view help;
};

/// What a law may read of a port but has no slope by.
struct PortAside {
    double head = 0;  // density * g * height, constant [Pa]
    double level = 0; // fluid that an open reservoir holds [m3]: for latches only
};

/// Local variables as a law sees them. Per port: gauge pressure p, liquid and gas in one m3 of what
/// the port's volume holds (reference m3 per m3), temperature T, air in solution (as the gas); and
/// what is in PortAside.
template <class S>
struct PortIn {
    S p, liquid, gas, T, dissolved;
    double head = 0, level = 0;
};
inline constexpr int kPortLocals = 5;
/// What flows *into* the volume at a port: liquid, gas and air in solution in reference m3/s, heat
/// in W.
template <class S>
struct PortOut {
    S liquid{0.0}, gas{0.0}, heat{0.0}, dissolved{0.0};
};
inline constexpr int kPortOutputs = 4;

template <class S, class Law>
struct In {
    std::array<S, Law::kStates> x;
    std::array<S, Law::kJoints> joint; // values of the joints; an open one stands still
    S drive{0.0};                      // the foot: N or m at the pad, for the part that takes it
    std::array<PortIn<S>, Law::kPorts> port;
};
template <class S, class Law>
struct Out {
    std::array<S, Law::kStates> dx{};    // rates of the part's own states
    std::array<S, Law::kJoints> joint{}; // what the part gives to each joint
    std::array<PortOut<S>, Law::kPorts> port{};
};

/// Piecewise laws go through here, so that every switch is a guard without further code. In a
/// located run the mode decides, with a dead band; otherwise the sign does.
class Gates {
  public:
    /// Mode of a guard that for a while follows its sign without location.
    static constexpr char kFollow = 2;

    Gates(const char* mode, double* value, bool located)
        : mode_(mode), value_(value), located_(located) {}

    /// max(g, 0) with guard k. Also while the mode is on, nothing below zero: a law that went on
    /// smoothly to the far edge of its dead band could come to rest there, pumping backward against
    /// a real flow.
    template <class S>
    S ramp(int k, const S& g) {
        return above(k, g) && value_of(g) > 0 ? g : S(0.0);
    }
    /// True while g is above zero (both branches must agree at g = 0), with guard k.
    template <class S>
    bool above(int k, const S& g) {
        value_[k] = value_of(g);
        return located_ && mode_[k] != kFollow ? mode_[k] != 0 : value_[k] > 0;
    }
    /// State of latch k; the caller then says with latch() what would flip it.
    bool latched(int k) const { return mode_[k] != 0; }
    /// Latch k turns on when g rises past its band and off when g falls past it.
    template <class S>
    void latch(int k, const S& g) {
        value_[k] = value_of(g);
    }

  private:
    const char* mode_;
    double* value_;
    bool located_;
};

/// What every part may know besides its own fields.
struct Surroundings {
    BrakeFluid fluid;
    double temperature = kReferenceTemperature; // K
    double pressure = kStandardPressure;        // Pa absolute; gauge pressures count from here

    World air() const {
        return {0, pressure / kStandardPressure * kReferenceTemperature / temperature, 0};
    }
    /// Fluid that stands open to the air, and so is full of it.
    World jar() const {
        const double liquid = 1 / fluid.expansion(temperature);
        return {liquid, 0, saturated_air(fluid, liquid, pressure)};
    }
};

struct PartKind;

/// Where the power of a part goes beside its joints, its swept volumes and what it stores [W]. With
/// these it balances at any state and any speed:
///
///   d stored/dt = what its joints and swept volumes give it + column + supplied + unpaid - lost
struct Exchange {
    double lost = 0;     // to friction
    double supplied = 0; // by foot, hand, engine, pump: whoever stands outside the circuit
    double unpaid = 0;   // by a simplification of the law, which the part's page names
    double column =
        0; // by the pressures at the ends of a moving column; its flow loses so much less
    double rubbed = 0; // of what is lost, what heats disc or drum
    double cooled = 0; // heat that goes to the air
};

/// A part made from its fields: const for the whole of a run between two changes.
/// locals:  own states | joints | drive | per port p, liquid, gas, T, dissolved
/// outputs: rates of own states | to each joint | per port liquid, gas, heat, dissolved
/// `aside` has one entry per port.
class Part {
  public:
    virtual ~Part() = default;
    virtual const PartKind& kind() const = 0;

    /// Own states of a part at rest, new.
    virtual void start(double* x) const = 0;
    /// Sets the states and joints of a part that moves when a run starts, such as a car that rolls.
    virtual void set_off(double* x, double* joint) const = 0;
    /// Stretch of the walls that belong to the volume at a port.
    virtual Wall wall(int port) const = 0;
    /// Height of a port above the datum, unset where the part does not care [m].
    virtual double height(int port) const = 0;
    /// What the part adds to the capacity of a joint.
    virtual double capacity(int joint) const = 0;
    /// Metal that has the temperature of the fluid at a port [J/K].
    virtual double heat_capacity(int port) const = 0;
    /// Gauge pressure that the part puts on an open reservoir when its own states are x [Pa], and
    /// its derivatives by them.
    virtual double tank_pressure(int port, const double* x, double* slope) const = 0;
    /// At the start: air at a port besides the fluid's own, as its volume at 1 atm and 20 C, and
    /// fluid in the reservoir at a port [m3].
    virtual double pocket(int port) const = 0;
    virtual double level(int port) const = 0;
    /// Volume swept out at each port [m3], and its derivatives unless slope is null: ports x
    /// (states
    /// + joints), by rows.
    virtual void swept(const double* x_and_joints, double* volume, double* slope) const = 0;

    virtual void rates(const double* local, const PortAside* aside, Gates gates,
                       double* out) const = 0;
    /// The direction in which each local is differentiated, below zero where a circuit has no use
    /// for it (parts/part_of.hpp).
    virtual std::span<const int> directions() const = 0;
    /// Outputs and their derivatives: outputs x directions, by rows.
    virtual void derivatives(const double* local, const PortAside* aside, Gates gates, double* out,
                             double* slope) const = 0;
    /// Energy in springs, masses and moving columns [J] and its derivatives by the locals.
    virtual double stored(const double* local, const PortAside* aside, Gates gates,
                          double* slope) const = 0;
    /// `rate`: how fast each local changes; `out`: what rates() gave there.
    virtual Exchange exchange(const double* local, const double* rate, const double* out,
                              const PortAside* aside, Gates gates) const = 0;
    /// The quantities that a user may record, in table order.
    virtual void quantities(const double* local, const PortAside* aside, Gates gates,
                            double* quantity) const = 0;
};

/// Everything that is known about a kind of part before one is made. The registry is a list of
/// these.
struct PartKind {
    std::string_view name;
    std::string_view summary;
    std::span<const Field> fields;
    std::span<const PortInfo> ports;
    std::span<const StateInfo> states;
    std::span<const GuardInfo> guards;
    std::span<const QuantityInfo> quantities;
    std::span<const JointInfo> joints = {};
    bool driven = false;  // takes the foot input
    bool through = false; // the first two are line ports, walked through from the cylinder outward
    std::string_view like = {}; // a kind whose fields it has; faults and limits of that one fit it
    std::unique_ptr<const Part> (*make)(const Values&, const Surroundings&) = nullptr;
    /// Fills derived values and says what cannot work; nothing else may refuse hardware later.
    std::vector<Refusal> (*complete)(Values&, const Surroundings&) = nullptr;

    bool is(std::string_view kind) const { return name == kind || like == kind; }
    /// States and joints: what a law calls positions.
    int positions() const { return static_cast<int>(states.size() + joints.size()); }
    Dimension dimension(int position) const {
        const auto i = static_cast<std::size_t>(position);
        return i < states.size() ? states[i].dimension
                                 : dimension_of(joints[i - states.size()].kind);
    }
    int locals() const { return positions() + 1 + kPortLocals * static_cast<int>(ports.size()); }
    int outputs() const { return positions() + kPortOutputs * static_cast<int>(ports.size()); }
    bool has(JointKind joint) const {
        for (const JointInfo& j : joints)
            if (j.kind == joint) return true;
        return false;
    }
};

} // namespace pedalbench
