"""A second model of the demo car, and how far the library is from it.

    /usr/bin/python3 tests/oracle/second_model.py PEDALBENCH [--out FOLDER]

Written from docs/physics.md and docs/parts, for SciPy's LSODA: scenarios/hardware/marten.yaml under the foot of
scenarios/lessons/ordinary_stop.yaml, under a slower one and under a harder one, and a held pedal by hand arithmetic,
intact and with each circuit lost. Nothing of the library is called; its fields come from the hardware file and, for
defaults, from the summary that every run writes.

Where it differs from the library on purpose:

* Pressures are states (p' = flow in / give), contents are not; nothing keeps the mass but small errors.
* The liquid follows the power law instead of its rational form.
* No vapour, temperature, air in solution (the runs of pedalbench have fluid.solubility set to 0), warning switch,
  turbulence or air past the cups. The run stops with a message when flow becomes turbulent, a drum falls as far as its
  lips bear or a point falls to a vacuum.
* Switches are neither located nor have they dead bands; events are read from the samples afterwards.

Where a page said too little the two differed, until it was found what it lacked: the length of ports and seats, the
give of the hold-off rod's seal and the length of the drilling in the place of a residual valve (three numbers, then
looked up in the library), the sliding resistance of cups and seals, the fluid in the sides of valves and switch (from
the account of a run), and how a cup opens on the way back. All of these stand on the pages now. Bubbles that stay where
they were at the start put the primary chamber 9 kPa lower in a wave after the release, so that they are carried here as
well.

With the error allowed here the second model is within 0.3 kPa of itself at a tenth of that error.

Compared are pressures, travels, clearances, torques and events. A reading is wrong when it is further away than its
bound from everything that the other model reads within SHIFT of the same moment: where a valve snaps the pressure moves
by a bar in a millisecond. What it is at the very moment is printed beside it. 1 % was the aim; 0.2 % is what is held,
since less is found. --out writes the traces for the verification page.
"""

import argparse
import csv
import json
import os
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True  # the folder of sources stays as it is

import numpy  # noqa: E402
import yaml  # noqa: E402

from second_model_car import Car, force_of  # noqa: E402
from second_model_parts import Fields, quantity  # noqa: E402
from second_model_static import HeldPedal  # noqa: E402

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
SCENARIOS = os.path.join(ROOT, "scenarios")
HARDWARE = os.path.join(SCENARIOS, "hardware", "marten.yaml")
LESSON = os.path.join(SCENARIOS, "lessons", "ordinary_stop.yaml")

SHARE = 0.002  # of the reading, or, where that is more, by the end of the channel's name:
BOUNDS = {"pressure": 0.05, "travel": 0.05, "clearance": 0.003, "torque": 1.0}  # bar, mm, mm, N m (5 kPa are 0.84 N m)
SHIFT = 0.0005  # s
EVENT_BOUND = 0.002  # s
ROW = 0.001  # s, between rows of a trace

# name: foot and duration; none: the lesson's own
FEET = {
    "lesson": None,
    "slow": ([(0, 0), (0.2, 0), (6.2, 300), (7.7, 300), (11.7, 0)], 13),
    "hard": ([(0, 0), (0.2, 0), (1.2, 600), (2.2, 600), (3.2, 0)], 4.5),
}
# Each must happen in both, as often, and in the same order.
EVENTS = (
    "pedal: push rod meets the piston", "master: primary port shut", "master: secondary port shut",
    "hold_off: check shuts", "rear_left: shoes touch the drum", "rear_right: shoes touch the drum",
    "hold_off: plate opens", "front_left: outer pad touches the disc", "front_right: outer pad touches the disc",
    "hold_off: fluid returns past the check", "rear_left: shoes leave the drum", "rear_right: shoes leave the drum",
    "front_left: inner pad leaves the disc", "front_right: inner pad leaves the disc",
    "hold_off: rod pushes the check open", "pedal: push rod leaves the piston", "rear_left: shoes are home",
    "rear_right: shoes are home", "master: primary port open", "master: secondary port open",
    "rear_residual: shuts and holds the line",
)
FEET_HELD = (100, 250, 500)  # N
# The pistons leave at about 32 N. Past that they must creep: under a foot of 12 N/s the rear port is throttled so much
# that it shuts on 1 bar. Under this one it shuts on 0.2 bar, with 0.026 cm3 that the rear has then taken already and
# that the hand does not count: 0.4 mm of pedal. A foot ten times slower brings it to 0.1 bar.
HELD_FOOT = [(0, 0), (1, 28), (60, 36)]
HELD_BOUND = 0.01
LEAKS = {"primary": "master.primary", "secondary": "rear_residual"}


