#!/usr/bin/python3
"""Time the general-purpose solver LSODA on the cranking test's equations: the yardstick of the speed comparison.

usage: lsoda_speed.py [--repeats N] [SHEET]

Runs the first cylinder of SHEET (default: plain-two-litre.yaml of the oracle's data) with SciPy's `odeint`, which is
LSODA (Petzold 1983; ODEPACK) called without solve_ivp's Python loop, in the segments between valve events and dead
centres. Goes through tolerances from loose to tight and reports, as JSON, the loosest one whose final reading, and that
of every tighter one tried, lies within 0.05 % of a run at 1e-10: seconds (least of N runs), evaluations of the right-hand
side, relative error. `loosest_lucky` is the loosest one that happens to be within 0.05 %, tighter ones or not; a speed
ratio against the seconds of the lucky one is the more cautious claim.
"""

import argparse
import json
import math
import os
import sys
import time
import warnings

from scipy.integrate import odeint

import cranking_oracle

LADDER = [10.0 ** (-i / 2) for i in range(4, 19)]  # 1e-2 .. 1e-9
ALLOWED = 5e-4


def run(cylinder, segments, tolerance):
    """(final gauge pressure in Pa, evaluations) or (None, evaluations) where LSODA gives up."""
    y, evaluations = list(cylinder.start), 0
    for segment in segments:
        try:
            answer, info = odeint(cylinder.rhs, y, segment, rtol=tolerance, atol=tolerance * 1e-2, tfirst=True,
                                  full_output=True, mxstep=200000)
        except (ValueError, OverflowError, ZeroDivisionError):
            return None, evaluations  # a loose tolerance left the range of states that a gas can have
        evaluations += int(info["nfe"][-1])
        if info["message"] != "Integration successful.":
            return None, evaluations
        y = [float(v) for v in answer[-1]]
    return cylinder.gauge(y), evaluations


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("sheet", nargs="?",
                        default=os.path.join(here, "..", "data", "cranking-oracle", "plain-two-litre.yaml"))
    args = parser.parse_args()
    warnings.simplefilter("ignore")  # odeint warns where a loose tolerance fails; the result says so
    case = cranking_oracle.load(args.sheet)
    cylinder = cranking_oracle.Cylinder(case, case.leaks[0])
    stops = [math.radians(s) for s in cylinder.breaks()]
    segments = list(zip(stops, stops[1:]))
    reference, _ = run(cylinder, segments, 1e-10)
    if reference is None:
        print("LSODA gave up on the reference run", file=sys.stderr)
        return 1

    tried = []
    for tolerance in LADDER:
        best = math.inf
        for _ in range(max(1, args.repeats)):
            began = time.perf_counter()
            final, evaluations = run(cylinder, segments, tolerance)
            best = min(best, time.perf_counter() - began)
        error = None if final is None else (final - reference) / reference
        tried.append({"rtol": tolerance, "seconds": best, "evaluations": evaluations, "relative_error": error})
    good = [row["relative_error"] is not None and abs(row["relative_error"]) <= ALLOWED for row in tried]
    if not good[-1]:
        print("no tolerance reached 0.05 %", file=sys.stderr)
        return 1
    first = len(good)
    while first > 0 and good[first - 1]:
        first -= 1
    print(json.dumps({"solver": "scipy.integrate.odeint (LSODA)", "sheet": os.path.basename(args.sheet), "strokes": case.strokes,
                      "reference_kPa": reference / 1e3, **tried[first], "loosest_lucky": tried[good.index(True)],
                      "tried": tried}, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
