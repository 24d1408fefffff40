#include "picture.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <ostream>
#include <regex>
#include <string_view>
#include <utility>

#include "point_labels.hpp"

namespace pedalbench::runner {

namespace {

constexpr int kMarkRows = 6, kMarkRowHeight = 15, kMarkSpace = 20;
constexpr int kKeyRow = 20, kNoteRow = 17, kPanelGap = 22, kStripGap = 14, kAxisGap = 66;
constexpr int kKeyLine = 24, kKeyText = 32; // length of a sample, and where its text begins
constexpr int kWhole = kPictureWidth - 2 * kEdge;
constexpr double kFigures = 46; // pixels for a number beside a panel, next to the label
constexpr const char* kGrey = "#6b6b6b";

std::string number(double value) {
    std::array<char, 32> text;
    std::snprintf(text.data(), text.size(), "%.9g", value);
    return text.data();
}

/// Length in letters rather than in bytes.
std::size_t letters(const std::string& text) {
    return static_cast<std::size_t>(
        std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

/// How many bytes its first letters take.
std::size_t bytes(const std::string& text, std::size_t letters) {
    std::size_t end = 0;
    for (; end < text.size(); ++end)
        if ((text[end] & 0xC0) != 0x80 && letters-- == 0) break;
    return end;
}

std::string line_style(const Pen& pen) {
    std::string style = "lc rgb '" + pen.colour + "' lw " + number(pen.width);
    if (!pen.dash.empty()) style += " dt " + pen.dash;
    return style;
}

std::string point_style(const Pen& pen) {
    return "pt " + std::to_string(pen.point) + " ps " + number(pen.size) + " lw 2 lc rgb '" +
           pen.colour + "'";
}

std::vector<std::string> key_lines(const KeyEntry& entry) {
    return text_lines(entry.text, note_letters(kEdge + kKeyText));
}

std::vector<std::string> heading_lines(const Panel& panel) {
    return text_lines(panel.heading, letters_in(kPictureWidth - 2 * kEdge, kHeadingSize));
}
int heading_height(const Panel& panel) {
    if (panel.heading.empty()) return 0;
    return static_cast<int>(heading_lines(panel).size()) * line_height(kHeadingSize) + 5;
}

/// Places things by pixels from the upper left corner.
class Layout {
  public:
    Layout(std::ostream& out, int height) : out_(out), height_(height) {}

    std::string at(double x, double y) const {
        return "screen " + number(x / kPictureWidth) + ", screen " + row(y);
    }
    std::string row(double y) const { return number(1 - y / height_); }

    void text(double x, double y, const std::string& words, int size, const char* colour,
              const char* align = "left") const {
        out_ << "set label " << quoted(words) << " at " << at(x, y) << ' ' << align << " font ',"
             << size << "' tc rgb '" << colour << "'\n";
    }
    void lines(double x, double y, const std::vector<std::string>& list, int size,
               const char* colour) const {
        for (std::size_t i = 0; i < list.size(); ++i)
            text(x, y + static_cast<double>(i) * line_height(size), list[i], size, colour);
    }
    /// Along the left edge, read from below.
    void upright(double x, double y, const std::string& words) const {
        out_ << "set label " << quoted(words) << " at " << at(x, y)
             << " center rotate by 90 tc rgb '#000000'\n";
    }
    void key_entry(double x, double y, const KeyEntry& entry) const {
        if (entry.pen.point == 0)
            out_ << "set arrow from " << at(x, y) << " to " << at(x + kKeyLine, y) << " nohead "
                 << line_style(entry.pen) << '\n';
        else
            out_ << "set label '' at " << at(x + kKeyLine / 2.0, y) << " point "
                 << point_style(entry.pen) << '\n';
        const std::vector<std::string> lines = key_lines(entry);
        for (std::size_t i = 0; i < lines.size(); ++i)
            text(x + kKeyText, y + static_cast<double>(i) * kNoteRow, lines[i], kTextSize,
                 "#202020");
    }

    /// A point and its text, with a thin line between them where they are apart.
    void point(const Point& point, const Panel& panel, int top) const {
        if (point.pen.point != 0)
            out_ << "set label '' at first " << number(point.x) << ',' << number(point.y)
                 << " point " << point_style(point.pen) << " front\n";
        if (point.text.empty()) return;
        const double x =
            kPanelLeft + (point.x - panel.x.low) / (panel.x.high - panel.x.low) * kPanelWidth;
        const double y =
            top + (panel.y.high - point.y) / (panel.y.high - panel.y.low) * panel.height;
        const double far = std::hypot(point.dx, point.dy);
        // Where the line leaves the box of the text, as a share of the way from its middle.
        const double share = std::min(label_half_width(point.text) / std::abs(point.dx),
                                      kLabelHalfHeight / std::abs(point.dy));
        if (far * (1 - share) > 14)
            out_ << "set arrow from " << at(x, y) << " to "
                 << at(x + point.dx * (1 - share), y + point.dy * (1 - share))
                 << " nohead front lw 1 lc rgb '" << kGrey << "'\n";
        out_ << "set label " << quoted(point.text) << " at " << at(x + point.dx, y + point.dy)
             << " center front boxed font ',12' tc rgb '#202020'\n";
    }

  private:
    std::ostream& out_;
    int height_;
};

/// Grey is for the line; its number must be read.
std::string number_colour(const EventMark& mark) {
    return mark.pen.colour == EventMark{}.pen.colour ? "#202020" : mark.pen.colour;
}

/// As many as have room beside each other without a second line.
int key_columns(const std::vector<KeyEntry>& key) {
    std::size_t longest = 0;
    for (const KeyEntry& entry : key)
        longest = std::max(longest, letters(entry.text));
    const int whole = kPictureWidth - 2 * kEdge;
    for (const int columns : {3, 2})
        if (longest <= letters_in(whole / columns - kKeyText - 6, kTextSize)) return columns;
    return 1;
}

void write_axes(std::ostream& out, const Panel& panel) {
    out << "set xrange [" << number(panel.x.low) << ':' << number(panel.x.high) << "]\n"
        << "set yrange [" << number(panel.y.low) << ':' << number(panel.y.high) << "]\n";
    const double step =
        panel.x.step > 0 ? panel.x.step : axis_step(panel.x.low, panel.x.high, kPanelWidth);
    out << "set xtics " << number(step) << "; set ytics ";
    if (panel.y.words.empty()) out << number(step_upwards(panel.y, panel.height));
    for (std::size_t i = 0; i < panel.y.words.size(); ++i)
        out << (i == 0 ? "(" : ", ") << quoted(panel.y.words[i]) << ' ' << i;
    out << (panel.y.words.empty() ? "\n" : ")\n");
    if (panel.x.label.empty())
        out << "unset xlabel; set format x ''\n";
    else
        out << "set xlabel " << quoted(panel.x.label) << " offset 0,0.2; set format x '%g'\n";
}

void write_curves(std::ostream& out, const Panel& panel, long stride) {
    out << "plot ";
    if (panel.diagonal) out << "x with lines lc rgb '" << kGrey << "' lw 1.5 dt 2, \\\n     ";
    for (std::size_t i = 0; i < panel.curves.size(); ++i) {
        const Curve& curve = panel.curves[i];
        const long step = curve.stride > 0 ? curve.stride : stride;
        out << (i > 0 ? ", \\\n     " : "") << quoted(curve.file) << " skip 1"
            << (step > 1 ? " every " + std::to_string(step) : "") << " using " << curve.x << ':'
            << curve.y
            << (curve.pen.point == 0 ? " with lines " + line_style(curve.pen)
                                     : " with points " + point_style(curve.pen));
    }
    out << '\n';
}

} // namespace

std::string with_degrees(const std::string& text) {
    static const std::regex unit(R"((=[\s"']*)?((?:-?\d[\d.]* |\[))([CF])(?!\w))");
    std::string out;
    std::size_t end = 0;
    for (std::sregex_iterator it(text.begin(), text.end(), unit), last; it != last; ++it) {
        const std::size_t letter = static_cast<std::size_t>(it->position(3));
        out += text.substr(end, letter - end);
        if (!(*it)[1].matched) out += "\u00b0";
        end = letter;
    }
    return out + text.substr(end);
}

std::string quoted(const std::string& text) {
    std::string safe = "'";
    for (const char c : with_degrees(text)) {
        if (c == '{')
            safe += '(';
        else if (c == '}')
            safe += ')';
        else if (static_cast<unsigned char>(c) < ' ')
            safe += ' ';
        else if (c == '\'')
            safe += "''";
        else
            safe += c;
    }
    return safe + "'";
}

std::string palette(std::size_t i) {
    static constexpr std::array<const char*, 7> colours = {
        "#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9", "#000000"};
    return colours[i % colours.size()];
}

Pen pen(std::size_t i) {
    Pen pen;
    pen.colour = palette(i);
    // Later curves are thinner, so that one that lies on another does not hide it.
    pen.width = std::max(1.6, 3.4 - 0.45 * static_cast<double>(i));
    constexpr std::array<const char*, 4> dashes = {"", "(12,5)", "(3,4)", "(12,4,3,4)"};
    pen.dash = dashes[i / 7 % dashes.size()]; // seven colours
    return pen;
}

std::vector<int> mark_rows(const std::vector<EventMark>& marks, const Axis& x) {
    std::array<double, kMarkRows> last;
    last.fill(-1e9);
    std::vector<int> rows;
    for (const EventMark& mark : marks) {
        const double pixel = (mark.x - x.low) / (x.high - x.low) * kPanelWidth;
        int row = 0;
        while (row < kMarkRows && pixel - last[static_cast<std::size_t>(row)] < kMarkSpace)
            ++row;
        if (row == kMarkRows)
            row = -1;
        else
            last[static_cast<std::size_t>(row)] = pixel;
        rows.push_back(row);
    }
    return rows;
}

std::vector<std::string> text_lines(const std::string& text, std::size_t width) {
    std::vector<std::string> lines;
    std::string line;
    const auto end_line = [&] {
        if (!line.empty()) lines.push_back(line);
        line.clear();
    };
    std::size_t start = 0;
    while (start < text.size()) {
        std::size_t end = std::min(text.find(' ', start), text.size());
        // A number keeps what it counts beside it.
        if (text.find_first_not_of("-.0123456789", start) == end && end > start)
            end = std::min(text.find(' ', end + 1), text.size());
        std::string word = text.substr(start, end - start);
        start = end + 1;
        if (!line.empty() && letters(line) + 1 + letters(word) > width) end_line();
        while (letters(word) > width) { // a name that no line holds is broken at a joint
            const std::size_t most = bytes(word, width);
            const std::size_t joint = word.find_last_of("._,-", most - 1);
            const std::size_t cut = joint == std::string::npos || joint == 0 ? most : joint + 1;
            lines.push_back(word.substr(0, cut));
            word.erase(0, cut);
        }
        line += (line.empty() ? "" : " ") + word;
    }
    end_line();
    return lines;
}

void add_note(Picture& picture, const std::string& number, const std::string& text) {
    const std::vector<std::string> lines = text_lines(text, note_letters(kNoteTime));
    for (std::size_t i = 0; i < lines.size(); ++i)
        picture.notes.push_back({i == 0 ? number : "", "", lines[i]});
}

namespace {

/// Pixels that a number takes, as wide as the letters of a browser draw it.
double figures_width(std::string_view number) {
    double width = 0;
    for (const char c : number)
        width += c == '.' ? 4.4 : c == '-' ? 5 : 8.8;
    return width;
}

} // namespace

double step_upwards(const Axis& axis, int pixels) {
    const auto too_long = [&axis](double step) {
        for (double at = std::ceil(axis.low / step) * step; at <= axis.high; at += step) {
            std::array<char, 32> text; // as gnuplot writes it
            std::snprintf(text.data(), text.size(), "%g", std::abs(at) < 1e-9 * step ? 0 : at);
            if (figures_width(text.data()) > kFigures) return true;
        }
        return false;
    };
    const double wanted = axis_step(axis.low, axis.high, pixels, kLinesApart);
    for (double step = wanted; step < axis.high - axis.low; step = axis_step(0, 1.01 * step, 1, 1))
        if (!too_long(step)) return step;
    return wanted;
}

double axis_step(double low, double high, int pixels, int apart) {
    const double least = (high - low) * apart / pixels;
    const double decade = std::pow(10, std::floor(std::log10(least)));
    for (const double step : {1.0, 2.0, 5.0})
        if (least <= step * decade * (1 + 1e-9)) return step * decade;
    return 10 * decade;
}

std::string terminal(const std::string& name, int height) {
    const std::string pixels = number(kPictureWidth) + "," + number(height);
    const std::string doubled = number(2 * kPictureWidth) + "," + number(2 * height);
    const double centimetres = kColumn / 10;
    const std::string print =
        number(centimetres) + "cm," + number(centimetres * height / kPictureWidth) + "cm";
    const std::string common = " noenhanced font 'sans-serif,11' background '#ffffff' ";
    return "if (kind eq 'svg') { set terminal svg size " + pixels + " dynamic rounded" + common +
           "fontscale 1.25 linewidth 0.8 }\n"
           "if (kind eq 'png') { set terminal pngcairo size " +
           doubled + " rounded" + common +
           "fontscale 1.9 linewidth 1.6 pointscale 1.6 }\n"
           "if (kind eq 'pdf') { set terminal pdfcairo size " +
           print + " rounded" + common +
           "fontscale 0.476 linewidth 0.8 pointscale 0.4 }\n"
           "set output " +
           quoted(name + ".") + ".kind\n";
}

namespace {

/// Where everything stands, from above.
struct Places {
    std::vector<int> mark_rows;
    std::vector<std::string> title, subtitle, caution;
    std::vector<int> key_rows, tops; // of each entry, of each panel
    int mark_space = 0, subtitle_top = 0, notes_top = 0, caution_top = 0, height = 0;
};

Places places_of(const Picture& picture) {
    Places p;
    const int columns = key_columns(picture.key);
    if (!picture.marks.empty()) p.mark_rows = mark_rows(picture.marks, picture.panels.front().x);
    const int highest =
        p.mark_rows.empty() ? -1 : *std::max_element(p.mark_rows.begin(), p.mark_rows.end());
    p.mark_space = (highest + 1) * kMarkRowHeight;

    p.title = text_lines(picture.title, letters_in(kWhole, kTitleSize));
    const std::size_t room = letters_in(kWhole, kHeadingSize);
    p.subtitle = text_lines(picture.subtitle, room);
    if (p.subtitle.size() > 2) {
        p.subtitle = text_lines(picture.subtitle, room - 4); // with room for the dots
        p.subtitle.resize(2);
        p.subtitle[1] += " ...";
    }
    int y = kEdge + line_height(kTitleSize) / 2;
    p.subtitle_top = y + static_cast<int>(p.title.size()) * line_height(kTitleSize);
    y = p.subtitle_top + static_cast<int>(p.subtitle.size()) * line_height(kHeadingSize) + 4;
    for (std::size_t i = 0; i < picture.key.size(); ++i) {
        p.key_rows.push_back(y);
        const bool last = (i + 1) % static_cast<std::size_t>(columns) == 0;
        if (last || i + 1 == picture.key.size())
            y += kKeyRow + (static_cast<int>(key_lines(picture.key[i]).size()) - 1) * kNoteRow;
    }
    for (std::size_t i = 0; i < picture.panels.size(); ++i) {
        const Panel& panel = picture.panels[i];
        y += heading_height(panel) + (i == 0 ? p.mark_space + 4 : 0);
        p.tops.push_back(y);
        y += panel.height;
        const bool numbers = i + 1 == picture.panels.size() || !panel.x.label.empty();
        y += numbers ? kAxisGap : panel.y.words.empty() ? kPanelGap : kStripGap;
    }
    p.notes_top = y;
    y += static_cast<int>(picture.notes.size()) * kNoteRow;
    p.caution = text_lines(kPictureCaution, letters_in(kWhole, kSmallSize));
    p.caution_top = y + 6;
    p.height = p.caution_top + static_cast<int>(p.caution.size()) * line_height(kSmallSize) + 2;
    return p;
}

} // namespace

std::size_t room_for_notes(Picture picture) {
    picture.notes.clear();
    return static_cast<std::size_t>(std::max(0, kPageHeight - places_of(picture).height) /
                                    kNoteRow);
}

void write_picture(std::ostream& out, const Picture& picture, long stride) {
    const Places p = places_of(picture);
    const Layout layout(out, p.height);
    out << "\n# " << picture.title << "\n"
        << "reset\n"
        << terminal(picture.name, p.height)
        << "set encoding utf8; set datafile separator ','; unset key\n"
        << "set style textbox opaque noborder fillcolor rgb '#ffffff' margins 0.4,0.4\n"
        << "set border 3 lc rgb '" << kGrey << "' lw 1\n"
        << "set tics nomirror out tc rgb '#202020'; set ytics offset 0.5,0; set grid lc rgb "
           "'#e2e2e2' lw 1 lt 1\n"
        << "set lmargin at screen " << number(double(kPanelLeft) / kPictureWidth) << '\n'
        << "set rmargin at screen " << number(1 - double(kPanelRight) / kPictureWidth) << '\n'
        << "set multiplot\n";

    const auto columns = static_cast<std::size_t>(key_columns(picture.key));
    layout.lines(kEdge, kEdge + line_height(kTitleSize) / 2.0, p.title, kTitleSize, "#000000");
    layout.lines(kEdge, p.subtitle_top, p.subtitle, kHeadingSize, kGrey);
    for (std::size_t i = 0; i < picture.key.size(); ++i)
        layout.key_entry(kEdge + static_cast<double>(i % columns) * kWhole /
                                     static_cast<double>(columns),
                         p.key_rows[i], picture.key[i]);
    for (std::size_t i = 0; i < picture.notes.size(); ++i)
        for (const auto& [x, words] : {std::pair{kEdge, picture.notes[i].number},
                                       std::pair{kNoteTime, picture.notes[i].time},
                                       std::pair{picture.note_text, picture.notes[i].text}})
            if (!words.empty())
                layout.text(x, p.notes_top + static_cast<double>(i) * kNoteRow, words, kTextSize,
                            "#202020");
    layout.lines(kEdge, p.caution_top, p.caution, kSmallSize, kGrey);
    for (std::size_t i = 0; i < picture.marks.size(); ++i)
        if (p.mark_rows[i] >= 0)
            out << "set label " << quoted(picture.marks[i].number) << " at first "
                << number(picture.marks[i].x) << ", screen "
                << layout.row(p.tops.front() - 9 - p.mark_rows[i] * kMarkRowHeight)
                << " center font ',11' tc rgb '" << number_colour(picture.marks[i]) << "'\n";

    for (std::size_t k = 0; k < picture.panels.size(); ++k) {
        const Panel& panel = picture.panels[k];
        layout.lines(kEdge,
                     p.tops[k] - heading_height(panel) - (k == 0 ? p.mark_space : 0) +
                         line_height(kHeadingSize) / 2.0 - 5,
                     heading_lines(panel), kHeadingSize, kGrey);
        for (const EventMark& mark : picture.marks)
            out << "set arrow from first " << number(mark.x) << ", graph 0 to first "
                << number(mark.x) << ", graph 1 nohead back " << line_style(mark.pen) << '\n';
        for (const Level& level : panel.levels)
            out << "set arrow from graph 0, first " << number(level.y) << " to graph 1, first "
                << number(level.y) << " nohead back " << line_style(level.pen) << '\n';
        for (const Arrow& arrow : panel.arrows)
            out << "set arrow from first " << number(arrow.x1) << ',' << number(arrow.y1)
                << " to first " << number(arrow.x2) << ',' << number(arrow.y2)
                << " head filled size screen 0.017,20,90 front lw 1.5 lc rgb '" << arrow.colour
                << "'\n";
        for (const Point& point : panel.points)
            layout.point(point, panel, p.tops[k]);
        layout.upright(kEdge, p.tops[k] + panel.height / 2.0, panel.y.label);
        out << "set tmargin at screen " << layout.row(p.tops[k]) << "\nset bmargin at screen "
            << layout.row(p.tops[k] + panel.height) << '\n';
        write_axes(out, panel);
        write_curves(out, panel, stride);
        out << "unset label; unset arrow\n";
    }
    out << "unset multiplot\n";
}

} // namespace pedalbench::runner
