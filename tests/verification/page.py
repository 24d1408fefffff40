#!/usr/bin/env python3
"""Writes docs/verification.md and its plots from what the tests print.

    tests/verification/page.py [--mutants FILE]

Needs the build of tests/all. Runs the published figures, the oracles, the energy accounts and, for the
table of sensitivities, the demo stop with one guessed field after the other moved; some minutes. The
mutants take 17 minutes more: mutate.py --out FILE writes them, else the table on the page stays as it is.
"""
import argparse
import csv
import io
import json
import os
import re
import subprocess
import sys
import tempfile

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PAGE = os.path.join(ROOT, "docs", "verification.md")
PICTURES = os.path.join(ROOT, "docs", "verification")
STOP = os.path.join(ROOT, "scenarios", "lessons", "ordinary_stop.yaml")
# Okabe and Ito.
BLUE, ORANGE, GREEN, BLACK = "#0072B2", "#D55E00", "#009E73", "#000000"

# Fields that nobody publishes, and how far our guess may be wrong.
GUESSES = (
    ("seal of the front calipers: stiffness", "front_{side}.seal_stiffness", "700 N/mm", "1300 N/mm"),
    ("seal: grip", "front_{side}.seal_grip", "140 N", "260 N"),
    ("seal: grip per pressure", "front_{side}.seal_grip_rise", "35 mm2", "65 mm2"),
    ("seal: own shift", "front_{side}.seal_shift", "0.21 mm", "0.39 mm"),
    ("running clearance, both pads", "front_{side}.clearance", "0.14 mm", "0.26 mm"),
    ("pads: final stiffness", "front_{side}.pad_final", "70 %", "130 %"),
    ("pads: creep", "front_{side}.pad_creep", "70 %", "130 %"),
    ("caliper: stretch of the housing", "front_{side}.stretch", "70 %", "130 %"),
    ("hoses: swelling", "{side}_hose.swelling", "0.7", "1.3"),
    ("master cylinder: cup friction", "master.cup_friction", "70 %", "130 %"),
    ("master cylinder: damping", "master.damping", "33 %", "300 %"),
    ("drums: clearance", "rear_{side}.clearance", "70 %", "130 %"),
    ("drums: cup friction", "rear_{side}.cup_friction", "70 %", "130 %"),
    ("linings of the drums: final stiffness", "rear_{side}.lining_final", "70 %", "130 %"),
    ("pedal: flex", "pedal.flex", "0.0056 mm/N", "0.0104 mm/N"),
    ("fluid: bulk modulus", "fluid.bulk_modulus", "70 %", "130 %"),
    ("fluid: free air", "fluid.free_air", "0.1 %", "0.3 %"),
)
# What they move: channel, figure, unit on the page.
RESULTS = (
    ("pedal.travel", "held", "mm"),
    ("front_left.pressure", "held", "bar"),
    ("front_left.torque", "held", "N m"),
    ("rear_left.torque", "held", "N m"),
    ("rear_left.pressure", "residual", "bar"),
    ("front_left.clearance", "residual", "mm"),
)


def run(command, **more):
    done = subprocess.run(command, capture_output=True, text=True, check=False, **more)
    return done.returncode, done.stdout + done.stderr


def cases(text):
    """(file, case, [(found, relation, wanted, allowed)]) of a doctest run with -s; what the case itself asks for."""
    found, place, own = [], "", False
    for line in text.split("\n"):
        at = re.match(r"\S*tests/(\S+\.cpp):\d+:$", line)
        if at:
            place = at[1]
        named = re.match(r"TEST CASE:  (.*)", line)
        if named and (not found or found[-1][1] != named[1].strip()):
            found.append((place, named[1].strip(), []))
        asked = re.match(r"\S*tests/(\S+):\d+: (SUCCESS|ERROR): CHECK", line)
        if asked:
            own = asked[1] == place
        near = re.match(r"  values: \w+\( (\S+) near (\S+) \(apart by (\S+), allowed (\S+)\) \)", line)
        limit = re.match(r"  values: \w+\( (\S+) ([<>]=?) +(\S+) \)", line)
        if own and near:
            found[-1][2].append((float(near[1]), "", float(near[2]), float(near[4])))
        elif own and limit:
            found[-1][2].append((float(limit[1]), limit[2], float(limit[3]), None))
    return [c for c in found if c[2]]


