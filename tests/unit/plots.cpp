// The pictures of a run: nothing lies on anything else, what is alike is drawn once, and a run that
// cannot be drawn says why.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "runner/picture.hpp"
#include "runner/plot_events.hpp"
#include "runner/plot_tools.hpp"
#include "runner/plots.hpp"
#include "runner/point_labels.hpp"
#include "runner/trace_file.hpp"

using namespace pedalbench;
using namespace pedalbench::runner;
namespace fs = std::filesystem;

namespace {

/// A folder of its own that is gone after the test.
struct Folder {
    fs::path path;
    explicit Folder(const char* name) : path(fs::temp_directory_path() / name) {
        fs::remove_all(path);
        fs::create_directories(path);
    }
    ~Folder() { fs::remove_all(path); }
    Folder(const Folder&) = delete;
    Folder& operator=(const Folder&) = delete;
};

std::string text_of(const fs::path& path) {
    std::ifstream in(path, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

bool has(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

void write_trace(const fs::path& folder, int rows) {
    std::ofstream out(folder / "trace.csv");
    out << "time [s],pedal.force [N],pedal.travel [mm],hold_off.inlet.pressure [bar],"
           "hold_off.outlet.pressure [bar],pipe.inlet.pressure [bar],pipe.outlet.pressure [bar],"
           "front_left.torque [N m]\n";
    for (int i = 0; i < rows; ++i) {
        const double t = i * 1e-3, x = t * (rows * 1e-3 - t);
        out << t << ',' << 50 * x << ',' << 9 * x << ',' << 8 * x << ',' << 6 * x << ',' << 8 * x
            << ',' << 8.001 * x << ',' << 30 * x << '\n';
    }
}

/// One page, one column of print wide (85 mm are 240.9 points of 1/72 inch), its letters in it.
void check_print(const std::string& pdf) {
    CHECK(pdf.starts_with("%PDF-"));
    CHECK(has(pdf, "/Count 1"));
    CHECK(has(pdf, "/FontFile"));
    const std::size_t box = pdf.find("/MediaBox [ 0 0 ");
    REQUIRE(box != std::string::npos);
    CHECK(std::abs(std::stod(pdf.substr(box + 16)) - 85 / 25.4 * 72) < 1);
}

/// All that an SVG picture says, label after label, as if no line had been broken.
std::string words_of(const std::string& svg) {
    std::string words;
    for (std::size_t at = 0; (at = svg.find("<text", at)) != std::string::npos;) {
        const std::size_t end = svg.find("</text>", at);
        bool inside = false;
        for (; at < end; ++at) {
            if (svg[at] == '<') inside = true;
            if (!inside && svg[at] != '\n') words += svg[at];
            if (svg[at] == '>') inside = false;
        }
        words += ' ';
    }
    return words;
}

int times(const std::string& text, const std::string& words) {
    int n = 0;
    for (std::size_t at = 0; (at = text.find(words, at)) != std::string::npos; at += words.size())
        ++n;
    return n;
}

/// The least of the sizes of text in an SVG picture [pixels].
double smallest_text(const std::string& svg) {
    double least = 1e9;
    for (std::size_t at = 0; (at = svg.find("font-size=\"", at)) != std::string::npos; at += 11)
        least = std::min(least, std::stod(svg.substr(at + 11)));
    return least;
}

} // namespace

TEST_CASE("in a column of 85 mm no letters are smaller than 6 points") {
    const Folder folder("pedalbench_plots_column");
    write_trace(folder.path, 300);
    std::string why;
    REQUIRE(write_plots(folder.path, Summary{}, OutputUnits::metric(), why));
    const double points = 85 / 25.4 * 72 / kPictureWidth; // of a pixel
    const double least = smallest_text(text_of(folder.path / "pressures.svg"));
    CHECK(least * points >= 6);
    CHECK(least * points < 12); // found some
}

TEST_CASE("numbers of an axis stay apart") {
    CHECK(axis_step(0, 5, 400) == 1); // 80 pixels each
    CHECK(axis_step(0, 0.23, 400) == 0.05);
    CHECK(axis_step(0, 12, 400) == 2);
    CHECK(axis_step(-0.3, 8000, 400) == 2000);
    // Upwards "-0.0005" and "0.0105" would lie on the label.
    CHECK(step_upwards({"", -0.0012, 0.0012}, 125) == 0.001);
    CHECK(step_upwards({"", -0.03, 0.002}, 160) == 0.005); // "-0.025" has room
    CHECK(step_upwards({"", 0.0094, 0.0116}, 160) == 0.001);
    CHECK(step_upwards({"", 0, 350}, 130) == 100);
    CHECK(axis_step(0, 350, 130, kLinesApart) == 100); // 50 would leave 18.6 pixels to each line
}

TEST_CASE("numbers over event marks stay apart") {
    const Axis x{"time", 0, 5};
    std::vector<EventMark> marks;
    for (int i = 0; i < 12; ++i)
        marks.push_back({1 + 0.03 * i, std::to_string(i)});
    const std::vector<int> rows = mark_rows(marks, x);
    const double pixels = kPanelWidth / 5.0;
    for (std::size_t i = 0; i < marks.size(); ++i)
        for (std::size_t j = 0; j < i; ++j)
            if (rows[i] >= 0 && rows[i] == rows[j]) CHECK((marks[i].x - marks[j].x) * pixels >= 20);
    CHECK(rows.front() == 0);
    CHECK(rows[1] == 1);
}

TEST_CASE("the numbers beside points lie neither on each other nor on a point, and in the panel") {
    Panel panel;
    panel.height = 330;
    panel.x = panel.y = {"", 0, 40};
    // Crowded where a hold-off valve shuts and opens, and one in the corner.
    for (int i = 0; i < 5; ++i)
        panel.points.push_back(
            {1 + 1.3 * i, 0.5 + 0.9 * (i % 3), Pen{}, "1, " + std::to_string(i)});
    panel.points.push_back({39.9, 39.9, Pen{}, "2, 3, 4"});
    panel.points.push_back({0, 0, Pen{}, ""});
    const std::vector<double> line = {0, 40};
    place_labels(panel, {{&line, &line}});
    const double sx = kPanelWidth / 40.0, sy = panel.height / 40.0;
    const auto x = [&](const Point& p) { return p.x * sx + p.dx; };
    const auto y = [&](const Point& p) { return panel.height - p.y * sy + p.dy; };
    for (const Point& a : panel.points) {
        if (a.text.empty()) continue;
        CAPTURE(a.text);
        const double half = label_half_width(a.text);
        CHECK(x(a) >= half);
        CHECK(x(a) <= kPanelWidth - half);
        CHECK(y(a) >= kLabelHalfHeight);
        CHECK(y(a) <= panel.height - kLabelHalfHeight);
        for (const Point& b : panel.points) {
            const double dx = std::abs(x(a) - b.x * sx);
            const double dy = std::abs(y(a) - (panel.height - b.y * sy));
            CHECK((dx >= half || dy >= kLabelHalfHeight));
            if (&a == &b || b.text.empty()) continue;
            CHECK((std::abs(x(a) - x(b)) >= half + label_half_width(b.text) ||
                   std::abs(y(a) - y(b)) >= 2 * kLabelHalfHeight));
        }
    }
}

TEST_CASE("what happens for the first time is marked before what comes again") {
    std::vector<Event> events;
    for (int i = 0; i < 40; ++i)
        events.push_back({0.1 + 0.1 * i, "valve", i % 2 == 0 ? "opens" : "shuts", {}});
    events.push_back({4.5, "front", "pads touch", {}});
    events.push_back({4.8, "valve", "spring becomes", {{"spring", Dimension::force, 95}}}); // set
    const Marked found = marked(events, {}, {"", 0, 5}, 4);
    REQUIRE(found.groups.size() == 4);
    CHECK(found.groups[0].words(OutputUnits::metric()) == "valve: opens");
    CHECK(found.groups[1].words(OutputUnits::metric()) == "valve: shuts");
    CHECK(found.groups[1].time == 0.2);
    // The earliest that comes again in the second sixth of the run: what is in the first one waits.
    CHECK(std::abs(found.groups[2].time - 0.9) < 1e-9);
    // Of the last sixth what is set, since the rest comes from it, with its value.
    CHECK(found.groups[3].words(OutputUnits::metric()) == "valve: spring becomes 95 N");
    CHECK(found.left_out == 38);
}

TEST_CASE("the time until which a mark's events go stands before what happens") {
    const OutputUnits units = OutputUnits::metric();
    const std::vector<Event> events = {{0.5, "key", "turned", {}}, {0.536, "lamp", "lamp lit", {}}};
    Story story(units);
    CHECK(story.number({0.5, {&events[0], &events[1]}}) == 1);
    const std::vector<Note> notes = story.notes();
    REQUIRE(notes.size() == 1);
    CHECK(notes[0].time == "0.500 s");
    CHECK(notes[0].text == "to 0.536 s: key: turned; lamp: lamp lit");
}

TEST_CASE("marks are spread over the run") {
    std::vector<Event> events;
    for (int i = 0; i < 30; ++i) // all of them new, and early
        events.push_back({0.02 + 0.06 * i, "master", "thing " + std::to_string(i), {}});
    for (int i = 0; i < 5; ++i) // then what has happened before
        events.push_back({2.5 + 2 * i, "master", "thing 0", {}});
    const Marked found = marked(events, {}, {"", 0, 12}, 10);
    REQUIRE(found.groups.size() == 10);
    for (const double from : {0, 2, 4, 6, 8, 10}) {
        CAPTURE(from);
        CHECK(std::any_of(found.groups.begin(), found.groups.end(),
                          [from](const Group& g) { return g.time >= from && g.time < from + 2; }));
    }
}

TEST_CASE("what befalls recorded parts is marked first, then parts to which little happens") {
    const std::vector<Event> events = {
        {0.2, "pads", "touch", {}},       {0.6, "master", "port shut", {}},
        {1.0, "master", "port open", {}}, {1.4, "master", "piston is home", {}},
        {1.8, "lamp", "lamp lit", {}},    {1.9, "lamp", "lamp dark", {}}};
    const auto first = [&](const std::set<std::string>& recorded, std::size_t most) {
        std::string words;
        for (const Group& group : marked(events, recorded, {"", 0, 12}, most, 1).groups)
            words += group.words(OutputUnits::metric()) + ". ";
        return words;
    };
    CHECK(first({"time", "lamp", "master"}, 1) == "lamp: lamp lit. ");
    CHECK(first({"time", "lamp", "master"}, 2) == "master: port shut. lamp: lamp lit. ");
    CHECK(first({"time", "master"}, 1) == "master: port shut. ");
    // Where nothing of theirs is recorded, the one that speaks once comes first.
    CHECK(first({}, 1) == "pads: touch. ");
}

TEST_CASE("a mark tells at most so many different things, of both sides of the car each") {
    const std::vector<Event> events = {{1.00, "left", "pads touch", {}},
                                       {1.01, "right", "pads touch", {}},
                                       {1.02, "master", "port shut", {}},
                                       {1.03, "switch", "contact closes", {}}};
    const Marked found = marked(events, {"master"}, {"", 0, 12}, 9, 2);
    REQUIRE(found.groups.size() == 1);
    CHECK(found.groups.front().words(OutputUnits::metric()) ==
          "left, right: pads touch; master: port shut");
    CHECK(found.left_out == 1);
}

TEST_CASE("below a picture with many panels stands what a page has room for, late events too") {
    Picture picture{"many", "Many panels", "", {}, {}, {}, {}};
    for (int i = 0; i < 8; ++i)
        picture.panels.push_back({95, "name", {"", 0, 30}, {"y"}, {}, {}, {}, {}});
    picture.panels.back().x.label = "time";
    std::vector<Event> events;
    for (int i = 0; i < 60; ++i)
        events.push_back({0.5 * i, "master", "thing number " + std::to_string(i), {}});
    const std::size_t room = room_for_notes(picture);
    REQUIRE(room >= 2);
    REQUIRE(room < 20);
    add_events(picture, events, {}, OutputUnits::metric());
    CHECK(picture.notes.size() >= 2);
    CHECK(picture.notes.size() <= room_for_notes(picture)); // with the rows of numbers above
    CHECK(picture.notes.back().text == "All the others stand in events.csv.");
    CHECK(picture.marks.size() + 1 >= picture.notes.size()); // each note has its mark
    CHECK(picture.marks.front().x < 5);
    CHECK(picture.marks.back().x >= 25); // in the last sixth
}

TEST_CASE(
    "each dot stands where something happened; only dots that would cover each other are one") {
    Panel panel;
    panel.height = 330;
    panel.x = panel.y = {"", 0, 40};
    const Pen mark{palette(1), 2, "", 7}, other{palette(2), 2, "", 5};
    const double pixel = 40.0 / kPanelWidth;
    add_dot(panel, {10, 10, mark, "1"});
    add_dot(panel, {10 + 3 * pixel, 10, mark, "5"}); // within the dot
    add_dot(panel, {10 + 3 * pixel, 10, mark, "5"});
    REQUIRE(panel.points.size() == 1);
    CHECK(panel.points[0].text == "1, 5");
    add_dot(panel, {10 + 11 * pixel, 10, mark, "3"}); // beside it
    REQUIRE(panel.points.size() == 2);
    CHECK(panel.points[0].text == "1, 5");
    CHECK(panel.points[1].text == "3");
    add_dot(panel, {10 + 22 * pixel, 10, mark, "3"}); // again, where its number already stands
    REQUIRE(panel.points.size() == 3);
    CHECK(panel.points[2].text.empty());
    add_dot(panel, {30, 30, mark, "1"}); // again, elsewhere
    REQUIRE(panel.points.size() == 4);
    CHECK(panel.points[3].text == "1");
    add_dot(panel, {30, 30, other, "2"}); // of another run: its shape is seen, its number shared
    REQUIRE(panel.points.size() == 5);
    CHECK(panel.points[3].text == "1, 2");
    CHECK(panel.points[4].text.empty());
    add_dot(panel, {30 + 15 * pixel, 30, other, "1"}); // of another run, beside: its own label
    REQUIRE(panel.points.size() == 6);
    CHECK(panel.points[5].text == "1");
}

TEST_CASE("what happens together is said in few words") {
    Happenings all;
    all.add("left", "pads touch");
    all.add("hold_off", "check shuts");
    all.add("right", "pads touch");
    all.add("hold_off", "plate opens");
    all.add("hold_off", "check shuts");
    CHECK(all.words() == "left, right: pads touch; hold_off: check shuts, plate opens");
    Happenings nobody;
    nobody.add("", "ignition off");
    CHECK(nobody.words() == "ignition off");
}

TEST_CASE("degrees have their sign where somebody reads them") {
    CHECK(with_degrees("temperature [C]") == "temperature [\u00b0C]");
    CHECK(with_degrees("boils (140 C, 2 bar), -4.5 F") ==
          "boils (140 \u00b0C, 2 bar), -4.5 \u00b0F");
    CHECK(with_degrees("with fluid.temperature=140 C") == "with fluid.temperature=140 C");
    CHECK(with_degrees("with temperature=\"20 C\"") == "with temperature=\"20 C\"");
    CHECK(with_degrees("3 Circuits, valve C") == "3 Circuits, valve C");
}

TEST_CASE("text is broken at blanks") {
    const std::vector<std::string> lines = text_lines("one two three four", 9);
    REQUIRE(lines.size() >= 2);
    CHECK(lines.front() == "one two");
    CHECK(has(lines.back(), "four"));
    CHECK(text_lines("short", 9).size() == 1);
    // A number and its unit stay together.
    const std::vector<std::string> bar = text_lines("pressure 0.81 bar)", 13);
    CHECK(bar == std::vector<std::string>{"pressure", "0.81 bar)"});
    // No line is longer, whatever a part is called.
    const std::string name = "the_valve_behind_the_left_wheel_arch.outlet.pressure";
    std::string joined;
    for (const std::string& line : text_lines(name, 20)) {
        CHECK(line.size() <= 20);
        joined += line;
    }
    CHECK(joined == name);
    CHECK(text_lines(name, 20).front() == "the_valve_behind_");
    CHECK(text_lines("\u00e4\u00f6\u00fc\u00e4\u00f6\u00fc", 4).front() ==
          "\u00e4\u00f6\u00fc\u00e4"); // letters, not bytes
}

TEST_CASE("a long trace is thinned, its extremes are not") {
    const Folder folder("pedalbench_plots_thin");
    {
        std::ofstream out(folder.path / "trace.csv");
        out << "time [s],a.pressure [bar]\n";
        for (int i = 0; i < 1000; ++i)
            out << i << ',' << (i == 501 ? 77 : 1) << '\n';
    }
    const TraceFile trace = read_trace_file(folder.path / "trace.csv", 100);
    CHECK(trace.stride == 10);
    CHECK(trace.rows() == 100);
    REQUIRE(trace.find("a.pressure"));
    CHECK(trace.find("a.pressure")->high == 77);
    CHECK(trace.find("a.pressure")->unit == "bar");
    CHECK(trace.find("b.pressure") == nullptr);
    CHECK(trace.row_at(104) == 10);
    CHECK(trace.row_at(1e9) == 99);
}

TEST_CASE("a broken trace is refused in words") {
    const Folder folder("pedalbench_plots_broken");
    std::ofstream(folder.path / "trace.csv") << "time [s],a [bar]\n0,1\n1\n2,3\n";
    std::string why;
    CHECK_FALSE(write_plots(folder.path, Summary{}, OutputUnits::metric(), why));
    CHECK(why == "trace.csv, line 3: found 1 cells under 2 headings");
    fs::remove(folder.path / "trace.csv");
    why.clear();
    CHECK_FALSE(write_plots(folder.path, Summary{}, OutputUnits::metric(), why));
    CHECK(why == "there is no trace.csv to draw");
}

TEST_CASE("a run is drawn as SVG, PNG and PDF") {
    const Folder folder("pedalbench_plots_run");
    write_trace(folder.path, 3000);
    Summary summary;
    summary.title = "It's {odd} \"text\" \\ and such";
    const std::vector<Reading> readings = {{"inlet", Dimension::pressure, 9e5}};
    summary.events = {{0.5, "hold_off", "plate opens", readings},
                      {1.2, "front_left", "pads touch", {}},
                      {1.2, "front_right", "pads touch", {}},
                      {2.5, "hold_off", "plate opens", readings}};
    std::string why;
    const bool drawn = write_plots(folder.path, summary, OutputUnits::metric(), why);
    CAPTURE(why);
    REQUIRE(drawn);
    for (const char* name :
         {"pressures", "pedal_loop", "pedal_over_time", "valve_hold_off", "wheels"})
        for (const char* ending : {".svg", ".png", ".pdf"}) {
            CAPTURE(name);
            CAPTURE(ending);
            CHECK(fs::exists(folder.path / (std::string(name) + ending)));
            CHECK(fs::file_size(folder.path / (std::string(name) + ending)) > 1000);
        }
    CHECK_FALSE(fs::exists(folder.path / "valve_pipe.svg"));
    // Where the pedal's loop ends as it began, the ring of the start shows around the dot.
    const std::string script = text_of(folder.path / "plots.gp");
    const auto size = [&](const std::string& type) {
        return std::stod(script.substr(script.find(" point pt " + type + " ps ") + 15));
    };
    CHECK(size("6") > 1.5 * size("7"));
    check_print(text_of(folder.path / "pressures.pdf"));
    const std::string picture = text_of(folder.path / "pressures.svg");
    CHECK(has(picture, "It's (odd)"));
    CHECK(has(words_of(picture), "hold_off: plate opens (inlet 9 bar); again at 2.500 s"));
    CHECK(has(picture, "front_left, front_right: pads touch"));
    CHECK(has(picture, "hold_off.inlet, pipe.inlet, pipe.outlet")); // one curve for all three
    CHECK(has(picture, "pressure [bar]"));
    CHECK(has(words_of(picture), "not proof that a car is safe to drive"));
    CHECK(has(text_of(folder.path / "plots.gp"), "gnuplot plots.gp"));
}

TEST_CASE("a car on the road gets pictures of speed and of warmth, each panel in one unit") {
    const Folder folder("pedalbench_plots_road");
    std::ofstream out(folder.path / "trace.csv");
    out << "time [s],car.speed [km/h],car.front_left_speed [rad/s],car.front_adhesion,"
           "car.rear_adhesion,front_left_disc.temperature [C]\n";
    for (int i = 0; i < 100; ++i)
        out << 0.01 * i << ',' << 90 - i << ',' << 80 - i << ",0.5," << 0.003 * i << ',' << 20 + i
            << '\n';
    out.close();
    Summary summary;
    summary.complete = true;
    std::string why_not;
    REQUIRE_MESSAGE(write_plots(folder.path, summary, OutputUnits::metric(), why_not), why_not);
    CHECK(fs::file_size(folder.path / "road.png") > 5000);
    CHECK(fs::file_size(folder.path / "warmth.png") > 5000);
    const std::string script = text_of(folder.path / "plots.gp");
    CHECK(has(script, "speed [km/h]"));
    CHECK(has(script, "wheel speed [rad/s]"));
    CHECK(has(script, "car.front_left_speed"));
    CHECK(has(script, "car.front_adhesion"));
    CHECK(times(script, "\nplot ") == 4); // speed, of the wheels, adhesion; temperature
    CHECK(has(script, "temperature [\u00b0C]"));
}
