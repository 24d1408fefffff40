#include "study/least_squares.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <Eigen/Dense>
#include <unsupported/Eigen/NonLinearOptimization>

namespace pedalbench::study {
namespace {

constexpr double kDifference = 0.01; // of scale(): runs are exact to far less than that
constexpr int kMostSteps = 60;
constexpr int kMostTurns = 6;
// What a run answers is exact to a few hundredths of a standard error; no use in going on below.
constexpr double kLittle = 1e-6;
// Residuals where there is no answer, so that the method turns back.
constexpr double kFar = 1e6;

/// The problem of those that are free, in units of scale(), in the form that Eigen asks for. The
/// others stay where they are.
class Scaled {
  public:
    Scaled(const std::vector<Unknown>& unknowns, const Residuals& residuals, std::size_t values,
           std::vector<double> from, std::vector<std::size_t> free)
        : unknowns_(unknowns), residuals_(residuals), values_(static_cast<int>(values)),
          from_(std::move(from)), free_(std::move(free)) {}

    int inputs() const { return static_cast<int>(free_.size()); }
    int values() const { return values_; }

    Eigen::VectorXd start() const {
        Eigen::VectorXd z(inputs());
        for (std::size_t k = 0; k < free_.size(); ++k)
            z[static_cast<long>(k)] = from_[free_[k]] / unknowns_[free_[k]].scale();
        return z;
    }

    std::vector<double> x_of(const Eigen::VectorXd& z) const {
        std::vector<double> x = from_;
        for (std::size_t k = 0; k < free_.size(); ++k) {
            const Unknown& u = unknowns_[free_[k]];
            x[free_[k]] = std::clamp(z[static_cast<long>(k)] * u.scale(), u.low, u.high);
        }
        return x;
    }

    int operator()(const Eigen::VectorXd& z, Eigen::VectorXd& f) const {
        const std::vector<double> r = residuals_({x_of(z)}).front();
        f = r.empty() ? Eigen::VectorXd::Constant(values_, kFar)
                      : Eigen::VectorXd(Eigen::Map<const Eigen::VectorXd>(r.data(), values_));
        return 0;
    }

    /// Central differences; at a bound, and where one side has no answer, to the other side alone.
    int df(const Eigen::VectorXd& z, Eigen::MatrixXd& jacobian) const {
        const std::vector<double> middle = x_of(z);
        std::vector<std::vector<double>> points{middle};
        for (const std::size_t i : free_)
            for (const double sign : {-1.0, 1.0}) {
                points.push_back(middle);
                points.back()[i] = std::clamp(middle[i] + sign * kDifference * unknowns_[i].scale(),
                                              unknowns_[i].low, unknowns_[i].high);
            }
        const auto found = residuals_(points);
        for (std::size_t k = 0; k < free_.size(); ++k) {
            std::size_t a = 2 * k + 1, b = 2 * k + 2;
            if (found[a].empty()) a = 0;
            if (found[b].empty()) b = 0;
            const double span =
                (points[b][free_[k]] - points[a][free_[k]]) / unknowns_[free_[k]].scale();
            for (int row = 0; row < values_; ++row) {
                const auto r = static_cast<std::size_t>(row);
                jacobian(row, static_cast<long>(k)) =
                    span > 0 && !found[0].empty() ? (found[b][r] - found[a][r]) / span : 0;
            }
        }
        return 0;
    }

  private:
    const std::vector<Unknown>& unknowns_;
    const Residuals& residuals_;
    int values_;
    std::vector<double> from_;
    std::vector<std::size_t> free_;
};

/// Goes down over those that are free, from out.x.
void descend(const std::vector<Unknown>& unknowns, const Residuals& residuals,
             const std::vector<std::size_t>& free, LeastSquares& out) {
    using namespace Eigen::LevenbergMarquardtSpace;
    Scaled problem(unknowns, residuals, out.residuals.size(), out.x, free);
    Eigen::LevenbergMarquardt<Scaled> method(problem);
    method.parameters.ftol = method.parameters.xtol = kLittle;
    method.parameters.factor = 1; // a first step no longer than the unknowns themselves
    Eigen::VectorXd z = problem.start();
    Status status = method.minimizeInit(z);
    while (status == NotStarted || status == Running) {
        status = method.minimizeOneStep(z);
        if (++out.steps >= kMostSteps && status == Running) break;
    }
    out.x = problem.x_of(z);
    out.end = status == Running || status == TooManyFunctionEvaluation
                  ? LeastSquares::End::stuck
                  : LeastSquares::End::converged;
}

/// Residuals, slopes and misfit at out.x; false where there is no answer.
bool look(const std::vector<Unknown>& unknowns, const Residuals& residuals, LeastSquares& out) {
    out.residuals = residuals({out.x}).front();
    if (out.residuals.empty()) return false;
    std::vector<std::size_t> all(unknowns.size());
    std::iota(all.begin(), all.end(), 0U);
    const Scaled problem(unknowns, residuals, out.residuals.size(), out.x, all);
    Eigen::MatrixXd jacobian(static_cast<long>(out.residuals.size()),
                             static_cast<long>(unknowns.size()));
    problem.df(problem.start(), jacobian);
    out.slope.clear();
    for (std::size_t i = 0; i < unknowns.size(); ++i) {
        const Eigen::VectorXd column = jacobian.col(static_cast<long>(i)) / unknowns[i].scale();
        out.slope.emplace_back(column.begin(), column.end());
    }
    out.misfit = 0;
    for (const double r : out.residuals)
        out.misfit += r * r;
    return true;
}

/// Those that do not stand at a bound with the misfit falling beyond it.
std::vector<std::size_t> not_held(const std::vector<Unknown>& unknowns, const LeastSquares& at) {
    std::vector<std::size_t> free;
    for (std::size_t i = 0; i < unknowns.size(); ++i) {
        double rise = 0; // of half the misfit
        for (std::size_t k = 0; k < at.residuals.size(); ++k)
            rise += at.residuals[k] * at.slope[i][k];
        const bool held =
            (at.x[i] <= unknowns[i].low && rise > 0) || (at.x[i] >= unknowns[i].high && rise < 0);
        if (!held) free.push_back(i);
    }
    return free;
}

} // namespace

double Unknown::scale() const {
    const double range = high - low;
    return start != 0 ? std::min(std::abs(start), range) : range;
}

LeastSquares least_squares(const std::vector<Unknown>& unknowns, const Residuals& residuals) {
    LeastSquares out;
    for (const Unknown& u : unknowns)
        out.x.push_back(u.start);
    out.residuals = residuals({out.x}).front();
    if (out.residuals.size() < unknowns.size())
        return out; // empty, or fewer readings than unknowns

    std::vector<std::size_t> free(unknowns.size());
    std::iota(free.begin(), free.end(), 0U);
    for (int turn = 0; turn < kMostTurns; ++turn) {
        descend(unknowns, residuals, free, out);
        if (!look(unknowns, residuals, out)) {
            out.end = LeastSquares::End::no_answer;
            return out;
        }
        // What stands at its bound is held there while the rest goes on, and let go again where
        // the misfit falls inward: a step that is cut at a bound is no step downhill.
        const std::vector<std::size_t> next = not_held(unknowns, out);
        if (next == free || next.empty()) break;
        free = next;
    }
    return out;
}

} // namespace pedalbench::study
