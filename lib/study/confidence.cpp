#include "study/confidence.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <Eigen/Dense>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace pedalbench::study {
namespace {

using Say = Confidence::Say;

constexpr double kInfinite = std::numeric_limits<double>::infinity();
constexpr double kUnknownYet = std::numeric_limits<double>::quiet_NaN();
constexpr int kHalvings = 10;     // an edge is found to a thousandth of its range
constexpr int kLongLooks = 4;     // each farther than the last
constexpr int kBetween = 8;       // places between the bounds of what shows no slope
constexpr double kClearly = 0.9;  // of the misfit: another place is better
constexpr double kSpeaks = 0.7;   // of what an end of an interval should cost, as a root
constexpr double kNoSlope = 1e-6; // of the steepest combination
constexpr double kBelieve = 0.5;  // of the slope that a long step must show

double two_sided_95(bool errors_known, long freedom) {
    if (errors_known) return boost::math::quantile(boost::math::normal(), 0.975);
    return freedom > 0
               ? boost::math::quantile(boost::math::students_t(static_cast<double>(freedom)), 0.975)
               : kInfinite;
}

/// From the answer along a combination of unknowns. Where only a product or a ratio acts, it is a
/// straight line in their logarithms, not in themselves: what keeps its sign is moved by factors.
class Line {
  public:
    /// `direction` in units of each unknown.
    Line(const std::vector<Unknown>& unknowns, const std::vector<double>& from,
         std::vector<double> direction)
        : unknowns_(unknowns), from_(from), direction_(std::move(direction)) {}

    std::vector<double> at(double t) const {
        std::vector<double> x = from_;
        for (std::size_t i = 0; i < x.size(); ++i) {
            if (direction_[i] == 0) continue;
            x[i] = by_factor(i) ? from_[i] * std::exp(t * direction_[i] / from_[i])
                                : from_[i] + t * direction_[i];
            x[i] = std::clamp(x[i], unknowns_[i].low, unknowns_[i].high);
        }
        return x;
    }

    /// The least t at which one of them comes to a bound, in the sense of `sign`.
    double length(double sign) const {
        double least = kInfinite;
        for (std::size_t i = 0; i < from_.size(); ++i) {
            const double v = sign * direction_[i];
            if (v == 0) continue;
            const double bound = v > 0 ? unknowns_[i].high : unknowns_[i].low;
            const double t =
                by_factor(i) ? std::log(bound / from_[i]) * from_[i] / v : (bound - from_[i]) / v;
            least = std::min(least, t);
        }
        return std::max(least, 0.0);
    }

  private:
    bool by_factor(std::size_t i) const { return unknowns_[i].low > 0 || unknowns_[i].high < 0; }

    const std::vector<Unknown>& unknowns_;
    const std::vector<double>& from_;
    std::vector<double> direction_;
};

class Judge {
  public:
    Judge(const std::vector<Unknown>& unknowns, const LeastSquares& found, bool errors_known,
          const Residuals& residuals)
        : unknowns_(unknowns), found_(found), errors_known_(errors_known), residuals_(residuals) {}

    FitQuality judge() {
        const std::size_t n = unknowns_.size();
        out_.of.resize(n);
        out_.correlation.assign(n, std::vector<double>(n, kUnknownYet));
        std::vector<std::size_t> felt, flat; // by the slopes
        for (std::size_t i = 0; i < n; ++i) {
            double square = 0;
            for (const double s : found_.slope[i])
                square += s * s;
            // All that is allowed would change the misfit by less than chance does.
            const bool shows = std::sqrt(square) * (unknowns_[i].high - unknowns_[i].low) >= 1;
            (shows ? felt : flat).push_back(i);
        }
        const double misfit = found_.misfit;
        out_.freedom = static_cast<long>(found_.residuals.size()) - static_cast<long>(felt.size());
        const auto freedom = static_cast<double>(out_.freedom);
        out_.scatter = out_.freedom > 0 ? std::sqrt(misfit / freedom) : kUnknownYet;
        out_.likelihood = out_.freedom > 0 ? boost::math::cdf(boost::math::complement(
                                                 boost::math::chi_squared(freedom), misfit))
                                           : kUnknownYet;
        chance_ = errors_known_ ? 1 : out_.scatter;
        reach_ = two_sided_95(errors_known_, out_.freedom);
        const bool judged = errors_known_ || out_.freedom > 0;
        for (const std::size_t i : flat)
            try_bounds(i, judged ? reach_ * chance_ : 1);
        if (judged)
            intervals(felt);
        else
            for (const std::size_t i : felt)
                out_.of[i].say = Say::no_freedom;
        return std::move(out_);
    }

