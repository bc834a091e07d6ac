#!/usr/bin/env python3
"""What the printed reports say, against the sheet and against what the terminal says of it. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree)."""
import html.parser
import os
import pathlib
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "web"))
from promises import keep, promise  # noqa: E402

PROGRAM = os.environ["CROSSHATCH"]
FOLDER = tempfile.TemporaryDirectory()
HEAD = """sheet: 1
engine: {cylinders: 4, bore: 84 mm, stroke: 82 mm, compression_ratio: 10.5, limits: {standard: 185 psi, minimum: 140 psi}}
gauge: {span: 300 psi, accuracy: 2 % of span, resolution: 2 psi}
conditions: {altitude: 450 m, engine_temperature: 70 C, throttle: open, cranking_speed: 220 rpm, strokes: 8}
"""
DRY = """compression:
  - {cylinder: 1, reading: 178 psi}
  - {cylinder: 1, reading: 180 psi}
  - {cylinder: 2, reading: 174 psi}
  - {cylinder: 2, reading: 12.1 bar}
  - {cylinder: 3, reading: 176 psi}
  - {cylinder: 4, reading: 139 psi}
"""
# Invented: dry in psi, once in bar; wet in bar; leak-downs through two orifices, under two supplies.
MIXED = HEAD + DRY + """wet:
  - {cylinder: 1, reading: 12.8 bar, oil: 2 tsp}
  - {cylinder: 2, reading: 181 psi, oil: 8 ml}
  - {cylinder: 3, reading: 12.7 bar, oil: 2 tsp}
  - {cylinder: 4, reading: 11.5 bar, oil: 8 ml}
leakdown:
  - {cylinder: 1, supply: 100 psi, loss: 9 %, orifice: 1.016 mm, heard: nothing}
  - {cylinder: 2, supply: 6.9 bar, loss: 9 %, orifice: 1.5 mm, heard: nothing}
  - {cylinder: 3, supply: 100 psi, loss: 9 %, heard: nothing}
  - {cylinder: 4, supply: 100 psi, loss: 31 %, orifice: 1.016 mm, heard: [exhaust, coolant]}
"""


class Report(html.parser.HTMLParser):
    """Its tables as lists of rows, and its sentences."""

    def __init__(self, text):
        super().__init__()
        self.tables, self.sentences, self.open = [], [], None
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "table":
            self.tables.append([])
        if tag == "tr":
            self.tables[-1].append([])
        if tag in ("td", "th", "li", "p", "h1", "caption"):
            self.open = []

    def handle_endtag(self, tag):
        if tag in ("td", "th") and self.open is not None:
            self.tables[-1][-1].append("".join(self.open))
        if tag in ("li", "p", "h1", "caption") and self.open is not None:
            self.sentences.append("".join(self.open))
        self.open = None

    def handle_data(self, data):
        if self.open is not None:
            self.open.append(data)


def run(*arguments):
    done = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, (arguments, done.returncode, done.stderr)
    return done.stdout


def sheet(text):
    path = pathlib.Path(FOLDER.name) / "sheet.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def report(text, *options):
    path = pathlib.Path(FOLDER.name) / "report.html"
    run("report", sheet(text), *options, "-o", str(path))
    return Report(path.read_text(encoding="utf-8"))


def column(read, name):
    head, *rows = read.tables[0]
    return [row[head.index(name)] for row in rows]


@promise
def what_was_read_in_another_unit_stands_beside_what_it_comes_to():
    read = report(MIXED)
    assert "Cylinder by cylinder, psi" in read.sentences
    assert column(read, "With oil") == ["186 (12.8 bar)", "181", "184 (12.7 bar)", "167 (11.5 bar)"], column(read, "With oil")
    assert "Told in psi; dry readings that were taken in another unit: cylinder 2: 12.1 bar." in read.sentences, read.sentences


@promise
def one_unit_for_all_readings_is_named_once_where_the_report_is_in_another():
    said = "Read in psi, told in bar."
    one = re.sub(r"12\.1 bar", "175 psi", HEAD + DRY) + "wet:\n  - {cylinder: 4, reading: 167 psi}\n"
    read = report(one, "--units", "bar")
    assert said in read.sentences and column(read, "With oil")[3] == "11.51", column(read, "With oil")
    assert not any(sentence.startswith(("Read in", "Told in")) for sentence in report(one).sentences)


