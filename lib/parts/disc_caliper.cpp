#include "parts/disc_caliper.hpp"

#include <algorithm>
#include <cmath>

#include "parts/part_of.hpp"

namespace pedalbench {
namespace {

constexpr std::string_view kSeal =
    "nobody publishes seals; these leave 0.2 mm and no drag after a stop";
constexpr std::string_view kCreep =
    "with that of the hoses a held pedal sinks by about a millimetre in ten seconds";
constexpr std::string_view kLeft = "from the seal, or given in its place";
// The stops that the two clearances are stated for.
constexpr double kLight = 1e6, kHard = 8e6; // Pa

constexpr Field kFields[] = {
    {"piston", Dimension::length, kUnset, 20e-3, 90e-3, Mark::given,
     "54-60 mm in service data of small cars", "diameter of each piston"},
    {"mount", Dimension::choice, 0, 0, 1, Mark::practice, "small cars",
     "floating on pins with pistons on one side, or fixed with as many on either side",
     "floating|opposed"},
    {"pistons", Dimension::number, 1, 1, 4, Mark::practice, "one on each side that has any",
     "number of pistons on one side; what is said of the seal is said of all of them together"},
    {"radius", Dimension::length, 0.11, 0.05, 0.25, Mark::judgement, "a 230-260 mm disc",
     "effective radius of the linings"},
    {"friction", Dimension::number, 0.4, 0.05, 0.8, Mark::practice, "0.35-0.45",
     "friction of lining on disc"},
    {"clearance", Dimension::length, 0.2e-3, 0.02e-3, 2e-3, Mark::judgement,
     "running clearance 0.10-0.35 mm",
     "room between both pads and the disc at the start, together"},
    {"wear", Dimension::length, 0, 0, 25e-3, Mark::practice, "new linings",
     "lining that is gone from both pads together; the pistons stand further out by it"},
    {"thickness_variation", Dimension::length, 0, 0, 1e-3, Mark::practice, "an even disc",
     "of the disc in one turn, thickest less thinnest"},
    {"run_out", Dimension::length, 0, 0, 2e-3, Mark::practice, "a disc that runs true",
     "of the disc in one turn, from one side to the other"},
    {"hub_deflection", Dimension::length, 0, -3e-3, 3e-3, Mark::practice, "a hub without play",
     "how far the hub has moved the disc toward the piston"},
    {"seal_stiffness", Dimension::stiffness, 1e6, 1e5, 1e7, Mark::judgement, kSeal,
     "stiffness of the seal while it grips"},
    {"seal_grip", Dimension::force, 200, 10, 2000, Mark::judgement, kSeal,
     "force at which the piston slips in the seal, without pressure"},
    {"seal_grip_rise", Dimension::area, 50e-6, 0, 500e-6, Mark::judgement, "50-80 N/MPa",
     "growth of that force with pressure, as an area: 50 mm2 is 50 N per MPa"},
    {"seal_shift", Dimension::length, 0.3e-3, 0, 1.5e-3, Mark::judgement, kSeal,
     "elastic shift of the seal under high pressure"},
    {"seal_shift_pressure", Dimension::pressure, 0.8e6, 0.1e6, 1e7, Mark::judgement, kSeal,
     "pressure that brings 63 % of the shift"},
    {"seal_rollback", Dimension::number, 1, 0, 1, Mark::practice, "a sound seal",
     "share of the elastic return that is left; a swollen, hard or worn seal lets the piston slide "
     "out instead of stretching, and springs back less"},
    {"sticking", Dimension::force, 0, 0, 5000, Mark::practice, "a clean bore",
     "friction of the piston in its bore by rust or dirt, both ways, beside the seal's"},
    {"parking_brake", Dimension::force, 0, 0, 3e4, Mark::practice, "off, or there is none",
     "force that cable, lever and spindle put on the piston; the lever's contact lights the lamp"},
    {"cable_hangs", Dimension::force, 0, 0, 3e4, Mark::practice, "a free cable",
     "force that a hanging cable keeps on the piston though the lever is down"},
    {"clearance_light", Dimension::length, kUnset, 0.02e-3, 1e-3, Mark::judgement, kLeft,
     "clearance that a sound seal leaves after a light stop, slow, at 1 MPa; with clearance_hard "
     "it "
     "stands for seal_grip and seal_shift"},
    {"clearance_hard", Dimension::length, kUnset, 0.02e-3, 1e-3, Mark::judgement, kLeft,
     "the same after a hard stop, slow, at 8 MPa"},
    {"seal_branch", Dimension::number, 0.2, 0, 0.9, Mark::judgement, kSeal,
     "share of the stiffness that relaxes"},
    {"seal_relaxation", Dimension::time, 0.5, 0.01, 60, Mark::judgement, kSeal,
     "time of that relaxation"},
    {"pad_first", Dimension::stiffness, 1.2e7, 5e5, 1e9, Mark::judgement,
     "front caliper about 0.6 (1 - exp(-p/0.6)) + 0.15 p cm3, p in MPa",
     "stiffness of one pad with its share of the housing, at first touch"},
    {"pad_final", Dimension::stiffness, 7e7, 5e6, 1e10, Mark::judgement,
     "front caliper about 0.6 (1 - exp(-p/0.6)) + 0.15 p cm3, p in MPa",
     "stiffness of the same at high force"},
    {"pad_take_up", Dimension::length, 0.08e-3, 0, 1e-3, Mark::judgement, "shims and uneven faces",
     "travel that the soft part of one pad takes"},
    {"pad_creep", Dimension::number, 0.02, 0, 0.5, Mark::judgement, kCreep,
     "what a pad with its share of the housing gives slowly, as a share of what it gives at once"},
    {"pad_creep_time", Dimension::time, 4, 0.1, 600, Mark::judgement, kCreep,
     "time in which 63 % of that has come"},
    {"pin_friction", Dimension::force, 30, 0, 5000, Mark::judgement, "10-60 N good",
     "friction of the housing on its pins"},
    {"pin_stiffness", Dimension::stiffness, 5e5, 5e4, 1e7, Mark::judgement,
     "rubber boots and bushes", "give of the pins before the housing slides"},
    {"dead_volume", Dimension::volume, 15e-6, 1e-6, 2e-4, Mark::judgement, "new linings",
     "fluid behind the piston at the start"},
    {"stretch", Dimension::compliance, 2e-14, 0, 1e-12, Mark::judgement, "0.02 cm3/MPa",
     "bulging of the housing that does not move the piston"},
    {"damping", Dimension::damping, 2000, 100, 1e5, Mark::judgement,
     "residual pressures move by a few kPa over a factor of 100",
     "resistance of the piston to speed"},
    {"fade_from", Dimension::temperature, 623.15, 373.15, 1273.15, Mark::judgement,
     "350 C, road linings", "temperature of the disc from which friction falls off"},
    {"fade_loss", Dimension::number, 0.4, 0, 0.95, Mark::judgement, "a third to a half",
     "share of the friction that goes with more heat; half of it at 100 K beyond"},
    {"metal_heat", Dimension::heat_capacity, 1200, 0, 2e4, Mark::judgement, "2.5 kg of iron",
     "metal that goes warm with the fluid"},
    {"conduction", Dimension::conductance, 1, 0, 50, Mark::judgement,
     "two pads 40 cm2 wide and 10 mm thick", "from the disc through the lining to the fluid"},
    {"cooling", Dimension::conductance, 1.5, 0, 50, Mark::judgement, "about 30 W/(m2 K) on 0.05 m2",
     "from the cylinder to the air"},
    {"height", Dimension::length, 0.4, 0, 2, Mark::judgement, "above the hub",
     "height above the road"},
};
constexpr PortInfo kPortTable[] = {{"line"}};
constexpr JointInfo kJointTable[] = {{"wheel", JointKind::wheel},
                                     {"heat", JointKind::heat},
                                     {"angle", JointKind::angle},
                                     {"wire", JointKind::wire}};
constexpr StateInfo kStateTable[] = {{"piston position", Dimension::length, 2e-7},
                                     {"seal grip position", Dimension::length, 2e-7},
                                     {"seal relaxed stretch", Dimension::length, 2e-7},
                                     {"housing position", Dimension::length, 2e-7},
                                     {"pin anchor", Dimension::length, 2e-7},
                                     {"pad creep", Dimension::length, 2e-7}};
constexpr GuardInfo kGuardTable[] = {
    {"piston slips out through the seal", Dimension::force, 0.02, "", "", ""},
    {"piston slips back through the seal", Dimension::force, 0.02, "", "", ""},
    {"inner pad touches", Dimension::length, 1e-8, "inner pad touches the disc",
     "inner pad leaves the disc", "pressure"},
    {"outer pad touches", Dimension::length, 1e-8, "outer pad touches the disc",
     "outer pad leaves the disc", "pressure"},
    {"housing slides in", Dimension::force, 0.02, "", "", ""},
    {"housing slides out", Dimension::force, 0.02, "", "", ""},
    {"lining fades", Dimension::temperature, 1e-3, "lining fades", "", "torque"},
};
constexpr QuantityInfo kQuantities[] = {
    {"clamp", Dimension::force, "force of the inner pad on the disc"},
    {"torque", Dimension::torque, "brake torque of both pads"},
    {"clearance", Dimension::length, "room between both pads and the disc, together"},
    {"piston_travel", Dimension::length, "travel of the piston out of the housing"},
    {"fluid_temperature", Dimension::temperature, "temperature of the fluid in the caliper"},
    {"creep", Dimension::length, "what each pad with its share of the housing has given slowly"},
    {"parking_contact", Dimension::number,
     "1 while the lever of the parking brake is pulled, which lights the lamp"},
};

/// Seized pins are not soft rubber: before they slide they give 0.06 mm at most (judgement).
double pin_stiffness(const Values& v) {
    return std::max(v["pin_stiffness"], v["pin_friction"] / 0.06e-3);
}

/// Rust and dirt in the bore hold the piston beside the seal, both ways. They give as little as
/// seized pins do, and nothing of that relaxes. Seal and rust slip at one place, so a seal that is
/// weaker than the rust takes nothing back: it cannot pull the piston through.
double stuck_stiffness(const Values& v) {
    return v["seal_stiffness"] + v["sticking"] / 0.06e-3;
}
/// The seal's part of that: its shift and its relaxing branch pull with the seal's stiffness only.
double seal_share(const Values& v) {
    return v["seal_stiffness"] / stuck_stiffness(v);
}

/// Of the pistons on one side.
double area(const Values& v) {
    return v["pistons"] * 0.25 * M_PI * v["piston"] * v["piston"];
}

/// A slow stop and its release, by the law alone: the seal's soft branch relaxed (k' = k (1 - B)),
/// both pads alike, nothing on the pins. While the pads bear anything the piston has slipped where
/// its way through their give passed what the seal can stretch and shift; so the clearance that is
/// left is the least of (F_s0 + c p)/k' + u(p) - 2 d(p) from first touch, p = F_s0/(A - c), to the
/// pressure of the stop; d is the compression of one pad. An opposed caliper has a seal for each
/// pad: there it is twice the least of (F_s0 + c p)/k' + u(p) - d(p).
struct SlowStop {
    explicit SlowStop(const Values& v)
        : stiffness(v["seal_stiffness"] * (1 - v["seal_branch"])), rise(v["seal_grip_rise"]),
          shift_pressure(v["seal_shift_pressure"]), net_area(std::max(1e-6, area(v) - rise)),
          seals(v.flag("mount") ? 2 : 1),
          give(1 + v["pad_creep"]), pad{v["pad_first"], v["pad_final"], v["pad_take_up"]} {}

