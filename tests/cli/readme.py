#!/usr/bin/env python3
"""What README.md shows of the program's answers is what the program answers. Speaks TAP.

Every block of an answer is the output of one command, some lines of it left out ("..." or silently, between others): each line that stands there stands in the
output, in that order.
"""
import os
import pathlib
import re
import subprocess

SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
# How a block begins: the command that it shows.
COMMANDS = {
    "Verdict: fault.": ["judge", "demo/hill-climb-burnt-valve.yaml"],
    "Gauge after each stroke": ["predict", "demo/hill-climb-burnt-valve.yaml"],
    "No slip found": ["driveline", "tests/data/vehicle-logs/vehicle_a_commute_1.csv"],
    "To be ready for": ["winter", "demo/winter/hill-climb.yaml"],
}


def blocks():
    """Blocks without a language that show an answer."""
    for language, text in re.findall(r"^```(\w*)\n(.*?)^```$", (SOURCE / "README.md").read_text(encoding="utf-8"), flags=re.S | re.M):
        for begins, command in COMMANDS.items():
            if language == "" and text.startswith(begins):
                yield begins, command, [line for line in text.splitlines() if line.strip() not in ("", "...")]


def missing(lines, output):
    """The first line of a block that the output does not have behind the one before, or None."""
    at = 0
    for line in lines:
        while at < len(output) and output[at] != line:
            at += 1
        if at == len(output):
            return line
        at += 1
    return None


def main():
    shown = list(blocks())
    found = {begins for begins, _, _ in shown}
    print(f"1..{len(COMMANDS)}")
    for number, (begins, command) in enumerate(COMMANDS.items(), 1):
        name = f"the_answer_of_{command[0]}_is_what_readme_shows"
        why = None if begins in found else "no such block"
        for block_begins, _, lines in shown:
            if block_begins == begins:
                done = subprocess.run([os.environ["CROSSHATCH"], *command], capture_output=True, text=True, check=False, cwd=SOURCE)
                line = missing(lines, done.stdout.splitlines())
                why = why or (f"not in the answer: {line}" if line is not None else None)
        print(f"{'not ok' if why else 'ok'} {number} - {name}")
        if why:
            print(f"# {why}")


main()
