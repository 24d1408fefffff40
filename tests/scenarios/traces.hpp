// Which scenarios there are, and how far apart two runs of one are.
#pragma once

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "places.hpp"
#include "scenarios/scenario.hpp"

namespace pedalbench::test {

/// "lessons/ordinary_stop" and so on, by name, as load() takes them.
inline std::vector<std::string> scenario_names(const std::vector<std::string>& folders) {
    namespace fs = std::filesystem;
    std::vector<std::string> names;
    for (const std::string& folder : folders)
        for (const auto& entry :
             fs::directory_iterator(fs::path(source_folder()) / "scenarios" / folder))
            if (entry.path().extension() == ".yaml")
                names.push_back(folder + "/" + entry.path().stem().string());
    REQUIRE(names.size() >= 10);
    std::sort(names.begin(), names.end());
    return names;
}

/// The scenario with all channels recorded whose path ends with one of `tails`.
inline Scenario watched(Scenario s, const std::vector<std::string>& tails) {
    s.record.clear();
    for (const Channel& c : channels_of(s))
        if (std::any_of(tails.begin(), tails.end(),
                        [&c](const std::string& tail) { return c.path.ends_with(tail); }))
            s.record.push_back(c.path);
    return s;
}

/// Largest differences of two traces at whole milliseconds.
struct Apart {
    double pressure = 0, most = 0; // Pa; most: not exceeded in 99 % of the samples
    double position = 0;           // of what is no pressure
    std::string where;             // of the pressure
    double when = 0;
};

inline Apart apart(const Trace& a, const Trace& b, double duration) {
    Apart d;
    std::vector<double> all;
    std::vector<std::size_t> column;
    for (const Channel& c : a.channels)
        column.push_back(b.index(c.path));
    std::size_t i = 0, j = 0;
    const auto value = [](const Trace& trace, std::size_t k, std::size_t c, double t) {
        if (k == 0) return trace.rows[0][c];
        const double share = (t - trace.time[k - 1]) / (trace.time[k] - trace.time[k - 1]);
        return trace.rows[k - 1][c] + share * (trace.rows[k][c] - trace.rows[k - 1][c]);
    };
    for (long n = 0; n <= std::lround(duration * 1e3); ++n) {
        const double t = static_cast<double>(n) * 1e-3;
        while (i + 1 < a.time.size() && a.time[i] < t)
            ++i;
        while (j + 1 < b.time.size() && b.time[j] < t)
            ++j;
        for (std::size_t c = 0; c < a.channels.size(); ++c) {
            const double e = std::abs(value(a, i, c, t) - value(b, j, column[c], t));
            if (a.channels[c].dimension != Dimension::pressure) {
                d.position = std::max(d.position, e);
                continue;
            }
            all.push_back(e);
            if (e > d.pressure) {
                d.pressure = e;
                d.where = a.channels[c].path;
                d.when = t;
            }
        }
    }
    const auto nth =
        all.begin() + static_cast<std::ptrdiff_t>(0.99 * static_cast<double>(all.size()));
    std::nth_element(all.begin(), nth, all.end());
    d.most = *nth;
    return d;
}

} // namespace pedalbench::test