class Bench:
    """Runs the pedalbench command and reads what it wrote."""

    def __init__(self, command, folder):
        self.command, self.folder = os.path.abspath(command), folder

    def run(self, name, scenario):
        """The summary and the trace of one run; a scenario is a path or a map."""
        if not isinstance(scenario, str):
            path = os.path.join(self.folder, name + ".yaml")
            with open(path, "w", encoding="utf-8") as file:
                yaml.safe_dump(scenario, file, sort_keys=False)
            scenario = path
        out = os.path.join(self.folder, name)
        done = subprocess.run([self.command, "run", scenario, "--out", out, "--plots", "none", "--set",
                               "fluid.solubility=0"], capture_output=True, text=True, check=False)
        if done.returncode not in (0, 1):  # 1: an expectation failed, which is another test's affair
            sys.exit(f"{self.command} failed with {scenario}:\n{done.stdout}{done.stderr}")
        with open(os.path.join(out, "summary.json"), encoding="utf-8") as file:
            summary = json.load(file)
        with open(os.path.join(out, "trace.csv"), encoding="utf-8") as file:
            head, *rows = csv.reader(file)
        table = numpy.array(rows, dtype=float).T
        return summary, {name.split(" [")[0]: (values, name.split("[")[1].rstrip("]"))
                         for name, values in zip(head, table)}


def scenario_of(foot, duration, record=()):
    return {"pedalbench": 1, "title": "for the second model", "hardware": HARDWARE,
            "foot": {"force": [[f"{t} s", f"{f} N"] for t, f in foot]}, "duration": f"{duration} s",
            "record": list(record) or ["pedal.force"]}


def lesson():
    with open(LESSON, encoding="utf-8") as file:
        read = yaml.safe_load(file)
    return [(quantity(t), quantity(f)) for t, f in read["foot"]["force"]], quantity(read["duration"]), read["record"]


def bound_of(channel):
    return BOUNDS[channel.rsplit(".", 1)[1].rsplit("_", 1)[-1]]


def compare_readings(name, t, ours, theirs, failures):
    """Prints one line per channel; a reading past its bound is a failure."""
    print(f"\n{name}: largest difference at the same moment, and within {SHIFT * 1e3:g} ms")
    print(f"  {'reading':28}{'unit':>5}{'peak':>9}{'apart':>9}{'at [s]':>8}{'of bound':>10}{'past it':>9}"
          f"{'within':>9}{'of bound':>10}")
    steps = int(round(SHIFT / (t[1] - t[0])))
    rows = slice(None, None, int(round(ROW / (t[1] - t[0]))))  # between its rows the trace of pedalbench tells nothing
    moments = t[rows]
    for channel, (other, unit) in theirs.items():
        own = ours[channel][rows]
        bound = numpy.maximum(SHARE * numpy.abs(own), bound_of(channel))
        apart = numpy.abs(own - other[rows])
        padded = numpy.pad(other, steps, mode="edge")
        near = numpy.lib.stride_tricks.sliding_window_view(padded, 2 * steps + 1)[rows]
        outside = numpy.maximum(0, numpy.maximum(near.min(axis=1) - own, own - near.max(axis=1)))
        worst, shifted = int(numpy.argmax(apart / bound)), int(numpy.argmax(outside / bound))
        print(f"  {channel:28}{unit:>5}{own.max():9.3f}{apart[worst]:9.4f}{moments[worst]:8.3f}"
              f"{apart[worst] / bound[worst]:10.2f}{100 * numpy.mean(apart > bound):8.2f}%"
              f"{outside[shifted]:9.4f}{outside[shifted] / bound[shifted]:10.2f}")
        if outside[shifted] > bound[shifted]:
            failures.append(f"{name}: {channel} at {moments[shifted]:.4f} s: pedalbench {own[shifted]:.4f} {unit}, "
                            f"second model {other[rows][shifted]:.4f} {unit}, allowed {bound[shifted]:.4f} {unit}")


def compare_events(name, ours, theirs, failures):
    """Same events, as often, at the same time, in the same order."""
    print(f"\n{name}: events [s]{'':31}pedalbench    second   apart [ms]")
    pairs = []
    for event in EVENTS:
        own, other = ([t for t, text in events if text == event] for events in (ours, theirs))
        if not own or len(own) != len(other):
            failures.append(f"{name}: '{event}': {len(own)} times in pedalbench, {len(other)} in the second model")
            print(f"  {event:45}{own} {other}")
            continue
        pairs += [(event, a, b) for a, b in zip(own, other)]
    for event, own, other in sorted(pairs, key=lambda pair: pair[1]):
        print(f"  {event:45}{own:9.4f}{other:10.4f}{1e3 * (other - own):11.2f}")
        if abs(other - own) > EVENT_BOUND:
            failures.append(f"{name}: '{event}': pedalbench at {own:.4f} s, second model at {other:.4f} s, "
                            f"allowed {EVENT_BOUND} s")
    for event, own, other in pairs:
        for event2, own2, other2 in pairs:
            # Left and right do the same thing within fractions of a millisecond; that is no order.
            if own2 - own > SHIFT and other2 <= other:
                failures.append(f"{name}: '{event}' ({own:.4f} s) before '{event2}' ({own2:.4f} s) in pedalbench, the "
                                f"other way in the second model ({other:.4f} s, {other2:.4f} s)")
    left_out = ("fluid:", "lamp:", "pedal: stop lamps")
    rest = sorted({text for _, text in theirs} ^ {text for _, text in ours if not text.startswith(left_out)})
    if rest:
        print("  told by one of them only: " + "; ".join(rest))


