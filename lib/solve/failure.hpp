// How a run can fail inside the solver.
#pragma once

#include <stdexcept>
#include <string>
#include <vector>

namespace pedalbench::solve {

/// A run that cannot go on. what() names time, step, cause and the worst states or guards in the
/// problem's own words; the members give the same to a program.
struct Failure : std::runtime_error {
    enum class Kind {
        no_progress,  ///< the step fell below what time can resolve
        rejections,   ///< too many refused steps in a row
        non_finite,   ///< a rate, a derivative or a state is NaN or infinite
        singular,     ///< I/(h gamma) - J has no inverse at several step sizes in a row
        guard_storm,  ///< one guard flips again and again within the storm window
        event_limit,  ///< more located events than the run allows
        guard_refused ///< a guard is past its band and flip() will not flip it
    };

    Failure(Kind k, double time, double step, std::vector<int> bad_states,
            std::vector<int> bad_guards, const std::string& message)
        : std::runtime_error(message), kind(k), t(time), h(step), states(std::move(bad_states)),
          guards(std::move(bad_guards)) {}

    Kind kind;
    double t;                ///< start of the step that failed [s]
    double h;                ///< its size [s]
    std::vector<int> states; ///< worst first; may be empty
    std::vector<int> guards; ///< may be empty
};

} // namespace pedalbench::solve
