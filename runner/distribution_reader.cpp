// How one varied field is spread: between two ends, about a middle, or over a list.
#include <algorithm>
#include <cmath>

#include "reading.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::Distribution;

// A tolerance is what is let through: that a normal spread reaches it at three deviations is how
// drawings are commonly read.
constexpr double kDeviations = 3;

const char* const kWays = "between, or about with within, or values";

class DistributionReader {
  public:
    DistributionReader(const Source& source, const Field& field, const OutputUnits& units,
                       study::Varied& varied)
        : source_(source), field_(field), units_(units), v_(varied) {}

    void read(const Node& node, MapReader& map) {
        const Node* between = map.find("between");
        const Node* about = map.find("about");
        const Node* within = map.find("within");
        const Node* values = map.find("values");
        const Node* shape = map.find("shape");
        const Node* deviation = map.find("deviation");
        const int ways = (between != nullptr) + (within != nullptr) + (values != nullptr);
        if (ways != 1) {
            source_.findings.add(source_.at(node), v_.path,
                                 ways == 0 ? "no values" : "values given twice", kWays);
            return;
        }
        if (values) {
            for (const Node* other : {about, shape, deviation})
                if (other)
                    source_.findings.add(source_.at(*other), v_.path, "more than values",
                                         "values alone; each comes as often");
            return read_values(*values);
        }
        if (field_.dimension == Dimension::choice) {
            source_.findings.add(source_.at(node), v_.path, "a range of a choice",
                                 "values: [...] of " + allowed_text(field_));
            return;
        }
        Distribution& d = v_.distribution;
        d.middle = v_.nominal;
        if (about)
            if (const auto x = read_value(*about, field_, source_, v_.path + ".about"))
                d.middle = *x;
        if (between) read_between(*between);
        if (within) read_within(*within);
        read_shape(shape, deviation, between, about);
    }

  private:
    void read_values(const Node& node) {
        const std::string as = v_.path + ".values";
        v_.distribution.kind = Distribution::Kind::values;
        if (node.kind != Node::Kind::list || node.items.empty()) {
            source_.findings.add(source_.at(node), as, describe(node),
                                 "a list of one value or more");
            return;
        }
        for (const Node& item : node.items)
            if (const auto x = read_value(item, field_, source_, as))
                v_.distribution.values.push_back(*x);
    }

    void read_between(const Node& node) {
        const std::string as = v_.path + ".between";
        Distribution& d = v_.distribution;
        if (node.kind != Node::Kind::list || node.items.size() != 2) {
            source_.findings.add(source_.at(node), as, describe(node), "a list of two values");
            return;
        }
        const auto low = read_value(node.items[0], field_, source_, as);
        const auto high = read_value(node.items[1], field_, source_, as);
        if (!low || !high) return;
        if (*low >= *high)
            source_.findings.add(source_.at(node), as, "a lower end not below the upper one",
                                 "two rising values");
        d.low = *low;
        d.high = *high;
    }

    /// A share of the middle, or a quantity; never below zero.
    std::optional<double> read_room(const Node& node, double middle, const std::string& as) {
        const auto text = read_text(node, source_, as, "a share such as 3 %, or a quantity");
        if (!text) return {};
        const bool share = trim(text->text).ends_with('%');
        const Dimension dimension = share ? Dimension::number : field_.dimension;
        const Quantity q = read_quantity(text->text, dimension);
        // Ten per cent of 20 C, or 5 C more: both depend on where the zero of Celsius lies.
        const bool zero = field_.dimension == Dimension::temperature &&
                          (share || (q.unit && q.unit->offset != 0));
        if (zero) {
            source_.findings.add(text->at, as, trim(text->text), "kelvins");
            return {};
        }
        const auto room =
            read_value(*text, limits("within", dimension, 0, 0), as, source_.findings);
        if (!room) return {};
        if (!(*room > 0)) {
            source_.findings.add(text->at, as, trim(text->text), "more than zero");
            return {};
        }
        return share ? *room * std::abs(middle) : *room;
    }

    void read_within(const Node& node) {
        Distribution& d = v_.distribution;
        const std::string as = v_.path + ".within";
        const auto room = read_room(node, d.middle, as);
        if (!room) return;
        d.low = d.middle - *room;
        d.high = d.middle + *room;
        if (*room == 0) {
            source_.findings.add(source_.at(node), as, "a share of nothing", "a quantity");
            return;
        }
        const double slack = 1e-12 * std::max(std::abs(field_.low), std::abs(field_.high));
        if (field_.low < field_.high &&
            (d.low < field_.low - slack || d.high > field_.high + slack)) {
            source_.findings.add(source_.at(node), as,
                                 field_text(field_, d.low, units_) + " to " +
                                     field_text(field_, d.high, units_),
                                 allowed_text(field_, &units_.of(field_.dimension)));
        }
    }

    void read_shape(const Node* shape, const Node* deviation, const Node* between,
                    const Node* about) {
        Distribution& d = v_.distribution;
        std::size_t kind = 0;
        if (shape)
            if (const auto text = read_text(*shape, source_, v_.path + ".shape", "a word"))
                kind = read_word(*text, {"even", "normal", "triangular"}, v_.path + ".shape",
                                 source_.findings)
                           .value_or(0);
        constexpr Distribution::Kind kKinds[] = {Distribution::Kind::uniform,
                                                 Distribution::Kind::normal,
                                                 Distribution::Kind::triangular};
        d.kind = kKinds[kind];
        d.deviation = (d.high - d.low) / (2 * kDeviations);
        if (deviation && kind != 1)
            source_.findings.add(source_.at(*deviation), v_.path, "deviation without shape: normal",
                                 "both");
        else if (deviation)
            if (const auto x = read_room(*deviation, d.middle, v_.path + ".deviation"))
                d.deviation = *x;
        if (between && about && kind == 0)
            source_.findings.add(source_.at(*about), v_.path,
                                 "about beside between, where all values come as often",
                                 "shape: normal or triangular with it");
        // The car as it is may lie outside of what is to be looked at.
        if (between && !about && !(d.middle > d.low && d.middle < d.high))
            d.middle = 0.5 * (d.low + d.high);
        if (between && d.low < d.high && (d.middle < d.low || d.middle > d.high))
            source_.findings.add(source_.at(*about), v_.path, "a middle outside the ends",
                                 "about between them");
    }

    const Source& source_;
    const Field& field_;
    const OutputUnits& units_;
    study::Varied& v_;
};

} // namespace

void read_distribution(MapReader& map, const Node& node, const Field& field,
                       const OutputUnits& units, study::Varied& varied) {
    DistributionReader(map.source(), field, units, varied).read(node, map);
}

} // namespace pedalbench::runner
