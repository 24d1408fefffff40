#include "plot_tools.hpp"

#include <algorithm>
#include <cmath>
#include <fstream>
#include <stdexcept>

#include "gnuplot.hpp"

namespace pedalbench::runner {

namespace {

void write_script(std::ostream& out, const std::vector<Picture>& list, long stride) {
    out << "# Draws the pictures of this folder from its traces. Change what you like, then type\n"
           "#     gnuplot plots.gp\n"
           "# Colours: Okabe and Ito, \"Color Universal Design\" (2002), for colour-blind "
           "readers.\n";
    if (stride > 1)
        out << "# The trace is long: one row in " << stride << " is drawn. All of them stand in "
            << "trace.csv.\n";
    out << "do for [kind in '" << kKinds << "'] {\n";
    for (const Picture& picture : list)
        write_picture(out, picture, stride);
    out << "\nunset output\n}\n";
}

} // namespace

std::string owner(const std::string& path) {
    return path.substr(0, path.rfind('.'));
}
std::string quantity(const std::string& path) {
    return path.substr(path.rfind('.') + 1);
}

std::string spaced(std::string words) {
    for (char& c : words)
        if (c == '_' || c == '.') c = ' ';
    return words;
}

std::string with_unit(const std::string& words, const std::string& unit) {
    return unit.empty() || unit == "1" ? words : words + " [" + unit + "]";
}

Axis axis(const std::string& label, double low, double high) {
    low = std::min(low, 0.0);
    high = std::max(high, 0.0);
    if (!(high - low > 1e-9)) high = low + 1;
    const double span = high - low;
    return {label, 1.2 * low, high + 0.06 * span};
}

double rounded_up(double value) {
    const double decade = std::pow(10, std::floor(std::log10(value)));
    for (const double step : {1.0, 2.0, 2.5, 4.0, 5.0, 8.0})
        if (value <= step * decade * (1 + 1e-9)) return step * decade;
    return 10 * decade;
}

bool alike(const TraceColumn& a, const TraceColumn& b, double coarse, double low, double fine) {
    for (std::size_t i = 0; i < a.value.size(); ++i) {
        const double difference = std::abs(a.value[i] - b.value[i]);
        if (!(difference <= (std::min(a.value[i], b.value[i]) < low ? fine : coarse))) return false;
    }
    return true;
}

Panel loop_panel(const TraceColumn& x, const TraceColumn& y, const std::string& x_label,
                 const std::string& y_label) {
    Panel panel;
    panel.height = 330;
    panel.x = axis(with_unit(x_label, x.unit), x.low, x.high);
    panel.y = axis(with_unit(y_label, y.unit), y.low, y.high);
    panel.curves = {{x.number, y.number, pen(0)}};
    return panel;
}

std::vector<Arrow> way(const Panel& panel, const std::vector<double>& x,
                       const std::vector<double>& y, const std::string& colour) {
    const double sx = kPanelWidth / (panel.x.high - panel.x.low);
    const double sy = panel.height / (panel.y.high - panel.y.low);
    const auto apart = [&](double x1, double y1, double x2, double y2) {
        return std::hypot((x2 - x1) * sx, (y2 - y1) * sy);
    };
    std::vector<Arrow> arrows;
    double since = 40; // pixels gone since the last arrow
    std::size_t tail = 0;
    for (std::size_t i = 1; i < x.size() && arrows.size() < 12; ++i) {
        since += apart(x[i - 1], y[i - 1], x[i], y[i]);
        while (tail + 1 < i && apart(x[tail + 1], y[tail + 1], x[i], y[i]) >= 14)
            ++tail;
        if (since < 110 || apart(x[tail], y[tail], x[i], y[i]) < 14) continue;
        since = 0;
        const bool near =
            std::any_of(arrows.begin(), arrows.end(),
                        [&](const Arrow& a) { return apart(a.x2, a.y2, x[i], y[i]) < 26; }) ||
            std::any_of(panel.points.begin(), panel.points.end(),
                        [&](const Point& p) { return apart(p.x, p.y, x[i], y[i]) < 22; });
        if (!near) arrows.push_back({x[tail], y[tail], x[i], y[i], colour});
    }
    return arrows;
}

void add_dot(Panel& panel, Point dot) {
    const double sx = kPanelWidth / (panel.x.high - panel.x.low);
    const double sy = panel.height / (panel.y.high - panel.y.low);
    const auto apart = [&](const Point& p) {
        return std::hypot((p.x - dot.x) * sx, (p.y - dot.y) * sy);
    };
    const std::string number = dot.text;
    const auto has_number = [&number](const Point& p) {
        return (", " + p.text + ",").find(" " + number + ",") != std::string::npos;
    };
    const auto same = std::find_if(panel.points.begin(), panel.points.end(), [&](const Point& p) {
        return !p.text.empty() && apart(p) < kDotSize;
    });
    const bool labelled =
        std::any_of(panel.points.begin(), panel.points.end(), [&](const Point& p) {
            return has_number(p) && apart(p) < (p.pen == dot.pen ? kCrowd : kDotSize);
        });
    if (same != panel.points.end() && !labelled) same->text += ", " + number;
    if (same != panel.points.end() && same->pen == dot.pen) return;
    if (same != panel.points.end() || labelled) dot.text.clear();
    panel.points.push_back(std::move(dot));
}

bool is_valve(const std::string& part, const Summary& summary) {
    return std::any_of(summary.events.begin(), summary.events.end(),
                       [&](const Event& e) { return e.part == part; }) ||
           std::any_of(summary.derived.begin(), summary.derived.end(), [&](const Reading& r) {
               return r.name.starts_with(part + ".") &&
                      (r.dimension == Dimension::pressure || r.dimension == Dimension::force);
           });
}

std::string draw(const std::filesystem::path& dir, const std::vector<Picture>& list, long stride) {
    std::ofstream script(dir / "plots.gp", std::ios::binary);
    write_script(script, list, stride);
    script.close();
    if (!script) throw std::runtime_error("plots.gp could not be written");
    return run_gnuplot(dir, "plots.gp");
}

} // namespace pedalbench::runner
