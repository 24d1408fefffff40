// What every part owes to the circuit, whatever its law: one suite over all kinds in the registry.
// A new part is in it as soon as it is registered and has a variant in samples.hpp.
#include <set>

#include "differences.hpp"
#include "samples.hpp"

#include "unit/compare.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

constexpr unsigned kSeed = 20240611;
constexpr double kEps = std::numeric_limits<double>::epsilon();

using Vector = std::vector<double>;
using Modes = std::vector<char>;

/// The typical size of each local variable: what counts as a large change of it.
Vector typical(const Specimen& s) {
    Vector scale;
    for (const StateInfo& state : s.kind.states)
        scale.push_back(state.dimension == Dimension::flow ? 1e-5 : 1e-3);
    for (int r = 0; r < s.kind.rods; ++r)
        scale.push_back(1e-3);
    scale.push_back(1); // the foot
    for (int port = 0; port < s.ports(); ++port)
        scale.insert(scale.end(), {1e6, 1, 0.1, 100});
    return scale;
}

std::string output_name(const Specimen& s, int row) {
    if (row < s.states()) return "rate of " + std::string(s.kind.states[row].name);
    row -= s.states();
    if (row < s.kind.rods) return "force on the rod";
    row -= s.kind.rods;
    const char* const what[] = {" liquid", " gas", " heat"};
    return std::string(s.kind.ports[row / 3].name) + what[row % 3];
}

/// Sum of |derivative x change| by rows: how much each output moves, and with it how it rounds.
Vector row_sizes(const Specimen& s, const Vector& slope, const Vector& change) {
    const int columns = s.kind.locals();
    Vector size(s.kind.outputs(), 0.0);
    for (std::size_t i = 0; i < size.size(); ++i)
        for (int j = 0; j < columns; ++j)
            size[i] += std::abs(slope[i * columns + j] * change[j]);
    return size;
}

/// Rounding to expect in each output: of its terms and of itself.
Vector rounding(const Specimen& s, const Vector& local, const Vector& out, const Vector& slope) {
    Vector noise = row_sizes(s, slope, local);
    for (std::size_t i = 0; i < noise.size(); ++i)
        noise[i] = 4 * kEps * (noise[i] + std::abs(out[i]));
    return noise;
}

struct Sharpness {
    long sharp = 0, all = 0;
};