def figure(value):
    return f"{value:.4g}"


def shown(checks):
    """Found and wanted, for a cell of the table; no more than six. Both limits of one figure are one entry."""
    cells = []
    for value, relation, wanted, allowed in checks:
        words = relation + " " + figure(wanted) if relation else f"{figure(wanted)} ± {figure(allowed)}"
        if cells and relation and cells[-1][0] == figure(value):
            cells[-1] = (cells[-1][0], cells[-1][1] + " and " + words)
        else:
            cells.append((figure(value), words))
    more = f" (and {len(cells) - 6} more)" if len(cells) > 6 else ""
    return "; ".join(c[0] for c in cells[:6]), "; ".join(c[1] for c in cells[:6]) + more


def published(build):
    code, text = run([os.path.join(build, "tests", "test_published"), "-s"])
    rows = cases(text)
    lines = ["| published figure, source and mark | ours | theirs, and what is allowed |", "|---|---|---|"]
    for _, name, checks in rows:
        ours, theirs = shown(checks)
        lines.append(f"| {name} | {ours} | {theirs} |")
    passed = re.search(r"test cases: .*", text)
    return code, rows, "\n".join(lines), passed[0] if passed else ""


def oracle(build):
    """Each short scenario by CVODE, from the messages of the test."""
    code, text = run([os.path.join(build, "tests", "test_oracle"), "--source-file=*cvode.cpp"])
    lines = ["| scenario | at default: most, 99 % | both tight: most, 99 %, position | steps: CVODE, ours |",
             "|---|---|---|---|"]
    pattern = (r"MESSAGE: (\S+), (located|continuous): at default (\S+) Pa \(.*?\), (\S+) Pa in 99 %, \S+ um; "
               r"both tight (\S+) Pa \(.*?\), (\S+) Pa in 99 %, (\S+) um; CVODE (\d+) steps, ours (\d+)")
    for m in re.finditer(pattern, text):
        lines.append(f"| {m[1].split('/')[-1]}, {m[2]} | {float(m[3]):.0f}, {float(m[4]):.0f} Pa | "
                     f"{float(m[5]):.2g}, {float(m[6]):.2g} Pa, {float(m[7]):.2g} um | {m[8]}, {m[9]} |")
    lags = re.findall(r"events: median (\S+) s apart at default, (\S+) s tight, nine in ten (\S+) s, furthest (\S+) s",
                      text)
    return code, "\n".join(lines), lags


def energy(build):
    code, text = run([os.path.join(build, "tests", "test_scenarios"), "--source-file=*/energy.cpp"])
    lines = ["| run | put in | lost | stored | unpaid | open, of what was put in |", "|---|---|---|---|---|---|"]
    heat = ["| run | rubbed | held at the end | gone to the air | open |", "|---|---|---|---|---|"]
    pattern = (r"MESSAGE: (.*): put in (\S+) J, supplied (\S+), stored (\S+), lost (\S+), unpaid (\S+), changed "
               r"(\S+), open (\S+); rubbed (\S+), heat (\S+), cooled (\S+), open (\S+)")
    for m in re.finditer(pattern, text):
        n = [float(x) for x in m.groups()[1:]]
        lines.append(f"| {m[1]} | {n[0]:.4g} J | {n[3]:.4g} J | {n[2]:.3g} J | {n[4]:.2g} J | "
                     f"{100 * n[6] / n[0]:.4f} % |")
        if n[7] > 0:
            heat.append(f"| {m[1]} | {n[7]:.5g} J | {n[8]:.5g} J | {n[9]:.4g} J | {100 * n[10] / n[7]:.3f} % |")
    return code, "\n".join(lines), "\n".join(heat)


