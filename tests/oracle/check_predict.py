#!/usr/bin/python3
"""Compare `crosshatch predict --json` with the stored results of cranking_oracle.py, as TAP (one test a sheet).

usage: check_predict.py BINARY FOLDER
FOLDER holds NAME.yaml (sheets) and NAME.json (what the outside calculation found). A sheet without a result fails.

Tolerance: 0.2 % of every reading after every stroke. The outside calculation is good to 1e-5 (two integrators, README.md),
the program promises 0.05 % of its own equations; the rest is room for constants that the published sources give in
more than one rounding (gas constant, mean molar mass, geometric against geopotential height: 0.01 % each).
"""

import glob
import json
import math
import os
import subprocess
import sys

TOLERANCE = 0.002
SECONDS = 60


def compare(found, expected):
    """(worst relative difference, where it is); infinite where cylinders or strokes do not match."""
    rows = {row["cylinder"]: row["gauge_kPa"] for row in found["cylinders"]}
    if len(found["cylinders"]) != len(rows) or sorted(rows) != sorted(r["cylinder"] for r in expected["cylinders"]):
        return math.inf, f"cylinders {[row['cylinder'] for row in found['cylinders']]}"
    worst, where = 0.0, ""
    for row in expected["cylinders"]:
        got, want = rows[row["cylinder"]], row["gauge_kPa"]
        if len(got) != len(want):
            return math.inf, f"cylinder {row['cylinder']}: {len(got)} strokes for {len(want)}"
        for stroke, (a, b) in enumerate(zip(got, want), 1):
            difference = abs(a - b) / abs(b) if isinstance(a, (int, float)) and math.isfinite(a) else math.inf
            if difference > worst or not where:
                worst, where = difference, f"cylinder {row['cylinder']}, stroke {stroke}: {a} for {b} kPa"
    return worst, where


def check(binary, sheet):
    """(worst, remark) of one sheet; every way to fail gives an infinite difference and its reason."""
    try:
        with open(sheet[: -len(".yaml")] + ".json", encoding="utf-8") as stream:
            expected = json.load(stream)
        run = subprocess.run([binary, "predict", "--json", sheet], capture_output=True, text=True, timeout=SECONDS, check=False)
        if run.returncode != 0:
            return math.inf, f"exit status {run.returncode}: {run.stderr.strip()[:300]}"
        return compare(json.loads(run.stdout), expected)
    except (OSError, ValueError, KeyError, TypeError, subprocess.TimeoutExpired) as problem:
        return math.inf, f"{type(problem).__name__}: {problem}"


def main():
    if len(sys.argv) != 3:
        print(__doc__, file=sys.stderr)
        return 2
    binary, folder = sys.argv[1:]
    sheets = sorted(glob.glob(os.path.join(folder, "*.yaml")))
    print(f"1..{max(len(sheets), 1)}")
    if not sheets:
        print(f"not ok 1 - no sheets in {folder}")
        return 1
    failed = 0
    for number, sheet in enumerate(sheets, 1):
        worst, where = check(binary, sheet)
        bad = not worst <= TOLERANCE
        failed += bad
        name = os.path.basename(sheet)[: -len(".yaml")]
        print(f"{'not ok' if bad else 'ok'} {number} - {name}", flush=True)
        print(f"# worst {100 * worst:.4f} %, {' '.join(where.split())}", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