/// Compares all derivatives at one point with differences; a difference never steps over a guard.
void check_slopes(const Specimen& s, const Vector& local, const Modes& mode, bool located,
                  Sharpness& sharpness) {
    const Vector scale = typical(s), slope = s.slopes(local, mode, located);
    const Vector out = s.rates(local, mode, located), here = s.guard;
    const Vector noise = rounding(s, local, out, slope), size = row_sizes(s, slope, scale);
    for (int j = 0; j < s.kind.locals(); ++j) {
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

Vector between(const Vector& a, const Vector& b, double t) {
    Vector x(a.size());
    for (std::size_t i = 0; i < x.size(); ++i)
        x[i] = a[i] + t * (b[i] - a[i]);
    return x;
}

double guard_at(const Specimen& s, const Vector& x, const Modes& mode, int k) {
    s.rates(x, mode, false);
    return s.guard[k];
}

/// The last point of the way from a to b, where guard k is at most `level`, and the first behind
/// it.
Edge bracket(const Specimen& s, const Modes& mode, int k, const Vector& a, const Vector& b,
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
std::vector<Edge> edges(const Specimen& s, int k, int wanted, Draw& draw) {
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

double largest_over(const Vector& a, const Vector& b, const Vector& allowed, int& worst) {
    double most = 0;
    worst = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
        const double over = std::abs(a[i] - b[i]) / (allowed[i] + 1e-300);
        if (!(over <= most)) most = over, worst = static_cast<int>(i);
    }
    return most;
}

bool finite(const Vector& values) {
    return std::all_of(values.begin(), values.end(),
                       [](double v) { return std::isfinite(v) && v != Specimen::unwritten; });
}

template <class Visit>
void over_all_variants(Visit visit) {
    for (const Variant& variant : variants()) {
        CAPTURE(variant.kind);
        CAPTURE(variant.name);
        const Specimen s(variant);
        REQUIRE(s.refused.empty());
        Draw draw(kSeed);
        visit(s, draw);
    }
}

} // namespace

TEST_CASE("every registered kind has a variant to be tested in") {
    for (const PartKind* kind : part_kinds()) {
        CAPTURE(kind->name);
        CHECK(std::any_of(variants().begin(), variants().end(),
                          [&](const Variant& v) { return v.kind == kind->name; }));
    }
}

TEST_CASE("the variants of a kind reach both sides of each of its guards") {
    for (const PartKind* kind : part_kinds()) {
        std::vector<char> on(kind->guards.size()), off(kind->guards.size());
        for (const Variant& variant : variants()) {
            if (variant.kind != kind->name) continue;
            const Specimen s(variant);
            Draw draw(kSeed);
            for (int i = 0; i < 3000; ++i) {
                const Vector x = s.local(draw);
                s.rates(x, s.modes(x, draw), false);
                for (int k = 0; k < s.guards(); ++k)
                    (s.guard[k] > 0 ? on : off)[k] = 1;
            }
        }
        for (std::size_t k = 0; k < on.size(); ++k) {
            CAPTURE(kind->name);
            CAPTURE(kind->guards[k].name);
            CHECK(on[k]);
            CHECK(off[k]);
        }
    }
}

TEST_CASE("derivatives agree with differences in every mode") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        Sharpness sharpness;
        for (int i = 0; i < 100; ++i) {
            const Vector x = s.local(draw);
            const Modes mode = s.modes(x, draw);
            check_slopes(s, x, mode, false, sharpness);
            check_slopes(s, x, mode, true, sharpness);
            // A mode that does not belong to the sign: what a stage sees that looks past a guard.
            Modes other = mode;
            if (s.guards() > 0) other[draw.below(s.guards())] ^= 1;
            check_slopes(s, x, other, true, sharpness);
        }
        CHECK(sharpness.sharp >= 0.97 * sharpness.all);
    });
}

TEST_CASE("derivatives agree with differences within the dead band of each guard") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        Sharpness sharpness;
        for (int k = 0; k < s.guards(); ++k) {
            if (s.kind.guards[k].latch) continue;
            const double band = s.kind.guards[k].band;
            for (const Edge& edge : edges(s, k, 4, draw))
                for (const double level : {-0.5 * band, 0.5 * band}) {
                    Modes mode = s.modes(edge.above, draw);
                    const Vector x =
                        bracket(s, mode, k, edge.far_below, edge.far_above, level).above;
                    mode = s.modes(x, draw);
                    for (const char forced : {0, 1}) {
                        mode[k] = forced;
                        check_slopes(s, x, mode, true, sharpness);
                    }
                }
        }
        // Beside a guard the differences have little room.
        CHECK(sharpness.sharp >= 0.8 * sharpness.all);
    });
}

TEST_CASE("what flows into one port comes out of the others") {
    std::set<std::string_view> moved;
    over_all_variants([&moved](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 2000; ++i) {
            const Vector x = s.local(draw);
            const Vector out = s.rates(x, s.modes(x, draw), draw.chance(0.5));
            for (const int gas : {0, 1}) {
                double sum = 0, size = 0;
                for (int port = 0; port < s.ports(); ++port) {
                    const double in = out[s.states() + s.kind.rods + 3 * port + gas];
                    sum += in;
                    size += std::abs(in);
                }
                if (size > 0) moved.insert(s.kind.name);
                CHECK(near(sum, 0, 8 * kEps * size, 0));
            }
        }
    });
    // The sums were not all of nothing: whoever stands in a line, opens to the world or feeds a
    // circuit.
    for (const PartKind* kind : part_kinds()) {
        const bool opens =
            std::any_of(kind->ports.begin(), kind->ports.end(),
                        [](const PortInfo& p) { return p.kind == PortKind::outside; });
        CAPTURE(kind->name);
        if (kind->through || opens || (kind->rods > 0 && !kind->ports.empty()))
            CHECK(moved.count(kind->name) == 1);
    }
}

