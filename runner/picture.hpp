// One picture made of panels under each other, written as commands for gnuplot. Everything is
// placed in pixels and every range is stated, so that it is known beforehand what would lie on
// what.
#pragma once

#include <cstddef>
#include <iosfwd>
#include <string>
#include <vector>

namespace pedalbench::runner {

/// A picture fills one column of print, 85 mm: 480 pixels of half a point each, so that size 10,
/// the smallest that is used, is 6.3 points there and size 11, of most texts, 6.9.
inline constexpr int kPictureWidth = 480;
inline constexpr double kColumn = 85.0; // mm
inline constexpr int kEdge = 12;        // around everything
inline constexpr int kPanelLeft = 76;   // room for a label and numbers
inline constexpr int kPanelRight = 16;  // from the right edge
inline constexpr int kPanelWidth = kPictureWidth - kPanelLeft - kPanelRight;

/// Sizes of text: title, what stands beside it, headings and keys, all else, the caution.
inline constexpr int kTitleSize = 14, kHeadingSize = 12, kTextSize = 11, kSmallSize = 10;
/// Pixels from line to line of that size, and how many letters of it have room.
constexpr int line_height(int size) {
    return (size * 3 + 1) / 2;
}
constexpr std::size_t letters_in(int pixels, int size) {
    return static_cast<std::size_t>(pixels / (0.675 * size));
}
inline constexpr const char* kKinds = "svg pdf png"; // of file, each picture in all of them

inline constexpr const char* kPictureCaution =
    "A model for teaching, diagnosis support and design checks; not proof that a car is safe to "
    "drive.";

/// "20 C" and "[C]" as people read them, "20 °C" and "[°C]"; what stands behind an equals sign is
/// there to be typed.
std::string with_degrees(const std::string& text);
/// Text in gnuplot's single quotes, as people read it. Braces would end the block that the commands
/// stand in.
std::string quoted(const std::string& text);

/// A colour of a scale that colour-blind readers can tell apart, then the same ones dashed.
/// M. Okabe and K. Ito, "Color Universal Design" (2002, revised 2008), without the yellow, which is
/// too faint on white.
std::string palette(std::size_t i);

/// How a curve or a key entry looks.
struct Pen {
    std::string colour = "#000000";
    double width = 2.2;
    std::string dash;  // gnuplot's dash type; empty: solid
    int point = 0;     // gnuplot's point type instead of a line; 0: a line
    double size = 1.3; // of the point

    bool operator==(const Pen&) const = default;
};
Pen pen(std::size_t i);

struct KeyEntry {
    std::string text;
    Pen pen;
};

struct Curve {
    int x = 1, y = 2; // columns of the file
    Pen pen;
    std::string file = "trace.csv";
    long stride = 0; // every how many rows one is drawn; 0: as everywhere in the picture
};

struct Axis {
    std::string label; // with unit; empty: no label and no numbers
    double low = 0, high = 1;
    double step = 0;                     // between its numbers; 0: as it comes
    std::vector<std::string> words = {}; // in place of the numbers 0, 1 ... where there are any
};

/// A point of a panel, in its own units, with a pen or a short text or both.
struct Point {
    double x, y;
    Pen pen;
    std::string text;
    double dx = 0, dy = 0; // pixels from the point to the middle of its text, right and down
};

struct Arrow {
    double x1, y1, x2, y2;
    std::string colour;
};

/// A line across a panel.
struct Level {
    double y;
    Pen pen;
};

struct Panel {
    int height = 250;    // pixels
    std::string heading; // small, over the panel; empty: none
    Axis x, y;
    std::vector<Curve> curves;
    std::vector<Point> points;
    std::vector<Arrow> arrows;
    std::vector<Level> levels;
    bool diagonal = false; // a straight line y = x
};

/// A thin vertical line through all panels with a number above the first one.
struct EventMark {
    double x;
    std::string number;
    Pen pen = {"#8a8a8a", 0.8, "(3,3)", 0};
};

/// A line under the panels: "3   0.450 s   rear_left: shoes touch". Further lines of the same note
/// have neither number nor time.
struct Note {
    std::string number, time, text;
};

/// Pixels from the left where the time of a note begins, or its text if it has none, and its text.
inline constexpr int kNoteTime = 36, kNoteText = 104;

struct Picture {
    std::string name;  // of the file, without ending
    std::string title; // what is drawn, in plain words
    std::string subtitle;
    std::vector<KeyEntry> key;
    std::vector<Panel> panels;
    std::vector<EventMark> marks;
    std::vector<Note> notes;
    int note_text = kNoteText; // pixels from the left where the text of notes begins
};

/// Which of the marks can carry a number without lying on another: for each mark the row of its
/// number (0 is next to the panel), or -1 where all rows are taken.
std::vector<int> mark_rows(const std::vector<EventMark>& marks, const Axis& x);

/// How many lines of notes the picture has room for, on a page of 297 mm with margins of 20.
std::size_t room_for_notes(Picture picture);
inline constexpr int kPageHeight = static_cast<int>(257 / kColumn * kPictureWidth);

/// Breaks text into lines of at most `width` characters: at blanks, but not between a number and
/// its unit, and within names that are longer than a line.
std::vector<std::string> text_lines(const std::string& text, std::size_t width);
/// Adds a note without a time, in as many lines as it needs.
void add_note(Picture& picture, const std::string& number, const std::string& text);
/// Letters of a note whose text begins there.
constexpr std::size_t note_letters(int note_text) {
    return letters_in(kPictureWidth - note_text - 6, kTextSize);
}

/// Pixels between the numbers of an axis: six figures beside each other, or lines above each other.
inline constexpr int kFiguresApart = 52, kLinesApart = 22;
/// Between the numbers of an axis, so that they stay apart: 1, 2 or 5 times a power of ten.
double axis_step(double low, double high, int pixels, int apart = kFiguresApart);
/// Upwards: as near as lines may come, but in numbers that have room beside the axis.
double step_upwards(const Axis& axis, int pixels);

/// Chooses gnuplot's terminal by its variable `kind`, one of kKinds, and the file `name`.
std::string terminal(const std::string& name, int height);

/// Writes the commands that draw `picture` from its traces, every stride-th row of them.
void write_picture(std::ostream& out, const Picture& picture, long stride);

} // namespace pedalbench::runner
