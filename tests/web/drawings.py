#!/usr/bin/env python3
"""Promises of the charts on pages: each where its sheet has something to show, named, with its numbers in a table. TAP."""
import os
import re
import subprocess
import sys

from browse import PROGRAM, Person, Server
from newcomer import sheet_with_readings
from promises import keep, promise

SOURCE = os.environ["CROSSHATCH_SOURCE"]


def charts(page):
    """Names of the charts that are named for a screen reader."""
    return re.findall(r'<svg[^>]* role="img" aria-labelledby="([a-z-]+)-title"', page.source)


def rows(page, caption):
    """The rows of a table by its caption, cells as text."""
    table = re.search(rf"<caption>{caption}.*?</caption>(.*?)</table>", page.source, re.S).group(1)
    return [re.findall(r"<t[hd][^>]*>([^<]*)</t[hd]>", row) for row in re.findall(r"<tr>(.*?)</tr>", table, re.S)]


@promise
def a_sheet_with_first_strokes_and_oil_has_their_charts_and_tables():
    with Server() as server:
        subprocess.run([PROGRAM, "import", "--garage", server.garage, os.path.join(SOURCE, "demo/hill-climb-burnt-valve.yaml")], check=True,
                       stdout=subprocess.DEVNULL)
        person = Person(server)
        page = person.get("/sheet/1/findings")
        assert charts(page) == ["engine", "leaks", "strokes", "wet"], charts(page)
        strokes = rows(page, "Pump-up by stroke")
        # The sheet's own figures: cylinder 3 had 72 psi after the first stroke, and 132 and 130 at the end.
        assert strokes[1][0] == "a sound one" and strokes[4] == ["3", "72", "131", "0.55"], strokes
        wet = rows(page, "Dry against wet")
        assert [row[:5] for row in wet[1:]] == [["1", "181", "206", "+14 %", "5"], ["3", "131", "146", "+11 %", "5"]], wet
        assert all(row[5].startswith("up to ") for row in wet[1:]), wet
        status, _, report = person.send("GET", "/sheet/1/report.html")
        assert status == 200 and report.count(b'role="img"') == 4


@promise
def what_was_not_read_has_no_empty_chart():
    with Server() as server:
        person = Person(server)
        sheet = sheet_with_readings(person, 1)
        page = person.get(f"/sheet/{sheet}/findings")
        assert charts(page) == ["engine", "leaks", "strokes"], charts(page)
        assert "Dry against wet" not in page.says


if __name__ == "__main__":
    sys.exit(keep())
