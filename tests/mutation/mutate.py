#!/usr/bin/env python3
"""Spoils the physics on purpose and looks whether the tests notice.

    tests/mutation/mutate.py              60 mutants of the physics files, chosen by a fixed seed
    tests/mutation/mutate.py --count 5    five of them, those that compile quickest, as .ci/run does

A mutant is one small fault in one line of a law: a sign, two ports swapped, a term or a factor
dropped. It is compiled beside the finished build (tests/all makes one), linked with the tests, and
these run from the quick to the slow until one fails. Mutants that change nothing anybody could
notice are argued one by one in equivalent.txt and left out of the count. Exit code 1 if fewer than
90 % (of five: four) are noticed.
"""
import argparse
import concurrent.futures
import glob
import hashlib
import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
FOLDERS = ("lib/fluid", "lib/hydraulics", "lib/parts", "lib/wheel")
NO_PHYSICS = ("dual.hpp", "part.hpp", "field.hpp", "field.cpp", "registry.hpp", "registry.cpp")
SEED = 1
COUNT = 60
WANTED = 0.9

# From the quick to the slow, one after the other; a mutant that none of them notices has survived.
TESTS = """
    parts/conformance_energy parts/circuits parts/shut parts/proportioning_valve parts/take_up_master
    parts/conformance_circuit unit/hydraulics unit/fluid parts/conformance
    published/laws published/wheel_ends published/bubble_rise
    scenarios/bleed_screw scenarios/ordinary_stop scenarios/residual_in_disc_circuit scenarios/stop_lamps
    scenarios/dissolved_air scenarios/on_the_road scenarios/parking_brake scenarios/wheel_ends
    scenarios/front_lost scenarios/badger scenarios/held_pedal scenarios/warning_lamp scenarios/detented_switch
    scenarios/proportioning_valve published/common_practice published/car published/fluid
    scenarios/wear_and_reservoir scenarios/wedged_rod scenarios/residual_missing scenarios/symptoms_line
    scenarios/symptoms_master scenarios/symptoms_wheel published/waves scenarios/booster scenarios/symptoms_valves
""".split()
TIME_LIMIT = 400  # s for one of them, ten times what it takes; a mutant that hangs has been noticed

TERM = r"(?:\d[\w.]*|[\w.>]+(?:\[[\w:]+\])*(?:\.\w+)*(?:\([\w., \[\]:]*\))?)"


def candidates(path):
    """(line number, what, spoilt line) of one file."""
    found = []
    lines = open(os.path.join(ROOT, path)).read().split("\n")
    depth, law = 0, False
    for number, line in enumerate(lines):
        code = line.split("//")[0]
        # Laws and what is computed for them; no tables, no declarations, no refusals.
        if '"' in code or "#" in code or "for (" in code or "static constexpr" in code:
            continue
        if not re.search(r"(return|[^=<>!]=[^=]|[-+]=)", code):
            if not re.match(r"^\s+[-+*(\w].*[;,)]\s*$", code):
                continue
        if re.search(r"^\s*(case|enum|using|template|struct|class|const Part|throw)", code):
            continue

        def spoil(what, start, end, text):
            found.append((number, what, line[:start] + text + line[end:]))

        for m in re.finditer(r"(?<=[\w\])]) ([+-]) (?=[\w(])", code):
            spoil("sign", m.start(1), m.end(1), "-" if m[1] == "+" else "+")
        for m in re.finditer(r"([+-])= ", code):
            spoil("sign", m.start(1), m.end(1), "-" if m[1] == "+" else "+")
        for m in re.finditer(r"port\[([01])\]", code):
            spoil("port", m.start(1), m.end(1), "1" if m[1] == "0" else "0")
        for m in re.finditer(r"\b([ab])\.(?=p\b|head|T\b|liquid|gas)", code):
            spoil("port", m.start(1), m.end(1), "b" if m[1] == "a" else "a")
        for m in re.finditer(r" [+-] %s(?: \* %s)*(?=[;)]| [+-] )" % (TERM, TERM), code):
            spoil("term", m.start(), m.end(), "")
        for m in re.finditer(r" \* %s(?=[;)]| [-+*] )" % TERM, code):
            spoil("factor", m.start(), m.end(), "")
    return [(path, number + 1, what, lines[number], spoilt) for number, what, spoilt in found]


def choose(count, build):
    """`count` of the 60 in an order that the seed fixes, equivalent ones left out: those that compile quickest."""
    everything = []
    for folder in FOLDERS:
        for path in sorted(glob.glob(os.path.join(ROOT, folder, "*.[ch]pp"))):
            if os.path.basename(path) not in NO_PHYSICS:
                everything += candidates(os.path.relpath(path, ROOT))
    # By a hash of the line itself, so that an edit elsewhere chooses no others.
    everything.sort(key=lambda m: hashlib.sha256(
        "\n".join([str(SEED), m[0], m[3].strip(), m[4].strip()]).encode()).digest())
    argued = equivalents()
    chosen, left_out, seen = [], [], set()
    for mutant in everything:
        path, _, _, line, spoilt = mutant
        key = (path, line.strip(), spoilt.strip())
        if key in seen:
            continue
        seen.add(key)
        (left_out if key in argued else chosen).append(mutant)
        if len(chosen) == COUNT:
            break
    if count < COUNT:
        chosen.sort(key=lambda m: len(build.depends.get(os.path.join(ROOT, m[0]), ())))
    return chosen[:count], left_out, len(everything)


def equivalents():
    """Blocks of: file, line, spoilt line, and the argument, with empty lines between."""
    blocks = open(os.path.join(HERE, "equivalent.txt")).read().split("\n\n")
    rows = [[x.strip() for x in block.split("\n") if x.strip()] for block in blocks]
    return {tuple(row[:3]) for row in rows if len(row) >= 4 and not row[0].startswith("#")}