TEST_CASE("rates are continuous at each guard, and a mode costs no more than its band") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        for (int k = 0; k < s.guards(); ++k) {
            if (s.kind.guards[k].latch) continue;
            CAPTURE(s.kind.guards[k].name);
            const double band = s.kind.guards[k].band;
            for (const Edge& edge : edges(s, k, 25, draw)) {
                Modes mode = s.modes(edge.above, draw);
                // Continuous: both sides of zero, one rounding of the way apart.
                Vector apart(edge.below.size());
                for (std::size_t i = 0; i < apart.size(); ++i)
                    apart[i] = edge.above[i] - edge.below[i];
                const Vector below = s.rates(edge.below, mode, false);
                const Vector above = s.rates(edge.above, mode, false);
                const Vector slope = s.slopes(edge.above, mode, false);
                Vector allowed = row_sizes(s, slope, apart);
                const Vector other_side = row_sizes(s, s.slopes(edge.below, mode, false), apart);
                const Vector noise = rounding(s, edge.above, above, slope);
                for (std::size_t i = 0; i < allowed.size(); ++i)
                    allowed[i] = 2 * (allowed[i] + other_side[i]) + 16 * noise[i];
                int worst = 0;
                CHECK_MESSAGE(largest_over(above, below, allowed, worst) <= 1,
                              output_name(s, worst), " jumps from ", below[worst], " to ",
                              above[worst]);

                // Located: on or off is the same at zero, and nearly the same within the band.
                const auto on_and_off = [&](const Vector& x) {
                    Modes on = mode, off = mode;
                    on[k] = 1, off[k] = 0;
                    return std::pair(s.rates(x, on, true), s.rates(x, off, true));
                };
                const auto [on, off] = on_and_off(edge.above);
                CHECK_MESSAGE(largest_over(on, off, allowed, worst) <= 1, output_name(s, worst),
                              " is ", on[worst], " on and ", off[worst], " off, at zero");
                for (const double side : {-1.0, 1.0}) {
                    if (side * guard_at(s, side > 0 ? edge.far_above : edge.far_below, mode, k) <=
                        band)
                        continue;
                    const auto at = [&](double share) {
                        return bracket(s, mode, k, edge.far_below, edge.far_above,
                                       side * share * band)
                            .above;
                    };
                    const Vector end = at(1);
                    // Difference of the two modes at the edge of the band against its steepest
                    // slope on the way there, as the derivatives state it: a jump on the way is in
                    // no derivative.
                    constexpr int points = 32;
                    Vector steepest(on.size(), 0.0);
                    for (int n = 0; n <= points; ++n) {
                        const Vector x = n == 0 ? edge.above : at(n / double(points));
                        Modes a = mode, b = mode;
                        a[k] = 1, b[k] = 0;
                        const Vector slope_on = s.slopes(x, a, true),
                                     slope_off = s.slopes(x, b, true);
                        for (std::size_t i = 0; i < steepest.size(); ++i) {
                            double along = 0; // over the whole band
                            for (std::size_t j = 0; j < x.size(); ++j)
                                along +=
                                    (slope_on[i * x.size() + j] - slope_off[i * x.size() + j]) *
                                    (end[j] - edge.above[j]);
                            steepest[i] = std::max(steepest[i], std::abs(along));
                        }
                    }
                    const auto [far_on, far_off] = on_and_off(end);
                    for (std::size_t i = 0; i < steepest.size(); ++i) {
                        const double jump = std::abs(far_on[i] - far_off[i]);
                        CHECK_MESSAGE(jump <= 1.1 * steepest[i] + 64 * noise[i] + 4 * allowed[i],
                                      output_name(s, static_cast<int>(i)), " jumps by ", jump,
                                      ", slope x band is ", steepest[i]);
                    }
                }
            }
        }
    });
}

