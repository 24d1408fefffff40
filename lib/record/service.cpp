#include "record/service.hpp"

#include <algorithm>
#include <cmath>

#include "parts/part.hpp"
#include "system/changes.hpp"
#include "system/system.hpp"

namespace pedalbench {
namespace {

// A measurement at its limit passes. Numbers written in inches are a little off in metres: by far
// less than this share, which no gauge can read.
constexpr double kSame = 1e-6;

/// Value of a row that the table may lack, or that is not known.
double value(const Values& values, std::string_view name) {
    return values.find(name) == values.size() ? kUnset : values[name];
}
bool known(const Values& values, std::string_view name) {
    return !std::isnan(value(values, name));
}

/// The limit's source, or that the scenario states it.
std::string source_of(const Values& limits, std::string_view name) {
    const std::size_t i = limits.find(name);
    return limits.given(i) ? "as the scenario states it" : std::string(limits.table()[i].source);
}

/// Half the diameter of the disc on the same wheel, where the car states it.
double disc_edge(const Hardware& hardware, const std::string& part) {
    for (const Wheel& wheel : hardware.wheels) {
        if (std::find(wheel.parts.begin(), wheel.parts.end(), part) == wheel.parts.end()) continue;
        for (const PartSpec& spec : hardware.parts)
            if (spec.kind->name == "rotor" && spec.values.given("diameter") &&
                std::find(wheel.parts.begin(), wheel.parts.end(), spec.name) != wheel.parts.end())
                return 0.5 * spec.values["diameter"];
    }
    return kUnset;
}

class Judge {
  public:
    Judge(const Hardware& hardware, const Service& service, std::vector<ServiceLine>& lines)
        : hardware_(hardware), service_(service), m_(service.measured), l_(service.limits),
          lines_(lines) {}

    void all() {
        thickness();
        run_out();
        refacing();
        at_least("lining left", "lining", "lining");
        if (known(m_, "drum_diameter")) {
            ServiceLine& line = add("drum diameter", "drum_diameter", value(m_, "drum_diameter"));
            need(line, "drum_diameter", "the diameter cast on the drum");
            close(line, {}, value(l_, "drum_diameter"), "drum_diameter");
        }
        pedal();
        leak_hold();
        rim();
    }

  private:
    ServiceLine& add(const char* what, const char* field, double measured,
                     Dimension dimension = Dimension::length) {
        ServiceLine line;
        line.what = what;
        line.where = service_.part;
        line.dimension = dimension;
        line.measured = measured;
        line.field = field;
        return lines_.emplace_back(std::move(line));
    }

    /// Says that a limit has to be stated.
    void need(ServiceLine& line, const char* limit, const std::string& what) const {
        if (!known(l_, limit))
            line.missing = "has no limit to be held against: state limits." + line.where + "." +
                           limit + ", " + what;
    }

    void close(ServiceLine& line, std::optional<double> low, std::optional<double> high,
               const char* limit) const {
        if (!line.missing.empty()) return;
        line.low = low;
        line.high = high;
        line.source = source_of(l_, limit);
        line.margin = HUGE_VAL;
        if (low) line.margin = line.measured - *low;
        if (high) line.margin = std::min(line.margin, *high - line.measured);
        if (std::abs(line.margin) <= kSame * std::abs(line.measured)) line.margin = 0;
        line.pass = line.margin >= 0;
    }

    void at_least(const char* what, const char* field, const char* limit) {
        if (!known(m_, field)) return;
        close(add(what, field, value(m_, field)), value(l_, limit), {}, limit);
    }

    void thickness() {
        if (service_.thickness.empty()) return;
        close(add("thickness variation", "thickness", thickness_variation(service_.thickness)), {},
              value(l_, "thickness_variation"), "thickness_variation");
        if (!known(l_, "minimum_thickness")) return; // nobody but the disc itself can say it
        const double thinnest =
            *std::min_element(service_.thickness.begin(), service_.thickness.end());
        close(add("thickness", "thickness", thinnest), value(l_, "minimum_thickness"), {},
              "minimum_thickness");
    }

