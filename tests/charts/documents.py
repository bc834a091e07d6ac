#!/usr/bin/env python3
"""Every document that the program prints, as other programs see it. TAP.

Whole by qpdf, fonts inside by pdffonts, text by pdftotext in the order in which the same document as HTML has it, on the paper that was asked for."""
import functools
import html.parser
import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "web"))
from promises import CannotRun, keep, promise  # noqa: E402

SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
PAPERS = {"a4": (595.28, 841.89), "letter": (612.0, 792.0)}  # ISO 216: 210 x 297 mm; ANSI/ASME Y14.1: 8.5 x 11 in; in points


def run(*command):
    """What another program says; its failure is ours."""
    if shutil.which(command[0]) is None:
        raise CannotRun(f"no {command[0]} on this machine")
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{' '.join(command)}: {done.stdout[-500:]}{done.stderr[-500:]}"
    return done.stdout


@functools.cache
def folder():
    kept = tempfile.TemporaryDirectory()
    subprocess.run([os.environ["WRITE_DOCUMENTS"], kept.name], check=True)
    folder.kept = kept
    return pathlib.Path(kept.name)


def pdfs():
    found = sorted(folder().glob("*.pdf"))
    assert len(found) == 24, found
    return found


class Parts(html.parser.HTMLParser):
    """The parts of a document that read as running text: (kind, words), in order. Drawings and tables are passed over."""

    KINDS = {"h1", "h2", "p", "li", "tick", "ticks"}

    def __init__(self, text):
        super().__init__()
        self.parts, self.open, self.divs, self.skip = [], [], [], 0
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag in ("svg", "table", "style", "head"):
            self.skip += 1
        if tag == "div":
            self.divs.append(dict(attrs).get("class") or "div")
            tag = self.divs[-1]
        if not self.skip and tag in self.KINDS:
            self.open.append((tag, []))

    def handle_endtag(self, tag):
        if tag in ("svg", "table", "style", "head"):
            self.skip -= 1
        if tag == "div":
            tag = self.divs.pop()
        if not self.skip and tag in self.KINDS:
            kind, words = self.open.pop()
            self.parts.append((kind, " ".join(" ".join(words).split())))

    def handle_data(self, data):
        if self.open and not self.skip:
            self.open[-1][1].append(data)


def squeezed(words):
    """Only what is printed: where lines end, and what marks an item of a list, is the paper's."""
    return re.sub(r"[\s\u2022]", "", words)


@functools.cache
def places(pdf):
    """Each part of the HTML with the page on which the PDF has it; a part that is missing or out of order fails."""
    parts = Parts((pdf.parent / (pdf.name.rsplit("-", 1)[0] + ".html")).read_text(encoding="utf-8")).parts
    assert len(parts) > 12, parts
    pages = run("pdftotext", "-raw", str(pdf), "-").split("\f")
    text = "\f".join(squeezed(page) for page in pages)
    at, found = 0, []
    for kind, words in parts:
        wanted = squeezed(words)[:24]
        # A part may begin at the foot of one page and go on at the head of the next: the foot's own line stands between.
        place = text.find(wanted, at)
        assert place >= 0, f"{pdf.name}: \"{words[:60]}\" is missing or out of order"
        at = place + len(wanted)
        found.append((kind, words, text.count("\f", 0, place)))
    return found


@promise
def every_pdf_is_whole():
    for pdf in pdfs():
        assert "No syntax or stream encoding errors" in run("qpdf", "--check", str(pdf)), pdf


@promise
def every_font_is_inside():
    for pdf in pdfs():
        rows = run("pdffonts", str(pdf)).splitlines()[2:]
        assert rows and all(row.split()[-5] == "yes" for row in rows), (pdf.name, rows)