  private:
    std::vector<double> with(std::size_t i, double value) const {
        std::vector<double> x = found_.x;
        x[i] = value;
        return x;
    }

    /// How much the readings say against a place, in standard errors: the root of what the misfit
    /// grows by. The least of several places; infinite where there is no answer.
    double against(const std::vector<std::vector<double>>& places) {
        const auto answers = residuals_(places);
        double least = kInfinite;
        for (std::size_t p = 0; p < places.size(); ++p) {
            if (answers[p].empty()) continue;
            double misfit = 0;
            for (const double r : answers[p])
                misfit += r * r;
            least = std::min(least, std::sqrt(std::max(misfit - found_.misfit, 0.0)));
            if (misfit < kClearly * found_.misfit && misfit < better_) {
                better_ = misfit;
                out_.better = places[p];
            }
        }
        return least;
    }

    /// Whether readings that show no slope feel the unknown far from its best value.
    void try_bounds(std::size_t i, double limit) {
        Confidence& c = out_.of[i];
        c.error = kUnknownYet;
        c.felt = false;
        // What cannot be is no evidence: there the range of what can be ends.
        c.low = answered(i, unknowns_[i].low);
        c.high = answered(i, unknowns_[i].high);
        const bool below = against({with(i, c.low)}) > limit,
                   above = against({with(i, c.high)}) > limit;
        const auto alone = [&](double value) {
            return std::vector<std::vector<double>>{with(i, value)};
        };
        if (below) c.low = edge(alone, found_.x[i], c.low, limit);
        if (above) c.high = edge(alone, found_.x[i], c.high, limit);
        // A valley may lie between: then the search goes on from there.
        for (int k = 1; k < kBetween; ++k)
            against({with(i, unknowns_[i].low +
                                 (unknowns_[i].high - unknowns_[i].low) * k / kBetween)});
        c.low_cut = !below;
        c.high_cut = !above;
        c.say = below && above ? Say::determined
                : below        ? Say::at_least
                : above        ? Say::at_most
                               : Say::moves_nothing;
    }

    /// The farthest value on the way to a bound at which there is an answer.
    double answered(std::size_t i, double bound) const {
        if (!residuals_({with(i, bound)}).front().empty()) return bound;
        double inside = found_.x[i];
        for (int k = 0; k < kHalvings; ++k) {
            const double middle = 0.5 * (inside + bound);
            (residuals_({with(i, middle)}).front().empty() ? bound : inside) = middle;
        }
        return inside;
    }

    /// Between a value that they do not speak against and one that they do; `places` of a value.
    template <class Places>
    double edge(const Places& places, double inside, double outside, double limit) {
        for (int k = 0; k < kHalvings; ++k) {
            const double middle = 0.5 * (inside + outside);
            (against(places(middle)) > limit ? outside : inside) = middle;
        }
        return outside;
    }

    /// Slopes of what is felt in units of scale(), so that a small singular value means the same
    /// for springs and areas: [residual, unknown].
    Eigen::MatrixXd slopes_of(const std::vector<std::size_t>& felt) const {
        Eigen::MatrixXd slopes(static_cast<long>(found_.residuals.size()),
                               static_cast<long>(felt.size()));
        for (std::size_t k = 0; k < felt.size(); ++k)
            for (std::size_t row = 0; row < found_.residuals.size(); ++row)
                slopes(static_cast<long>(row), static_cast<long>(k)) =
                    found_.slope[felt[k]][row] * unknowns_[felt[k]].scale();
        return slopes;
    }

