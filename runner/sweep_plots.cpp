// Pictures of a study, one per answer: how it spreads, what moves it, and the answer against the
// two fields that move it most.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include "csv_sink.hpp"
#include "gnuplot.hpp"
#include "picture.hpp"
#include "result_folder.hpp"
#include "sweep_answers.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::AnswerResult;

constexpr std::size_t kMostBars = 12;
constexpr std::size_t kMostDots = 6000; // more cannot be told apart
constexpr int kHistogram = 250, kScatter = 260, kBar = 26, kGap = 84, kTop = 92, kNames = 300;
constexpr const char* kGrey = "#6b6b6b";

std::string with_unit(const std::string& name, const Study& study, Dimension d) {
    const std::string unit(study.units.of(d).name);
    return unit.empty() ? name : name + " [" + unit + "]";
}

/// Two times the cube root of the number of values, a rule of thumb of text books.
std::size_t bins_for(std::size_t values) {
    return std::clamp<std::size_t>(
        static_cast<std::size_t>(2 * std::cbrt(static_cast<double>(values)) + 0.5), 6, 60);
}

struct Range {
    double low, high;
};

/// Around all of the numbers, with some air.
Range around(std::initializer_list<double> values) {
    Range r{kUnset, kUnset};
    for (const double v : values) {
        if (!std::isfinite(v)) continue;
        r.low = std::fmin(r.low, v);
        r.high = std::fmax(r.high, v);
    }
    const double span = r.high - r.low;
    const double air = span > 0 ? 0.04 * span : std::max(1e-9, 0.01 * std::abs(r.low));
    return {r.low - air, r.high + air};
}

/// A limit far from every value would squeeze what is to be seen: it is left out of the picture.
bool in_sight(const study::Tally& t, std::optional<double> limit) {
    const double span = t.most() - t.least();
    return limit && *limit > t.least() - 2 * span && *limit < t.most() + 2 * span;
}

Range shown(const AnswerResult& r) {
    const study::Tally& t = r.tally;
    return around({t.least(), t.most(), in_sight(t, t.low()) ? *t.low() : kUnset,
                   in_sight(t, t.high()) ? *t.high() : kUnset, r.as_it_is});
}

class Script {
  public:
    Script(std::ostream& out, const Study& study, const SweepResult& result)
        : out_(out), study_(study), result_(result) {}

    void write() {
        out_ << "# Draws the pictures of this folder from points.csv, histograms.csv and\n"
                "# sensitivity.csv. Change what you like, then type\n"
                "#     gnuplot plots.gp\n"
                "# Colours: Okabe and Ito, \"Color Universal Design\" (2002), for colour-blind "
                "readers.\n"
                "do for [kind in 'svg png'] {\n";
        for (std::size_t a = 0; a < result_.answers.size(); ++a)
            if (result_.answers[a].moves()) picture(a);
        out_ << "\nunset output\n}\n";
    }

  private:
    std::string at(double x, double y) const {
        return fmt::format("screen {:.6f}, screen {:.6f}", x / kPictureWidth, 1 - y / height_);
    }
    void text(double x, double y, const std::string& words, int size, const char* colour) {
        out_ << "set label " << quoted(words) << " at " << at(x, y) << " font '," << size
             << "' tc rgb '" << colour << "'\n";
    }
    void margins(double left, double top, double bottom) {
        out_ << fmt::format("set lmargin at screen {:.6f}; set rmargin at screen {:.6f}\n",
                            left / kPictureWidth, 1 - 24.0 / kPictureWidth)
             << fmt::format("set tmargin at screen {:.6f}; set bmargin at screen {:.6f}\n",
                            1 - top / height_, 1 - bottom / height_);
    }
    void range(const char* axis, Range r) {
        out_ << fmt::format("set {}range [{:.9g}:{:.9g}]\n", axis, r.low, r.high);
    }
    /// A thin upright line through the panel.
    void upright(double x, const std::string& colour, const char* dash) {
        if (std::isfinite(x))
            out_ << fmt::format("set arrow from first {0:.9g}, graph 0 to first {0:.9g}, graph 1 "
                                "nohead front lw 1.8 dt {1} lc rgb '{2}'\n",
                                x, dash, colour);
    }

