// What the files of the conformance suite share: typical sizes, rounding to expect, places at which
// a guard passes zero.
#pragma once

#include "differences.hpp"
#include "samples.hpp"

#include "unit/compare.hpp"

namespace pedalbench::test {

inline constexpr unsigned kSeed = 20240611;
inline constexpr double kEps = std::numeric_limits<double>::epsilon();

using Vector = std::vector<double>;
using Modes = std::vector<char>;

/// The typical size of each local variable: what counts as a large change of it.
inline Vector typical(const Specimen& s) {
    Vector scale;
    for (int i = 0; i < s.kind.positions(); ++i)
        switch (s.kind.dimension(i)) {
        case Dimension::flow:
            scale.push_back(1e-5);
            break;
        case Dimension::temperature:
            scale.push_back(100);
            break;
        case Dimension::rotation:
        case Dimension::velocity:
        case Dimension::angle:
            scale.push_back(10);
            break;
        case Dimension::number:
            scale.push_back(1);
            break;
        default:
            scale.push_back(1e-3);
        }
    scale.push_back(1); // the foot
    for (int port = 0; port < s.ports(); ++port)
        scale.insert(scale.end(), {1e6, 1, 0.1, 100, 0.1});
    return scale;
}

inline std::string output_name(const Specimen& s, int row) {
    if (row < s.states()) return "rate of " + std::string(s.kind.states[row].name);
    row -= s.states();
    if (row < static_cast<int>(s.kind.joints.size()))
        return "to joint " + std::string(s.kind.joints[row].name);
    row -= static_cast<int>(s.kind.joints.size());
    const char* const what[] = {" liquid", " gas", " heat", " air in solution"};
    return std::string(s.kind.ports[row / kPortOutputs].name) + what[row % kPortOutputs];
}

/// Sum of |derivative x change| by rows: how much each output moves, and with it how it rounds.
inline Vector row_sizes(const Specimen& s, const Vector& slope, const Vector& change) {
    const int columns = s.kind.locals();
    Vector size(s.kind.outputs(), 0.0);
    for (std::size_t i = 0; i < size.size(); ++i)
        for (int j = 0; j < columns; ++j)
            size[i] += std::abs(slope[i * columns + j] * change[j]);
    return size;
}

/// Rounding to expect in each output: of its terms and of itself.
inline Vector rounding(const Specimen& s, const Vector& local, const Vector& out,
                       const Vector& slope) {
    Vector noise = row_sizes(s, slope, local);
    for (std::size_t i = 0; i < noise.size(); ++i)
        noise[i] = 4 * kEps * (noise[i] + std::abs(out[i]));
    return noise;
}

struct Sharpness {
    long sharp = 0, all = 0;
};

/// Compares all derivatives at one point with differences; a difference never steps over a guard.
inline void check_slopes(const Specimen& s, const Vector& local, const Modes& mode, bool located,
                         Sharpness& sharpness) {
    const Vector scale = typical(s), slope = s.slopes(local, mode, located);
    const Vector out = s.rates(local, mode, located), here = s.guard;
    const Vector noise = rounding(s, local, out, slope), size = row_sizes(s, slope, scale);
    for (int j = 0; j < s.kind.locals(); ++j) {
        if (s.never_changes(j)) continue;
        const auto along = [&](double x) -> Vector {
            Vector moved = local;
            moved[j] = x;
            Vector f = s.rates(moved, mode, located);
            for (int k = 0; k < s.guards(); ++k)
                if (!s.kind.guards[k].latch && (s.guard[k] > 0) != (here[k] > 0)) return {};
            return f;
        };
        const std::vector<Difference> d = central_differences(along, local[j], scale[j], noise);
        for (int i = 0; i < s.kind.outputs(); ++i) {
            const double exact = slope[i * s.kind.locals() + j];
            ++sharpness.all;
            if (size[i] == 0 && d[i].value == 0) { // a constant moves by nothing, however it rounds
                ++sharpness.sharp;
                continue;
            }
            if (!(d[i].doubt * scale[j] <= 1e-5 * std::abs(exact) * scale[j] + 1e-7 * size[i]))
                continue;
            ++sharpness.sharp;
            const Nearness match = near(d[i].value, exact, 3 * d[i].doubt, 1e-7);
            if (match) continue;
            CHECK_MESSAGE(false, s.kind.name, (located ? " located: " : " continuous: "),
                          output_name(s, i), " by local ", j, ": ", toString(match));
        }
    }
}

/// Two states side by side, guard k just below or at zero in one and above in the other.
struct Edge {
    Vector below, above, far_below, far_above;
};

inline Vector between(const Vector& a, const Vector& b, double t) {
    Vector x(a.size());
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = a[i] + t * (b[i] - a[i]);
    return x;
}

inline double guard_at(const Specimen& s, const Vector& x, const Modes& mode, int k) {
    s.rates(x, mode, false);
    return s.guard[k];
}

/// The last point of the way from a to b, where guard k is at most `level`, and the first behind
/// it.
inline Edge bracket(const Specimen& s, const Modes& mode, int k, const Vector& a, const Vector& b,
                    double level = 0) {
    double low = 0, high = 1;
    for (int i = 0; i < 200; ++i) {
        const double t = 0.5 * (low + high);
        if (t <= low || t >= high) break;
        (guard_at(s, between(a, b, t), mode, k) > level ? high : low) = t;
    }
    return {between(a, b, low), between(a, b, high), a, b};
}

/// Random places at which guard k passes zero. None if the variant has no such place.
inline std::vector<Edge> edges(const Specimen& s, int k, int wanted, Draw& draw) {
    std::vector<Vector> below, above;
    for (int i = 0; i < 4000; ++i) {
        const Vector x = s.local(draw);
        std::vector<Vector>& side = guard_at(s, x, Modes(s.guards() + 1, 0), k) > 0 ? above : below;
        if (side.size() < static_cast<std::size_t>(wanted)) side.push_back(x);
    }
    std::vector<Edge> found;
    for (std::size_t i = 0; i < std::min(below.size(), above.size()); ++i)
        found.push_back(bracket(s, Modes(s.guards() + 1, 0), k, below[i], above[i]));
    return found;
}

inline double largest_over(const Vector& a, const Vector& b, const Vector& allowed, int& worst) {
    double most = 0;
    worst = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const double over = std::abs(a[i] - b[i]) / (allowed[i] + 1e-300);
        if (!(over <= most)) most = over, worst = static_cast<int>(i);
    }
    return most;
}

inline bool finite(const Vector& values) {
    return std::all_of(values.begin(), values.end(),
                       [](double v) { return std::isfinite(v) && v != Specimen::unwritten; });
}

template <class Visit>
inline void over_all_variants(Visit visit) {
    for (const Variant& variant : variants()) {
        CAPTURE(variant.kind);
        CAPTURE(variant.name);
        const Specimen s(variant);
        REQUIRE(s.refused.empty());
        Draw draw(kSeed);
        visit(s, draw);
    }
}

} // namespace pedalbench::test
