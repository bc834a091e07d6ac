#!/usr/bin/python3
"""How fast a driveline log is read, against pandas' C reader taking the same five columns, and against `wc -l`, which only finds line ends.

One hour at 100 Hz with 20 columns, made here; the file is warm. In one run on one machine: our reader over the mapped file (time_drivelog, C),
pandas.read_csv(engine="c", usecols=five), and wc -l. Processor time on one core, the least of several; pandas' own start is not counted, nor
is ours. Then the whole command `crosshatch driveline`, process start included, and the reader's memory on this log and on one eight times as long.

Wanted: at least three times as fast as pandas; under 0.15 s for the command; under 64 MB whatever the length. Both must find the same numbers.
Writes bench-drivelog.json into the build directory; exits 1 on a miss.
"""

import json
import math
import os
import platform
import random
import resource
import subprocess
import sys
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import rows as common  # noqa: E402  pylint: disable=wrong-import-position

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
ROWS, REPEATS = 360000, 7
SIZES = [22500, 45000, 90000, 180000, 360000]
WANTED_RATIO, WANTED_SECONDS, WANTED_KILOBYTES = 3.0, 0.15, 64 * 1024
FIVE = ["Time (s)", "Engine speed (rpm)", "Vehicle speed (km/h)", "Throttle (%)", "Coolant (C)"]
NAMES = ["Time (s)", "Engine speed (rpm)", "Lambda", "Vehicle speed (km/h)", "Throttle (%)", "Manifold (kPa)", "Intake air (C)", "Coolant (C)",
         "Oil pressure (bar)", "Battery (V)", "Ignition (deg)", "Injection (ms)", "Lateral (g)", "Vertical (g)", "Latitude", "Longitude",
         "Yaw (deg/s)", "Brake (bar)", "Steering (deg)", "Lap"]


def write_log(path, rows):
    """A car on a round, 20 columns; the same bytes on every run."""
    noise = random.Random(20)
    with open(path, "w", encoding="ascii") as stream:
        stream.write(",".join(NAMES) + "\n")
        for i in range(rows):
            t = i * 0.01
            kmh = 90 + 50 * math.sin(t / 20)
            low, high = noise.random(), noise.random()
            stream.write(f"{t:.2f},{kmh * 42 + 20 * low:.1f},{0.9 + 0.1 * high:.4f},{kmh + 0.2 * low:.2f},{50 + 45 * math.sin(t / 3):.2f},"
                         f"{60 + 40 * low:.2f},{24 + high:.2f},{88 + 4 * math.sin(t / 200):.2f},{4 + low:.3f},{13.8 + 0.2 * high:.3f},"
                         f"{22 + 8 * low:.2f},{6 + 3 * high:.3f},{2 * low - 1:.4f},{0.2 * high - 0.1:.4f},{47 + t * 1e-5:.6f},"
                         f"{11 + t * 1e-5:.6f},{20 * low - 10:.3f},{40 * high:.2f},{60 * low - 30:.2f},{int(t / 95)}\n")


def least(call):
    """The least processor seconds of some calls, children included."""
    best = math.inf
    for _ in range(REPEATS):
        before = time.process_time() + sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2])
        call()
        best = min(best, time.process_time() + sum(resource.getrusage(resource.RUSAGE_CHILDREN)[:2]) - before)
    return best


def ours(path, repeats):
    run = subprocess.run([os.path.join(BUILD, "bench/time_drivelog"), path, str(repeats)], check=True, stdout=subprocess.PIPE,
                         stderr=subprocess.DEVNULL)
    return json.loads(run.stdout)


def pandas_sum(path):
    """Pandas' numbers in SI, added up as time_drivelog adds up its own."""
    import pandas

    def read():
        return pandas.read_csv(path, engine="c", usecols=FIVE)

    frame = read()
    total = float(frame[FIVE[0]].sum() + frame[FIVE[1]].sum() * math.pi / 30 + frame[FIVE[2]].sum() / 3.6 + frame[FIVE[3]].sum() / 100 +
             (frame[FIVE[4]] + 273.15).sum())
    return least(read), total, pandas.__version__


