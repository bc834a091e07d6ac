#!/usr/bin/env python3
"""What was entered by mistake: refused whole, corrected, withdrawn, taken back, moved, and brought up to date. Through the real program and plain forms. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import contextlib
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile

from browse import PROGRAM, Person, Server
from newcomer import begin_sheet, enter_car, enter_reading
from promises import keep, promise


def counted(server, sql):
    with contextlib.closing(sqlite3.connect(server.garage)) as db:
        return db.execute(sql).fetchone()[0]


def enter_sign(person, sheet, what, cylinder=0, found="yes"):
    form = person.get(f"/sheet/{sheet}").form("/observed")
    return person.submit(form, what=what, cylinder=cylinder, found=found)


def signs(person, sheet):
    """What the list of signs says."""
    return person.get(f"/sheet/{sheet}").says.split("Signs you noticed")[1].split("Enter a sign")[0]


def judged(server, sheet):
    """What `judge` says of a sheet as it is exported."""
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([PROGRAM, "export", "--garage", server.garage, folder], check=True, stdout=subprocess.DEVNULL)
        names = sorted(os.listdir(folder))
        found = [name for name in names if re.search(rf"0*{sheet}\.yaml$", name)]
        assert found, names
        told = subprocess.run([PROGRAM, "judge", "--json", os.path.join(folder, found[0])], check=True, stdout=subprocess.PIPE).stdout
        return json.loads(told)


@promise
def a_car_that_is_refused_leaves_nothing_behind():
    with Server() as server:
        person = Person(server)
        refusals = ({"standard": "13.5 bar", "minimum": "135 bar"}, {"compression_ratio": "96"}, {"bore": "8.1"},
                    {"standard": "13.5 bar", "minimum": "14 bar"})
        for typed in refusals:
            page = person.submit(person.get("/cars/new").form("/cars/new"), status=422, name="Old Marten", **typed)
            form = page.form("/cars/new")
            assert form.value("name") == "Old Marten" and all(form.value(name) == value for name, value in typed.items()), page.says
            assert counted(server, "SELECT count(*) FROM car") == 0, typed
        person.submit(form, standard="13.5 bar", minimum="10.5 bar")
        assert counted(server, "SELECT count(*) FROM car") == counted(server, "SELECT count(*) FROM engine") == 1
        assert [link for link in person.get("/cars").links if link.startswith("/car/")] == ["/car/1"]


@promise
def a_sign_is_corrected_and_taken_out_and_stays_to_be_seen():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        for cylinder, reading in ((1, "175"), (2, "174"), (3, "120"), (4, "176")):
            enter_reading(person, sheet, cylinder, reading)
        enter_sign(person, sheet, "borescope_valve_edge")
        enter_sign(person, sheet, "oily_plug", 2)
        assert judged(server, sheet)["causes"]
        links = [link for link in person.page.links if link.startswith("/row/")]
        assert len(links) == 2, person.page.links
        form = person.get(links[0]).form("/row/5")
        assert (form.value("what"), form.value("cylinder")) == ("borescope_valve_edge", "0")
        person.submit(form, "correct", status=422, what="")
        assert "no sign is chosen" in person.page.says
        person.submit(person.page.form("/row/5"), "correct", what="borescope_valve_edge", cylinder="3", note="seen twice")
        assert re.search(r"cylinder 3\. seen twice.* was .*, \d\d:\d\d", signs(person, sheet)), signs(person, sheet)
        assert "<del>" in person.page.source
        page = person.get(links[1])
        person.submit([one for one in page.forms if ("do", "delete") in [b[:2] for b in one.buttons]][0], "delete")
        assert re.search(r"Taken out \d\d:\d\d was ", signs(person, sheet)), signs(person, sheet)
        assert counted(server, "SELECT count(*) FROM entry WHERE kind = 'observed'") == 4  # nothing is overwritten
        with tempfile.TemporaryDirectory() as folder:
            subprocess.run([PROGRAM, "export", "--garage", server.garage, folder], check=True, stdout=subprocess.DEVNULL)
            texts = "".join(open(os.path.join(folder, name), encoding="utf-8").read() for name in os.listdir(folder))  # noqa: SIM115
        assert texts.count("what:") == 1 and "oily_plug" not in texts, texts
        person.get(f"/sheet/{sheet}")
        person.submit(person.page.form("/close"), "close")
        assert not [link for link in person.page.links if link.startswith("/row/")]


@promise
def a_sign_that_is_there_and_not_there_is_asked_about():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        enter_sign(person, sheet, "oily_plug", 2)
        enter_sign(person, sheet, "oily_plug", 3, "no")
        assert "Is this right?" not in person.page.says
        enter_sign(person, sheet, "oily_plug", 2, "no")
        assert re.search(r"Is this right\? [^.]*, cylinder 2: entered as there and as not there", person.page.says), person.page.says
        page = person.get([link for link in person.page.links if link.startswith("/row/")][2])
        person.submit([one for one in page.forms if ("do", "delete") in [b[:2] for b in one.buttons]][0], "delete")
        assert "Is this right?" not in person.page.says
        enter_sign(person, sheet, "oily_plug", 2)
        assert "cylinder 2: entered twice" in person.page.says


@promise
def a_sheet_begun_by_mistake_is_withdrawn_and_can_be_taken_back():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        for cylinder, reading in ((1, "175"), (2, "174"), (3, "60"), (4, "176")):
            enter_reading(person, sheet, cylinder, reading)
        person.get("/sheets/new?car=1")
        mistaken = begin_sheet(person)
        enter_reading(person, mistaken, 1, "175")
        enter_sign(person, mistaken, "oily_plug", 2)
        form = person.get(f"/sheet/{mistaken}").form("/withdraw")
        person.submit(form, "withdraw", status=422, why="  ")
        assert "Why: nothing given" in person.page.says
        person.submit(person.page.form("/withdraw"), "withdraw", why="<b>no test</b>")
        page = person.page
        assert page.path == f"/sheet/{mistaken}" and "Withdrawn" in page.says and "<b>no test</b>" in page.says, page.says
        assert "- / 175" in page.says and not [link for link in page.links if link.startswith("/row/")], page.says
        for path in ("/", "/car/1", "/car/1/season", "/car/1/ready"):
            assert f"/sheet/{mistaken}" not in " ".join(person.get(path).links), path
        for path in ("measure", "findings", "ledger"):
            person.get(f"/sheet/{mistaken}/{path}", 404)
        listed = person.get("/sheets")
        assert "<del>" in listed.source and "<b>no test</b>" in listed.says.split("Withdrawn")[1] and f"/sheet/{mistaken}" in listed.links
        ready = subprocess.run([PROGRAM, "ready", "--garage", server.garage], check=False, stdout=subprocess.PIPE, text=True).stdout
        assert "not ready" in ready.lower(), ready
        person.get(f"/sheet/{mistaken}")
        person.submit(person.page.form("/withdraw"), "restore")
        assert "Enter readings" in person.page.says and "Withdrawn" not in person.get("/sheets").says
        assert "175" in person.get(f"/sheet/{mistaken}/measure").says
        assert counted(server, "SELECT count(*) FROM history WHERE table_name = 'sheet' AND was LIKE '%no test%'") == 1
        person.send("POST", f"/sheet/{sheet}/withdraw", "do=restore")
        assert "Enter readings" in person.get(f"/sheet/{sheet}").says


@promise
def a_sheet_with_something_off_is_not_withdrawn():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        person.get(f"/sheet/{sheet}/ledger")
        person.submit(person.page.form("/ledger"), what="coil 1")
        person.get(f"/sheet/{sheet}")
        person.submit(person.page.form("/withdraw"), "withdraw", status=422, why="no test")
        assert "not put back" in person.page.says and person.page.form("/withdraw").value("why") == "no test"


@promise
def a_sheet_on_the_wrong_car_is_moved_with_what_it_holds():
    with Server() as server:
        person = Person(server)
        enter_car(person, "Six", cylinders="6", bore="90", compression_ratio="9.0")
        sheet = begin_sheet(person)
        for cylinder in (1, 2, 3, 4):
            enter_reading(person, sheet, cylinder, str(170 + cylinder))
        assert not [one for one in person.get(f"/sheet/{sheet}").forms if "car" in one.names()]  # there is no other
        enter_car(person, "Four", bore="80.5", compression_ratio="9.6")
        enter_car(person, "Three", cylinders="3")

        def move(car, status=200):
            form = [one for one in person.get(f"/sheet/{sheet}").forms if "car" in one.names()][0]
            return person.submit(form, "move", status=status, car=car)

        move(3, 422)  # a reading is of cylinder 4
        assert "cylinders: 3" in person.page.says, person.page.says
        move(2)
        assert person.page.path == f"/sheet/{sheet}" and "Four" in person.page.says, person.page.says
        fields = dict(counted_rows(server, f"SELECT name, text FROM field WHERE sheet_id = {sheet} AND text IS NOT NULL"))
        assert (fields["engine.cylinders"], fields["engine.bore"], fields["engine.compression_ratio"]) == ("4", "80.5", "9.6"), fields
        assert f"/sheet/{sheet}" in " ".join(person.get("/car/2").links) and f"/sheet/{sheet}" not in " ".join(person.get("/car/1").links)
        assert "174" in person.get(f"/sheet/{sheet}/measure").says


def counted_rows(server, sql):
    with contextlib.closing(sqlite3.connect(server.garage)) as db:
        return db.execute(sql).fetchall()


@promise
def what_is_known_later_of_engine_and_gauge_reaches_a_sheet_at_one_press():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        for cylinder in (1, 2, 3, 4):
            enter_reading(person, sheet, cylinder, str(130 + cylinder))
        offer = "More is known of the engine or the gauge by now"
        assert offer not in person.get(f"/sheet/{sheet}").says and offer not in person.get(f"/sheet/{sheet}/findings").says
        person.get("/car/1")
        person.submit([one for one in person.page.forms if "bore" in one.names()][0], bore="86", stroke="80", compression_ratio="9,6")
        assert "9,6" not in str(counted_rows(server, f"SELECT text FROM field WHERE sheet_id = {sheet}"))  # not before it is asked for
        assert offer in person.get(f"/sheet/{sheet}").says and offer in person.get(f"/sheet/{sheet}/findings").says
        assert "9.5, the middle of" in person.page.says, person.page.says
        person.submit(person.page.form("/data"), "take")
        assert offer not in person.page.says
        assert "9.5, the middle of" not in person.get(f"/sheet/{sheet}/findings").says and offer not in person.page.says
        fields = dict(counted_rows(server, f"SELECT name, text FROM field WHERE sheet_id = {sheet} AND text IS NOT NULL"))
        assert (fields["engine.compression_ratio"], fields["engine.bore"]) == ("9,6", "86"), fields
        person.get("/car/1")  # corrected there once more: what the sheet took over gives way, and is kept
        person.submit([one for one in person.page.forms if "bore" in one.names()][0], bore="87")
        person.submit(person.get(f"/sheet/{sheet}").form("/data"), "take")
        assert dict(counted_rows(server, f"SELECT name, text FROM field WHERE sheet_id = {sheet}"))["engine.bore"] == "87"
        assert counted(server, """SELECT count(*) FROM history WHERE table_name = 'field' AND was LIKE '%"86"%'""") == 2
        person.get("/cars")  # a gauge, named later
        person.submit(person.page.form("/gauges"), gauge_name="Green gauge", span="300 psi", accuracy="2 % of span")
        assert "No gauge is named." in person.get(f"/sheet/{sheet}").says
        form = [one for one in person.page.forms if "gauge" in one.names()][0]
        person.submit(form, "gauge", gauge="1")
        assert "Green gauge" in person.page.says and "No gauge is named." not in person.page.says
        fields = dict(counted_rows(server, f"SELECT name, text FROM field WHERE sheet_id = {sheet} AND text IS NOT NULL"))
        assert (fields["gauge.span"], fields["engine.bore"]) == ("300", "87"), fields
        person.get("/gauge/1")
        person.submit(person.page.form("/gauge/1"), hose_volume="12 ml")
        assert offer in person.get(f"/sheet/{sheet}").says
        person.submit(person.page.form("/close"), "close")
        assert "Open the sheet again" in person.page.says and not [one for one in person.page.forms if one.action.endswith("/data")]


@promise
def a_sheet_of_another_number_of_cylinders_is_refused():
    with Server() as server:
        person = Person(server)
        enter_car(person, "Badger V6", cylinders="6", layout="vee")
        with tempfile.NamedTemporaryFile("w", suffix=".yaml", encoding="utf-8") as file:
            file.write("sheet: 1\nunits: {pressure: psi}\nengine: {cylinders: 4}\nconditions: {date: 2026-10-04}\n"
                       "compression: [{cylinder: 1, reading: 138}, {cylinder: 2, reading: 139}]\n")
            file.flush()
            told = subprocess.run([PROGRAM, "import", "--garage", server.garage, "--car", "Badger V6", file.name], check=False, capture_output=True, text=True)
        assert told.returncode == 3 and "the test is of 4, the engine that was in the car on its day has 6" in told.stderr, told
        assert len(told.stderr.strip().splitlines()) == 1 and counted(server, "SELECT count(*) FROM sheet") == 0, told


@promise
def what_is_asked_of_the_reading_just_entered_stands_where_the_page_opens():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        person.get("/settings")
        person.submit(person.page.form("/settings"), pressure="bar")
        for cylinder, reading in ((1, "12.8 bar"), (2, "12.6 bar"), (3, "12.7 bar")):
            enter_reading(person, sheet, cylinder, reading)
        enter_reading(person, sheet, 4, "128 bar", "8.2 bar")
        opens = person.page.source.split('id="engine"')[1]
        asked, ring = opens.index("Is this right?"), opens.index('aria-label="Cylinders"')
        assert asked < ring and "128" in opens[asked:ring] and "/row/4?" in opens[asked:ring], opens[:600]
        assert "autofocus" not in person.page.source  # a field with the focus would scroll it out of sight
        enter_reading(person, sheet, 1, "12.7 bar")
        opens = person.page.source.split('id="engine"')[1].split('aria-label="Cylinders"')[0]
        assert "of an earlier reading" in opens and "Is this right?" not in opens, opens


if __name__ == "__main__":
    sys.exit(keep())