    double stiffness, rise, shift_pressure, net_area;
    double seals; // that share the two pads' give, and each give back
    double give;  // of a pad in a slow stop, over its immediate give
    Progressive pad;

    /// Least of c p/k' + u(p) - 2 d(p)/seals from first touch up to the pressure `top`.
    double least(double grip, double shift, double top) const {
        const double most = net_area * top - grip; // force of a pad there
        double low = 0, high = std::max(0.0, most / pad.first);
        for (int i = 0; i < 50; ++i) {
            const double d = 0.5 * (low + high);
            (pad.force(d) < most ? low : high) = d;
        }
        double least = HUGE_VAL;
        for (int i = 0; i <= kPlaces; ++i) {
            const double d = high * i / kPlaces, p = (pad.force(d) + grip) / net_area;
            least =
                std::min(least, rise * p / stiffness + shift * (1 - std::exp(-p / shift_pressure)) -
                                    2 * give * d / seals);
        }
        return least;
    }
    double left(double grip, double shift, double top) const {
        return std::max(0.0, seals * (grip / stiffness + least(grip, shift, top)));
    }
    /// The smallest shift with which a hard stop leaves no more than `fall` less than a light one:
    /// the fall shrinks as the shift grows, for the hard stop gains more of it.
    double shift_for(double fall, double grip, double limit) const {
        double low = 0, high = limit;
        for (int i = 0; i < kHalvings; ++i) {
            const double shift = 0.5 * (low + high);
            (fall_of(grip, shift) > fall ? low : high) = shift;
        }
        return high;
    }
    double fall_of(double grip, double shift) const {
        return seals * (least(grip, shift, kLight) - least(grip, shift, kHard));
    }

