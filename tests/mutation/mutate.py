#!/usr/bin/env python3
"""Spoils the physics on purpose and looks whether the tests notice.

    tests/mutation/mutate.py              60 mutants of the physics files, chosen by a fixed seed
    tests/mutation/mutate.py --count 5    five of them, those that compile quickest, as .ci/run does

A mutant is one small fault in one line of a law: a sign, two ports swapped, a term or a factor
dropped. All are compiled into one program beside the finished build (tests/all makes one), each behind
a switch; with one switch on, the tests run from the quick to the slow until one fails. Mutants that change nothing anybody could
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
import typing

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
FOLDERS = ("lib/fluid", "lib/hydraulics", "lib/parts", "lib/wheel")
NO_PHYSICS = ("dual.hpp", "part.hpp", "part_of.hpp", "field.hpp", "field.cpp", "registry.hpp", "registry.cpp")
SEED = 1
COUNT = 60
WANTED = 0.9

# From the quick to the slow, one after the other; a mutant that none of them notices has survived.
TESTS = """
    published/bubble_rise parts/pedal unit/fluid parts/proportioning_valve parts/take_up_master published/laws
    published/wheel_ends unit/hydraulics parts/shut parts/conformance_energy
    parts/conformance_circuit scenarios/bleed_screw parts/circuits scenarios/badger published/car
    scenarios/wear_and_reservoir scenarios/stop_lamps parts/conformance scenarios/front_lost
    scenarios/dissolved_air published/common_practice scenarios/detented_switch scenarios/held_pedal
    published/fluid scenarios/booster scenarios/on_the_road published/waves scenarios/symptoms_line
    scenarios/symptoms_master scenarios/symptoms_wheel scenarios/ordinary_stop
    scenarios/warning_lamp scenarios/wedged_rod scenarios/symptoms_valves
    scenarios/residual_in_disc_circuit scenarios/parking_brake scenarios/wheel_ends
    scenarios/proportioning_valve scenarios/residual_missing scenarios/energy
