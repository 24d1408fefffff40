// Quantities as people write them: what is read, what is refused, and with which words.
#include <doctest/doctest.h>

#include <set>
#include <string>

#include "compare.hpp"
#include "runner/units.hpp"

using namespace pedalbench;
using namespace pedalbench::runner;
using pedalbench::test::near;

TEST_CASE("quantities with their units become SI") {
    const auto si = [](const char* text, Dimension d, Datum datum = Datum::gauge) {
        const Quantity q = read_quantity(text, d, datum);
        CHECK_MESSAGE(q.problem.empty(), text << ": " << q.problem);
        return q.value;
    };
    CHECK(near(si("115 psi", Dimension::pressure), 792897.0887, 1e-3, 0));
    CHECK(near(si("22.2 mm", Dimension::length), 0.0222, 0, 1e-15));
    CHECK(near(si("22.2mm", Dimension::length), 0.0222, 0, 1e-15));
    CHECK(near(si("  18   cm3 ", Dimension::volume), 18e-6, 0, 1e-15));
    CHECK(near(si("30 lbf  ft", Dimension::torque), 40.67453845, 1e-8, 0));
    CHECK(near(si("-40 F", Dimension::temperature), 233.15, 0, 1e-15));
    CHECK(near(si("1e3 mm", Dimension::length), 1.0, 0, 1e-15));
    CHECK(near(si(".5 mm", Dimension::length), 0.0005, 0, 1e-15));
    CHECK(near(si("+5 mm", Dimension::length), 0.005, 0, 1e-15));
    CHECK(near(si("0.2 %", Dimension::number), 0.002, 0, 1e-15));
    CHECK(near(si("5.2", Dimension::number), 5.2, 0, 0));
    // A leading zero is not an octal number.
    CHECK(near(si("010 mm", Dimension::length), 0.010, 0, 1e-15));
}

TEST_CASE("pressure is gauge unless it says absolute") {
    CHECK(near(read_quantity("1 bar", Dimension::pressure).value, 1e5, 0, 0));
    CHECK(near(read_quantity("101325 Pa absolute", Dimension::pressure).value, 0, 1e-9, 0));
    CHECK(near(read_quantity("1013 mbar absolute", Dimension::pressure, Datum::absolute).value,
               101300, 1e-9, 0));
    const Quantity gauge = read_quantity("1013 mbar", Dimension::pressure, Datum::absolute);
    CHECK(gauge.problem == "1013 mbar (a gauge pressure)");
    CHECK(gauge.suggestion == "1013 mbar absolute");
    CHECK(read_quantity("3 mm absolute", Dimension::length).problem ==
          "3 mm absolute (only a pressure can be absolute)");
}

TEST_CASE("what is no quantity is refused with what was meant") {
    const auto refused = [](const char* text, Dimension d, const char* problem, const char* meant) {
        CAPTURE(text);
        const Quantity q = read_quantity(text, d);
        CHECK(q.problem == problem);
        CHECK(q.suggestion == meant);
    };
    refused("51", Dimension::length, "51 without a unit", "");
    refused("", Dimension::length, "nothing", "");
    refused("mm", Dimension::length, "mm", "");
    refused("nan mm", Dimension::length, "nan mm", "");
    refused("inf bar", Dimension::pressure, "inf bar", "");
    refused("1e-400 mm", Dimension::length, "1e-400 mm (beyond what can be computed)", "");
    refused("1e999 mm", Dimension::length, "1e999 mm (beyond what can be computed)", "");
    refused("0x10 mm", Dimension::length, "0x10 mm (an unknown unit)", "");
    refused("1,5 mm", Dimension::length, "1,5 mm (a decimal comma)", "");
    refused("3 bar", Dimension::length, "3 bar (a pressure)", "");
    refused("30 psig", Dimension::pressure, "30 psig (an unknown unit)", "30 psi");
    refused("30 psia", Dimension::pressure, "30 psia (an unknown unit)", "30 psi absolute");
    refused("40 Nm", Dimension::torque, "40 Nm (an unknown unit)", "40 N m");
    refused("18 cc", Dimension::volume, "18 cc (an unknown unit)", "18 cm3");
    refused("3 kpa", Dimension::pressure, "3 kpa (an unknown unit)", "3 kPa");
    refused("5 %", Dimension::length, "5 % (a number)", "");
}

TEST_CASE("unit names are single, and each is read as itself") {
    std::set<std::string> names;
    for (const Unit& u : units()) {
        CHECK(names.insert(std::string(u.name)).second);
        const Quantity q = read_quantity("2 " + std::string(u.name), u.dimension);
        CHECK_MESSAGE(q.unit == &u, u.name);
        CHECK(near(u.from_si(q.value), 2, 1e-12, 0));
    }
}

TEST_CASE("both presets have a unit for every dimension") {
    for (const OutputUnits& out : {OutputUnits::metric(), OutputUnits::us()})
        for (int d = 0; d < static_cast<int>(Dimension::choice); ++d) {
            // A way along the road is a length that has a unit of its own.
            const auto wanted = static_cast<Dimension>(d);
            CHECK(out.of(wanted).dimension ==
                  (wanted == Dimension::distance ? Dimension::length : wanted));
        }
    OutputUnits mixed = OutputUnits::metric();
    mixed.set(*find_unit("psi"));
    CHECK(mixed.text(Dimension::pressure, 792897.0887) == "115 psi");
    CHECK(mixed.text(Dimension::length, 0.0254) == "25.4 mm");
    CHECK(OutputUnits::us().text(Dimension::temperature, 293.15) == "68 F");
}

TEST_CASE("an absolute field is shown as absolute") {
    Field field;
    field.dimension = Dimension::pressure;
    field.help = "absolute pressure of the air";
    CHECK(datum_of(field) == Datum::absolute);
    CHECK(field_text(field, 101325, *find_unit("mbar")) == "1013.25 mbar absolute");
    field.help = "pressure of the tank";
    CHECK(datum_of(field) == Datum::gauge);
}