TEST_CASE("laws stay finite in any mode, also in one that does not belong to the state") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        for (int i = 0; i < 3000; ++i) {
            const Vector x = s.local(draw);
            Modes mode = s.modes(x, draw);
            for (char& m : mode)
                m = draw.chance(0.5);
            CHECK(finite(s.rates(x, mode, true)));
            CHECK(finite(s.slopes(x, mode, true)));
            CHECK(finite(s.rates(x, mode, false)));
            Vector quantity(s.kind.quantities.size() + 1, Specimen::unwritten);
            s.part->quantities(x.data(), s.head.data(), Gates(mode.data(), s.guard.data(), true),
                               quantity.data());
            quantity.pop_back();
            CHECK(finite(quantity));
        }
        // At rest exactly: everything zero, and every port alike.
        Vector rest(s.kind.locals(), 0.0);
        s.part->start(rest.data());
        for (int port = 0; port < s.ports(); ++port) {
            rest[s.port_at(port) + 1] = 1;
            rest[s.port_at(port) + 3] = kReferenceTemperature;
        }
        for (const char m : {0, 1}) {
            const Modes mode(s.guards() + 1, m);
            CHECK(finite(s.rates(rest, mode, true)));
            CHECK(finite(s.slopes(rest, mode, true)));
            CHECK(finite(s.slopes(rest, mode, false)));
        }
    });
}

TEST_CASE("swept volumes: slopes against differences, nothing swept where nothing is closed") {
    over_all_variants([](const Specimen& s, Draw& draw) {
        const int n = s.states() + s.kind.rods, ports = s.ports();
        const auto swept = [&](const Vector& x, Vector& slope) {
            Vector volume(ports + 1, Specimen::unwritten);
            slope.assign(ports * n + 1, Specimen::unwritten);
            s.part->swept(x.data(), volume.data(), slope.data());
            volume.resize(ports);
            return volume;
        };
        for (int i = 0; i < 200; ++i) {
            const Vector x = s.local(draw);
            Vector slope, unused;
            const Vector here = swept(x, slope);
            for (int port = 0; port < ports; ++port)
                if (s.kind.ports[port].kind != PortKind::line) CHECK(here[port] == 0);
            Vector noise(ports, 0.0);
            for (int port = 0; port < ports; ++port)
                noise[port] = 4 * kEps * std::abs(here[port]);
            for (int j = 0; j < n; ++j) {
                const auto along = [&](double value) {
                    Vector moved = x;
                    moved[j] = value;
                    return swept(moved, unused);
                };
                const auto d = central_differences(along, x[j], 1e-3, noise);
                for (int port = 0; port < ports; ++port)
                    CHECK(near(d[port].value, slope[port * n + j], 3 * d[port].doubt, 1e-7));
            }
        }
    });
}

