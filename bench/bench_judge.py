#!/usr/bin/python3
"""How long `crosshatch judge --json` takes from the start of the process to its end, and how much memory.

usage: bench_judge.py [RUNS]      (default: 9)

A six-cylinder sheet with dry readings alone, one with all kinds of evidence, and the same again with its answer kept
in the cache. The shortest of RUNS counts, as whatever else the machine does only adds; the processor time of that run
stands beside it. Prints each figure with the one wanted; exits 1 where one is missed, where the answer is not
the same bytes each time, or where no answer was kept.
"""
import json
import os
import resource
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import rows as common  # noqa: E402  pylint: disable=wrong-import-position

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
PROGRAM = os.environ.get("CROSSHATCH", os.path.join(BUILD, "crosshatch"))
RUNS = int(sys.argv[1]) if len(sys.argv) > 1 else 9

# Invented: no real engine.
DRY = """sheet: 1
units: {pressure: psi, length: mm}
engine:
  {cylinders: 6, layout: inline, firing_order: [1, 5, 3, 6, 2, 4], bore: 84, stroke: 75, rod_length: 135,
   compression_ratio: 9.7, valve_timing: {intake_opens_btdc: 12, intake_closes_abdc: 52, exhaust_opens_bbdc: 52,
   exhaust_closes_atdc: 12, at_lift: 0.1 mm}, limits: {standard: 180, minimum: 140, spread: 25}}
gauge: {span: 300, accuracy: grade B, resolution: 2, hose_volume: 11 ml, dead_volume: 2 ml}
conditions: {altitude: 310 m, air_temperature: 8 C, engine_temperature: 65 C, throttle: open, cranking_speed: 240 rpm,
             strokes: 6, odometer: 164300 km}
compression:
  - {cylinder: 1, reading: 180, first_stroke: 90}
  - {cylinder: 2, reading: 176, first_stroke: 88}
  - {cylinder: 3, reading: 132, first_stroke: 72}
  - {cylinder: 4, reading: 178, first_stroke: 90}
  - {cylinder: 5, reading: 158, first_stroke: 80}
  - {cylinder: 6, reading: 180, first_stroke: 92}
"""
FULL = DRY + """wet:
  - {cylinder: 1, reading: 206, oil: 5 ml}
  - {cylinder: 2, reading: 202, oil: 5 ml}
  - {cylinder: 3, reading: 146, oil: 5 ml}
  - {cylinder: 4, reading: 204, oil: 5 ml}
  - {cylinder: 5, reading: 196, oil: 5 ml}
  - {cylinder: 6, reading: 206, oil: 5 ml}
leakdown:
  - {cylinder: 1, supply: 100, loss: 9 %, orifice: 1.016 mm, heard: oil_filler}
  - {cylinder: 2, supply: 100, loss: 10 %, orifice: 1.016 mm, heard: oil_filler}
  - {cylinder: 3, supply: 100, loss: 72 %, orifice: 1.016 mm, heard: exhaust}
  - {cylinder: 4, supply: 100, loss: 9 %, orifice: 1.016 mm, heard: oil_filler}
  - {cylinder: 5, supply: 100, loss: 30 %, orifice: 1.016 mm, heard: oil_filler}
  - {cylinder: 6, supply: 100, loss: 8 %, orifice: 1.016 mm, heard: nothing}
observed:
  - {what: popping_exhaust}
  - {what: oily_plug, cylinder: 5}
  - {what: coolant_loss, found: no}
  - {what: gas_test_positive, found: no}
  - {what: weak_in_power_balance, cylinder: 3}
  - {what: borescope_valve_edge, cylinder: 3}
"""


def run(sheet, cache):
    """One run: seconds from start to end, seconds of the processor, answer."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    answer = subprocess.run([PROGRAM, "judge", "--json", sheet], env=dict(os.environ, XDG_CACHE_HOME=cache),
                            stdout=subprocess.PIPE, check=True).stdout
    elapsed = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return elapsed, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, answer


def figure(name, got, most, unit, note=""):
    """Print one figure; whether it is met."""
    print(f"{name}: {got:.3g} {unit}{note}; wanted at most {most:g} {unit}{'' if got <= most else ': MISSED'}")
    return got <= most


def main():
    good = True
    with tempfile.TemporaryDirectory() as folder:
        for name, text, most in (("dry readings", DRY, 0.5), ("all kinds of evidence", FULL, 0.5)):
            sheet = os.path.join(folder, "sheet.yaml")
            with open(sheet, "w", encoding="utf-8") as file:
                file.write(text)
            caches = [os.path.join(folder, f"{name} {i}") for i in range(RUNS)]
            for cache in caches:
                os.mkdir(cache)
            first = [run(sheet, cache) for cache in caches]
            if not any(files for _, _, files in os.walk(caches[0])):
                print(f"{name}: no answer was kept")
                good = False
            again = [run(sheet, caches[0]) for _ in range(RUNS)]
            if len({answer for _, _, answer in first + again}) != 1:
                print(f"{name}: the answers differ")
                good = False
            for what, runs, wanted in ((name, first, most), (name + ", kept before", again, 0.1)):
                elapsed, busy, _ = min(runs)
                good &= figure(what, elapsed, wanted, "s", f" ({busy:.3f} s of the processor)")
                common.figure("judge", f"the command, {what}", elapsed, "s", f"under {wanted} s", elapsed <= wanted)
    most_mb = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024.0
    good &= figure("memory", most_mb, 100.0, "MB")
    timed = json.loads(subprocess.run([os.path.join(BUILD, "bench/time_judge")], check=True, stdout=subprocess.PIPE).stdout)
    four = timed["cylinders"]["seconds"][2]
    common.compare("judge", "judging and tracing, four cylinders", four, timed["emulator"], "the cranking runs that it rests on, alone")
    common.growth("judge", "cylinders, one reading each", timed["cylinders"]["sizes"], timed["cylinders"]["seconds"])
    common.growth("judge", "repeats of four cylinders", timed["repeats"]["sizes"], timed["repeats"]["seconds"])
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
