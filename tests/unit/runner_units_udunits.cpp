// Every factor of our unit table against UDUNITS-2, which was written by other people from the same
// definitions.
#include <doctest/doctest.h>

#include <map>
#include <string>

#include <udunits2.h>

#include "compare.hpp"
#include "runner/units.hpp"

using namespace pedalbench;
using pedalbench::test::near;

namespace {

/// UDUNITS' spelling where it differs from the trade's.
std::string udunits_spelling(const runner::Unit& unit) {
    static const std::map<std::string, std::string> kOther = {
        {"", "1"},
        {"um", "micrometer"},
        {"l", "liter"},
        {"ml", "milliliter"},
        {"l/min", "liter/min"},
        {"psi", "lbf/in2"},
        {"in", "inch"},
        {"in2", "inch2"},
        {"in3", "inch3"},
        {"ft", "foot"},
        {"C", "degree_Celsius"},
        {"F", "degree_Fahrenheit"},
        {"h", "hour"},
        {"min", "minute"},
        {"km/h", "km/hour"},
        {"mph", "mile/hour"},
        {"lbf ft", "lbf foot"},
        {"lbf in", "lbf inch"},
        {"lbf/in", "lbf/inch"},
        {"in/lbf", "inch/lbf"},
        {"lbf s/in", "lbf s/inch"},
        {"in3/psi", "inch3/(lbf/inch2)"},
        {"in3/s", "inch3/s"},
        {"in/s", "inch/s"},
        {"cSt", "mm2/s"}, // 1 St = 1 cm2/s
        {"t", "tonne"},
        {"g", "gram"},
        {"ft/s2", "foot/s2"},
        {"deg", "degree"},
        {"rad", "radian"},
        {"rad/s", "radian/s"},
        {"1/min", "2 pi radian/min"},
    };
    const auto other = kOther.find(std::string(unit.name));
    return other == kOther.end() ? std::string(unit.name) : other->second;
}

std::string si_spelling(Dimension dimension) {
    switch (dimension) {
    case Dimension::number:
        return "1";
    case Dimension::length:
        return "m";
    case Dimension::area:
        return "m2";
    case Dimension::volume:
        return "m3";
    case Dimension::force:
        return "N";
    case Dimension::torque:
        return "N m";
    case Dimension::pressure:
        return "Pa";
    case Dimension::time:
        return "s";
    case Dimension::temperature:
        return "K";
    case Dimension::stiffness:
        return "N/m";
    case Dimension::flexibility:
        return "m/N";
    case Dimension::damping:
        return "N s/m";
    case Dimension::compliance:
        return "m3/Pa";
    case Dimension::flow:
        return "m3/s";
    case Dimension::velocity:
        return "m/s";
    case Dimension::density:
        return "kg/m3";
    case Dimension::viscosity:
        return "m2/s";
    case Dimension::expansion:
        return "1/K";
    case Dimension::mass:
        return "kg";
    case Dimension::inertia:
        return "kg m2";
    case Dimension::acceleration:
        return "m/s2";
    case Dimension::angle:
        return "radian";
    case Dimension::rotation:
        return "radian/s";
    case Dimension::power:
        return "W";
    case Dimension::conductance:
        return "W/K";
    case Dimension::heat_capacity:
        return "J/K";
    case Dimension::distance:
        return "m";
    case Dimension::choice:
        break;
    }
    return "?";
}

} // namespace

TEST_CASE("every unit has the factor that UDUNITS gives it") {
    ut_set_error_message_handler(ut_ignore);
    ut_system* system = ut_read_xml(nullptr);
    REQUIRE(system != nullptr);
    CHECK(runner::units().size() >= 60);
    for (const runner::Unit& unit : runner::units()) {
        CAPTURE(std::string(unit.name));
        const std::string theirs = udunits_spelling(unit);
        ut_unit* from = ut_parse(system, theirs.c_str(), UT_ASCII);
        ut_unit* to = ut_parse(system, si_spelling(unit.dimension).c_str(), UT_ASCII);
        REQUIRE_MESSAGE(from != nullptr, "UDUNITS does not know " << theirs);
        REQUIRE(to != nullptr);
        REQUIRE_MESSAGE(ut_are_convertible(from, to) != 0, theirs << " has another dimension");
        cv_converter* converter = ut_get_converter(from, to);
        REQUIRE(converter != nullptr);
        for (const double x : {1.0, 22.2, -40.0, 1234.5}) {
            const double wanted = cv_convert_double(converter, x);
            CHECK(near(unit.to_si(x), wanted, 0, 1e-14));
            CHECK(near(unit.from_si(wanted), x, 1e-12, 1e-13));
        }
        cv_free(converter);
        ut_free(from);
        ut_free(to);
    }
    ut_free_system(system);
}