TEST_CASE("the walls of every part make a monotone pressure: more content more, more room less") {
    over_all_variants([](const Specimen& s, Draw&) {
        Vector rest(s.states() + s.kind.rods + 1, 0.0), slope(s.ports() * rest.size() + 1);
        Vector volume(s.ports() + 1);
        s.part->start(rest.data());
        s.part->swept(rest.data(), volume.data(), slope.data());
        for (int port = 0; port < s.ports(); ++port) {
            if (s.kind.ports[port].kind != PortKind::line) continue;
            Walls walls;
            walls.add(s.part->wall(port));
            CHECK(walls.slope(-1.01e5) >= 0);
            CHECK(walls.slope(20e6) >= 0);
            const double room = volume[port] + 1e-6; // with a neighbour's dead volume
            double last[3] = {-1e300, -1e300, 1e300};
            // From stretched until it is all vapour to squeezed by 8 %, some 200 MPa.
            for (int i = 0; i <= 58; ++i) {
                const double share = 0.5 + 0.01 * i;
                const auto p = [&](double swept, double liquid, double gas) {
                    return solve_volume(s.around.fluid, walls, swept, liquid, gas, 293.15, 1e-12,
                                        s.around.pressure)
                        .p;
                };
                const double by_liquid = p(room, share * room, 0.01 * room);
                const double by_gas = p(room, 0.9 * room, 0.05 * share * share * room);
                const double by_room = p((0.34 + share) * room, 0.9 * room, 0.002 * room);
                CHECK(by_liquid > last[0]);
                CHECK(by_gas > last[1]);
                CHECK(by_room < last[2]);
                last[0] = by_liquid, last[1] = by_gas, last[2] = by_room;
            }
        }
    });
}

namespace {

/// Finite rates at states near rest, or a refusal in words that names a field of the part.
void refused_or_finite(const PartKind& kind, const std::vector<std::pair<std::string, double>>& set,
                       Draw& draw, long& made, long& refused) {
    const Specimen s(kind, set);
    std::string text;
    for (const auto& [name, value] : set)
        text += name + " = " + std::to_string(value) + ", ";
    CAPTURE(text);
    for (const Refusal& r : s.refused) {
        CHECK_MESSAGE(s.values.find(r.field) < s.values.size(), "no field ", r.field);
        CHECK(r.reason.size() > 20);
    }
    if (!s.refused.empty()) {
        ++refused;
        return;
    }
    ++made;
    for (std::size_t i = 0; i < s.values.size(); ++i)
        CHECK_MESSAGE(std::isfinite(s.values.at(i)), s.values.table()[i].name, " is unset");
    for (int i = 0; i < 20; ++i) {
        const Vector x = s.local(draw);
        const Modes mode = s.modes(x, draw);
        CHECK(finite(s.rates(x, mode, true)));
        CHECK(finite(s.slopes(x, mode, false)));
    }
}

} // namespace

TEST_CASE("every field at either end of its range is refused in words or can be computed") {
    for (const Variant& variant : variants()) {
        const PartKind& kind = *find_kind(variant.kind);
        CAPTURE(kind.name);
        Draw draw(kSeed);
        long made = 0, refused = 0;
        for (const Field& field : kind.fields) {
            CAPTURE(field.name);
            CHECK(field.low < field.high);
            if (field.fallback == field.fallback) {
                CHECK(field.low <= field.fallback);
                CHECK(field.fallback <= field.high);
            }
            if (field.dimension == Dimension::choice) {
                const auto options =
                    1 + std::count(field.choices.begin(), field.choices.end(), '|');
                CHECK(field.low == 0);
                CHECK(field.high == static_cast<double>(options - 1));
                CHECK_FALSE(field.choices.empty());
            }
            for (const double end : {field.low, field.high}) {
                auto set = variant.set;
                set.emplace_back(std::string(field.name), end);
                refused_or_finite(kind, set, draw, made, refused);
            }
        }
        CHECK(made > refused); // the ranges are not mere decoration
    }
}

TEST_CASE("many fields at the ends of their ranges at once") {
    for (const Variant& variant : variants()) {
        const PartKind& kind = *find_kind(variant.kind);
        CAPTURE(kind.name);
        Draw draw(kSeed);
        long made = 0, refused = 0;
        for (int i = 0; i < 300; ++i) {
            auto set = variant.set;
            for (const Field& field : kind.fields)
                if (draw.chance(0.3))
                    set.emplace_back(std::string(field.name),
                                     draw.chance(0.5) ? field.low : field.high);
            refused_or_finite(kind, set, draw, made, refused);
        }
        CHECK(made > 0);
    }
}