@promise
def doses_supplies_and_orifices_are_told_by_the_cylinders_they_were_used_on():
    read = report(MIXED)
    for wanted in ("Oil for the wet test: 2 tsp (cylinders 1, 3), 8 ml (cylinders 2, 4).",
                   "Supply of the leak-down test: 100 psi (cylinders 1, 3, 4), 6.9 bar (cylinder 2).",
                   "Orifice of the leak-down tester: 1.016 mm (cylinders 1, 4), 1.5 mm (cylinder 2), not stated (cylinder 3)."):
        assert wanted in read.sentences, (wanted, read.sentences)
    assert column(read, "Leak-down, air heard") == ["9 % through 1.016 mm, nowhere", "9 % through 1.5 mm, nowhere", "9 %, nowhere", "31 % through 1.016 mm, exhaust, coolant"]


@promise
def what_was_the_same_for_all_is_told_once():
    alike = re.sub(r"orifice: 1.5 mm", "orifice: 1.016 mm", MIXED).replace("loss: 9 %, heard", "loss: 9 %, orifice: 1.016 mm, heard")
    read = report(alike.replace("2 tsp", "8 ml").replace("6.9 bar", "100 psi"))
    for wanted in ("Oil for the wet test: 8 ml.", "Supply of the leak-down test: 100 psi.", "Orifice of the leak-down tester: 1.016 mm."):
        assert wanted in read.sentences, (wanted, read.sentences)
    assert column(read, "Leak-down, air heard")[0] == "9 %, nowhere"
    none = report(re.sub(r", oil: [^}]*|orifice: [^,]*, |supply: [^,]*, ", "", MIXED))
    assert not any(sentence.startswith(("Oil for", "Supply of", "Orifice of")) for sentence in none.sentences), none.sentences


@promise
def cylinders_without_a_reading_are_told_as_one_or_as_several():
    two = report(HEAD + "compression:\n  - {cylinder: 1, reading: 176 psi}\n  - {cylinder: 2, reading: 171 psi}\n")
    assert "No dry compression reading of cylinders 3, 4." in two.sentences, two.sentences
    assert any(sentence.endswith("or assumed: cylinders 1, 2.") for sentence in two.sentences), two.sentences
    assert "No dry compression reading of cylinder 4." in report(HEAD + DRY.replace("  - {cylinder: 4, reading: 139 psi}\n", "")).sentences


@promise
def all_that_was_seen_is_there_however_much_it_is():
    kinds = ("oily_plug", "wet_plug", "black_sooty_plug", "misfire_cylinder", "weak_in_power_balance", "borescope_scoring")
    rows = [f"  - {{what: {what}, cylinder: {c}, found: no}}\n" for what in kinds for c in range(1, 5)]
    told = next(sentence for sentence in report(HEAD + DRY + "observed:\n" + "".join(rows)).sentences if sentence.startswith("Seen, heard"))
    assert told.count("looked for, not there") == len(rows) and told.endswith("not there."), told
    assert len(told) > 1500, len(told)


@promise
def its_numbers_are_those_of_the_terminal_to_the_last_digit():
    for text in (MIXED, HEAD + DRY, HEAD.replace("cylinders: 4", "cylinders: 1") + "compression:\n  - {cylinder: 1, reading: 151 psi}\n"):
        for unit in ("psi", "bar", "kPa"):
            said = run("judge", sheet(text), "--units", unit)
            rows = re.findall(r"^ +(\d+) +(\d+) +(\S+) +(\S+) +\S+ +(\S+)-(\S+) +(\S+)  (\S+)(?: \((\S+)\.\.(\S+)\))?$", said[said.index("Cylinder by cylinder"):], re.M)
            wanted = [[cylinder, n, mean, u, f"{low} to {high}", day, f"{leak} ({least} to {most})"]
                      for cylinder, n, mean, u, low, high, day, leak, least, most in rows]
            read = report(text, "--units", unit)
            assert f"Cylinder by cylinder, {unit}" in read.sentences
            assert wanted and wanted == [row[:7] for row in read.tables[0][1:]], (unit, wanted, read.tables[0])
            verdict = re.search(r"^Verdict: (\w+)\.", said, re.M).group(1)
            assert f"Verdict: {verdict}" in pathlib.Path(FOLDER.name, "report.html").read_text(encoding="utf-8")


@promise
def the_columns_of_a_printed_plan_name_their_money():
    path = pathlib.Path(FOLDER.name) / "plan.html"
    run("winter", str(pathlib.Path(os.environ["CROSSHATCH_SOURCE"]) / "demo/winter/hill-climb.yaml"), "-o", str(path))
    tables = Report(path.read_text(encoding="utf-8")).tables
    assert len(tables) == 2 and all(table[0][:3] == ["Job", "Hours", "Parts, EUR"] for table in tables), [table[0] for table in tables]


if __name__ == "__main__":
    sys.exit(keep())