class Build:
    """The finished build: how each object was compiled and on which headers it depends."""

    def __init__(self, folder):
        self.folder = folder
        self.command = {}
        for entry in json.load(open(os.path.join(folder, "compile_commands.json"))):
            words = shlex.split(entry["command"])
            self.command[entry["file"]] = (words, words[words.index("-o") + 1])
        self.depends = {}
        listing = subprocess.run(["ninja", "-C", folder, "-t", "deps"], capture_output=True,
                                 text=True, check=True).stdout
        for line in listing.split("\n"):
            if line.startswith(" "):
                path = os.path.realpath(os.path.join(folder, line.strip()))
                self.depends.setdefault(path, set()).add(target)
            elif line:
                target = line.split(":")[0]

    def sources(self, *parts):
        return [f for f in sorted(self.command)
                if any(f.startswith(os.path.join(ROOT, p)) for p in parts)]


def compile_one(words, source, out, overlay):
    words = [w for w in words if w not in ("-O2", "-g", "-Werror")]
    words[words.index("-o") + 1] = out
    words[words.index("-c") + 1] = source
    command = words[:1] + ["-I" + overlay, "-O1", "-g0", "-w"] + words[1:]
    return subprocess.run(command, capture_output=True, text=True)


def try_out(mutant, build):
    """(verdict, by what) of one mutant."""
    path, number, what, line, spoilt = mutant
    with tempfile.TemporaryDirectory() as place:
        overlay = os.path.join(place, "lib")
        changed = os.path.join(place, path)
        os.makedirs(os.path.dirname(changed))
        lines = open(os.path.join(ROOT, path)).read().split("\n")
        lines[number - 1] = spoilt
        open(changed, "w").write("\n".join(lines))

        original = os.path.join(ROOT, path)
        tests = [f for f in build.sources("tests/") if wanted(f)]
        # Where a test reads the law itself it is compiled anew; elsewhere the library's own copy
        # of an inline function comes first on the linker's line and is the one that counts.
        include = '#include "%s"' % os.path.relpath(path, "lib")
        objects = {"lib": [], "rest": []}
        for source in build.sources("lib/", "runner/") + tests:
            words, out = build.command[source]
            lib = source.startswith(os.path.join(ROOT, "lib/"))
            stale = source == original or (
                out in build.depends.get(original, ()) and (lib or include in open(source).read()))
            if source.endswith("runner/main.cpp"):
                continue
            at = os.path.join(build.folder, out)
            if stale:
                at = os.path.join(place, out.replace(os.sep, "_"))
                done = compile_one(words, changed if source == original else source, at, overlay)
                if done.returncode != 0:
                    return "does not compile", done.stderr.split("\n")[0]
            objects["lib" if lib else "rest"].append(at)
        program = os.path.join(place, "tests")
        link = subprocess.run(
            ["c++", "-o", program] + objects["lib"] + objects["rest"] +
            ["-lyaml-cpp", "-lfmt", "-ludunits2", "-pthread"], capture_output=True, text=True)
        if link.returncode != 0:
            sys.exit("cannot link the tests: " + link.stderr[-2000:])
        for test in TESTS:
            try:
                run = subprocess.run([program, "--source-file=*/tests/%s.cpp" % test, "--abort-after=1"],
                                     capture_output=True, text=True, timeout=TIME_LIMIT)
            except subprocess.TimeoutExpired:
                return "noticed", test + ", which hangs"
            if run.returncode != 0:
                return "noticed", test
    return "not noticed", ""


def wanted(source):
    """Is one of the tests, or the main of an executable."""
    name = os.path.splitext(os.path.relpath(source, os.path.join(ROOT, "tests")))[0]
    return name in TESTS or name == "main"


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    arguments.add_argument("--count", type=int, default=COUNT, help="how many (60)")
    arguments.add_argument("--build", default=os.path.join(ROOT, "build"))
    arguments.add_argument("--jobs", type=int, default=os.cpu_count())
    arguments.add_argument("--list", action="store_true", help="show them and do nothing")
    arguments.add_argument("--out", help="write the results to a file, as JSON")
    options = arguments.parse_args()

    build = Build(os.path.abspath(options.build))
    chosen, left_out, total = choose(options.count, build)
    print("%d mutants of %d possible ones; %d argued to be equivalent left out" %
          (len(chosen), total, len(left_out)), flush=True)
    if options.list:
        for path, number, what, line, spoilt in chosen:
            print("%s:%d: %s\n    %s\n    %s" % (path, number, what, line.strip(), spoilt.strip()))
        return 0

    start = time.time()
    noticed, counted, rows = 0, 0, []
    with concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        for mutant, (verdict, by) in zip(chosen, pool.map(lambda m: try_out(m, build), chosen)):
            path, number, what, line, spoilt = mutant
            counted += verdict != "does not compile"
            noticed += verdict == "noticed"
            rows.append({"file": path, "line": number, "kind": what, "verdict": verdict, "by": by,
                         "was": line.strip(), "is": spoilt.strip()})
            print("%-16s %s:%d (%s) %s" % (verdict, path, number, what, by), flush=True)
            if verdict == "not noticed":
                print("    %s\n    %s" % (line.strip(), spoilt.strip()), flush=True)
    print("%d of %d noticed (%.0f %%) in %.0f s" %
          (noticed, counted, 100 * noticed / max(1, counted), time.time() - start))
    if options.out:
        with open(options.out, "w") as out:
            json.dump({"noticed": noticed, "counted": counted, "mutants": rows}, out, indent=1)
    return 0 if counted and noticed >= int(WANTED * counted) else 1


if __name__ == "__main__":
    sys.exit(main())
