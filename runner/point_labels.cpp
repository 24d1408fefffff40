#include "point_labels.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace pedalbench::runner {

namespace {

constexpr int kLetter = 10, kMargin = 4; // pixels: a figure of a label, and the air on each side
constexpr double kMarker = 6;            // radius of a point or of the head of an arrow
constexpr int kDirections = 16;
constexpr std::array<double, 7> kGaps = {3,  9,  18, 30,
                                         44, 66, 92}; // pixels between a point and its text

// What a place costs. A text on a text cannot be read at all, one on a curve can, but hides it.
constexpr double kOnText = 1e4, kOnPoint = 300, kOnArrow = 60, kOfAnother = 60, kOnCurve = 4;
constexpr double kPerPixel = 1; // of gap

struct Spot {
    double x, y; // pixels from the panel's upper left corner
};

struct Box {
    Spot middle;
    double half_width, half_height;

    /// Whether a disc of that radius touches it.
    bool touches(Spot p, double radius) const {
        const double dx = std::max(0.0, std::abs(p.x - middle.x) - half_width);
        const double dy = std::max(0.0, std::abs(p.y - middle.y) - half_height);
        return std::hypot(dx, dy) < radius;
    }
    bool touches(const Box& other) const {
        return std::abs(middle.x - other.middle.x) < half_width + other.half_width &&
               std::abs(middle.y - other.middle.y) < half_height + other.half_height;
    }
};

class Placer {
  public:
    Placer(const Panel& panel, const std::vector<Trail>& trails) : panel_(panel) {
        for (const Point& point : panel.points)
            points_.push_back(spot(point.x, point.y));
        for (const Arrow& arrow : panel.arrows)
            heads_.push_back(spot(arrow.x2, arrow.y2));
        for (const auto& [x, y] : trails)
            for (std::size_t i = 0; i < x->size(); ++i)
                follow(spot((*x)[i], (*y)[i]), i == 0);
    }

    void place(Point& point, Spot at) {
        const double half_width = label_half_width(point.text);
        double least = 1e300;
        Box best{};
        for (const double gap : kGaps)
            for (int k = 0; k < kDirections; ++k) {
                // First to the upper left, where a loop that runs clockwise leaves room.
                const double turn = 2 * std::numbers::pi * (k + 6) / kDirections;
                const Spot way{std::cos(turn), -std::sin(turn)};
                // As far out as the box needs in that direction.
                const double out = kMarker + gap +
                                   std::min(half_width / std::max(1e-9, std::abs(way.x)),
                                            kLabelHalfHeight / std::max(1e-9, std::abs(way.y)));
                const Box box{
                    {at.x + out * way.x, at.y + out * way.y}, half_width, kLabelHalfHeight};
                const double found = cost(box, at) + kPerPixel * gap;
                if (found < least - 1e-9) {
                    least = found;
                    best = box;
                }
            }
        point.dx = best.middle.x - at.x;
        point.dy = best.middle.y - at.y;
        texts_.push_back(best);
    }

    Spot spot(double x, double y) const {
        return {(x - panel_.x.low) / (panel_.x.high - panel_.x.low) * kPanelWidth,
                (panel_.y.high - y) / (panel_.y.high - panel_.y.low) * panel_.height};
    }

  private:
    /// Goes along a curve in steps of some pixels.
    void follow(Spot to, bool first) {
        constexpr double kStep = 3;
        if (!std::isfinite(to.x) || !std::isfinite(to.y)) return;
        if (first || curve_.empty()) {
            curve_.push_back(to);
            return;
        }
        const Spot from = curve_.back();
        const double length = std::hypot(to.x - from.x, to.y - from.y);
        for (double gone = kStep; gone <= length; gone += kStep)
            curve_.push_back({from.x + gone / length * (to.x - from.x),
                              from.y + gone / length * (to.y - from.y)});
    }

    double cost(const Box& box, Spot own) const {
        if (box.middle.x < box.half_width || box.middle.x > kPanelWidth - box.half_width ||
            box.middle.y < box.half_height || box.middle.y > panel_.height - box.half_height)
            return 1e9;
        double sum = 0;
        for (const Box& text : texts_)
            if (box.touches(text)) sum += kOnText;
        const double near = std::hypot(box.middle.x - own.x, box.middle.y - own.y);
        bool of_another = false;
        for (const Spot& point : points_) {
            if (box.touches(point, kMarker)) sum += kOnPoint;
            of_another |= std::hypot(box.middle.x - point.x, box.middle.y - point.y) < near - 1;
        }
        if (of_another) sum += kOfAnother;
        for (const Spot& head : heads_)
            if (box.touches(head, kMarker)) sum += kOnArrow;
        for (const Spot& spot : curve_)
            if (box.touches(spot, 1)) sum += kOnCurve;
        return sum;
    }

    const Panel& panel_;
    std::vector<Spot> points_, heads_, curve_;
    std::vector<Box> texts_;
};

} // namespace

int label_half_width(const std::string& text) {
    return static_cast<int>(text.size()) * kLetter / 2 + kMargin;
}

void place_labels(Panel& panel, const std::vector<Trail>& trails) {
    Placer placer(panel, trails);
    for (Point& point : panel.points)
        if (!point.text.empty()) placer.place(point, placer.spot(point.x, point.y));
}

} // namespace pedalbench::runner
