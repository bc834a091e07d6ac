#!/usr/bin/env python3
"""What each chart consists of, against a file that was looked at. TAP.

structure.txt holds for every chart its size, how many marks of each kind it has, its title, its description and its labels in the order in which they
are read: a chart that loses a bar, a limit or a word changes it, one that moves by a pixel or has another colour does not.
`structure.py write` makes it anew: look at the charts themselves (draw_charts FOLDER) before what comes out is kept."""
import collections
import functools
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as tree

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "web"))
from promises import keep, promise  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
SVG = "{http://www.w3.org/2000/svg}"
LABELS = 60  # of the first ones: the sixteen cylinders repeat themselves


def structure(path):
    """One chart as lines. Expat refuses what is not well-formed."""
    root = tree.parse(path).getroot()
    assert root.tag == SVG + "svg", root.tag
    parts = [one for one in root if one.tag not in (SVG + "title", SVG + "desc")]
    marks = collections.Counter(f"{one.tag.removeprefix(SVG)}.{one.get('class')}" for one in parts if one.tag != SVG + "text")
    labels = [one.text or "" for one in parts if one.tag == SVG + "text"]
    # What sampling gave may round otherwise on another machine.
    plain = (lambda words: re.sub(r"[0-9][0-9.]*", "#", words)) if path.stem.startswith(("trend", "sensitivity")) else str
    yield f"{path.stem}: {root.get('width')} x {root.get('height')}"
    yield f"  title: {root.findtext(SVG + 'title')}"
    yield f"  says: {plain(root.findtext(SVG + 'desc'))}"
    yield "  marks: " + ", ".join(f"{count} {name}" for name, count in sorted(marks.items()))
    yield f"  labels: {len(labels)}: " + plain(" | ".join(labels[:LABELS]))


@functools.cache
def all_charts(_time):
    """Every chart, drawn anew for another `_time`."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([os.environ["DRAW_CHARTS"], folder], check=True, stdout=subprocess.DEVNULL)
        return [line for path in sorted(pathlib.Path(folder).glob("*.svg")) for line in structure(path)]


@promise
def every_chart_consists_of_what_it_did_when_it_was_looked_at():
    wanted = (HERE / "structure.txt").read_text(encoding="utf-8").splitlines()
    got = all_charts(1)
    assert len(wanted) > 300, "nothing to compare with"
    for number, (a, b) in enumerate(zip(got, wanted), 1):
        assert a == b, f"structure.txt:{number}:\n{b}\nis now\n{a}"
    assert len(got) == len(wanted), f"{len(got)} lines, {len(wanted)} before"


@promise
def the_calendar_marks_every_night_that_the_plan_counts():
    lines = all_charts(1)
    tried = 0
    for at, line in enumerate(lines):
        if not line.startswith("calendar-"):
            continue
        nights = int(re.search(r"stands apart for (\d+) nights", lines[at + 2]).group(1)) if "nights" in lines[at + 2] else None
        marks = re.search(r"(\d+) line\.svg-mark", lines[at + 3])
        assert nights == int(marks.group(1) if marks else 0), line
        tried += 1
    assert tried >= 3


@promise
def one_drawing_says_the_same_twice():
    first, second = all_charts(1), all_charts(2)
    assert first == second


if sys.argv[1:] == ["write"]:
    (HERE / "structure.txt").write_text("\n".join(all_charts(1)) + "\n", encoding="utf-8")
    sys.exit(0)
sys.exit(keep())