    /// How the residuals change along a line over a step as long as its interval would be if
    /// `slope` were right, to both sides where there is room; per unit of it.
    std::optional<Eigen::VectorXd> far_slope(const Line& line, double slope) const {
        std::vector<double> place{0};
        std::vector<std::vector<double>> points{found_.x};
        for (const double sign : {-1.0, 1.0})
            if (const double t = std::min(reach_ * chance_ / slope, line.length(sign)); t > 0) {
                place.push_back(sign * t);
                points.push_back(line.at(sign * t));
            }
        const auto answers = residuals_(points);
        std::size_t first = 0, last = 0; // of those that have an answer
        for (std::size_t k = 1; k < place.size(); ++k) {
            if (answers[k].empty()) continue;
            if (place[k] < place[first]) first = k;
            if (place[k] > place[last]) last = k;
        }
        if (first == last) return {};
        const auto n = static_cast<long>(found_.residuals.size());
        return (Eigen::Map<const Eigen::VectorXd>(answers[last].data(), n) -
                Eigen::Map<const Eigen::VectorXd>(answers[first].data(), n)) /
               (place[last] - place[first]);
    }

    void intervals(const std::vector<std::size_t>& felt) {
        if (felt.empty()) return;
        const auto unknowns = static_cast<long>(felt.size());
        Eigen::MatrixXd slopes = slopes_of(felt);
        Eigen::JacobiSVD<Eigen::MatrixXd> svd(slopes, Eigen::ComputeThinV);
        // What is below the error of the differences themselves is no slope at all.
        const double least = kNoSlope * svd.singularValues()[0];
        for (int look = 0; look < kLongLooks; ++look) {
            Eigen::MatrixXd along = slopes * svd.matrixV(); // by combination
            for (long m = 0; m < unknowns; ++m) {
                std::vector<double> direction(unknowns_.size(), 0.0);
                for (std::size_t k = 0; k < felt.size(); ++k)
                    direction[felt[k]] =
                        svd.matrixV()(static_cast<long>(k), m) * unknowns_[felt[k]].scale();
                const double slope = std::max(svd.singularValues()[m], least);
                if (const auto far = far_slope(Line(unknowns_, found_.x, direction), slope))
                    along.col(m) = *far;
            }
            const Eigen::MatrixXd seen = along * svd.matrixV().transpose();
            const Eigen::JacobiSVD<Eigen::MatrixXd> again(seen, Eigen::ComputeThinV);
            bool less = false;
            for (long m = 0; m < unknowns; ++m)
                less = less || std::max(again.singularValues()[m], least) <
                                   kBelieve * std::max(svd.singularValues()[m], least);
            if (!less) break;
            slopes = seen;
            svd = again;
        }
        const Eigen::VectorXd s = svd.singularValues().cwiseMax(least);
        const Eigen::MatrixXd half = svd.matrixV() * s.cwiseInverse().asDiagonal();
        const Eigen::MatrixXd covariance = half * half.transpose();
        for (std::size_t k = 0; k < felt.size(); ++k) {
            const std::size_t i = felt[k];
            const auto kk = static_cast<long>(k);
            interval(i, chance_ * std::sqrt(covariance(kk, kk)) * unknowns_[i].scale());
            std::vector<double> with_it(unknowns_.size(), 0.0); // how the others go with it
            for (std::size_t l = 0; l < felt.size(); ++l)
                with_it[felt[l]] = covariance(static_cast<long>(l), kk) / covariance(kk, kk) *
                                   unknowns_[felt[l]].scale() / unknowns_[i].scale();
            try_ends(i, with_it);
            for (std::size_t l = 0; l < felt.size(); ++l) {
                const auto ll = static_cast<long>(l);
                out_.correlation[i][felt[l]] =
                    covariance(kk, ll) / std::sqrt(covariance(kk, kk) * covariance(ll, ll));
            }
        }
    }

