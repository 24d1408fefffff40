#include "study/evaluation.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace pedalbench::study {
namespace {

constexpr double kRoundOff = 1e-9;

bool has_per_cent(Dimension d) {
    return d != Dimension::choice && d != Dimension::temperature;
}

} // namespace

double Alone::swing() const {
    return std::abs(high - low);
}

bool AnswerResult::moves() const {
    return tally.count() > 0 &&
           tally.most() - tally.least() >
               kRoundOff * std::max(std::abs(tally.most()), std::abs(tally.least()));
}

const char* name_of(PointSet::Kind kind) {
    switch (kind) {
    case PointSet::Kind::grid:
        return "grid";
    case PointSet::Kind::random:
        return "random";
    case PointSet::Kind::latin_hypercube:
        return "latin_hypercube";
    case PointSet::Kind::sobol:
        return "sobol";
    case PointSet::Kind::indices:
        return "indices";
    }
    return "";
}

Evaluation::Evaluation(const Sweep& sweep, const std::vector<Limits>& limits)
    : sweep_(sweep), directions_(sweep.varied.size()), first_point_(1 + 2 * sweep.varied.size()),
      block_(sweep.answers.size(), std::vector<double>(directions_ + 2, kUnset)) {
    for (std::size_t a = 0; a < sweep.answers.size(); ++a) {
        results_.push_back({kUnset,
                            Tally(limits[a].first, limits[a].second),
                            std::vector<Alone>(directions_),
                            std::nullopt,
                            {}});
        if (sweep.points.kind == PointSet::Kind::indices) sums_.emplace_back(directions_);
    }
}

bool Evaluation::counts(std::size_t number) const {
    return number >= first_point_ && (sweep_.points.kind != PointSet::Kind::indices ||
                                      member_of(number - first_point_, directions_).member < 2);
}

void Evaluation::row(std::size_t number, Outcome::End end, std::span<const double> inputs,
                     std::span<const double> answers, const std::string& remark) {
    ++rows_;
    complete_ += end == Outcome::End::complete;
    refused_ += end == Outcome::End::refused;
    failed_ += end == Outcome::End::failed;
    points_lost_ += end != Outcome::End::complete && counts(number);
    if (end != Outcome::End::complete && reason_.empty()) reason_ = remark, first_lost_ = number;
    if (number == 0) inputs_.assign(inputs.begin(), inputs.end());
    for (std::size_t a = 0; a < results_.size(); ++a) {
        AnswerResult& r = results_[a];
        const double value = end == Outcome::End::complete ? answers[a] : kUnset;
        if (number == 0) {
            r.as_it_is = value;
        } else if (number < first_point_) {
            const std::size_t d = (number - 1) / 2;
            Alone& alone = r.alone[d];
            const bool low = (number - 1) % 2 == 0;
            (low ? alone.input_low : alone.input_high) = inputs[d];
            (low ? alone.low : alone.high) = value;
        } else if (counts(number) && end == Outcome::End::complete) {
            r.tally.add(value);
        }
        if (number < first_point_ || sums_.empty()) continue;
        const std::size_t member = member_of(number - first_point_, directions_).member;
        std::vector<double>& block = block_[a];
        block[member] = value;
        if (member + 1 == block.size())
            sums_[a].add(block[0], block[1], std::span(block).subspan(2));
    }
}

std::vector<AnswerResult> Evaluation::finish() {
    for (std::size_t a = 0; a < results_.size(); ++a) {
        AnswerResult& r = results_[a];
        for (std::size_t d = 0; d < directions_; ++d) {
            Alone& alone = r.alone[d];
            const double moved = (alone.high - alone.low) / r.as_it_is,
                         turned = (alone.input_high - alone.input_low) / inputs_[d];
            if (has_per_cent(sweep_.varied[d].dimension) &&
                has_per_cent(sweep_.answers[a].dimension) && std::isfinite(moved / turned))
                alone.per_cent = moved / turned;
        }
        if (!sums_.empty() && r.moves()) r.indices = sums_[a].indices();
        r.order.resize(directions_);
        std::iota(r.order.begin(), r.order.end(), 0U);
        const auto strength = [&r](std::size_t d) {
            const double x = r.indices ? r.indices->total[d].value : r.alone[d].swing();
            return std::isfinite(x) ? x : -1;
        };
        std::stable_sort(r.order.begin(), r.order.end(),
                         [&](std::size_t i, std::size_t j) { return strength(i) > strength(j); });
    }
    return results_;
}

} // namespace pedalbench::study