def demo(build, sets, folder):
    command = [os.path.join(build, "pedalbench"), "run", STOP, "--plots", "none", "--out", folder]
    for one in sets:
        command += ["--set", one]
    code, text = run(command)
    if code > 1:
        sys.exit(text)
    with open(os.path.join(folder, "summary.json"), encoding="utf-8") as file:
        return json.load(file)


def moved(path, value, summary):
    """The settings that move a field on both sides of the car; a share of its default, or a value."""
    paths = [path.format(side=side) for side in ("left", "right")] if "{side}" in path else [path]
    if not value.endswith(" %") or "free_air" in path:
        return [f"{p}={value}" for p in paths]
    share, sets = float(value[:-2]) / 100, []
    for p in paths:
        default = next(d for d in summary["assumed"] if d["path"] == p)
        unit = "" if default["unit"] == "1" else " " + default["unit"]
        sets.append(f"{p}={share * default['value']:.6g}{unit}")
    return sets


def sensitivity(build):
    with tempfile.TemporaryDirectory() as folder:
        base = demo(build, [], folder)

        def read(summary):
            return [summary["channels"][channel][which] for channel, which, _ in RESULTS]

        usual = read(base)
        head = [f"{c} {w}" for c, w, _ in RESULTS]
        lines = ["| guessed field | from, to | " + " | ".join(head) + " |", "|---" * (len(head) + 2) + "|",
                 "| as it is | | " + " | ".join(f"{v:.3g} {u}" for v, (_, _, u) in zip(usual, RESULTS)) + " |"]
        for text, path, low, high in GUESSES:
            ends = [read(demo(build, moved(path, value, base), folder)) for value in (low, high)]
            cells = [f"{a - v:+.2g}, {b - v:+.2g}" for a, b, v in zip(*ends, usual)]
            lines.append(f"| {text} (`{path.format(side='left')}`) | {low}, {high} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def table(name, rows):
    return f"${name} << EOD\n" + "\n".join(" ".join(f"{x:.7g}" for x in row) for row in rows) + "\nEOD\n"


def draw(name, data, commands):
    script = ("set terminal pngcairo size 760,480 font 'DejaVu Sans,10'\n"
              f"set output '{os.path.join(PICTURES, name)}.png'\n"
              "set grid lc rgb '#dddddd'\nset key left top\n" + data + commands)
    done = subprocess.run(["gnuplot", "-"], input=script, text=True, capture_output=True, check=False)
    if done.returncode != 0:
        sys.exit(f"{name}: {done.stderr}")


def trace(folder):
    with open(os.path.join(folder, "trace.csv"), encoding="utf-8") as file:
        head, *rows = csv.reader(file)
    names = [h.split(" [")[0] for h in head]
    return {n: [float(r[i]) for r in rows] for i, n in enumerate(names)}


def pictures(build, second, rows):
    os.makedirs(PICTURES, exist_ok=True)
    run(["cmake", "--build", build, "--target", "verification_curves", "verification_cvode"])
    _, text = run([os.path.join(build, "tests", "verification_curves")])
    curve = {}
    for name, x, y in csv.reader(io.StringIO(text)):
        curve.setdefault(name, []).append((float(x), float(y)))

    def theirs(start):
        case = next(c for c in rows if c[1].startswith(start))
        return [wanted for _, _, wanted, _ in case[2]]

    draw("stiffness", table("ours", curve["stiffness"]) +
         table("theirs", zip((0.2, 0.5, 1, 2, 5, 10), (1e-9 * m for m in theirs("effective modulus")))),
         "set logscale x\nset xlabel 'absolute pressure [MPa]'\nset ylabel 'effective modulus [GPa]'\n"
         f"plot $ours with lines lw 2 lc rgb '{BLUE}' title 'pedalbench', "
         f"$theirs with points pt 6 ps 1.5 lw 2 lc rgb '{ORANGE}' title 'compression-only law, 0.5 % air at 1 atm'\n")
    draw("viscosity", table("ours", curve["viscosity"]) +
         table("theirs", zip((-20, 0, 20, 50, 80), theirs("DOT 4 along"))) +
         table("limits", ((-40, 1800), (100, 1.5))),
         "set logscale y\nset key right top\nset xlabel 'temperature [C]'\nset ylabel 'kinematic viscosity [mm2/s]'\n"
         f"plot $ours with lines lw 2 lc rgb '{BLUE}' title 'pedalbench', "
         f"$theirs with points pt 6 ps 1.5 lw 2 lc rgb '{ORANGE}' title 'one DOT 4 product along ASTM D341', "
         f"$limits with points pt 8 ps 1.5 lw 2 lc rgb '{BLACK}' title 'limits of 49 CFR 571.116 (at most, at least)'\n")

    with tempfile.TemporaryDirectory() as folder:
        def press(car, newton, record, sets):
            """A slow press on a car of scenarios/hardware."""
            lesson = os.path.join(folder, "press.yaml")
            with open(lesson, "w", encoding="utf-8") as file:
                file.write("pedalbench: 1\ntitle: a slow press\nhardware: "
                           + os.path.join(ROOT, "scenarios", "hardware", car + ".yaml") +
                           f"\nfoot: {{force: [[0 s, 0 N], [40 s, {newton} N]]}}\nduration: 40 s\n"
                           f"record: [{', '.join(record)}]\n")
            command = [os.path.join(build, "pedalbench"), "run", lesson, "--plots", "none", "--out", folder]
            code, text = run(command + [w for one in sets for w in ("--set", one)])
            if code != 0:
                sys.exit(text)
            t = trace(folder)
            return [t[name] for name in record]

        # Proportioning valves of service data on a slow foot: the van of the lesson with each of them.
        data, curves = "", []
        for i, (words, knee, slope, points) in enumerate((
                ("code 0.3/30", 3.0, 0.3, ((0.5, 0.5, 0), (4.5, 3.45, 0.2), (10, 5.1, 0.3))),
                ("knee 2.70-3.19, 6.86 to 3.92-4.41 MPa", 2.945, 0.31, ((6.86, 4.165, 0.245),)),
                ("knee 3.7-4.2, 9.8 to 5.0-5.8 MPa", 3.95, 0.25, ((9.8, 5.4, 0.4),)))):
            inlet, outlet = press("marten_van", 800, ["rear_valve.inlet.pressure", "rear_valve.outlet.pressure"],
                                  [f"rear_valve.knee={knee} MPa", f"rear_valve.slope={slope}"])
            data += table(f"ours{i}", [(0.1 * a, 0.1 * b) for a, b in zip(inlet, outlet)][::50])
            data += table(f"theirs{i}", points)
            colour = (BLUE, ORANGE, GREEN)[i]
            curves.append(f"$ours{i} with lines lw 2 lc rgb '{colour}' title 'pedalbench, {words}'")
            curves.append(f"$theirs{i} with yerrorbars pt 6 lw 2 lc rgb '{colour}' title 'service data'")
        draw("proportioning", data, "set xlabel 'inlet [MPa]'\nset ylabel 'outlet [MPa]'\nset xrange [0:11]\n"
             "plot " + ", ".join(curves) + "\n")

        # Adhesion used by the axles of the van in its hard stop, against the limits.
        run([os.path.join(build, "pedalbench"), "run",
             os.path.join(ROOT, "scenarios", "lessons", "hard_stop_rear_valve.yaml"), "--plots", "none", "--out",
             folder, "--set", "car.adhesion=1.2"])
        t = trace(folder)
        z = [d / 9.80665 for d in t["car.deceleration"]]
        end = z.index(max(z))
        data = table("front", [p for p in list(zip(z, t["car.front_adhesion"]))[:end:5] if p[0] > 0.05]) + table(
            "rear", [p for p in list(zip(z, t["car.rear_adhesion"]))[:end:5] if p[0] > 0.05])
        draw("adhesion", data, "set xlabel 'deceleration [g]'\nset ylabel 'adhesion used'\nset xrange [0:0.9]\n"
             "set yrange [0:1]\n"
             f"plot $front with lines lw 2 lc rgb '{BLUE}' title 'pedalbench, front axle', "
             f"$rear with lines lw 2 lc rgb '{ORANGE}' title 'pedalbench, rear axle', "
             f"x with lines dt 2 lc rgb '{BLACK}' title 'all wheels alike', "
             f"(x >= 0.1 ? (x + 0.07)/0.85 : NaN) with lines lw 1 lc rgb '{GREEN}' "
             "title 'z = 0.1 + 0.85 (k - 0.2), UN R13'\n")

        # Line pressure of the boosted car: 98 and 294 N with vacuum, 294 N without.
        data = ""
        for name, sets in (("with", []), ("without", ["booster.vacuum=0 Pa"])):
            force, pressure = press("pika", 400, ["pedal.force", "master.primary.pressure"], sets)
            data += table(name, [(f, 0.1 * p) for f, p in zip(force, pressure)][::50])
        data += table("theirs", ((98, 4.6), (294, 10.5), (294, 1.7)))
        draw("booster", data, "set xlabel 'force at the pad [N]'\nset ylabel 'line pressure [MPa]'\n"
             f"plot $with with lines lw 2 lc rgb '{BLUE}' title 'pedalbench, 66.7 kPa of vacuum', "
             f"$without with lines lw 2 lc rgb '{ORANGE}' title 'pedalbench, no vacuum', "
             f"$theirs with points pt 6 ps 1.5 lw 2 lc rgb '{BLACK}' title 'service data'\n")

    # CVODE, over the same lesson: the traces, and below by how much ours is beside its.
    code, text = run([os.path.join(build, "tests", "verification_cvode")])
    if code != 0:
        sys.exit("CVODE did not play the ordinary stop:\n" + text)
    by_cvode = [[float(x) for x in row] for row in csv.reader(io.StringIO(text))]
    data = table("front", [(r[0], r[1], r[2]) for r in by_cvode]) + table("rear", [(r[0], r[3], r[4]) for r in by_cvode])
    draw("cvode", data, "set multiplot layout 2,1\nset lmargin 10\nset key right top\nset ylabel 'pressure [bar]'\n"
         f"plot $front using 1:2 with lines lw 3 lc rgb '{BLUE}' title 'pedalbench, front', "
         f"$front using 1:3 with lines dt 2 lw 1.5 lc rgb '{BLACK}' title 'CVODE, front', "
         f"$rear using 1:2 with lines lw 3 lc rgb '{ORANGE}' title 'pedalbench, rear', "
         f"$rear using 1:3 with lines dt 3 lw 1.5 lc rgb '{BLACK}' title 'CVODE, rear'\n"
         "set xlabel 'time [s]'\nset ylabel 'pedalbench less CVODE [kPa]'\n"
         f"plot $front using 1:(100*($2-$3)) with lines lw 1.5 lc rgb '{BLUE}' title 'front', "
         f"$rear using 1:(100*($2-$3)) with lines lw 1.5 lc rgb '{ORANGE}' title 'rear'\nunset multiplot\n")

    # The second model, over the lesson's foot.
    with open(os.path.join(second, "lesson.csv"), encoding="utf-8") as file:
        head, *lines = csv.reader(file)
    columns = {h: [float(r[i]) for r in lines] for i, h in enumerate(head)}

    def both(channel):
        ours = next(h for h in head if h.startswith(channel + " pedalbench"))
        other = next(h for h in head if h.startswith(channel + " second"))
        return list(zip(columns["time [s]"], columns[ours], columns[other]))

    data = table("front", both("front_left.pressure")) + table("rear", both("rear_left.pressure"))
    draw("second_model", data, "set key right top\nset xlabel 'time [s]'\nset ylabel 'pressure [bar]'\n"
         f"plot $front using 1:2 with lines lw 3 lc rgb '{BLUE}' title 'pedalbench, front', "
         f"$front using 1:3 with lines dt 2 lw 1.5 lc rgb '{BLACK}' title 'SciPy, front', "
         f"$rear using 1:2 with lines lw 3 lc rgb '{ORANGE}' title 'pedalbench, rear', "
         f"$rear using 1:3 with lines dt 3 lw 1.5 lc rgb '{BLACK}' title 'SciPy, rear'\n")


def mutants(path):
    """The table of mutants, from a file or, without one, from the page as it stands."""
    if path is None:
        old = open(PAGE, encoding="utf-8").read() if os.path.exists(PAGE) else ""
        kept = re.search(r"<!-- mutants -->\n(.*?)<!-- end of mutants -->", old, re.S)
        return kept[1] if kept else "All sixty have not been run yet; `.ci/run` runs five of them and asks for four.\n"
    with open(path, encoding="utf-8") as file:
        result = json.load(file)
    share = 100 * result["noticed"] / result["counted"]
    lines = [f"{result['noticed']} of {result['counted']} were noticed ({share:.0f} %). Those that were not:", ""]
    for m in result["mutants"]:
        if m["verdict"] == "not noticed":
            lines.append(f"* `{m['file']}`: `{m['was']}` as `{m['is']}`")
    by = {}
    for m in result["mutants"]:
        if m["verdict"] == "noticed":
            by[m["by"]] = by.get(m["by"], 0) + 1
    lines += ["", "Who noticed: " + ", ".join(f"{k} {v}" for k, v in sorted(by.items(), key=lambda p: -p[1])) + "."]
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--build", default=os.path.join(ROOT, "build"))
    parser.add_argument("--mutants", help="what mutate.py --out wrote")
    options = parser.parse_args()
    build = os.path.abspath(options.build)

    failed = []
    with tempfile.TemporaryDirectory() as second:
        code, text = run(["/usr/bin/python3", os.path.join(ROOT, "tests", "oracle", "second_model.py"),
                          os.path.join(build, "pedalbench"), "--out", second])
        failed += ["the second model"] * (code != 0)
        code, rows, table_published, count = published(build)
        failed += ["the published figures"] * (code != 0)
        pictures(build, second, rows)
        with open(os.path.join(second, "held.csv"), encoding="utf-8") as file:
            _, *held = csv.reader(file)
    code, table_oracle, lags = oracle(build)
    failed += ["CVODE"] * (code != 0)
    code, table_energy, table_heat = energy(build)
    failed += ["the energy account"] * (code != 0)
    held_lines = "\n".join(["| circuit | foot | reading | ours | by hand |", "|---|---|---|---|---|"] +
                           [f"| {c} | {f} N | {r} | {float(o):.4g} {u} | {float(h):.4g} {u} |"
                            for c, f, r, u, o, h in held])
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "page.md"), encoding="utf-8") as file:
        page = file.read()
    worst = max((float(lag[1]) for lag in lags), default=float("nan"))
    for key, value in (("PUBLISHED", table_published), ("COUNT", count), ("ORACLE", table_oracle),
                       ("LAGS", f"{1e6 * worst:.2g}"), ("ENERGY", table_energy), ("HEAT", table_heat),
                       ("HELD", held_lines), ("SENSITIVITY", sensitivity(build)),
                       ("MUTANTS", mutants(options.mutants))):
        assert "{{" + key + "}}" in page, key
        page = page.replace("{{" + key + "}}", value)
    with open(PAGE, "w", encoding="utf-8") as file:
        file.write(page)
    print("wrote " + os.path.relpath(PAGE, ROOT))
    if failed:
        sys.exit("failed, and shown so on the page: " + ", ".join(failed))


if __name__ == "__main__":
    main()