    /// By how many standard errors the readings would have it beyond where it stands.
    double push(std::size_t i) const {
        double along = 0, square = 0;
        for (std::size_t k = 0; k < found_.residuals.size(); ++k) {
            along += found_.residuals[k] * found_.slope[i][k];
            square += found_.slope[i][k] * found_.slope[i][k];
        }
        return square > 0 ? std::abs(along) / std::sqrt(square) : 0;
    }

    void interval(std::size_t i, double error) {
        Confidence& c = out_.of[i];
        const Unknown& unknown = unknowns_[i];
        const double x = found_.x[i], width = reach_ * error;
        c.error = error;
        c.low_cut = x - width <= unknown.low;
        c.high_cut = x + width >= unknown.high;
        c.low = std::max(unknown.low, x - width);
        c.high = std::min(unknown.high, x + width);
        // A search comes as near to a bound as it thinks worth while.
        const bool at_low = x - unknown.low < 0.01 * error,
                   at_high = unknown.high - x < 0.01 * error;
        const bool wide = !(width < std::abs(x)); // holds zero and twice the value
        if ((at_low || at_high) && push(i) > reach_ * chance_)
            c.say = Say::at_bound;
        else if (2 * width >= unknown.high - unknown.low)
            c.say = Say::anything;
        else if (at_low || (wide && c.low_cut))
            c.say = Say::at_most;
        else if (at_high || (wide && c.high_cut))
            c.say = Say::at_least;
        else if (wide)
            c.say = Say::anything;
    }

    /// Whether the readings speak against the ends of an interval; else it goes on.
    void try_ends(std::size_t i, const std::vector<double>& with_it) {
        Confidence& c = out_.of[i];
        if (c.say == Say::at_bound || c.say == Say::anything) return;
        const double limit = reach_ * chance_;
        const auto places = [&](double value) {
            std::vector<std::vector<double>> both{with(i, value), found_.x};
            for (std::size_t j = 0; j < found_.x.size(); ++j)
                both[1][j] = std::clamp(found_.x[j] + with_it[j] * (value - found_.x[i]),
                                        unknowns_[j].low, unknowns_[j].high);
            return both;
        };
        const auto end = [&](double& value, bool& cut, double bound) {
            if (cut) return;
            const double speaks = against(places(value));
            if (std::isinf(speaks)) { // as what cannot be is no evidence: the range ends before it
                value = answered(i, value);
                cut = true;
                return;
            }
            if (speaks >= kSpeaks * limit) return;
            bound = answered(i, bound);
            if (against(places(bound)) > limit) {
                value = edge(places, value, bound, limit);
            } else {
                value = bound;
                cut = true;
            }
        };
        const bool had_low = c.low_cut, had_high = c.high_cut;
        end(c.low, c.low_cut, unknowns_[i].low);
        end(c.high, c.high_cut, unknowns_[i].high);
        if (c.low_cut && c.high_cut)
            c.say = Say::anything;
        else if (c.low_cut && !had_low)
            c.say = Say::at_most;
        else if (c.high_cut && !had_high)
            c.say = Say::at_least;
    }

    const std::vector<Unknown>& unknowns_;
    const LeastSquares& found_;
    bool errors_known_;
    const Residuals& residuals_;
    FitQuality out_;
    double chance_ = 1;         // standard error of a residual
    double reach_ = 2;          // standard errors in half an interval
    double better_ = kInfinite; // misfit of out_.better
};

} // namespace

FitQuality quality_of(const std::vector<Unknown>& unknowns, const LeastSquares& found,
                      bool errors_known, const Residuals& residuals) {
    return Judge(unknowns, found, errors_known, residuals).judge();
}

} // namespace pedalbench::study
