#include "fingerprint.hpp"

#include <filesystem>

#include <fmt/format.h>

#include "digest.hpp"
#include "parts/part.hpp"

#ifndef PEDALBENCH_VERSION
#define PEDALBENCH_VERSION "unknown"
#endif

namespace pedalbench::runner {

namespace {

void add(Digest& d, const Values& values) {
    for (std::size_t i = 0; i < values.size(); ++i) {
        d.add(values.table()[i].name);
        d.add(values.at(i));
        d.add(values.given(i) ? "given" : values.changed(i) ? "changed" : "");
    }
}

void add(Digest& d, const Run& run) {
    for (const std::string& part : run.parts)
        d.add(part);
    for (const Run& branch : run.branches) {
        d.add("[");
        add(d, branch);
        d.add("]");
    }
}

/// Another build may compute otherwise.
std::string program() {
    std::error_code error;
    const std::filesystem::path self = "/proc/self/exe";
    const auto size = std::filesystem::file_size(self, error);
    const auto time = std::filesystem::last_write_time(self, error);
    if (error) return PEDALBENCH_VERSION;
    return fmt::format("{} {} {}", PEDALBENCH_VERSION, size, time.time_since_epoch().count());
}

} // namespace

std::string fingerprint(const Scenario& s, const std::vector<study::Measurement>& columns) {
    Digest d;
    d.add(program());
    add(d, s.hardware.fluid);
    add(d, s.hardware.surroundings);
    for (const PartSpec& part : s.hardware.parts) {
        d.add(part.name);
        d.add(part.kind->name);
        add(d, part.values);
    }
    for (const Circuit& circuit : s.hardware.circuits) {
        d.add(circuit.outlet);
        add(d, circuit.run);
    }
    for (const Wheel& wheel : s.hardware.wheels) {
        d.add(wheel.name);
        for (const std::string& part : wheel.parts)
            d.add(part);
    }
    for (const Change& c : s.changes) {
        d.add(c.part);
        d.add(c.field);
        for (const double x : {c.value, c.at, c.over})
            d.add(x);
    }
    d.add(fmt::format("{} {} {}", static_cast<int>(s.foot.kind), s.foot.measured, s.after_a_stop));
    for (const std::vector<double>* list : {&s.foot.time, &s.foot.value})
        for (const double x : *list)
            d.add(x);
    for (const double x : {s.duration, s.sample, s.accuracy})
        d.add(x);
    for (const study::Measurement& column : columns) {
        d.add(column.what.channel);
        d.add(column.what.before);
        d.add(fmt::format("{} {:a} {:a}", static_cast<int>(column.what.moment), column.what.time,
                          column.what.since.value_or(-1)));
    }
    return d.text();
}

} // namespace pedalbench::runner