    void picture(std::size_t a) {
        const AnswerResult& r = result_.answers[a];
        const study::Answer& answer = study_.sweep.answers[a];
        const std::size_t bars = std::min(kMostBars, r.order.size());
        const int tornado = static_cast<int>(bars) * kBar + 10;
        const std::size_t scatters = std::min<std::size_t>(2, r.order.size());
        height_ = kTop + kHistogram + kGap + tornado + kGap +
                  static_cast<int>(scatters) * (kScatter + kGap);
        out_ << "\nreset\n"
             << "if (kind eq 'svg') { set terminal svg size " << kPictureWidth << ',' << height_
             << " dynamic noenhanced font 'sans-serif,11' fontscale 1.25 background '#ffffff' }\n"
             << "if (kind eq 'png') { set terminal pngcairo size " << 2 * kPictureWidth << ','
             << 2 * height_
             << " noenhanced font 'sans-serif,11' fontscale 1.9 linewidth 2 pointscale 2 "
                "background '#ffffff' }\n"
             << "set output 'answer_" << a + 1 << ".'.kind\n"
             << "set encoding utf8; set datafile separator ','; unset key\n"
             << "set border 3 lc rgb '" << kGrey << "' lw 1\n"
             << "set tics nomirror out tc rgb '#202020'\n"
             << "set style fill solid 0.85 noborder\n"
             << "set multiplot\n";
        text(20, 22, answer.text, 17, "#000000");
        text(20, 48, study_.title, 13, kGrey);
        text(20, height_ - 14, kPictureCaution, 10, kGrey);

        const std::string label = with_unit("", study_, answer.dimension);
        double y = kTop;
        histogram(a, y, label);
        y += kHistogram + kGap;
        bars_panel(a, bars, y, tornado, label);
        y += tornado + kGap;
        for (std::size_t k = 0; k < scatters; ++k, y += kScatter + kGap)
            scatter(a, r.order[k], y);
        out_ << "unset multiplot\n";
    }

    void finish_panel() { out_ << "unset label; unset arrow; unset xlabel\n"; }

    void histogram(std::size_t a, double top, const std::string& unit) {
        const AnswerResult& r = result_.answers[a];
        std::string heading = "how many points: the car as it is (black)";
        const study::Tally& t = r.tally;
        if (in_sight(t, t.low()) || in_sight(t, t.high())) heading += ", limits (orange, dashed)";
        if ((t.low() && !in_sight(t, t.low())) || (t.high() && !in_sight(t, t.high())))
            heading += "; a limit lies far outside";
        text(84, top - 14, heading, 12, kGrey);
        margins(84, top, top + kHistogram);
        range("x", shown(r));
        out_ << "set yrange [0:*]; set ytics auto; set grid y lc rgb '#e2e2e2' lw 1 lt 1\n"
             << "set xlabel " << quoted(unit) << '\n';
        upright(r.as_it_is, "#000000", "1");
        for (const auto limit : {r.tally.low(), r.tally.high()})
            if (in_sight(t, limit)) upright(*limit, palette(1), "(10,5)");
        out_ << "plot 'histograms.csv' skip 1 using ($1==" << a + 1
             << "?0.5*($3+$4):NaN):5:($4-$3) with boxes lc rgb '" << palette(0) << "'\n";
        finish_panel();
    }

    void bars_panel(std::size_t a, std::size_t bars, double top, int height,
                    const std::string& unit) {
        const AnswerResult& r = result_.answers[a];
        text(
            20, top - 14,
            "each field alone at its lower end (blue) and at its upper end (orange), the others as "
            "they are",
            12, kGrey);
        margins(kNames, top, top + height);
        std::string tics;
        double least = r.as_it_is, most = r.as_it_is;
        for (std::size_t k = 0; k < bars; ++k) {
            const study::Varied& v = study_.sweep.varied[r.order[k]];
            tics += fmt::format("{}{} {}", k > 0 ? ", " : "", quoted(v.path), -static_cast<int>(k));
            for (const double x : {r.alone[r.order[k]].low, r.alone[r.order[k]].high}) {
                least = std::fmin(least, x);
                most = std::fmax(most, x);
            }
        }
        range("x", around({least, most}));
        range("y", {-static_cast<double>(bars) + 0.4, 0.6});
        out_ << "set ytics (" << tics << "); unset grid; set grid x lc rgb '#e2e2e2' lw 1 lt 1\n"
             << "set xlabel " << quoted(unit) << '\n';
        upright(r.as_it_is, "#000000", "1");
        // Columns of sensitivity.csv: 1 answer, 3 rank, 7 and 8 the answer at low and at high.
        const auto boxes = [&](int column, double low, double high, std::size_t colour) {
            const std::string pick = fmt::format("($1=={}&&$3<={}?", a + 1, bars);
            return fmt::format(
                "'sensitivity.csv' skip 1 using "
                "{0}0.5*(${1}+{2:.9g}):NaN):(1-$3):(${1}<{2:.9g}?${1}:"
                "{2:.9g}):(${1}<{2:.9g}?{2:.9g}:${1}):(1-$3+{3}):(1-$3+{4}) with boxxyerror lc rgb "
                "'{5}'",
                pick, column, r.as_it_is, low, high, palette(colour));
        };
        out_ << "plot " << boxes(7, 0.02, 0.36, 0) << ", \\\n     " << boxes(8, -0.36, -0.02, 1)
             << '\n';
        finish_panel();
        out_ << "set ytics auto; unset grid\n";
    }

