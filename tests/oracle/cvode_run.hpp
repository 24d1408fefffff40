// A whole run by SUNDIALS CVODE instead of our own stepper: the same rates, another integrator.
#pragma once

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_nvector.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunlinsol/sunlinsol_klu.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunmatrix/sunmatrix_sparse.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "record/course.hpp"
#include "record/plant.hpp"
#include "record/record.hpp"
#include "system/changes.hpp"

namespace pedalbench::oracle {

struct CvodeOptions {
    /// true: modes located by CVODE's root finder; false: every valve follows its sign, only
    /// latches are located.
    bool located = true;
    /// Local error allowed per step, as a share of what simulate() allows at the scenario's
    /// accuracy.
    double tolerance_scale = 1;
    double sample = 1e-3;       // s between rows
    bool dense = false;         // the linear systems by CVODE's dense solver instead of KLU
    long most_steps = 10000000; // of a run; more is giving up
};

struct Turn {
    double time;
    std::string guard; // "hold_off plate"
    bool on;
};

struct CvodeRun {
    Trace trace; // the channels that the scenario records
    std::vector<Turn> turns;
    long steps = 0, rate_calls = 0, jacobians = 0;
};

inline void check(int flag, const char* what) {
    if (flag >= 0) return;
    char* name = CVodeGetReturnFlagName(flag);
    const std::string text = std::string(what) + ": " + name;
    std::free(name);
    throw std::runtime_error(text);
}

class CvodeIntegration {
  public:
    CvodeIntegration(const Scenario& scenario, const CvodeOptions& options)
        : options_(options), course_(course_of(scenario)), hardware_(course_.hardware),
          model_(std::make_shared<Model>(hardware_)),
          plant_(std::make_unique<Plant>(model_, course_.foot, options.located,
                                         error_scale(scenario.accuracy, options.tolerance_scale))),
          next_(course_.first) {
        for (const ChannelInfo& c : model_->channels())
            for (const std::string& path : scenario.record)
                if (c.path == path) {
                    recorded_.push_back(&c - model_->channels().data());
                    run_.trace.channels.push_back({c.path, c.dimension});
                }
        values_.resize(model_->channels().size());
        open();
    }
    ~CvodeIntegration() {
        CVodeFree(&memory_);
        SUNLinSolFree(solver_);
        SUNMatDestroy(matrix_);
        N_VDestroy(y_);
        N_VDestroy(unit_);
        SUNContext_Free(&context_);
    }
    CvodeIntegration(const CvodeIntegration&) = delete;
    CvodeIntegration& operator=(const CvodeIntegration&) = delete;

    CvodeRun play() {
        settle();
        double from = 0;
        recording_ = true;
        row(0, state());
        for (const double stop : course_.stops) {
            stretch(from, stop);
            from = stop;
            bool changed = false;
            for (; next_ < course_.changes.size() && course_.changes[next_].at <= stop; ++next_) {
                apply(hardware_, course_.changes[next_]);
                changed = true;
            }
            if (!changed) continue;
            model_ = std::make_shared<Model>(hardware_);
            plant_->set_model(model_);
        }
        return std::move(run_);
    }

  private:
    double* state() { return N_VGetArrayPointer(y_); }