@promise
def the_paper_is_the_one_asked_for():
    for pdf in pdfs():
        size = re.search(r"Page size:\s*([0-9.]+) x ([0-9.]+)", run("pdfinfo", str(pdf)))
        wanted = PAPERS[pdf.stem.rsplit("-", 1)[1]]
        assert all(abs(float(got) - want) < 0.5 for got, want in zip(size.groups(), wanted)), (pdf.name, size.groups())


@promise
def the_text_of_a_pdf_comes_in_the_order_of_the_html():
    for pdf in pdfs():
        assert len(places(pdf)) > 12


@promise
def words_are_the_letters_they_are_written_with():
    for pdf in pdfs():
        text = run("pdftotext", str(pdf), "-")
        assert not re.search("[\ufb00-\ufb06]", text), (pdf.name, re.search(".*[\ufb00-\ufb06].*", text).group())


def catalog(pdf):
    root = re.search(r"/Root (\d+) 0 R", run("qpdf", "--show-object=trailer", str(pdf))).group(1)
    return run("qpdf", f"--show-object={root}", str(pdf))


@promise
def a_reader_of_screens_is_told_title_language_and_structure():
    for pdf in pdfs():
        said, parts = run("pdfinfo", str(pdf)), places(pdf)
        title = squeezed(next(words for kind, words, _ in parts if kind == "h1"))
        assert squeezed(re.search(r"Title:(.*)", said).group(1)) == title and re.search(r"Tagged: +yes", said), (pdf.name, said)
        assert "/Lang (en)" in catalog(pdf) and "/DisplayDocTitle true" in catalog(pdf), catalog(pdf)
        structure = run("pdfinfo", "-struct-text", str(pdf))
        for element, kind in (("H1", "h1"), ("H2", "h2"), ("LI", "li")):
            wanted = sum(one == kind for one, _, _ in parts)
            # What goes on over a page's end is an element on each of its pages.
            assert wanted <= len(re.findall(rf"^ *{element} \(block\)$", structure, re.M)) <= wanted + (kind == "li"), (pdf.name, element, wanted)
        drawn = (pdf.parent / (pdf.name.rsplit("-", 1)[0] + ".html")).read_text(encoding="utf-8")
        assert len(re.findall(r"^ *Figure$", structure, re.M)) == drawn.count("<svg"), pdf.name
        assert structure.count("Table (block)") >= drawn.count("<table") and len(re.findall(r"^ *TD$", structure, re.M)) == drawn.count("<td") + drawn.count('scope="row"'), pdf.name
        assert not re.search(r"\d of \d+\"$", structure, re.M), f"{pdf.name}: the foot is read out"


@promise
def bookmarks_lead_to_the_chapters():
    for pdf in pdfs():
        marks = [(squeezed(mark["title"]), mark["destpageposfrom1"]) for mark in json.loads(run("qpdf", "--json", "--json-key=outlines", str(pdf)))["outlines"]]
        chapters = [(squeezed(words), page + 1) for kind, words, page in places(pdf) if kind == "h2"]
        outcome = [mark for mark in marks if mark not in chapters]
        assert [mark for mark in marks if mark in chapters] == chapters and len(outcome) <= 1, (pdf.name, marks, chapters)


@promise
def a_caution_stands_on_the_page_of_what_it_is_about():
    tried = 0
    for pdf in pdfs():
        found = places(pdf)
        for (_, words, page), (_, after, later) in zip(found, found[1:]):
            if words.split(" ")[0].rstrip(":") in SIGNALS:
                tried += 1
                assert page == later, f"{pdf.name}: \"{words[:50]}\" on page {page + 1}, \"{after[:50]}\" on page {later + 1}"
    assert tried > 100, tried


@promise
def no_heading_stands_alone_at_the_foot_of_a_page():
    for pdf in pdfs():
        found = places(pdf)
        for (kind, words, page), (_, after, later) in zip(found, found[1:]):
            # What follows may be a table or a drawing, which are not among the parts.
            assert not kind == "h2" or later - page <= 1, (pdf.name, words, after)
            if kind == "h2" and later == page + 1:
                body = run("pdftotext", "-f", str(page + 1), "-l", str(page + 1), str(pdf), "-")
                behind = squeezed(body).split(squeezed(words))[-1]
                assert len(behind) > 150, f"{pdf.name}: \"{words}\" at the foot of page {page + 1}"


