// Part of the conformance suite: every field at the ends of its range.
#include "suite.hpp"

using namespace pedalbench;
using namespace pedalbench::test;

namespace {

/// What the circuit asks of a part before it runs: room for fluid, walls that give way, a start.
void at_rest_has_room(const Specimen& s) {
    const std::size_t positions = s.kind.positions(), ports = s.ports();
    Vector rest(positions + 1, 0.0), volume(ports + 1), slope(ports * positions + 1);
    s.part->start(rest.data());
    CHECK(finite(rest));
    s.part->swept(rest.data(), volume.data(), slope.data());
    CHECK(finite(volume));
    CHECK(finite(slope));
    for (int port = 0; port < s.ports(); ++port) {
        const Wall wall = s.part->wall(port);
        CHECK(volume[port] >= 0);
        CHECK(wall.linear >= 0);
        CHECK(wall.soft >= 0);
        CHECK(wall.half > s.around.pressure); // or its volume has a pole in a vacuum
        CHECK(std::isfinite(wall.linear + wall.soft + wall.half));
        Vector by_state(s.kind.states.size() + 1);
        CHECK(std::isfinite(s.part->tank_pressure(port, rest.data(), by_state.data())));
        CHECK(s.part->pocket(port) >= 0);
        CHECK(s.part->level(port) >= 0);
        const double height = s.part->height(port);
        CHECK((std::isfinite(height) || std::isnan(height))); // unset where the part has none
    }
    for (std::size_t j = 0; j < s.kind.joints.size(); ++j) {
        const double capacity = s.part->capacity(static_cast<int>(j));
        CHECK(std::isfinite(capacity));
        CHECK((s.kind.joints[j].holds ? capacity > 0 : capacity == 0));
    }
}

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
        Vector quantity(kind.quantities.size() + 1, Specimen::unwritten);
        s.part->quantities(x.data(), s.aside.data(), Gates(mode.data(), s.guard.data(), true),
                           quantity.data());
        quantity.pop_back();
        CHECK(finite(quantity));
    }
    at_rest_has_room(s);
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