    void open() {
        const int n = plant_->size();
        SUNContext_Create(nullptr, &context_);
        y_ = N_VNew_Serial(n, context_);
        unit_ = N_VNew_Serial(n, context_);
        const std::vector<double> start = model_->start();
        std::copy(start.begin(), start.end(), state());
        memory_ = CVodeCreate(CV_BDF, context_);
        check(CVodeInit(memory_, rates, -1, y_), "CVodeInit");
        check(CVodeSetUserData(memory_, this), "CVodeSetUserData");
        check(CVodeWFtolerances(memory_, weights), "CVodeWFtolerances");
        const auto entries = static_cast<long>(plant_->pattern().column.size());
        matrix_ = options_.dense ? SUNDenseMatrix(n, n, context_)
                                 : SUNSparseMatrix(n, n, entries, CSR_MAT, context_);
        solver_ = options_.dense ? SUNLinSol_Dense(y_, matrix_, context_)
                                 : SUNLinSol_KLU(y_, matrix_, context_);
        check(CVodeSetLinearSolver(memory_, solver_, matrix_), "CVodeSetLinearSolver");
        check(CVodeSetJacFn(memory_, jacobian), "CVodeSetJacFn");
        check(CVodeSetMaxNumSteps(memory_, 1000000), "CVodeSetMaxNumSteps");
        check(CVodeSetMaxStep(memory_, 0.25), "CVodeSetMaxStep");
        check(CVodeSetErrHandlerFn(memory_, quiet, this), "CVodeSetErrHandlerFn");
        check(CVodeRootInit(memory_, plant_->guards(), guards), "CVodeRootInit");
        check(CVodeSetNoInactiveRootWarn(memory_), "CVodeSetNoInactiveRootWarn");
        // A guard counts when it comes from below; so it does from exactly zero, too.
        const std::vector<int> rising(static_cast<std::size_t>(plant_->guards()), 1);
        check(CVodeSetRootDirection(memory_, const_cast<int*>(rising.data())), // NOLINT
              "CVodeSetRootDirection");
    }

    void settle() {
        double from = course_.rest_from;
        plant_->set_foot(course_.rest);
        plant_->set_stretch(from);
        plant_->settle_modes(from, state());
        for (const double stop : course_.rest_stops) {
            stretch(from, stop);
            from = stop;
        }
        plant_->set_foot(course_.foot);
        model_->set_off(state());
        plant_->set_stretch(0);
        plant_->settle_modes(0, state());
    }

    /// One smooth stretch, cut at the roots.
    void stretch(double from, double to) {
        plant_->set_stretch(from);
        double t = from;
        restart(t);
        while (t < to) {
            check(CVodeSetStopTime(memory_, to), "CVodeSetStopTime");
            double reached = t;
            const int flag = CVode(memory_, to, y_, &reached, CV_ONE_STEP);
            if (flag < 0) throw std::runtime_error(words_);
            if (++tried_ > options_.most_steps)
                throw std::runtime_error("more than " + std::to_string(options_.most_steps) +
                                         " steps, at " + std::to_string(t) + " s");
            rows(std::min(reached, to), flag == CV_ROOT_RETURN);
            t = reached;
            // CVODE does not see a guard that was past its band when the step began.
            if (flag == CV_ROOT_RETURN || any_past(t)) restart(t);
        }
    }

    /// Guards past their band flip first: CVODE wants to see them come from below.
    void restart(double t) {
        turn(t);
        long s = 0, r = 0, j = 0;
        CVodeGetNumSteps(memory_, &s);
        CVodeGetNumRhsEvals(memory_, &r);
        CVodeGetNumJacEvals(memory_, &j);
        run_.steps += s, run_.rate_calls += r, run_.jacobians += j;
        check(CVodeReInit(memory_, t, y_), "CVodeReInit");
    }

    bool any_past(double t) {
        std::vector<double> past(static_cast<std::size_t>(plant_->guards()));
        guards(t, y_, past.data(), this);
        return std::any_of(past.begin(), past.end(), [](double g) { return g > 0; });
    }

    void turn(double t) {
        if (!any_past(t)) return;
        for (const int k : plant_->flip(t, state())) {
            const std::string name = plant_->guard_name(k); // "hold_off plate (on)"
            if (recording_)
                run_.turns.push_back({t, name.substr(0, name.rfind(" (")),
                                      plant_->modes()[static_cast<std::size_t>(k)] != 0});
        }
    }

    /// Rows on the grid up to t, from CVODE's own interpolant; at a root the row at t itself.
    void rows(double t, bool root) {
        if (!recording_) return;
        while (options_.sample * static_cast<double>(tick_) <= t) {
            const double at = options_.sample * static_cast<double>(tick_++);
            check(CVodeGetDky(memory_, std::min(at, t), 0, unit_), "CVodeGetDky");
            row(at, N_VGetArrayPointer(unit_));
        }
        if (root && run_.trace.time.back() < t) row(t, state());
    }
    void row(double t, const double* y) {
        model_->channel_values(y, plant_->drive(t), plant_->modes().data(), plant_->located(),
                               plant_->work(), values_.data());
        std::vector<double> chosen;
        for (const long i : recorded_)
            chosen.push_back(values_[static_cast<std::size_t>(i)]);
        run_.trace.row(t, chosen);
    }