def lines_of(pdf):
    return run("pdftotext", "-raw", str(pdf), "-").splitlines()


@promise
def a_number_and_its_unit_stand_in_one_line():
    tried = 0
    for pdf in pdfs():
        lines = lines_of(pdf)
        for line, after in zip(lines, lines[1:]):
            tried += bool(re.search(r"[0-9] (%|psi|kPa|mm)", line))
            # A line of a drawing or of a table's cell may well end in a number; a sentence that goes on behind its unit is torn.
            assert not re.match(r"%|(psi|bar|kPa|mm|ml|rpm)[.,;:)]? ", after) or not re.search(r"[a-z(].* \(?[0-9.]+$", line), f"{pdf.name}: {line} / {after}"
    assert tried > 200, tried


@promise
def a_table_is_broken_between_three_rows_and_three_and_its_caption_and_head_go_along():
    for paper in PAPERS:
        broken = 0
        pages = run("pdftotext", "-raw", str(folder() / f"tables-{paper}.pdf"), "-").split("\f")
        for number in range(30, 54):
            wanted = 5 if number % 2 == 0 else 9
            parts = [re.findall(rf"row {number}-(\d+) 12 of them", page) for page in pages]
            parts = [(part, page) for part, page in zip(parts, pages) if part]
            assert [int(row) for part, _ in parts for row in part] == list(range(1, wanted + 1)), (paper, number)
            assert all(len(part) >= 3 for part, _ in parts), (paper, number, [len(part) for part, _ in parts])
            assert wanted > 6 or len(parts) == 1, (paper, number)
            for part, page in parts:
                above = page[: page.index(f"row {number}-{part[0]}")]
                assert f"Table {number} of {wanted} rows, psi\n" in above and above.endswith("Row Number\n"), (paper, number, above[-80:])
            if number % 3 == 0:
                assert f"Chapter {number}\n" in parts[0][1], (paper, number)
            broken += len(parts) > 1
        assert broken > 2, broken


@promise
def every_page_says_whose_it_is_and_which_of_how_many():
    for pdf in pdfs():
        title = squeezed(next(words for kind, words, _ in places(pdf) if kind == "h1"))
        pages = run("pdftotext", "-layout", str(pdf), "-").split("\f")[:-1]
        for number, page in enumerate(pages, 1):
            assert re.search(rf"\s{number} of {len(pages)}\s", page), (pdf.name, number)
            assert squeezed(page).startswith(title[:40]), (pdf.name, number, page[:80])


@promise
def a_title_of_2000_characters_leaves_room_for_what_it_is_about():
    for paper in PAPERS:
        first = run("pdftotext", "-l", "1", str(folder() / f"long-texts-{paper}.pdf"), "-")
        assert "Verdict: none" in first and "at last" in first, first[-200:]


@promise
def nothing_of_a_long_text_is_lost():
    for paper in PAPERS:
        text = " ".join(run("pdftotext", "-raw", str(folder() / f"long-texts-{paper}.pdf"), "-").split())
        # By a word of each sentence, as a page may end inside of one: those that write_documents.c puts in.
        assert [text.count(word) for word in ("What is done", "grave.", "longer")] == [10 * 29, 363, 342], paper
        for words in ("Keep away.", "The step behind it", "and why it is", "The item behind it."):
            assert words in text, (paper, words)


@promise
def an_engine_report_of_four_cylinders_has_two_pages():
    for paper in PAPERS:
        assert re.search(r"Pages:\s*2\n", run("pdfinfo", str(folder() / f"engine-{paper}.pdf"))), paper


if __name__ == "__main__":
    sys.exit(keep())
