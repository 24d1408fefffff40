// The picture of a fit: what was read as dots, the run at the start and as fitted as lines, and
// below how far the fitted one is off, in standard errors.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fit_answers.hpp"
#include "plot_tools.hpp"

namespace pedalbench::runner {

namespace {

constexpr std::size_t kMostColumns = 4; // more make no readable picture
constexpr int kPerColumn = 5;           // of fit.csv

struct Range {
    double low = kUnset, high = kUnset;
    void take(double x) {
        low = std::fmin(low, x);
        high = std::fmax(high, x);
    }
};

} // namespace

std::string draw_fit(const std::filesystem::path& dir, const FitFile& file,
                     const study::FitResult& r) {
    const Pen dots{palette(0), 1.8, "", kRing};
    const Pen before{"#8a8a8a", 1.8, "(10,5)", 0};
    const Pen after{palette(1), 2.4, "", 0};
    const study::Fit& fit = file.fit;
    const std::string along =
        with_unit(file.along, std::string(file.units.of(fit.over.dimension).name));
    Range x;
    for (const double at : fit.at)
        x.take(file.units.number(fit.over.dimension, at));

    Picture picture;
    picture.name = "fit";
    picture.title = file.title;
    picture.subtitle = "measured: " + file.measured;
    picture.key = {{"read", dots}, {"at the start", before}, {"as fitted", after}};
    for (std::size_t c = 0; c < std::min(kMostColumns, fit.columns.size()); ++c) {
        const study::ReadColumn& column = fit.columns[c];
        const Unit& unit = file.units.of(column.channel.dimension);
        const int first = 2 + kPerColumn * static_cast<int>(c);
        Range y;
        double most = 3; // errors
        Panel off;
        for (std::size_t row = 0; row < fit.at.size(); ++row) {
            for (const double si : {column.value[row], r.before[c][row], r.after[c][row]})
                y.take(unit.from_si(si));
            const double miss = (r.after[c][row] - column.value[row]) / column.error[row];
            if (!std::isnan(miss)) most = std::max(most, std::abs(miss));
        }
        Panel panel;
        panel.heading = column.channel.path;
        panel.x = axis("", x.low, x.high);
        panel.y = axis(with_unit(column.text, std::string(unit.name)), y.low, y.high);
        panel.height = 220;
        panel.curves = {{1, first + 2, before, "fit.csv", 1},
                        {1, first + 3, after, "fit.csv", 1},
                        {1, first, dots, "fit.csv", 1}};
        picture.panels.push_back(panel);

        off.heading = "as fitted less read, in standard errors";
        off.x =
            axis(c + 1 == std::min(kMostColumns, fit.columns.size()) ? along : "", x.low, x.high);
        off.y = {"standard errors", -rounded_up(most), rounded_up(most)};
        off.height = 110;
        off.curves = {{1, first + 4, dots, "fit.csv", 1}};
        picture.panels.push_back(off);
    }
    return draw(dir, {picture}, 1);
}

} // namespace pedalbench::runner