    static CvodeIntegration& self(void* data) { return *static_cast<CvodeIntegration*>(data); }
    static int rates(double t, N_Vector y, N_Vector f, void* data) {
        self(data).plant_->rates(t, N_VGetArrayPointer(y), N_VGetArrayPointer(f));
        const double* v = N_VGetArrayPointer(f);
        // A rate that is not finite is a step too long: CVODE may try a shorter one.
        for (int i = 0; i < self(data).plant_->size(); ++i)
            if (!std::isfinite(v[i])) return 1;
        return 0;
    }
    static int jacobian(double t, N_Vector y, N_Vector, SUNMatrix matrix, void* data, N_Vector,
                        N_Vector, N_Vector) {
        CvodeIntegration& run = self(data);
        const solve::Pattern& pattern = run.plant_->pattern();
        run.slopes_.resize(static_cast<std::size_t>(pattern.size));
        if (run.options_.dense) {
            run.entries_.resize(pattern.column.size());
            run.plant_->jacobian(t, N_VGetArrayPointer(y), run.entries_.data(), run.slopes_.data());
            for (int i = 0; i < pattern.size; ++i)
                for (int k = pattern.row_start[i]; k < pattern.row_start[i + 1]; ++k)
                    SM_ELEMENT_D(matrix, i, pattern.column[k]) = run.entries_[k];
            return 0;
        }
        std::copy(pattern.row_start.begin(), pattern.row_start.end(),
                  SUNSparseMatrix_IndexPointers(matrix));
        std::copy(pattern.column.begin(), pattern.column.end(),
                  SUNSparseMatrix_IndexValues(matrix));
        run.plant_->jacobian(t, N_VGetArrayPointer(y), SUNSparseMatrix_Data(matrix),
                             run.slopes_.data());
        return 0;
    }
    static int guards(double t, N_Vector y, double* past, void* data) {
        CvodeIntegration& run = self(data);
        run.slopes_.resize(static_cast<std::size_t>(run.plant_->size()));
        run.plant_->rates(t, N_VGetArrayPointer(y), run.slopes_.data());
        run.plant_->guard_excess(t, N_VGetArrayPointer(y), past);
        for (int k = 0; k < run.plant_->guards(); ++k)
            if (std::isinf(past[k])) past[k] = -1; // not in this mode
        return 0;
    }
    /// One over the error that each state alone may have: as it moves a pressure, a content, a
    /// part. CVODE looks at the root mean square over all states; with the root of their number no
    /// single one may be worse.
    static int weights(N_Vector y, N_Vector w, void* data) {
        Plant& plant = *self(data).plant_;
        double* weight = N_VGetArrayPointer(w);
        plant.error_weights(N_VGetArrayPointer(y), weight);
        for (int i = 0; i < plant.size(); ++i)
            weight[i] = std::sqrt(plant.size()) * std::max(weight[i], 1e-30);
        return 0;
    }
    static void quiet(int code, const char*, const char* function, char* words, void* data) {
        if (code < 0) self(data).words_ = std::string(function) + ": " + words;
    }

    const CvodeOptions& options_;
    const Course course_;
    Hardware hardware_;
    std::shared_ptr<const Model> model_;
    std::unique_ptr<Plant> plant_;
    std::vector<long> recorded_;
    std::vector<double> values_, slopes_, entries_;
    CvodeRun run_;
    SUNContext context_ = nullptr;
    N_Vector y_ = nullptr, unit_ = nullptr;
    SUNMatrix matrix_ = nullptr;
    SUNLinearSolver solver_ = nullptr;
    void* memory_ = nullptr;
    std::string words_;
    std::size_t next_;
    long tick_ = 1, tried_ = 0;
    bool recording_ = false;
};

/// Plays a scenario from its settling to its end. Throws std::runtime_error where CVODE gives up,
/// with its own words.
inline CvodeRun cvode_run(const Scenario& scenario, const CvodeOptions& options) {
    return CvodeIntegration(scenario, options).play();
}

} // namespace pedalbench::oracle
