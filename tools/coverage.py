#!/usr/bin/python3
"""Branch coverage as one table: a line a floor, under it a line a file.

usage: coverage.py BUILD [FILE...]

BUILD is a directory built with -Db_coverage=true in which tests have run. gcovr gathers what GCC's counters say; a branch is an outcome of a condition,
so that `if (a && b)` has four. Assertions are compiled out in that build: they have an outcome that no test may take. Templates and exceptions do
not exist in C. With FILEs (src/FLOOR/NAME.c), prints instead the lines of theirs on which an outcome was never taken, with how many.

Exits 1 where a floor that is held to WANTED is below it.
"""
import json
import os
import subprocess
import sys

FLOORS = ("base", "physics", "numbers", "car", "judge", "trace", "store", "model", "driveline", "winter", "decide", "ready")
HELD = ("base", "car", "physics", "numbers", "judge", "trace", "store")
WANTED = 95.0


def gather(build):
    """{file: {line: [times that each outcome was taken]}}"""
    out = os.path.join(build, "coverage.json")
    subprocess.run(["gcovr", "--root", ".", "--filter", "src/", "--json", out, os.path.join(build, "src")], check=True,
                   stdout=subprocess.DEVNULL)
    with open(out, encoding="utf-8") as stream:
        found = json.load(stream)
    return {entry["file"]: {line["line_number"]: [branch["count"] for branch in line["branches"]] for line in entry["lines"]}
            for entry in found["files"]}


def counted(lines):
    outcomes = [count for line in lines.values() for count in line]
    return len(outcomes), sum(count > 0 for count in outcomes)


def show(name, total, taken, mark=""):
    share = f"{100 * taken / total:5.1f} %" if total else "      -"
    print(f"{name:<36} {total:>6} {taken:>6} {total - taken:>6}  {share}{mark}")


def table(files):
    below = []
    print(f"{'branches':<36} {'all':>6} {'taken':>6} {'not':>6}  share")
    for floor in FLOORS:
        own = {path: counted(lines) for path, lines in files.items() if path.startswith(f"src/{floor}/")}
        total, taken = (sum(of) for of in zip(*own.values()))
        low = floor in HELD and 100 * taken / total < WANTED
        if low:
            below.append(floor)
        show(floor, total, taken, f"  below {WANTED:.0f} %" if low else "" if floor in HELD else "  (not held to it)")
        for path, (all_of, taken_of) in sorted(own.items(), key=lambda item: item[1][1] - item[1][0]):
            show("  " + path.removeprefix(f"src/{floor}/"), all_of, taken_of)
    print(f"wanted at least {WANTED:.0f} % of {', '.join(HELD)}: " + (f"MISSED by {', '.join(below)}" if below else "met"))
    return 1 if below else 0


def untaken(files, wanted):
    for path in wanted:
        with open(path, encoding="utf-8") as stream:
            text = stream.read().split("\n")
        for number, outcomes in sorted(files.get(path, {}).items()):
            missing = outcomes.count(0)
            if missing:
                print(f"{path}:{number}: {missing} of {len(outcomes)}: {text[number - 1].strip()}")
    return 0


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    files = gather(sys.argv[1])
    return untaken(files, sys.argv[2:]) if len(sys.argv) > 2 else table(files)


if __name__ == "__main__":
    sys.exit(main())