""".split()
TIME_LIMIT = 400  # s for one of them, ten times what it takes; a mutant that hangs has been noticed

TERM = r"(?:\d[\w.]*|[\w.>]+(?:\[[\w:]+\])*(?:\.\w+)*(?:\([\w., \[\]:]*\))?)"

# All mutants are compiled into one program, each behind a switch of its own that the environment turns.
SWITCH = """
#pragma once
#include <cstdlib>
#include <type_traits>
namespace mutation {
inline int chosen() {
    const char* text = std::getenv("PEDALBENCH_MUTANT");
    return text ? std::atoi(text) : 0;
}
inline const int active = chosen();
constexpr bool on(int k) {
    if (std::is_constant_evaluated()) return false;
    return active == k;
}
struct Scale {
    int value; // 1, -1 or 0
};
constexpr Scale operator*(Scale a, Scale b) { return {a.value * b.value}; }
template <class T> constexpr T operator*(Scale s, const T& x) {
    return s.value == 1 ? x : s.value == 0 ? T(x - x) : T(-x);
}
constexpr Scale sign(int k) { return {on(k) ? -1 : 1}; }
constexpr Scale term(int k) { return {on(k) ? 0 : 1}; }
template <class T> constexpr T factor(int k, T x) { return on(k) ? T(1) : x; }
template <class T> constexpr T& pick(int k, T& a, T& b) { return on(k) ? b : a; }
constexpr int port(int k, int i) { return on(k) ? 1 - i : i; }
template <class T> struct Sum {
    T& to;
    bool flip;
    template <class U> constexpr void operator+=(const U& x) { flip ? void(to -= x) : void(to += x); }
    template <class U> constexpr void operator-=(const U& x) { flip ? void(to += x) : void(to -= x); }
};
template <class T> constexpr Sum<T> sum(int k, T& to) { return {to, on(k)}; }
} // namespace mutation
"""


class Mutant(typing.NamedTuple):
    path: str
    number: int  # of the line, from 1
    kind: str
    line: str
    spoilt: str
    edits: tuple  # (start, end, text with the number of the switch to come at {k})


def candidates(path):
    """All mutants of one file."""
    found = []
    lines = open(os.path.join(ROOT, path)).read().split("\n")
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

        def spoil(kind, start, end, text, *edits):
            found.append(Mutant(path, number + 1, kind, line, line[:start] + text + line[end:], edits))

        def call(function, start, end):
            return (start, start, "mutation::%s({k}, " % function), (end, end, ")")

        for m in re.finditer(r"(?<=[\w\])]) ([+-]) (?=[\w(])", code):
            spoil("sign", m.start(1), m.end(1), "-" if m[1] == "+" else "+",
                  (m.end(), m.end(), "mutation::sign({k}) * "))
        for m in re.finditer(r"([\w.\[\]:>()-]+) ([+-])= ", code):
            spoil("sign", m.start(2), m.end(2), "-" if m[2] == "+" else "+",
                  *call("sum", m.start(1), m.end(1)))
        for m in re.finditer(r"port\[([01])\]", code):
            spoil("port", m.start(1), m.end(1), "1" if m[1] == "0" else "0",
                  *call("port", m.start(1), m.end(1)))
        for m in re.finditer(r"\b([ab])\.(?=p\b|head|T\b|liquid|gas)", code):
            other = "b" if m[1] == "a" else "a"
            spoil("port", m.start(1), m.end(1), other,
                  (m.start(1), m.end(1), "mutation::pick({k}, %s, %s)" % (m[1], other)))
        for m in re.finditer(r" [+-] (%s(?: \* %s)*)(?=[;)]| [+-] )" % (TERM, TERM), code):
            spoil("term", m.start(), m.end(), "", (m.start(1), m.start(1), "mutation::term({k}) * "))
        for m in re.finditer(r" \* (%s)(?=[;)]| [-+*] )" % TERM, code):
            spoil("factor", m.start(), m.end(), "", *call("factor", m.start(1), m.end(1)))
    return found


def choose(count, build):
    """`count` of the 60 in an order that the seed fixes, equivalent ones left out: those that compile quickest."""
    everything = []
    for folder in FOLDERS:
        for path in sorted(glob.glob(os.path.join(ROOT, folder, "*.[ch]pp"))):
            if os.path.basename(path) not in NO_PHYSICS:
                everything += candidates(os.path.relpath(path, ROOT))
    # By a hash of the line itself, so that an edit elsewhere chooses no others.
    everything.sort(key=lambda m: hashlib.sha256(
        "\n".join([str(SEED), m.path, m.line.strip(), m.spoilt.strip()]).encode()).digest())
    argued = equivalents()
    chosen, left_out, seen = [], [], set()
    for mutant in everything:
        key = (mutant.path, mutant.line.strip(), mutant.spoilt.strip())
        if key in seen:
            continue
        seen.add(key)
        (left_out if key in argued else chosen).append(mutant)
        if len(chosen) == COUNT:
            break
    if count < COUNT:
        chosen.sort(key=lambda m: len(build.depends.get(os.path.join(ROOT, m.path), ())))
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
            # A file may be compiled once more for another program; the library comes first.
            self.command.setdefault(entry["file"], (words, words[words.index("-o") + 1]))
        self.depends = {}
        listing = subprocess.run(["ninja", "-C", folder, "-t", "deps"], capture_output=True,
                                 text=True, check=True).stdout
        for line in listing.split("\n"):
            if line.startswith(" "):
                path = os.path.realpath(os.path.join(folder, line.strip()))
                self.depends.setdefault(path, set()).add(target)
            elif line:
                target = line.split(":")[0]

    def libraries(self):
        """What the tests are linked with, but for what is built here."""
        text = open(os.path.join(self.folder, "build.ninja")).read()
        block = text[text.index("build tests/test_unit: "):]
        words = shlex.split(re.search(r"LINK_LIBRARIES = (.*)", block)[1])
        return [w for w in words if not w.startswith("libpedalbench")]

    def sources(self, *parts):
        return [f for f in sorted(self.command)
                if any(f.startswith(os.path.join(ROOT, p)) for p in parts)]


def compile_one(words, source, out, overlay):
    words = [w for w in words if w not in ("-O2", "-g", "-Werror")]
    words[words.index("-o") + 1] = out
    words[words.index("-c") + 1] = source
    command = words[:1] + ["-I" + overlay, "-O1", "-g0", "-w"] + words[1:]
    done = subprocess.run(command, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit("a mutant does not compile:\n" + done.stderr[:3000])


def spoil_all(mutants, place):
    """Copies of the files with every mutant behind its switch; the paths changed."""
    by_line = {}
    for k, mutant in enumerate(mutants, 1):
        edits = by_line.setdefault(mutant.path, {}).setdefault(mutant.number, [])
        edits += [(start, end, text.replace("{k}", str(k))) for start, end, text in mutant.edits]
    os.makedirs(os.path.join(place, "lib"))
    open(os.path.join(place, "lib", "mutation_switch.hpp"), "w").write(SWITCH)
    for path, edited in by_line.items():
        lines = open(os.path.join(ROOT, path)).read().split("\n")
        for number, edits in edited.items():
            line = lines[number - 1]
            # From right to left; at one place what closes goes before what opens.
            for start, end, text in sorted(edits, key=lambda e: (e[0], e[2] != ")"), reverse=True):
                line = line[:start] + text + line[end:]
            lines[number - 1] = line
        os.makedirs(os.path.dirname(os.path.join(place, path)), exist_ok=True)
        first = '#include "mutation_switch.hpp"\n'
        open(os.path.join(place, path), "w").write(first + "\n".join(lines))
    return list(by_line)


def build_program(mutants, build, place, jobs):
    """One program of the tests with every mutant behind its switch."""
    paths = spoil_all(mutants, place)
    overlay = os.path.join(place, "lib")
    originals = [os.path.join(ROOT, path) for path in paths]
    dependants = set().union(*(build.depends.get(original, ()) for original in originals))
    includes = ['#include "%s"' % os.path.relpath(path, "lib") for path in paths]
    # Where a test reads the law itself it is compiled anew; elsewhere the library's own copy
    # of an inline function comes first on the linker's line and is the one that counts.
    objects, stale = {"lib": [], "rest": []}, []
    tests = [f for f in build.sources("tests/") if wanted(f)]
    page = os.path.relpath(os.path.join(build.folder, "page"), ROOT) + "/" # the template in the program
    for source in build.sources("lib/", "runner/", page) + tests:
        if source.endswith("runner/main.cpp"):
            continue
        words, out = build.command[source]
        lib = source.startswith(os.path.join(ROOT, "lib/"))
        at = os.path.join(build.folder, out)
        text = open(source).read()
        if source in originals or (out in dependants and (lib or any(i in text for i in includes))):
            at = os.path.join(place, out.replace(os.sep, "_"))
            changed = os.path.join(place, os.path.relpath(source, ROOT))
            stale.append((words, changed if source in originals else source, at, overlay))
        objects["lib" if lib else "rest"].append(at)
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        list(pool.map(lambda job: compile_one(*job), stale))
    program = os.path.join(place, "tests")
    link = subprocess.run(["c++", "-o", program] + objects["lib"] + objects["rest"] +
                          build.libraries() + ["-pthread"], cwd=build.folder, capture_output=True, text=True)
    if link.returncode != 0:
        sys.exit("cannot link the tests: " + link.stderr[-2000:])
    return program


def fails(program, test, k):
    """Does one test fail with switch k on (0: none); a word on how."""
    try:
        run = subprocess.run([program, "--source-file=*/tests/%s.cpp" % test, "--abort-after=1"],
                             capture_output=True, text=True, timeout=TIME_LIMIT,
                             env=dict(os.environ, PEDALBENCH_MUTANT=str(k)))
    except subprocess.TimeoutExpired:
        return test + ", which hangs"
    return test if run.returncode != 0 else ""


def try_out(program, k):
    """By what mutant k is noticed; empty if by nothing."""
    return next(filter(None, (fails(program, test, k) for test in TESTS)), "")


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
        for m in chosen:
            print("%s:%d: %s\n    %s\n    %s" % (m.path, m.number, m.kind, m.line.strip(), m.spoilt.strip()))
        return 0

    start = time.time()
    noticed, rows = 0, []
    with tempfile.TemporaryDirectory() as place, \
            concurrent.futures.ThreadPoolExecutor(options.jobs) as pool:
        program = build_program(chosen, build, place, options.jobs)
        print("compiled in %.0f s" % (time.time() - start), flush=True)
        by_whom = pool.map(lambda k: try_out(program, k), range(1, len(chosen) + 1))
        for m, by in zip(chosen, by_whom):
            noticed += by != ""
            verdict = "noticed" if by else "not noticed"
            rows.append({"file": m.path, "line": m.number, "kind": m.kind, "verdict": verdict, "by": by,
                         "was": m.line.strip(), "is": m.spoilt.strip()})
            print("%-12s %s:%d (%s) %s" % (verdict, m.path, m.number, m.kind, by), flush=True)
            if not by:
                print("    %s\n    %s" % (m.line.strip(), m.spoilt.strip()), flush=True)
        # What noticed a fault must pass without one, else it noticed nothing.
        used = sorted({row["by"].split(",")[0] for row in rows if row["by"]})
        red = [by for by in pool.map(lambda test: fails(program, test, 0), used) if by]
    if red:
        sys.exit("with no fault put in these fail too, so nothing is shown: " + ", ".join(red))
    print("%d of %d noticed (%.0f %%) in %.0f s" %
          (noticed, len(rows), 100 * noticed / len(rows), time.time() - start))
    if options.out:
        with open(options.out, "w") as out:
            json.dump({"noticed": noticed, "counted": len(rows), "mutants": rows}, out, indent=1)
    return 0 if noticed >= int(WANTED * len(rows)) else 1


if __name__ == "__main__":
    sys.exit(main())
