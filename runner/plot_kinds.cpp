#include "plot_kinds.hpp"

#include <algorithm>

#include "plot_tools.hpp"
#include "units.hpp"

namespace pedalbench::runner {

namespace {

constexpr double kSeen = 0.2; // of a panel: what moves by less shows little of how it moves

/// What a panel spans at least [SI]: less is told by no gauge or ruler.
constexpr std::pair<Dimension, double> kLeast[] = {
    {Dimension::length, 5e-5},  {Dimension::volume, 5e-8}, {Dimension::force, 1},
    {Dimension::pressure, 2e3}, {Dimension::flow, 2e-8},
};

struct Row {
    Dimension dimension;
    const char* ending; // of the path
    Kind kind;
};

/// The first row that fits.
const std::vector<Row>& rows() {
    using enum Dimension;
    static const std::vector<Row> table = {
        {force, "pedal.force", {"pedal_over_time", "pedal force"}},
        {length, "pedal.travel", {"pedal_over_time", "pedal travel"}},
        {pressure, ".pressure", {"pressures", "pressure"}},
        {pressure, "", {"pressures", "difference"}},
        {force, "", {"forces", "force"}},
        {torque, "", {"wheels", "brake torque"}},
        {length, "clearance", {"wheels", "clearance"}},
        {length, "distance", {"road", "distance"}}, // a length of another size
        {length, "", {"travels", "travel"}},
        {volume, "air", {"fluid_and_air", "air at 1 atm"}},
        {volume, "air_back", {"fluid_and_air", "air at 1 atm"}},
        {volume, "", {"fluid_and_air", "fluid"}},
        {flow, "air", {"fluid_and_air", "flow of air"}},
        {flow, "", {"fluid_and_air", "flow"}},
        {velocity, "", {"road", "speed"}},
        {rotation, "", {"road", "wheel speed"}},
        {acceleration, "", {"road", "deceleration"}},
        {number, "adhesion", {"road", "adhesion"}},
        {temperature, "", {"warmth", "temperature"}},
        {power, "", {"warmth", "heat flow"}},
    };
    return table;
}

/// How much of its own a channel shows, or 0 where it stands still.
double span(const TraceColumn& c) {
    const double size = std::max(std::abs(c.low), std::abs(c.high));
    return c.high - c.low > 1e-3 * size ? c.high - c.low : 0;
}

struct Range {
    double low, high;
};

/// What an axis must hold: zero too, unless it is far off.
Range range(double low, double high, double least = 0) {
    const double still = 0.02 * std::max(std::abs(low), std::abs(high));
    const double wide = std::max({high - low, still, least});
    if (low > wide || high < -wide)
        return {(low + high) / 2 - wide / 2, (low + high) / 2 + wide / 2};
    low = std::min(low, 0.0);
    high = std::max(high, 0.0);
    const double more = std::max(0.0, least - (high - low)) / 2;
    return {low - more, high + more};
}

} // namespace

Kind kind_of(const TraceColumn& column) {
    const bool bare = column.unit.empty() || column.unit == "1";
    const Unit* unit = bare ? find_unit("") : find_unit(column.unit);
    if (unit)
        for (const Row& row : rows())
            if (row.dimension == unit->dimension && column.path.ends_with(row.ending))
                return row.kind;
    return {bare ? "contacts_and_lamps" : "others", spaced(quantity(column.path))};
}

bool is_on_off(const TraceColumn& column) {
    return kind_of(column).picture == "contacts_and_lamps" &&
           std::all_of(column.value.begin(), column.value.end(),
                       [](double x) { return x == 0 || x == 1; });
}

std::vector<std::string> state_words(const std::string& path) {
    if (path.ends_with("contact")) return {"open", "closed"};
    if (path.ends_with("lit") || path.ends_with("lamps")) return {"dark", "lit"};
    return {"off", "on"};
}

Axis strip_axis(const std::string& path) {
    Axis axis{"", -0.2, 1.2};
    axis.words = state_words(path);
    return axis;
}

double least_span(const TraceColumn& column) {
    const Unit* unit = find_unit(column.unit);
    if (!unit) return 0;
    for (const auto& [dimension, least] : kLeast)
        if (dimension == unit->dimension) return unit->from_si(least) - unit->from_si(0);
    return 0;
}

Axis close_axis(const std::string& label, double low, double high, double least) {
    const Range r = range(low, high, least);
    if (r.low <= 0 && r.high >= 0) return axis(label, r.low, r.high);
    const double air = 0.1 * (r.high - r.low);
    return {label, r.low - air, r.high + air};
}

std::vector<std::vector<const TraceColumn*>>
shared_panels(const std::vector<const TraceColumn*>& columns) {
    std::vector<const TraceColumn*> order = columns;
    std::stable_sort(order.begin(), order.end(), [](const TraceColumn* a, const TraceColumn* b) {
        return span(*a) > span(*b);
    });
    std::vector<std::vector<const TraceColumn*>> panels;
    for (const TraceColumn* column : order) {
        const auto fits = [column](const std::vector<const TraceColumn*>& panel) {
            double low = column->low, high = column->high, least = span(*column);
            for (const TraceColumn* c : panel) {
                low = std::min(low, c->low);
                high = std::max(high, c->high);
                if (least == 0 || (span(*c) > 0 && span(*c) < least)) least = span(*c);
            }
            const Range whole = range(low, high);
            return least == 0 || least >= kSeen * (whole.high - whole.low);
        };
        const auto panel = std::find_if(panels.begin(), panels.end(), fits);
        if (panel == panels.end())
            panels.push_back({column});
        else
            panel->push_back(column);
    }
    return panels;
}

} // namespace pedalbench::runner