    static constexpr int kPlaces = 100, kHalvings = 30;
};

const Field& limits(const Values& v, std::string_view name) {
    return v.table()[v.find(name)];
}

/// Sets seal_grip and seal_shift so that both stated clearances come out.
void derive_seal(Values& v, std::vector<Refusal>& refused) {
    const double light = v["clearance_light"], fall = light - v["clearance_hard"];
    if (fall < 0) {
        refused.push_back({"clearance_hard",
                           "larger than clearance_light; a hard stop never leaves more room, for "
                           "the piston slips further out: lower it"});
        return;
    }
    const SlowStop stop(v);
    const Field &grips = limits(v, "seal_grip"), &shifts = limits(v, "seal_shift");
    // A larger grip leaves more after the light stop, the shift always following.
    // More than a light stop overcomes would keep the pads from the disc.
    double low = grips.low, high = std::min(grips.high, stop.net_area * kLight), shift = 0;
    for (int i = 0; i < SlowStop::kHalvings; ++i) {
        const double grip = 0.5 * (low + high);
        shift = stop.shift_for(fall, grip, shifts.high);
        (stop.left(grip, shift, kLight) < light ? low : high) = grip;
    }
    v.derive("seal_grip", high);
    v.derive("seal_shift", shift);
    constexpr double kNear = 0.002e-3; // m, well below what a feeler gauge tells
    if (stop.fall_of(high, shift) > fall + kNear)
        refused.push_back({"clearance_hard",
                           "no seal gives that back after a hard stop on pads so soft: lower it, "
                           "raise seal_grip_rise or stiffen pad_first and pad_final"});
    else if (stop.fall_of(high, shift) < fall - kNear)
        refused.push_back({"clearance_hard",
                           "less than even a seal that does not shift leaves after a hard stop: "
                           "raise it or lower seal_grip_rise"});
    else if (stop.left(high, shift, kLight) < light - kNear)
        refused.push_back(
            {"clearance_light",
             "needs more grip than seal_grip may have or than a light stop overcomes: "
             "lower it or seal_stiffness"});
    else if (stop.left(high, shift, kLight) > light + kNear)
        refused.push_back({"clearance_light",
                           "needs less grip than seal_grip may have: raise it or seal_stiffness"});
}

/// The clearances follow from the seal, or the seal from the clearances. A later change of any
/// other field finds the seal as it is.
void complete_seal(Values& v, std::vector<Refusal>& refused) {
    const auto any = [&](auto of) { return of("clearance_light") || of("clearance_hard"); };
    const auto given = [&](std::string_view name) { return v.given(name); };
    const auto changed = [&](std::string_view name) { return v.changed(name); };
    bool later = false;
    for (std::size_t i = 0; i < v.size(); ++i)
        later = later || v.changed(i);
    if (!later && any(given)) {
        if (!given("clearance_light") || !given("clearance_hard")) {
            refused.push_back({given("clearance_light") ? "clearance_light" : "clearance_hard",
                               "stands alone: give both clearance_light and clearance_hard, or "
                               "neither"});
            return;
        }
        for (const char* name : {"seal_grip", "seal_shift"})
            if (given(name)) {
                refused.push_back({name,
                                   "follows from clearance_light and clearance_hard: leave it or "
                                   "them out"});
                return;
            }
        // Assembled as a light stop leaves it; a stop never widens what it finds.
        if (!given("clearance")) v.derive("clearance", v["clearance_light"]);
    }
    const bool seal = changed("seal_grip") || changed("seal_shift");
    if (!seal && (any(changed) || (!later && any(given)))) {
        // Changes come one by one: until the second is there, both are alike.
        if (changed("clearance_light") != changed("clearance_hard") && !any(given))
            v.derive(changed("clearance_light") ? "clearance_hard" : "clearance_light",
                     v[changed("clearance_light") ? "clearance_light" : "clearance_hard"]);
        derive_seal(v, refused);
        return;
    }
    const SlowStop stop(v);
    v.derive("clearance_light", stop.left(v["seal_grip"], v["seal_shift"], kLight));
    v.derive("clearance_hard", stop.left(v["seal_grip"], v["seal_shift"], kHard));
}

std::vector<Refusal> complete(Values& v, const Surroundings&) {
    std::vector<Refusal> refused;
    if (v["pad_first"] > v["pad_final"]) {
        refused.push_back(
            {"pad_first", "stiffer than pad_final; pads stiffen under load: lower it"});
        return refused;
    }
    if (v["pistons"] != std::floor(v["pistons"]))
        refused.push_back({"pistons", "a whole number on one side: give 1, 2, 3 or 4"});
    if (v.flag("mount"))
        for (const char* name : {"run_out", "hub_deflection"})
            if (v[name] != 0)
                refused.push_back({name,
                                   "moves the pistons of the two sides apart, and an opposed "
                                   "caliper has both alike here: leave it at 0 or let mount be "
                                   "floating"});
    if (v.flag("mount"))
        for (const char* name : {"parking_brake", "cable_hangs"})
            if (v[name] != 0)
                refused.push_back({name,
                                   "works on the one piston of a floating caliper; beside an "
                                   "opposed one stands a drum of its own: leave it at 0 or let "
                                   "mount be floating"});
    complete_seal(v, refused);
    if (!refused.empty()) return refused;
    // What the seal can take back after a light stop: its stretch at the grip force.
    if (v["seal_grip"] / v["seal_stiffness"] < 0.02e-3)
        refused.push_back({"seal_grip",
                           "lets the seal take the piston back by less than 0.02 mm: raise "
                           "it or lower seal_stiffness"});
    return refused;
}

} // namespace

const PartKind DiscCaliper::kind = {
    .name = "disc_caliper",
    .summary = "disc caliper: pistons, seals, two pads; floating on pins, or opposed",
    .fields = kFields,
    .ports = kPortTable,
    .states = kStateTable,
    .guards = kGuardTable,
    .quantities = kQuantities,
    .joints = kJointTable,
    .make = PartOf<DiscCaliper, kPortTable>::make,
    .complete = complete};

DiscCaliper::DiscCaliper(const Values& v, const Surroundings& around)
    : opposed_(v.flag("mount")), area_(area(v)), moved_(opposed_ ? 2 * area_ : area_),
      friction_(v["friction"]), radius_(v["radius"]),
      inner_gap_(0.5 * v["clearance"] - v["hub_deflection"]),
      outer_gap_(0.5 * v["clearance"] + v["hub_deflection"]), uneven_(v["thickness_variation"]),
      run_out_(v["run_out"]), dead_(v["dead_volume"] + area_ * v["wear"]), stretch_(v["stretch"]),
      height_(v["height"]), damping_(v["damping"]), grip_(v["seal_grip"] + v["sticking"]),
      grip_rise_(v["seal_grip_rise"]), shift_(v["seal_shift"] * seal_share(v)),
      shift_pressure_(v["seal_shift_pressure"]), rollback_(v["seal_rollback"]),
      branch_(v["seal_branch"] * seal_share(v)), relaxation_(v["seal_relaxation"]),
      pin_friction_(v["pin_friction"]), seal_{stuck_stiffness(v), v["damping"]},
      pin_{pin_stiffness(v), v["damping"]}, pad_{v["pad_first"], v["pad_final"], v["pad_take_up"]},
      creep_{v["pad_creep"], v["pad_creep_time"]}, rubbing_{v["fade_from"], v["fade_loss"],
                                                            v["conduction"], v["cooling"],
                                                            around.temperature},
      metal_heat_(v["metal_heat"]), lever_(std::max(v["parking_brake"], v["cable_hangs"])),
      parked_(v["parking_brake"] > 0) {}

} // namespace pedalbench
