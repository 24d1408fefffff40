// Pictures of a study, one per answer: how it spreads, what moves it, and the answer against the
// two fields that move it most.
#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include "csv_sink.hpp"
#include "gnuplot.hpp"
#include "plot_tools.hpp"
#include "result_folder.hpp"
#include "sweep_answers.hpp"
#include "words.hpp"

namespace pedalbench::runner {

namespace {

using study::AnswerResult;

constexpr std::size_t kMostBars = 12;
constexpr std::size_t kMostDots = 6000; // more cannot be told apart
constexpr int kHistogram = 180, kScatter = 190, kBar = 22, kGap = 108, kNames = 206;
constexpr int kAxis = 70; // numbers and label below the last panel
constexpr const char* kGrey = "#6b6b6b";

std::string unit_of(const Study& study, Dimension d) {
    return std::string(study.units.of(d).name);
}

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

/// What has room beside a bar: the end of a path tells more than its beginning.
std::string shortened(const std::string& path) {
    constexpr std::size_t kMost = letters_in(kNames - 28, kTextSize);
    return path.size() <= kMost ? path : ".." + path.substr(path.size() - kMost + 2);
}

/// The author's words along an axis of that length, where they have room; the title says them too.
std::string axis_words(const std::string& text, const std::string& unit, int pixels) {
    const std::string words = with_unit(text, unit);
    return words.size() <= letters_in(pixels, kTextSize) ? words : with_unit("answer", unit);
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
                "do for [kind in '"
             << kKinds << "'] {\n";
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
    /// Gives where the next line would stand.
    double lines(double x, double y, const std::string& words, int size, const char* colour) {
        for (const std::string& line :
             text_lines(words, letters_in(kPictureWidth - static_cast<int>(x) - kEdge, size))) {
            text(x, y, line, size, colour);
            y += line_height(size);
        }
        return y;
    }
    /// Over a panel, the last line next to it.
    void heading(double top, const std::string& words) {
        const auto n =
            text_lines(words, letters_in(kPictureWidth - 2 * kEdge, kHeadingSize)).size();
        lines(kEdge, top - 20 - (static_cast<double>(n) - 1) * line_height(kHeadingSize), words,
              kHeadingSize, kGrey);
    }
    void margins(double left, double top, double bottom) {
        out_ << fmt::format("set lmargin at screen {:.6f}; set rmargin at screen {:.6f}\n",
                            left / kPictureWidth, 1 - double(kPanelRight) / kPictureWidth)
             << fmt::format("set tmargin at screen {:.6f}; set bmargin at screen {:.6f}\n",
                            1 - top / height_, 1 - bottom / height_);
    }
    void across(Range r, int left) {
        out_ << fmt::format("set xrange [{:.9g}:{:.9g}]; set xtics {:.9g}\n", r.low, r.high,
                            axis_step(r.low, r.high, kPictureWidth - left - kPanelRight));
    }
    void upwards(Range r) { out_ << fmt::format("set yrange [{:.9g}:{:.9g}]\n", r.low, r.high); }
    void numbers_upwards(Range r, int height) {
        upwards(r);
        out_ << fmt::format("set ytics {:.9g}\n", axis_step(r.low, r.high, height, kLinesApart));
    }
    /// Words along the left edge, read from below.
    void side_words(double middle, const std::string& words) {
        out_ << "set label " << quoted(words) << " at " << at(kEdge, middle)
             << " center rotate by 90\n";
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
        const auto rows = [](const std::string& words, int size) {
            return static_cast<int>(
                       text_lines(words, letters_in(kPictureWidth - 2 * kEdge, size)).size()) *
                   line_height(size);
        };
        const int caution = rows(kPictureCaution, kSmallSize);
        const int top = kEdge + rows(answer.text, kTitleSize) + rows(study_.title, kHeadingSize) +
                        2 * line_height(kHeadingSize) + 20;
        height_ = top + kHistogram + kGap + tornado + kGap +
                  static_cast<int>(scatters) * (kScatter + kGap) - kGap + kAxis + caution;
        out_ << "\nreset\n"
             << terminal(fmt::format("answer_{}", a + 1), height_)
             << "set encoding utf8; set datafile separator ','; unset key\n"
             << "set border 3 lc rgb '" << kGrey << "' lw 1\n"
             << "set tics nomirror out tc rgb '#202020'; set ytics offset 0.5,0\n"
             << "set style fill solid 0.85 noborder\n"
             << "set multiplot\n";
        const double next =
            lines(kEdge, kEdge + line_height(kTitleSize) / 2.0, answer.text, kTitleSize, "#000000");
        lines(kEdge, next, study_.title, kHeadingSize, kGrey);
        lines(kEdge, height_ - caution, kPictureCaution, kSmallSize, kGrey);

        const std::string unit = unit_of(study_, answer.dimension);
        const auto label = [&](int left) {
            return axis_words(answer.text, unit, kPictureWidth - left - kPanelRight);
        };
        double y = top;
        histogram(a, y, label(kPanelLeft));
        y += kHistogram + kGap;
        bars_panel(a, bars, y, tornado, label(kNames));
        y += tornado + kGap;
        for (std::size_t k = 0; k < scatters; ++k, y += kScatter + kGap)
            scatter(a, r.order[k], y);
        out_ << "unset multiplot\n";
    }

    void finish_panel() { out_ << "unset label; unset arrow; unset xlabel\n"; }

    void histogram(std::size_t a, double top, const std::string& unit) {
        const AnswerResult& r = result_.answers[a];
        std::string said = "how many points: the car as it is (black)";
        const study::Tally& t = r.tally;
        if (in_sight(t, t.low()) || in_sight(t, t.high())) said += ", limits (orange, dashed)";
        if ((t.low() && !in_sight(t, t.low())) || (t.high() && !in_sight(t, t.high())))
            said += "; a limit lies far outside";
        heading(top, said);
        margins(kPanelLeft, top, top + kHistogram);
        across(shown(r), kPanelLeft);
        double most = 1;
        for (const Bin& bin : bins_of(r))
            most = std::max(most, static_cast<double>(bin.points));
        numbers_upwards({0, 1.06 * most}, kHistogram);
        out_ << "set grid y lc rgb '#e2e2e2' lw 1 lt 1\n"
             << "set xlabel " << quoted(unit) << '\n';
        side_words(top + kHistogram / 2.0, "points");
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
        heading(top, "each field alone at its lower end (blue) and at its upper end (orange), the "
                     "others as they are");
        margins(kNames, top, top + height);
        std::string tics;
        double least = r.as_it_is, most = r.as_it_is;
        for (std::size_t k = 0; k < bars; ++k) {
            const study::Varied& v = study_.sweep.varied[r.order[k]];
            tics += fmt::format("{}{} {}", k > 0 ? ", " : "", quoted(shortened(v.path)),
                                -static_cast<int>(k));
            for (const double x : {r.alone[r.order[k]].low, r.alone[r.order[k]].high}) {
                least = std::fmin(least, x);
                most = std::fmax(most, x);
            }
        }
        across(around({least, most}), kNames);
        upwards({-static_cast<double>(bars) + 0.4, 0.6});
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
        out_ << "unset grid\n";
    }

    void scatter(std::size_t a, std::size_t d, double top) {
        const study::Sweep& sweep = study_.sweep;
        const AnswerResult& r = result_.answers[a];
        const std::size_t every =
            std::max<std::size_t>(1, (result_.rows + kMostDots - 1) / kMostDots);
        std::string said = "against " + sweep.varied[d].path;
        if (every > 1) said += fmt::format("; one row in {}", every);
        heading(top, said);
        margins(kPanelLeft, top, top + kScatter);
        numbers_upwards(shown(r), kScatter);
        for (const auto limit : {r.tally.low(), r.tally.high()})
            if (in_sight(r.tally, limit))
                out_ << fmt::format(
                    "set arrow from graph 0, first {0:.9g} to graph 1, first {0:.9g} "
                    "nohead front lw 1.8 dt (10,5) lc rgb '{1}'\n",
                    *limit, palette(1));
        across(around({r.alone[d].input_low, r.alone[d].input_high}), kPanelLeft);
        out_ << "set grid lc rgb '#e2e2e2' lw 1 lt 1\n"
             << "set xlabel "
             << quoted(axis_words(sweep.varied[d].path, unit_of(study_, sweep.varied[d].dimension),
                                  kPanelWidth))
             << '\n';
        side_words(top + kScatter / 2.0,
                   axis_words(sweep.answers[a].text, unit_of(study_, sweep.answers[a].dimension),
                              kScatter));
        out_ << "plot 'points.csv' skip 1" << (every > 1 ? fmt::format(" every {}", every) : "")
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
        for (const Bin& bin : bins_of(r))
            out += fmt::format("{},{}{}{},{}\n", a + 1, csv_cell(study.sweep.answers[a].text),
                               bare(bin.from), bare(bin.to), bin.points);
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

std::vector<Bin> bins_of(const AnswerResult& answer) {
    std::vector<Bin> bins;
    if (!answer.moves()) return bins;
    const Range range{answer.tally.least(), answer.tally.most()};
    const std::size_t n = bins_for(answer.tally.count());
    const double width = (range.high - range.low) / static_cast<double>(n);
    const auto counts = answer.tally.histogram().in_bins(range.low, range.high, n);
    for (std::size_t k = 0; k < n; ++k) {
        const double low = range.low + static_cast<double>(k) * width;
        bins.push_back({low, low + width, counts[k]});
    }
    return bins;
}

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
