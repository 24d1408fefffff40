#include "study/least_squares.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Dense>
#include <unsupported/Eigen/NonLinearOptimization>

namespace pedalbench::study {
namespace {

constexpr double kDifference = 0.01; // of scale(): runs are exact to far less than that
constexpr int kMostSteps = 60;
// What a run answers is exact to a few hundredths of a standard error; no use in going on below.
constexpr double kLittle = 1e-6;
// Residuals where there is no answer, so that the method turns back.
constexpr double kFar = 1e6;

/// The problem in units of scale(), in the form that Eigen asks for.
class Scaled {
  public:
    Scaled(const std::vector<Unknown>& unknowns, const Residuals& residuals, std::size_t values)
        : unknowns_(unknowns), residuals_(residuals), values_(static_cast<int>(values)) {}

    int inputs() const { return static_cast<int>(unknowns_.size()); }
    int values() const { return values_; }

    std::vector<double> x_of(const Eigen::VectorXd& z) const {
        std::vector<double> x;
        for (std::size_t i = 0; i < unknowns_.size(); ++i)
            x.push_back(std::clamp(z[static_cast<long>(i)] * unknowns_[i].scale(), unknowns_[i].low,
                                   unknowns_[i].high));
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
        for (std::size_t i = 0; i < middle.size(); ++i)
            for (const double sign : {-1.0, 1.0}) {
                points.push_back(middle);
                points.back()[i] = std::clamp(middle[i] + sign * kDifference * unknowns_[i].scale(),
                                              unknowns_[i].low, unknowns_[i].high);
            }
        const auto found = residuals_(points);
        for (std::size_t i = 0; i < middle.size(); ++i) {
            std::size_t a = 2 * i + 1, b = 2 * i + 2;
            if (found[a].empty()) a = 0;
            if (found[b].empty()) b = 0;
            const double span = (points[b][i] - points[a][i]) / unknowns_[i].scale();
            for (int k = 0; k < values_; ++k) {
                const auto row = static_cast<std::size_t>(k);
                jacobian(k, static_cast<long>(i)) =
                    span > 0 && !found[0].empty() ? (found[b][row] - found[a][row]) / span : 0;
            }
        }
        return 0;
    }

  private:
    const std::vector<Unknown>& unknowns_;
    const Residuals& residuals_;
    int values_;
};

} // namespace

double Unknown::scale() const {
    const double range = high - low;
    return start != 0 ? std::min(std::abs(start), range) : range;
}

LeastSquares least_squares(const std::vector<Unknown>& unknowns, const Residuals& residuals) {
    LeastSquares out;
    Eigen::VectorXd z(static_cast<long>(unknowns.size()));
    for (std::size_t i = 0; i < unknowns.size(); ++i) {
        out.x.push_back(unknowns[i].start);
        z[static_cast<long>(i)] = unknowns[i].start / unknowns[i].scale();
    }
    out.residuals = residuals({out.x}).front();
    if (out.residuals.size() < unknowns.size())
        return out; // empty, or fewer readings than unknowns

    Scaled problem(unknowns, residuals, out.residuals.size());
    Eigen::LevenbergMarquardt<Scaled> method(problem);
    method.parameters.ftol = method.parameters.xtol = kLittle;
    method.parameters.factor = 1; // a first step no longer than the unknowns themselves
    using namespace Eigen::LevenbergMarquardtSpace;
    Status status = method.minimizeInit(z);
    while (status == NotStarted || status == Running) {
        status = method.minimizeOneStep(z);
        if (++out.steps == kMostSteps && status == Running) break;
    }
    out.x = problem.x_of(z);
    out.residuals = residuals({out.x}).front();
    Eigen::MatrixXd jacobian(static_cast<long>(out.residuals.size()), z.size());
    if (out.residuals.empty()) return out;
    problem.df(z, jacobian);
    for (std::size_t i = 0; i < unknowns.size(); ++i) {
        const Eigen::VectorXd column = jacobian.col(static_cast<long>(i)) / unknowns[i].scale();
        out.slope.emplace_back(column.begin(), column.end());
    }
    for (const double r : out.residuals)
        out.misfit += r * r;
    out.end = status == Running || status == TooManyFunctionEvaluation
                  ? LeastSquares::End::stuck
                  : LeastSquares::End::converged;
    return out;
}

} // namespace pedalbench::study
