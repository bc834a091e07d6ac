#!/usr/bin/python3
"""Promises that no hot path has come to take a tenth more instructions than when they were last counted (instructions.json). TAP.

Counted by Valgrind's callgrind inside the functions hot_* of hot_paths.c alone: the same on every run, whatever else the machine does, which seconds are not. A count holds
for one compiler, one kind of build and one Valgrind; where any of them is another, every test is skipped with a line that says which.

usage: instructions.py            compare (run by meson test)
       instructions.py --record   count anew and write instructions.json: to be done where a change was meant, and said in its commit message

Run with HOT_PATHS (the program), COMPILER ("gcc 12.2.0") and BUILD_KIND ("debugoptimized, no sanitizer").
"""
import json
import os
import platform
import re
import shutil
import subprocess
import sys

KEPT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "instructions.json")
PATHS = ("cranking", "emulator", "weigh", "log", "judge")
BOUND = 0.10


def surroundings():
    valgrind = "none"
    if shutil.which("valgrind"):
        valgrind = subprocess.run(["valgrind", "--version"], check=True, stdout=subprocess.PIPE).stdout.decode().strip()
    return {"valgrind": valgrind, "compiler": os.environ["COMPILER"], "build": os.environ["BUILD_KIND"], "machine": platform.machine(),
            "libc": " ".join(platform.libc_ver())}


def count(path):
    done = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null", f"--toggle-collect=hot_{path}", os.environ["HOT_PATHS"], path],
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
                          env=dict(os.environ, MALLOC_PERTURB_="0"))  # meson's fills what is allocated, which counts
    found = re.search(r"Collected : (\d+)", done.stdout.decode(errors="replace"))
    assert done.returncode == 0 and found, done.stdout.decode(errors="replace")[-1000:]
    return int(found.group(1))


def record():
    kept = {**surroundings(), "counts": {path: count(path) for path in PATHS}}
    with open(KEPT, "w", encoding="utf-8") as stream:
        json.dump(kept, stream, indent=1)
        stream.write("\n")
    print(json.dumps(kept, indent=1))
    return 0


def compare():
    with open(KEPT, encoding="utf-8") as stream:
        kept = json.load(stream)
    here = surroundings()
    other = [f"{what} is {here[what]}, counted with {kept[what]}" for what in here if here[what] != kept[what]]
    if other:
        print("1..0 # SKIP " + "; ".join(other))
        return 0
    failed = 0
    for number, path in enumerate(PATHS, 1):
        found, was = count(path), kept["counts"][path]
        well = found <= (1 + BOUND) * was
        failed += not well
        print(f"{'ok' if well else 'not ok'} {number} - {path}_takes_at_most_a_tenth_more_instructions_than_counted # {found} against {was}, {100 * (found / was - 1):+.1f} %")
    print(f"1..{len(PATHS)}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(record() if sys.argv[1:] == ["--record"] else compare())