    /// Read at one radius, limited at another.
    void run_out() {
        if (!known(m_, "run_out") && !known(m_, "run_out_radius")) return;
        ServiceLine& line = add("run-out", "run_out", kUnset);
        const double edge = disc_edge(hardware_, service_.part);
        const double radius = known(l_, "run_out_radius") ? value(l_, "run_out_radius")
                                                          : edge - value(l_, "run_out_from_edge");
        if (!known(m_, "run_out") || !(value(m_, "run_out_radius") > 0))
            line.missing = "grows with the radius: give both run_out and run_out_radius, where the "
                           "gauge stood";
        else if (!(radius > 0))
            line.missing = "has a limit that is stated from the disc's edge: give diameter to the "
                           "rotor on this wheel, or state limits." +
                           line.where + ".run_out_radius";
        else
            line.measured = run_out_at(value(m_, "run_out"), value(m_, "run_out_radius"), radius);
        close(line, {}, value(l_, "run_out"), "run_out");
    }

    void refacing() {
        if (known(m_, "removed_inner") || known(m_, "removed_outer")) {
            const double both = value(m_, "removed_inner") + value(m_, "removed_outer");
            ServiceLine& line = add("metal removed", "removed_inner", both);
            if (std::isnan(both)) {
                line.field = known(m_, "removed_inner") ? "removed_inner" : "removed_outer";
                line.missing = "counts together with the other side: give removed_inner and "
                               "removed_outer, 0 mm where nothing was taken";
            }
            close(line, {}, value(l_, "removed"), "removed");
        }
        if (!known(m_, "one_chucking")) return;
        ServiceLine& line = add("refacing", "one_chucking", kUnset, Dimension::choice);
        const bool wanted = l_.flag("one_chucking"), was = m_.flag("one_chucking");
        line.measured_word =
            was ? "both sides in one chucking" : "each side in a chucking of its own";
        line.limit_word = wanted ? "both sides in one chucking" : "any chucking";
        line.source = source_of(l_, "one_chucking");
        line.pass = was || !wanted;
    }

    void pedal() {
        if (known(m_, "free_play"))
            close(add("free play", "free_play", value(m_, "free_play")),
                  value(l_, "free_play_least"), value(l_, "free_play_most"), "free_play_most");
        if (!known(m_, "reserve")) return;
        ServiceLine& line = add("pedal reserve", "reserve", value(m_, "reserve"));
        if (known(l_, "reserve")) return close(line, value(l_, "reserve"), {}, "reserve");
        const Values& pedal = *find_values(hardware_, service_.part);
        if (!pedal.given("floor"))
            line.missing = "has a limit that is a share of the way to the floor: give floor to " +
                           line.where + ", or state limits." + line.where + ".reserve";
        close(line, value(l_, "reserve_share") * pedal["floor"], {}, "reserve_share");
    }

    /// What leaks, leaks on: a loss grows with the time it is given, so that a longer hold is taken
    /// back to the time of the limit. A shorter one proves nothing.
    void leak_hold() {
        const double held = value(m_, "hold_time"), limit = value(l_, "hold_time");
        const auto one = [&](const char* what, const char* field, Dimension dimension) {
            if (!known(m_, field)) return;
            ServiceLine& line = add(what, field, value(m_, field) * limit / held, dimension);
            need(line, field, "the most that may be lost");
            if (!(held >= limit * (1 - kSame)))
                line.missing = "was not watched for as long as the limit asks: give hold_time, at "
                               "least limits." +
                               line.where + ".hold_time";
            close(line, {}, value(l_, field), field);
        };
        one("pedal fall in the hold", "hold_fall", Dimension::length);
        one("pressure lost in the hold", "hold_loss", Dimension::pressure);
    }

    void rim() {
        if (service_.rim.empty()) return;
        ServiceLine& line = add("rim", "rim", kUnset, Dimension::choice);
        line.measured_word = service_.rim;
        line.source = "as the scenario states it";
        for (const std::string& fits : service_.rims) {
            line.limit_word += (line.limit_word.empty() ? "" : ", ") + fits;
            line.pass = line.pass || fits == service_.rim;
        }
        if (service_.rims.empty())
            line.missing = "has no list to be found in: state limits." + line.where +
                           ".rims, the types that fit over this brake";
    }

    const Hardware& hardware_;
    const Service& service_;
    const Values &m_, &l_;
    std::vector<ServiceLine>& lines_;
};

} // namespace

std::vector<ServiceLine> judge_service(const Scenario& scenario) {
    std::vector<ServiceLine> lines;
    for (const Service& service : scenario.service)
        Judge(scenario.hardware, service, lines).all();
    return lines;
}

} // namespace pedalbench
