#include "solve/march.hpp"

#include <boost/numeric/odeint/integrate/integrate_adaptive.hpp>
#include <boost/ref.hpp>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace pedalbench::solve {

void march(Problem& problem, std::vector<double>& y, double t0, double t1, Stepper& stepper,
           const Observer& observer) {
    if (!(t1 >= t0)) throw std::invalid_argument("a stretch ends before it starts");
    stepper.restart();
    const auto watch = [&](const std::vector<double>& state, double t) {
        // Odeint adds step to step and may end an ulp short of t1, where the next stretch starts.
        const double ulps = 4 * std::numeric_limits<double>::epsilon() * std::fabs(t1);
        if (observer) observer(state, std::fabs(t1 - t) <= ulps ? t1 : t);
    };
    if (t1 == t0) {
        watch(y, t0);
        return;
    }
    const double wanted = stepper.wanted_step();
    const double first = wanted > 0 ? wanted : stepper.start_step(problem, y, t0, t1 - t0);
    boost::numeric::odeint::integrate_adaptive(boost::ref(stepper), boost::ref(problem), y, t0, t1,
                                               first, watch);
}

} // namespace pedalbench::solve
