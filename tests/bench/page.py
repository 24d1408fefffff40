#!/usr/bin/env python3
"""Writes the tables and the plot of docs/performance.md from build/bench.json.

    tests/bench/page.py [FILE]
"""
import json
import os
import re
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PAGE = os.path.join(ROOT, "docs", "performance.md")
PICTURE = os.path.join(ROOT, "docs", "performance", "precision.png")
# Okabe and Ito.
COLOUR = {"ours": "#0072B2", "cvode_located": "#D55E00", "cvode_continuous": "#009E73", "cvode_dense": "#000000"}
NAME = {"ours": "pedalbench", "cvode_located": "CVODE, located", "cvode_continuous": "CVODE, continuous",
        "cvode_dense": "CVODE, dense"}
CASES = ("stop", "pumped", "front_lost", "heat")


def figures(bench):
    lines = ["| | figure | goal | |", "|---|---|---|---|"]
    for f in bench["figures"]:
        sign = "at least" if f["at_least"] else "at most"
        lines.append(f"| {f['name']} | {f['figure']:.3g} | {sign} {f['goal']:g} | {'' if f['reached'] else 'not reached'} |")
    return "\n".join(lines) + "\n"


def points(bench):
    """{(case, who): [(tolerance, ms, largest kPa, 99 % kPa)]}, the coarse first."""
    found = {}
    for name, m in bench["measured"].items():
        parts = name.split("/")
        if parts[0] in NAME:
            found.setdefault((parts[1], parts[0]), []).append(
                (float(parts[2]), 1e3 * m["seconds"], 1e-3 * m["counters"]["largest"], 1e-3 * m["counters"]["most"]))
    return {key: sorted(rows, reverse=True) for key, rows in found.items()}


def precision(rows):
    lines = ["| case | solver | tolerance | time [ms] | largest error [kPa] | 99 % [kPa] |", "|---|---|---|---|---|---|"]
    for case in CASES:
        for who, name in NAME.items():
            for tolerance, ms, largest, most in rows.get((case, who), []):
                lines.append(f"| {case} | {name} | {tolerance:g} | {ms:.3g} | {largest:.2g} | {most:.2g} |")
    return "\n".join(lines) + "\n"


def draw(rows):
    os.makedirs(os.path.dirname(PICTURE), exist_ok=True)
    script = ("set terminal pngcairo size 1000,760 font 'DejaVu Sans,10'\n" f"set output '{PICTURE}'\n"
              "set grid lc rgb '#dddddd'\nset logscale xy\nset key outside bottom center horizontal\nset bmargin 6\nset multiplot layout 2,2\n")
    for case in CASES:
        script += f"set title '{case.replace('_', ' ')}'\nset xlabel 'error, 99 % of all samples [kPa]'\nset ylabel 'time [ms]'\n"
        curves = []
        for who in ("ours", "cvode_located", "cvode_continuous"):
            if (case, who) not in rows:
                continue
            script += f"${who} << EOD\n" + "\n".join(f"{r[3]:.5g} {r[1]:.5g}" for r in rows[case, who]) + "\nEOD\n"
            curves.append(f"${who} with linespoints lw 2 pt 7 lc rgb '{COLOUR[who]}' title '{NAME[who]}'")
        if curves:
            script += "plot " + ", ".join(curves) + "\n"
    done = subprocess.run(["gnuplot", "-"], input=script + "unset multiplot\n", text=True, capture_output=True, check=False)
    if done.returncode != 0:
        sys.exit(done.stderr)


def main():
    file = sys.argv[1] if len(sys.argv) > 1 else os.path.join(ROOT, "build", "bench.json")
    with open(file, encoding="utf-8") as text:
        bench = json.load(text)
    page = open(PAGE, encoding="utf-8").read()
    rows = points(bench)
    for name, table in (("figures", figures(bench)), ("precision", precision(rows))):
        page = re.sub(f"<!-- {name} -->\n.*?<!-- end of {name} -->", lambda _, n=name, t=table:
                      f"<!-- {n} -->\n{t}<!-- end of {n} -->", page, flags=re.S)
    open(PAGE, "w", encoding="utf-8").write(page)
    draw(rows)


if __name__ == "__main__":
    main()