def command(path):
    """The whole command: processor seconds with process start and file reading, and wall seconds, which other work on the machine lengthens."""
    wall = [math.inf]

    def run():
        began = time.perf_counter()
        subprocess.run([os.path.join(BUILD, "crosshatch"), "driveline", path, "--json"], check=True, stdout=subprocess.DEVNULL)
        wall[0] = min(wall[0], time.perf_counter() - began)

    return least(run), wall[0]


def main():
    path, longer = os.path.join(BUILD, "hour.csv"), os.path.join(BUILD, "eight-hours.csv")
    write_log(path, ROWS)
    size = os.path.getsize(path)
    with open(path, "rb") as stream, open(longer, "wb") as target:
        head = stream.readline()
        body = stream.read()
        target.write(head)
        for _ in range(8):
            target.write(body)
    try:
        reader, long_run = ours(path, REPEATS), ours(longer, 1)
        pandas_seconds, pandas_total, version = pandas_sum(path)
        floor = least(lambda: subprocess.run(["wc", "-l", path], check=True, stdout=subprocess.DEVNULL))
        whole, wall = command(path)
        by_size = []
        for size_rows in SIZES:
            write_log(longer, size_rows)
            by_size.append(ours(longer, 3)["seconds"])
    finally:
        os.remove(longer)
        os.remove(path)
    rows = [("crosshatch reader", reader["seconds"]), (f"pandas {version}, C engine", pandas_seconds), ("wc -l", floor),
            ("crosshatch driveline", whole), ("the same, wall", wall)]
    print(f"{ROWS} rows, {len(NAMES)} columns, {size / 1e6:.1f} MB; five columns wanted")
    for name, seconds in rows:
        print(f"{name:<28} {seconds:>8.4f} s {size / 1e6 / seconds:>8.0f} MB/s")
    print(f"memory of the reader: {reader['kilobytes']} kB for one hour, {long_run['kilobytes']} kB for eight")
    # A sum of 1.8 million numbers in another order differs by rounding only.
    same = bool(reader["rows"] == ROWS and abs(reader["sum"] / pandas_total - 1) < 1e-10)
    met = {f"{WANTED_RATIO:.0f} times pandas' C reader": pandas_seconds >= WANTED_RATIO * reader["seconds"],
           f"the command under {WANTED_SECONDS} s": whole < WANTED_SECONDS,
           "memory under 64 MB": max(reader["kilobytes"], long_run["kilobytes"]) < WANTED_KILOBYTES,
           "the same numbers as pandas": same}
    for what, holds in met.items():
        print(f"wanted {what}: {'met' if holds else 'MISSED'}")
    common.compare("log", "an hour at 100 Hz, five columns read", reader["seconds"], pandas_seconds, f"pandas {version}, C engine", wanted="3 times",
                   met=pandas_seconds >= WANTED_RATIO * reader["seconds"])
    common.compare("log", "an hour at 100 Hz, five columns read", reader["seconds"], floor, "wc -l, which only finds line ends")
    common.figure("log", "the whole command", whole, "s", "under 0.15 s", whole < WANTED_SECONDS)
    common.growth("log", "rows read", SIZES, by_size)
    with open(os.path.join(BUILD, "bench-drivelog.json"), "w", encoding="utf-8") as stream:
        json.dump({"machine": platform.machine(), "bytes": size, "seconds": dict(rows), "kilobytes": [reader["kilobytes"], long_run["kilobytes"]],
                   "ratio_to_pandas": pandas_seconds / reader["seconds"], "met": met}, stream, indent=1)
    return 0 if all(met.values()) else 1


if __name__ == "__main__":
    sys.exit(main())
