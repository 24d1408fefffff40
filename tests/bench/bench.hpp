// What the benchmarks share: scenarios by name, a circuit ready to be stepped, and how a figure is
// handed on.
#pragma once

#include <benchmark/benchmark.h>

#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "places.hpp"
#include "record/course.hpp"
#include "record/plant.hpp"
#include "record/record.hpp"
#include "runner/reader.hpp"
#include "solve/march.hpp"

namespace pedalbench::bench {

/// A scenario by its path from the top of the repository.
inline Scenario load(const std::string& path) {
    runner::Findings findings;
    auto loaded = runner::read_scenario(test::source_folder() + "/" + path, {}, findings);
    if (!loaded) throw std::runtime_error(findings.lines().front());
    return std::move(loaded->scenario);
}

inline Scenario demo_stop() {
    return load("scenarios/lessons/ordinary_stop.yaml");
}
inline Scenario rig_stop() {
    return load("tests/bench/rig.yaml");
}

/// The circuit of a scenario, settled and then driven up to a moment.
struct Stand {
    Course course;
    std::shared_ptr<const Model> model;
    Plant plant;
    solve::Stepper stepper;
    std::vector<double> y;

    Stand(const Scenario& scenario, double until)
        : course(course_of(scenario)), model(std::make_shared<Model>(course.hardware)),
          plant(model, course.foot, true, error_scale(scenario.accuracy, 1)),
          stepper(plant, step_options()), y(model->start()) {
        double from = course.rest_from;
        plant.set_foot(course.rest);
        plant.set_stretch(from);
        plant.settle_modes(from, y.data());
        for (const double stop : course.rest_stops)
            from = march(from, stop);
        plant.set_foot(course.foot);
        for (const double stop : course.stops)
            if (stop < until) from = march(from, stop);
        march(from, until);
    }
    double march(double from, double to) {
        plant.set_stretch(from);
        solve::march(plant, y, from, to, stepper, {});
        return to;
    }
};

/// Each file registers its benchmarks; main.cpp says what follows from their figures.
void register_costs();
void register_precision();
void register_growth();
void register_many();
void register_start_up();

} // namespace pedalbench::bench
