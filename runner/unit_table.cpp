// The units themselves, with the ratios of their definitions.
#include "units.hpp"

namespace pedalbench::runner {

namespace {

using enum Dimension;

// Exact by definition: inch 25.4 mm; pound 0.45359237 kg; standard gravity 9.80665 m/s2, so that
// 1 lbf = 44482216152605e-13 N and 1 psi = 1 lbf / (25.4 mm)^2; litre 1 dm3; atmosphere 101325 Pa.
constexpr double kLbf = 44482216152605.0; // 1e-13 N

constexpr Unit kUnits[] = {
    {"", number},
    {"%", number, 1, 100},
    // The unit that comes first in its dimension and fits a bare number is the one we suggest.
    {"mm", length, 1, 1000},
    {"m", length},
    {"cm", length, 1, 100},
    {"um", length, 1, 1000000},
    {"in", length, 254, 10000},
    {"ft", length, 3048, 10000},
    {"mm2", area, 1, 1000000},
    {"cm2", area, 1, 10000},
    {"m2", area},
    {"in2", area, 64516, 100000000},
    {"N/MPa", area, 1, 1000000}, // a force that grows with pressure
    {"N/bar", area, 1, 100000},
    {"cm3", volume, 1, 1000000},
    {"ml", volume, 1, 1000000},
    {"l", volume, 1, 1000},
    {"mm3", volume, 1, 1000000000},
    {"m3", volume},
    {"in3", volume, 16387064, 1000000000000},
    {"N", force},
    {"kN", force, 1000},
    {"lbf", force, kLbf, 1e13},
    {"kgf", force, 980665, 100000},
    {"N m", torque},
    {"lbf ft", torque, kLbf * 3048, 1e17},
    {"lbf in", torque, kLbf * 254, 1e17},
    {"bar", pressure, 100000},
    {"kPa", pressure, 1000},
    {"MPa", pressure, 1000000},
    {"GPa", pressure, 1000000000},
    {"Pa", pressure},
    {"mbar", pressure, 100},
    {"psi", pressure, kLbf, 6451600000},
    {"kgf/cm2", pressure, 980665, 10},
    {"atm", pressure, 101325},
    {"s", time},
    {"ms", time, 1, 1000},
    {"min", time, 60},
    {"h", time, 3600},
    {"C", temperature, 1, 1, 273.15},
    {"K", temperature},
    {"F", temperature, 5, 9, 459.67},
    {"N/mm", stiffness, 1000},
    {"N/m", stiffness},
    {"kN/mm", stiffness, 1000000},
    {"lbf/in", stiffness, kLbf, 254e9},
    {"mm/N", flexibility, 1, 1000},
    {"m/N", flexibility},
    {"in/lbf", flexibility, 254e9, kLbf},
    {"N s/m", damping},
    {"N s/mm", damping, 1000},
    {"lbf s/in", damping, kLbf, 254e9},
    {"cm3/MPa", compliance, 1, 1000000000000},
    {"cm3/bar", compliance, 1, 100000000000},
    {"m3/Pa", compliance},
    {"in3/psi", compliance, 16387064.0 * 64516, kLbf * 1e7},
    {"cm3/s", flow, 1, 1000000},
    {"l/min", flow, 1, 60000},
    {"m3/s", flow},
    {"in3/s", flow, 16387064, 1000000000000},
    {"m/s", velocity},
    {"mm/s", velocity, 1, 1000},
    {"km/h", velocity, 10, 36},
    {"mph", velocity, 44704, 100000},
    {"in/s", velocity, 254, 10000},
    {"kg/m3", density},
    {"g/cm3", density, 1000},
    {"mm2/s", viscosity, 1, 1000000},
    {"cSt", viscosity, 1, 1000000},
    {"m2/s", viscosity},
    {"1/K", expansion},
};

/// Spellings that people use and the table does not, each with what it probably means.
constexpr std::string_view kOtherSpellings[][2] = {
    {"Nm", "N m"},
    {"N*m", "N m"},
    {"N.m", "N m"},
    {"ft lb", "lbf ft"},
    {"ft lbf", "lbf ft"},
    {"lb ft", "lbf ft"},
    {"lb in", "lbf in"},
    {"in lbf", "lbf in"},
    {"lb", "lbf"},
    {"lbs", "lbf"},
    {"kg", "kgf"},
    {"kp", "kgf"},
    {"kg/cm2", "kgf/cm2"},
    {"at", "kgf/cm2"},
    {"N/mm2", "MPa"},
    {"psig", "psi"},
    {"psia", "psi absolute"},
    {"PSI", "psi"},
    {"barg", "bar"},
    {"bar(g)", "bar"},
    {"bara", "bar absolute"},
    {"bar(a)", "bar absolute"},
    {"Bar", "bar"},
    {"hPa", "mbar"},
    {"Kpa", "kPa"},
    {"KPa", "kPa"},
    {"mpa", "MPa"},
    {"Mpa", "MPa"},
    {"sec", "s"},
    {"seconds", "s"},
    {"inch", "in"},
    {"inches", "in"},
    {"\"", "in"},
    {"mil", "um"},
    {"cc", "cm3"},
    {"ccm", "cm3"},
    {"mL", "ml"},
    {"L", "l"},
    {"mm^2", "mm2"},
    {"cm^2", "cm2"},
    {"cm^3", "cm3"},
    {"mm^3", "mm3"},
    {"in^2", "in2"},
    {"in^3", "in3"},
    {"mm\u00b2", "mm2"},
    {"cm\u00b2", "cm2"},
    {"cm\u00b3", "cm3"},
    {"mm\u00b3", "mm3"},
    {"\u00b5m", "um"},
    {"\u03bcm", "um"},
    {"\u00b0C", "C"},
    {"\u00b0F", "F"},
    {"degC", "C"},
    {"deg C", "C"},
    {"degF", "F"},
    {"celsius", "C"},
    {"kmh", "km/h"},
    {"kph", "km/h"},
    {"percent", "%"},
    {"lb/in", "lbf/in"},
    {"kg/l", "g/cm3"},
    {"mm\u00b2/s", "mm2/s"},
    {"mm^2/s", "mm2/s"},
    {"Ns/m", "N s/m"},
};

} // namespace

std::span<const Unit> units() {
    return kUnits;
}

std::string_view usual_spelling(std::string_view unit) {
    for (const auto& [other, ours] : kOtherSpellings)
        if (unit == other) return ours;
    return {};
}

} // namespace pedalbench::runner
