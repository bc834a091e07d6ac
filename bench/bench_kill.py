#!/usr/bin/env python3
"""Whether anything acknowledged is ever lost: the program killed a thousand times at random moments while two devices enter readings, and ten
thousand entries by two devices at once.

Wanted: every acknowledged reading is in the garage file once, none stands there twice, and `crosshatch verify` finds nothing; at least 2,000
acknowledged ones, and requests cut in their middle in half as many as kills, or the run tells nothing. Takes some four minutes, most of them starting the
program. Exits 1 on a miss. Shorter in every test run: tests/web/kill.py.

usage: bench_kill.py [KILLS [ENTRIES]]
"""
import os
import sys
import tempfile
import time

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
os.environ.setdefault("CROSSHATCH", os.path.join(BUILD, "crosshatch"))
sys.path.insert(0, os.path.join(SOURCE, "tests/web"))

# pylint: disable=wrong-import-position
from entering import Device, Killable, check, kill_often, sheets_for  # noqa: E402

KILLS = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
ENTRIES = int(sys.argv[2]) if len(sys.argv) > 2 else 10_000


def kills():
    with tempfile.TemporaryDirectory() as folder:
        begun = time.monotonic()
        found = kill_often(folder, KILLS, 20261125, lambda number, told: print(f"  {number} kills, {told} acknowledged, all there", flush=True))
        told, broken = found["acknowledged"], found["broken"]
        well = told >= 2 * KILLS and broken >= KILLS / 2
        print(f"kill -9, {KILLS} times in {time.monotonic() - begun:.0f} s: {told} readings acknowledged (wanted {2 * KILLS}), 0 lost (wanted 0), 0 doubled (wanted 0);")
        print(f"  {broken} requests were cut in their middle (wanted {KILLS // 2}); {found['again']} readings sent again were there already")
        return well


def entries():
    with tempfile.TemporaryDirectory() as folder:
        server = Killable(folder)
        server.start()
        sheets = server.begin_sheets(sheets_for(ENTRIES))
        devices = [Device(server, sheets, range(part, ENTRIES, 2)) for part in range(2)]
        begun = time.monotonic()
        for device in devices:
            device.start()
        for device in devices:
            device.join()
        seconds = time.monotonic() - begun
        server.stop()
        told = check(server, devices, True)
        print(f"two devices at once: {told} entries (wanted {ENTRIES}), 0 lost, 0 doubled, {told / seconds:.0f} a second")
        return told == ENTRIES


def main():
    try:
        well = [kills(), entries()]
    except AssertionError as problem:
        print(f"missed: {problem}")
        return 1
    return 0 if all(well) else 1


if __name__ == "__main__":
    sys.exit(main())
