// What the tests of studies share: a folder, the command in it, and two small studies.
#pragma once

#include <doctest/doctest.h>

#include <algorithm>

#include "command.hpp"
#include "places.hpp"

namespace pedalbench::test {

constexpr double kPsi = 6894.757293168; // Pa
inline const fs::path kSource = source_folder();

inline std::size_t lines(const std::string& text) {
    return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
}

/// The valve of 10, 115 and 500 psi in the demo car, and a study of its pressures.
inline void write_valve(const Folder& folder, const std::string& points) {
    fs::copy_file(kSource / "scenarios/hardware/marten.yaml", folder.path / "marten.yaml",
                  fs::copy_options::overwrite_existing);
    folder.write("valve.yaml",
                 "pedalbench: 1\nhardware: marten.yaml\n"
                 "foot: {force: [[0 s, 0 N], [1 s, 100 N]]}\n"
                 "changes:\n  - {set: hold_off.shut, to: 10 psi}\n"
                 "  - {set: hold_off.open, to: 115 psi}\n  - {set: hold_off.full, to: 500 psi}\n");
    folder.write("study.yaml",
                 "pedalbench: 1\ntitle: a valve\nscenario: valve.yaml\n"
                 "vary:\n  hold_off.plate_diameter: {within: 0.02 mm}\n"
                 "  hold_off.plate_spring: {within: 1 %, shape: normal}\n"
                 "keep: [hold_off.outlet_area, hold_off.rod_spring]\n"
                 "points: " +
                     points +
                     "\nunits: {preset: us}\nanswers:\n"
                     "  - {text: opens, figure: hold_off.open, between: [114 psi, 116 psi]}\n"
                     "  - {text: full, figure: hold_off.full, about: 500 psi, within: 4 %}\n");
}

/// A study with runs: small car, gentle press, a hole whose size varies, a master whose spring may
/// be too weak to be built.
inline void write_runs(const Folder& folder, int points) {
    for (const char* name : {"small.yaml", "press.yaml"})
        fs::copy_file(kSource / "tests/refusals/cars" / name, folder.path / name,
                      fs::copy_options::overwrite_existing);
    folder.write(
        "runs.yaml",
        "pedalbench: 1\ntitle: presses\nscenario: press.yaml\n"
        "vary:\n  hole.size: {between: [0.1 mm, 0.4 mm]}\n"
        "  master.secondary_spring: {between: [5 N, 80 N]}\n"
        "points: {sobol: " +
            std::to_string(points) +
            "}\nanswers:\n"
            "  - {text: held in front, channel: front.pressure, moment: held, above: 1 bar}\n"
            "  - {text: lost, channel: hole.outside.fluid, moment: peak}\n"
            "  - {text: 'pad, outer, touches', event: 'front: outer pad touches',\n"
            "     reading: pressure}\n"
            "  - {text: spring, figure: master.secondary_spring}\n");
}

inline std::vector<std::string> results(const Folder& folder, const std::string& out) {
    std::vector<std::string> texts;
    for (const char* name : {"points.csv", "summary.json", "report.txt", "histograms.csv",
                             "sensitivity.csv", "plots.gp"}) {
        texts.push_back(folder.text(fs::path(out) / name));
        CHECK_MESSAGE(texts.back().size() > 10, out, " ", name);
    }
    return texts;
}

} // namespace pedalbench::test