def compare_run(name, bench, out, failures):
    own_foot, own_duration, record = lesson()
    foot, duration = FEET[name] or (own_foot, own_duration)
    summary, trace = bench.run(name, LESSON if FEET[name] is None else scenario_of(foot, duration, record))
    car = Car(Fields(HARDWARE, summary))
    t, y = car.run(foot, duration)
    force = force_of(foot)
    theirs = car.readings(y, numpy.array([force(moment) for moment in t]))
    theirs = {channel: (values, trace[channel][1]) for channel, values in theirs.items()}
    ours = {channel: numpy.interp(t, trace["time"][0], trace[channel][0]) for channel in theirs}
    compare_readings(name, t, ours, theirs, failures)
    compare_events(name, [(e["time_s"], f"{e['part']}: {e['text']}") for e in summary["events"]],
                   car.events(t, y), failures)
    if out:
        every = int(round(ROW / (t[1] - t[0])))
        with open(os.path.join(out, name + ".csv"), "w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(["time [s]"] + [f"{channel} {whose} [{unit}]" for channel, (_, unit) in theirs.items()
                                            for whose in ("pedalbench", "second model")])
            columns = [t] + [c for channel, (other, _) in theirs.items() for c in (ours[channel], other)]
            for row in zip(*(column[::every] for column in columns)):
                writer.writerow([f"{value:.6g}" for value in row])


def compare_held(bench, out, failures):
    """Three forces, intact and with each circuit lost: pressures and travel."""
    print(f"\nheld by hand arithmetic (bound {100 * HELD_BOUND:g} %, or 0.05 bar or mm where that is more)")
    print(f"  {'circuit':14}{'foot [N]':>9}   {'reading':28}{'pedalbench':>11}{'by hand':>10}{'apart':>9}")
    rows, by_hand = [], None
    for lost in (None, "primary", "secondary"):
        for foot in FEET_HELD:
            scenario = scenario_of(HELD_FOOT + [(80, foot), (105, foot)], 105)
            scenario["sample"] = "50 ms"
            if lost:
                scenario["faults"] = {"broken": {"kind": "leak", "at": LEAKS[lost], "size": "2.5 mm", "from": "0.1 s"}}
            summary, _ = bench.run(f"held_{lost or 'intact'}_{foot}", scenario)
            by_hand = by_hand or HeldPedal(Fields(HARDWARE, summary))
            p1, p2, travel = by_hand.held(foot, lost)
            for channel, unit, other in (("master.primary.pressure", "bar", p1 * 1e-5),
                                         ("master.secondary.pressure", "bar", p2 * 1e-5),
                                         ("pedal.travel", "mm", travel * 1e3)):
                own = summary["channels"][channel]["held"]
                bound = max(HELD_BOUND * abs(own), bound_of(channel))
                words = f"{lost} lost" if lost else "intact"
                print(f"  {words:14}{foot:9}   {channel:28}{own:11.3f}{other:10.3f}{other - own:9.3f} {unit}")
                rows.append([words, foot, channel, unit, f"{own:.6g}", f"{other:.6g}"])
                if abs(other - own) > bound:
                    failures.append(f"held, {words}, {foot} N: {channel}: pedalbench {own:.4f} {unit}, by hand "
                                    f"{other:.4f} {unit}, allowed {bound:.4f} {unit}")
    if out:
        with open(os.path.join(out, "held.csv"), "w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows(
                [["circuit", "foot [N]", "reading", "unit", "pedalbench", "by hand"]] + rows)


def main():
    parser = argparse.ArgumentParser(description="Holds pedalbench against a second model of the demo car.")
    parser.add_argument("command", help="path of the pedalbench command")
    parser.add_argument("--out", help="folder for the traces of both")
    parser.add_argument("--only", choices=[*FEET, "held"], help="one comparison instead of all")
    options = parser.parse_args()
    if options.out:
        os.makedirs(options.out, exist_ok=True)
    failures = []
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(options.command, folder)
        for name in FEET:
            if options.only in (None, name):
                compare_run(name, bench, options.out, failures)
        if options.only in (None, "held"):
            compare_held(bench, options.out, failures)
    print()
    for failure in failures:
        print("FAILED " + failure)
    if failures:
        sys.exit(1)
    print("The two models agree.")


if __name__ == "__main__":
    main()