    void scatter(std::size_t a, std::size_t d, double top) {
        const study::Sweep& sweep = study_.sweep;
        const AnswerResult& r = result_.answers[a];
        const std::size_t every =
            std::max<std::size_t>(1, (result_.rows + kMostDots - 1) / kMostDots);
        std::string heading = "against " + sweep.varied[d].path;
        if (every > 1) heading += fmt::format("; every {}th row", every);
        text(84, top - 14, heading, 12, kGrey);
        margins(84, top, top + kScatter);
        range("y", shown(r));
        for (const auto limit : {r.tally.low(), r.tally.high()})
            if (in_sight(r.tally, limit))
                out_ << fmt::format(
                    "set arrow from graph 0, first {0:.9g} to graph 1, first {0:.9g} "
                    "nohead front lw 1.8 dt (10,5) lc rgb '{1}'\n",
                    *limit, palette(1));
        out_ << "set xrange [*:*]; set grid lc rgb '#e2e2e2' lw 1 lt 1\n"
             << "set xlabel "
             << quoted(with_unit(sweep.varied[d].path, study_, sweep.varied[d].dimension))
             << "\nset label " << quoted(with_unit("", study_, sweep.answers[a].dimension))
             << " at " << at(16, top + kScatter / 2.0) << " center rotate by 90\n"
             << "plot 'points.csv' skip 1" << (every > 1 ? fmt::format(" every {}", every) : "")
             << fmt::format(" using {}:{} with points pt 7 ps {} lc rgb '{}'\n", 3 + d,
                            3 + sweep.varied.size() + a, result_.rows < 1000 ? 0.6 : 0.35,
                            palette(0));
        finish_panel();
    }

    std::ostream& out_;
    const Study& study_;
    const SweepResult& result_;
    int height_ = 0;
};

std::string bare(double x) {
    return std::isfinite(x) ? fmt::format(",{}", x) : ",";
}

std::string histograms_csv(const Study& study, const SweepResult& result) {
    std::string out = "number,answer,from,to,points\n";
    for (std::size_t a = 0; a < result.answers.size(); ++a) {
        const AnswerResult& r = result.answers[a];
        if (!r.moves()) continue;
        const Range range{r.tally.least(), r.tally.most()};
        const std::size_t bins = bins_for(r.tally.count());
        const double width = (range.high - range.low) / static_cast<double>(bins);
        const auto counts = r.tally.histogram().in_bins(range.low, range.high, bins);
        for (std::size_t k = 0; k < bins; ++k) {
            const double low = range.low + static_cast<double>(k) * width;
            out += fmt::format("{},{}{}{},{}\n", a + 1, csv_cell(study.sweep.answers[a].text),
                               bare(low), bare(low + width), counts[k]);
        }
    }
    return out;
}

std::string sensitivity_csv(const Study& study, const SweepResult& result) {
    std::string out = "number,answer,rank,field,field low,field high,answer at low,answer at high,"
                      "per cent,first,first from,first to,total,total from,total to\n";
    for (std::size_t a = 0; a < result.answers.size(); ++a) {
        const AnswerResult& r = result.answers[a];
        for (std::size_t k = 0; k < r.order.size(); ++k) {
            const std::size_t d = r.order[k];
            const study::Alone& x = r.alone[d];
            out += fmt::format("{},{},{},{}", a + 1, csv_cell(study.sweep.answers[a].text), k + 1,
                               csv_cell(study.sweep.varied[d].path));
            for (const double v : {x.input_low, x.input_high, x.low, x.high, x.per_cent})
                out += bare(v);
            for (const auto* shares : {r.indices ? &r.indices->first[d] : nullptr,
                                       r.indices ? &r.indices->total[d] : nullptr})
                out += shares ? bare(shares->value) + bare(shares->likely.low) +
                                    bare(shares->likely.high)
                              : ",,,";
            out += '\n';
        }
    }
    return out;
}

void write_text(const std::filesystem::path& file, const std::string& text) {
    std::ofstream out(file, std::ios::binary);
    out << text;
    out.close();
    if (!out) throw CannotWrite("cannot write " + file.string());
}

} // namespace

void write_sweep_tables(const std::filesystem::path& dir, const Study& study,
                        const SweepResult& result) {
    write_text(dir / "histograms.csv", histograms_csv(study, result));
    write_text(dir / "sensitivity.csv", sensitivity_csv(study, result));
    std::ostringstream script;
    Script(script, study, result).write();
    write_text(dir / "plots.gp", script.str());
}

bool draw_sweep(const std::filesystem::path& dir, std::string& why_not) {
    why_not = run_gnuplot(dir, "plots.gp");
    return why_not.empty();
}

} // namespace pedalbench::runner
