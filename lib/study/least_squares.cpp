#include "study/least_squares.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Dense>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <unsupported/Eigen/NonLinearOptimization>

namespace pedalbench::study {
namespace {

constexpr double kUnknownYet = std::numeric_limits<double>::quiet_NaN();
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

double two_sided_95(bool errors_known, long freedom) {
    if (errors_known) return boost::math::quantile(boost::math::normal(), 0.975);
    return freedom > 0
               ? boost::math::quantile(boost::math::students_t(static_cast<double>(freedom)), 0.975)
               : std::numeric_limits<double>::infinity();
}

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

FitQuality quality_of(const std::vector<Unknown>& unknowns, const LeastSquares& found,
                      bool errors_known) {
    using Say = Confidence::Say;
    FitQuality out;
    const std::size_t n = unknowns.size();
    out.of.resize(n);
    out.correlation.assign(n, std::vector<double>(n, kUnknownYet));
    std::vector<std::size_t> felt; // by some reading
    for (std::size_t i = 0; i < n; ++i) {
        double square = 0;
        for (const double s : found.slope[i])
            square += s * s;
        // All that is allowed would change the misfit by less than chance does.
        if (std::sqrt(square) * (unknowns[i].high - unknowns[i].low) < 1)
            out.of[i].say = Say::moves_nothing;
        else
            felt.push_back(i);
    }
    out.freedom = static_cast<long>(found.residuals.size()) - static_cast<long>(felt.size());
    out.scatter =
        out.freedom > 0 ? std::sqrt(found.misfit / static_cast<double>(out.freedom)) : kUnknownYet;
    out.likelihood =
        out.freedom > 0
            ? boost::math::cdf(boost::math::complement(
                  boost::math::chi_squared(static_cast<double>(out.freedom)), found.misfit))
            : kUnknownYet;

    if (felt.empty()) return out;

    // In units of scale(), so that a small singular value means the same for springs and areas.
    Eigen::MatrixXd slope(static_cast<long>(found.residuals.size()),
                          static_cast<long>(felt.size()));
    for (std::size_t k = 0; k < felt.size(); ++k)
        for (std::size_t row = 0; row < found.residuals.size(); ++row)
            slope(static_cast<long>(row), static_cast<long>(k)) =
                found.slope[felt[k]][row] * unknowns[felt[k]].scale();
    const Eigen::JacobiSVD<Eigen::MatrixXd> svd(slope, Eigen::ComputeThinV);
    const Eigen::VectorXd s = svd.singularValues();
    // What is below the error of the differences themselves is no slope at all.
    const double least = 1e-6 * s[0];
    const Eigen::VectorXd inverse = s.unaryExpr([&](double v) { return 1 / std::max(v, least); });
    const Eigen::MatrixXd half = svd.matrixV() * inverse.asDiagonal();
    const Eigen::MatrixXd covariance = half * half.transpose();

    const double unit = errors_known ? 1 : out.scatter;
    const double reach = two_sided_95(errors_known, out.freedom);
    for (std::size_t k = 0; k < felt.size(); ++k) {
        const std::size_t i = felt[k];
        const auto kk = static_cast<long>(k);
        Confidence& c = out.of[i];
        const double x = found.x[i];
        c.error = unit * std::sqrt(covariance(kk, kk)) * unknowns[i].scale();
        c.low = std::max(unknowns[i].low, x - reach * c.error);
        c.high = std::min(unknowns[i].high, x + reach * c.error);
        const double width = reach * c.error;
        if (!(width < std::abs(x)) || 2 * width >= unknowns[i].high - unknowns[i].low)
            c.say = Say::anything;
        if (x <= unknowns[i].low || x >= unknowns[i].high) c.say = Say::at_bound;
        for (std::size_t l = 0; l < felt.size(); ++l) {
            const auto ll = static_cast<long>(l);
            out.correlation[i][felt[l]] =
                covariance(kk, ll) / std::sqrt(covariance(kk, kk) * covariance(ll, ll));
        }
    }
    return out;
}

} // namespace pedalbench::study
