#!/usr/bin/python3
"""What an entry costs in the garage file against plain SQLite at the same durability, and how listing grows with the sheets.

In one run on one machine, on the disk of the build directory (where a flush is a flush) and, to show the computing alone, in memory: time_store (C) enters readings
through the store, one transaction each as a phone sends them, and in turns with them, twenty and twenty, inserts the same columns by plain SQL with WAL and synchronous=FULL:
the time that a flush takes changes from second to second, and so meets both. What ours does beside the insert: triggers that keep entries append-only, the look whether the sender's id was here already, and reading back what was written before the commit.

Wanted: an entry on the disk in at most twice the time of the plain insert. Exits 1 on a miss.
"""
import json
import os
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import rows  # noqa: E402  pylint: disable=wrong-import-position

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
WANTED_TIMES = 2.0


def run(folder):
    with tempfile.TemporaryDirectory(dir=folder) as own:
        return json.loads(subprocess.run([os.path.join(BUILD, "bench/time_store"), own], check=True, stdout=subprocess.PIPE).stdout)


def main():
    on_disk = run(BUILD)
    met = True
    for where, found in (("disk", on_disk), ("memory", run("/dev/shm") if os.path.isdir("/dev/shm") else None)):
        if found is None:
            continue
        turns = found["beside"]
        ours, plain = turns["ours_s"] / turns["entries"], turns["plain_s"] / turns["entries"]
        promised = where == "disk"
        well = ours <= WANTED_TIMES * plain if promised else None
        met = met and well is not False
        rows.compare("store", f"one entry, flushed, {where}", ours, plain, "plain SQLite, WAL, FULL",
                     wanted="at most twice" if promised else "", met=well)
        print(f"{where}: an entry takes {1e6 * ours:.0f} us, a plain insert {1e6 * plain:.0f} us, {ours / plain:.1f} times")
    rows.growth("store", "entries in a sheet (all of them, disk)", on_disk["entries"]["sizes"], on_disk["entries"]["seconds"])
    power = rows.growth("store", "sheets in the file (list all, load one)", on_disk["sheets"]["sizes"], on_disk["sheets"]["seconds"])
    print(f"listing grows as sheets^{power:.2f}")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
