#include "system/service.hpp"

#include <algorithm>
#include <cmath>

#include "parts/part.hpp"

namespace pedalbench {
namespace {

constexpr double kInch = 25.4e-3;
constexpr std::string_view kTrade = "common practice, no source";
constexpr std::string_view kLining =
    "49 CFR 570.59(c), seen in a copy: 1/16 in over the shoe of a bonded lining";
constexpr std::string_view kHold = "49 CFR 570.55: 125 lbf held for 10 s without further fall";

constexpr Field measured(std::string_view name, double high, std::string_view help) {
    return {name, Dimension::length, kUnset, 0, high, Mark::given, "", help};
}

constexpr Field kDisc[] = {
    measured("run_out", 2e-3, "of the disc in one turn, from one side to the other"),
    {"run_out_radius", Dimension::length, kUnset, 20e-3, 0.3, Mark::given, "",
     "where the gauge stood, from the middle of the hub"},
    measured("removed_inner", 10e-3, "metal that was taken from the inner side so far"),
    measured("removed_outer", 10e-3, "the same on the outer side"),
    {"one_chucking", Dimension::choice, kUnset, 0, 1, Mark::given, "",
     "whether both sides were refaced without taking the disc off the lathe", "no|yes"},
    measured("lining", 30e-3, "thickness of the thinnest lining, over its shoe"),
};
constexpr Field kDiscLimits[] = {
    {"thickness_variation", Dimension::length, 0.0005 * kInch, 0, 1e-3, Mark::practice, kTrade,
     "most, over all stations"},
    {"run_out", Dimension::length, 0.0025 * kInch, 0, 2e-3, Mark::practice, kTrade, "most"},
    {"run_out_from_edge", Dimension::length, kInch, 0, 0.2, Mark::practice, kTrade,
     "how far from the disc's edge that limit is stated"},
    {"run_out_radius", Dimension::length, kUnset, 0.02, 0.3, Mark::given, "",
     "or from the middle of the hub; goes before run_out_from_edge"},
    {"removed", Dimension::length, 0.05 * kInch, 0, 20e-3, Mark::practice, kTrade,
     "most from both sides together, however it is split"},
    {"one_chucking", Dimension::choice, 1, 0, 1, Mark::practice, kTrade,
     "whether both sides must be refaced without taking the disc off the lathe", "no|yes"},
    {"minimum_thickness", Dimension::length, kUnset, 1e-3, 0.1, Mark::given, "",
     "stamped on the disc; it belongs to that disc alone"},
    {"lining", Dimension::length, kInch / 16, 0, 30e-3, Mark::published, kLining, "least"},
};
constexpr Field kDrum[] = {
    {"drum_diameter", Dimension::length, kUnset, 0.1, 0.6, Mark::given, "", "inner, the largest"},
    measured("lining", 30e-3, "thickness of the thinnest lining, over its shoe"),
};
constexpr Field kDrumLimits[] = {
    {"drum_diameter", Dimension::length, kUnset, 0.1, 0.6, Mark::given, "",
     "at which the drum is thrown away; it is cast on the drum"},
    {"lining", Dimension::length, kInch / 16, 0, 30e-3, Mark::published, kLining, "least"},
};
constexpr Field kPedal[] = {
    measured("free_play", 0.1, "at the pad, before the push rod meets anything"),
    measured("reserve", 0.3, "from the pad to the floor under the force of the check"),
};
constexpr Field kPedalLimits[] = {
    {"free_play_least", Dimension::length, 3e-3, 0, 0.1, Mark::published, "3-8 mm, service data",
     "least"},
    {"free_play_most", Dimension::length, 8e-3, 0, 0.1, Mark::published, "3-8 mm, service data",
     "most"},
    {"reserve", Dimension::length, kUnset, 0, 0.3, Mark::given, "",
     "least; goes before reserve_share"},
    {"reserve_share", Dimension::number, 0.2, 0, 1, Mark::published,
     "49 CFR 570.55: at 50 lbf no more than 80 % of the way to the floor",
     "least share of the way from the pedal's rest to the floor"},
};
constexpr Field kMaster[] = {
    {"hold_time", Dimension::time, kUnset, 0, 3600, Mark::given, "",
     "for which pedal or pressure was held"},
    measured("hold_fall", 0.3, "how far the pad sank in that time under a constant foot"),
    {"hold_loss", Dimension::pressure, kUnset, 0, 30e6, Mark::given, "",
     "pressure lost in that time with the pedal held in its place"},
};
constexpr Field kMasterLimits[] = {
    {"hold_time", Dimension::time, 10, 0.1, 3600, Mark::published, kHold,
     "that the two limits below are stated for"},
    {"hold_fall", Dimension::length, 0, 0, 0.3, Mark::published, kHold, "most"},
    {"hold_loss", Dimension::pressure, kUnset, 0, 30e6, Mark::given, "", "most"},
};

struct Tables {
    std::string_view kind;
    std::span<const Field> measured, limits;
};
constexpr Tables kTables[] = {
    {"disc_caliper", kDisc, kDiscLimits},
    {"drum_brake", kDrum, kDrumLimits},
    {"pedal", kPedal, kPedalLimits},
    {"tandem_master", kMaster, kMasterLimits},
};

Tables tables_of(const PartKind& kind) {
    for (const Tables& t : kTables)
        if (kind.is(t.kind)) return t;
    return {};
}

} // namespace

std::span<const Field> measured_fields(const PartKind& kind) {
    return tables_of(kind).measured;
}
std::span<const Field> limit_fields(const PartKind& kind) {
    return tables_of(kind).limits;
}
bool has_disc(const PartKind& kind) {
    return kind.name == "disc_caliper";
}
bool has_rim(const PartKind& kind) {
    return has_disc(kind) || kind.name == "drum_brake";
}

double thickness_variation(std::span<const double> stations) {
    if (stations.empty()) return kUnset;
    const auto [thin, thick] = std::minmax_element(stations.begin(), stations.end());
    return *thick - *thin;
}

double run_out_at(double read, double read_at, double radius) {
    return read * radius / read_at;
}

std::vector<Stated> stated_by(const Service& service, const Values& part) {
    std::vector<Stated> stated;
    if (!service.thickness.empty())
        stated.push_back({"thickness_variation", thickness_variation(service.thickness)});
    const Values& m = service.measured;
    if (m.find("run_out") == m.size()) return stated;
    if (!std::isnan(m["run_out"]) && !std::isnan(m["run_out_radius"]))
        stated.push_back(
            {"run_out", run_out_at(m["run_out"], m["run_out_radius"], part["radius"])});
    return stated;
}

} // namespace pedalbench
