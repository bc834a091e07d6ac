#!/usr/bin/env python3
"""Promises of the pages on which winter work is done: steps, torques, what is off, what proves a job, hours and money. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import contextlib
import os
import pathlib
import re
import subprocess
import sqlite3
import sys
import tempfile
import time

from browse import Person, Server
from newcomer import begin_sheet, enter_car, enter_reading
from photos import PHOTO, photos_on, send_photo
from promises import keep, promise
from runs import log_of, send_log
from winter import TODAY, UNTIL, fresh_plan, plan_form

JOB = "/car/1/winter/job/"


def step_form(person):
    found = [form for form in person.page.forms if "step" in form.names()]
    return found[0] if found else None


def form_with(person, field):
    return next(form for form in person.page.forms if field in form.names())


def tick_until(person, words, job="brake_pads", **more):
    """Tick steps until one with these words is next."""
    person.get(JOB + job)
    for _ in range(60):
        form = step_form(person)
        if form is None or words in person.page.says.split("Why:")[0]:
            return form
        person.submit(form, "done", **{name: value for name, value in more.items() if name in form.names()})
    raise AssertionError(f"no step says {words}: {person.page.says[:600]}")


def all_steps(person, job="brake_pads"):
    return tick_until(person, "no step says this", job)


def put_all_back(person, job="brake_pads"):
    person.get(JOB + job)
    for _ in range(40):
        back = [form for form in person.page.forms if "ledger" in form.names()]
        if not back:
            return
        person.submit(back[0], "back")


def close(person, *seen, status=200, reason=""):
    values = {"seen": list(seen)} if "seen" in form_with(person, "reason").names() else {}
    return person.submit(form_with(person, "reason"), "close", status=status, reason=reason, **values)


@promise
def the_plan_leads_to_a_page_for_each_job_with_cautions_before_the_step():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        assert {link for link in person.page.links if link.startswith(JOB)} == {JOB + "clutch_kit", JOB + "brake_pads"}
        person.get(JOB + "brake_pads")
        says = person.page.says
        assert re.search("DANGER|WARNING", says).start() < says.index("Level hard floor") < says.index("Why:"), says[:1500]
        assert "car's own" in says or "service manual" in says
        assert "0 of " in says and "not begun" in says
        for missing in ("no_such_job", "own_7"):
            person.get(JOB + missing, status=404)
        person.get("/car/9/winter/job/brake_pads", status=404)


@promise
def steps_are_ticked_one_by_one_and_may_be_undone():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get(JOB + "brake_pads")
        first = step_form(person)
        person.submit(first, "done")
        assert "1 of " in person.page.says
        person.submit(first, "done")  # a second phone with the same page
        assert "1 of " in person.page.says
        person.get(next(link for link in person.page.links if "?step=0-" in link))
        assert "This step was done" in person.page.says
        person.submit(step_form(person), "undo")
        assert "0 of " in person.page.says
        person.submit(step_form(person), "pass")
        assert "1 of " in person.page.says and "left out" in person.page.says
        form = step_form(person)
        person.submit(form, "done", status=422, step="99-00000000")
        assert "no such step" in person.page.says


@promise
def what_was_ticked_in_earlier_versions_is_ticked():
    """Marks are known by FNV-1a (32 bits) of the step's first words; worked out here from the list of tests/data/step-marks."""
    marks = (pathlib.Path(os.environ["CROSSHATCH_SOURCE"]) / "tests/data/step-marks/marks.txt").read_text().splitlines()
    of_job = [line.split()[2] for line in marks if line.startswith("brake_pads w ")]
    with tempfile.TemporaryDirectory() as folder:
        garage = folder + "/garage.db"
        with Server(garage) as server:
            person = Person(server)
            fresh_plan(person)
            person.get(JOB + "brake_pads")
            person.submit(form_with(person, "hours"), "spent", hours="1")  # the job is in hand
        with contextlib.closing(sqlite3.connect(garage)) as file, file:
            work = file.execute("SELECT id FROM work WHERE name = 'brake_pads'").fetchone()[0]
            for mark in of_job:
                file.execute("INSERT INTO setting (name, text, changed_s) VALUES (?, 'done', 0)", (f"work.{work}.w.{mark}",))
        with Server(garage) as server:
            person = Person(server)
            says = person.get(JOB + "brake_pads").says
            assert f" {len(of_job)} of " in says, says[:400]


@promise
def what_a_step_takes_off_stands_first_on_the_home_page_until_it_is_back():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        form = tick_until(person, "Mark each wheel")
        person.submit(form, "done", **{"lies.0": "<b>rack</b> at the wall", "origin.0": "marked by corner"})
        person.get("/")
        says = person.page.says
        assert says.index("Still off the car: 2") < says.index("Hill car")  # cracked for the stands, and the wheels
        assert says.index("torque of the wheel nuts") < says.index("Hill car")
        assert "four wheels" in says and "<b>rack</b> at the wall" in says
        for task in [link for link in person.page.links if link.startswith("/task/")]:
            person.get(task)
            says = person.page.says
            assert "torque of the wheel nuts" in says or "marked by corner" in says
            words = "every nut of every wheel" if "torque of the wheel nuts" in says else "run every nut by hand"
            assert says.index("comes off at speed") < says.index(words) < says.index("It is back"), says
            person.submit(next(form for form in person.page.forms if form.action.startswith("/ledger/")), "back")
            assert person.page.path.startswith("/task/") and "Nothing of this is off" in person.page.says
        person.get("/")
        assert "Still off" not in person.page.says


@promise
def a_thing_off_for_measuring_is_not_entered_twice():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get("/sheets/new?car=1")
        sheet = begin_sheet(person)
        person.get(f"/sheet/{sheet}/ledger")
        person.submit(person.page.form("/ledger"), what="four wheels with their nuts or bolts", lies="yard")
        person.submit(tick_until(person, "Mark each wheel"), "done")
        person.get("/")
        assert "Still off the car: 2" in person.page.says  # the wheels, and the torque of their nuts
        assert person.page.says.count("four wheels with their nuts or bolts") == 1 + 1, person.page.says  # listed, and the button


@promise
def access_opened_for_one_job_is_open_for_the_other_and_closes_after_the_last():
    with Server() as server:
        person = Person(server)
        fresh_plan(person, ("brake_pads", "brake_hoses"))
        person.submit(tick_until(person, "Mark each wheel"), "done")
        person.get(JOB + "brake_hoses")
        assert "Mark each wheel" not in person.page.says.split("Why:")[0]
        all_steps(person)  # those of the pads; the wheels stay off for the hoses
        assert "needs it open too" in person.page.says
        assert "No step of this job is left" in person.page.says
        assert "four wheels" in person.page.says  # still off
        person.get("/car/1/winter")
        assert re.search(r"Wheels off open ", person.page.says)
        all_steps(person, "brake_hoses")
        person.get(JOB + "brake_hoses")
        put_all_back(person, "brake_hoses")
        person.get("/car/1/winter")
        assert re.search(r"Wheels off closed again ", person.page.says), person.page.says
        put_all_back(person)
        person.get("/")
        assert "Still off" not in person.page.says


@promise
def the_proofs_of_a_first_step_wait_until_nothing_else_is_open():
    """docs/winter.md, First steps: fuel and first start are tried when battery, belts and covers are back, whatever job needs those still."""
    with Server() as server:
        person = Person(server)
        fresh_plan(person, ("head_rebuild", "timing_drive"))
        person.submit(tick_until(person, "Mark the running direction", "head_rebuild"), "done")
        person.submit(next(form for form in person.page.forms if any(b[:2] == ("do", "finish") for b in form.buttons)), "finish")
        for _ in range(60):
            form = step_form(person)
            shown = person.page.says.split("Why:")[0]
            if form is None:
                break
            assert "Fuse in, key on" not in shown and "until there is oil pressure" not in shown, shown[-400:]
            person.submit(form, "done")
        assert "needs it open too" in person.page.says
        person.get("/car/1/winter")
        assert re.search(r"Fuel pressure taken off open ", person.page.says), person.page.says
        for job in ("timing_drive", "valve_lash"):  # what these held is closed first, and the proofs come last
            all_steps(person, job)
            put_all_back(person, job)
        person.get(JOB + "head_rebuild")
        put_all_back(person, "head_rebuild")
        all_steps(person, "head_rebuild")
        person.get("/car/1/winter")
        assert re.search(r"Fuel pressure taken off closed again ", person.page.says), person.page.says


@promise
def nuts_cracked_for_the_stands_are_tightened_though_the_wheels_stay_on():
    with Server() as server:
        person = Person(server)
        fresh_plan(person, ("oil_change",))
        person.get(JOB + "oil_change")
        assert ("torque", "wheel_nuts") in [(f[0], f[1]) for form in person.page.forms for f in form.fields]
        sheet = person.send("GET", JOB + "oil_change/sheet.html")[2].decode()
        assert sheet.index("Crack the wheel nuts") < sheet.index("lower slowly") < sheet.index("every nut of every wheel")
        assert sheet.index("Put back, last off") < sheet.rindex("torque of the wheel nuts, all four wheels")
        form = tick_until(person, "Car down on its four wheels", "oil_change")
        assert "comes off at speed" in person.page.says.split("Why:")[0]
        person.submit(form, "done")
        person.get("/car/1/winter")
        assert re.search(r"Car on four stands open ", person.page.says), person.page.says  # the ledger says that they are not
        put_all_back(person, "oil_change")
        person.get("/car/1/winter")
        assert re.search(r"Car on four stands closed again ", person.page.says), person.page.says


@promise
def a_job_closes_when_all_is_seen_or_for_a_reason():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        all_steps(person)
        assert "done, to be proven" in person.page.says
        close(person, "0", status=422)
        assert "not seen yet: Bedded in" in person.page.says and ".:" not in person.page.says, person.page.says[:600]
        person.get(JOB + "brake_pads")
        close(person, "0", "1", status=422)
        assert "not put back, first: pads, pins" in person.page.says, person.page.says[:900]
        put_all_back(person)
        person.get(JOB + "brake_pads")
        assert form_with(person, "reason").value("seen") == "0"  # what was ticked stays
        close(person, "0", "1")
        assert "Job: closed" in person.page.says, person.page.says[:300]
        person.submit(form_with(person, "seen") if any("seen" in form.names() for form in person.page.forms)
                      else next(form for form in person.page.forms if ("do", "reopen", "Take it in hand again") in form.buttons), "reopen")
        close(person, reason="car is sold <b>as it is</b>")
        assert "for a reason: car is sold <b>as it is</b>" in person.page.says
        person.submit(next(form for form in person.page.forms if any(value == "anew" for _, value, _ in form.buttons)), "anew")
        assert "Job: in hand" in person.page.says


@promise
def head_work_stays_open_until_a_newer_compression_sheet_or_a_reason():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        enter_reading(person, sheet, 1, "120")  # before the work: it proves nothing
        person.get("/car/1/winter")
        person.submit(plan_form(person), **{"until": UNTIL, "w5": "8", "w6": "6", "in": ["head_rebuild"]})
        person.submit(plan_form(person), **{"j.head_rebuild.avoided": "5000"})
        person.get(JOB + "head_rebuild")
        person.submit(next(form for form in person.page.forms if any(value == "finish" for _, value, _ in form.buttons)), "finish")
        assert "Still to be measured." in person.page.says
        seen = [value for name, _, kind, values in form_with(person, "reason").fields if kind == "checkbox" for value in values]
        close(person, *seen, status=422)
        assert "no compression test since the job was done" in person.page.says, person.page.says[:800]
        time.sleep(1.1)  # times are whole seconds
        enter_reading(person, sheet, 2, "171")
        person.get(JOB + "head_rebuild")
        close(person, *seen, status=422)
        assert "no leak-down test since the job was done" in person.page.says, person.page.says[:800]
        person.get(f"/sheet/{sheet}/measure?kind=leakdown&cylinder=2")
        person.submit(person.page.form("/measure"), supply="100 psi", loss="9 %")
        person.get(JOB + "head_rebuild")
        assert person.page.says.count("Measured.") == 2 and f"/sheet/{sheet}/findings" in person.page.links
        seen = [value for name, _, kind, values in form_with(person, "reason").fields if kind == "checkbox" for value in values]
        close(person, *seen)
        assert "proven by this test sheet" in person.page.says
        person.get("/car/1/winter")
        assert "closed" in person.page.says


@promise
def a_clutch_stays_open_until_a_log_is_judged_or_a_reason_is_given():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get(JOB + "clutch_kit")
        person.submit(next(form for form in person.page.forms if any(value == "finish" for _, value, _ in form.buttons)), "finish")
        assert "Still to be logged." in person.page.says
        close(person, "0", status=422)
        assert "no slip log since the job was done" in person.page.says
        person.get(JOB + "clutch_kit")
        close(person, "0", reason="no logger until March")
        assert "for a reason: no logger until March" in person.page.says
        person.submit(next(form for form in person.page.forms if any(value == "reopen" for _, value, _ in form.buttons)), "reopen")
        time.sleep(1.1)  # times are whole seconds
        send_log(person, log_of(), day=TODAY.isoformat())
        person.get(JOB + "clutch_kit")
        assert re.search(r"Logged, and it slips: \d+ times?\. What it says", person.page.says), person.page.says
        send_log(person, log_of(seed=2, kind="sound"), day=TODAY.isoformat())
        person.get(JOB + "clutch_kit")
        assert "Logged, no slip found." in person.page.says, person.page.says
        close(person, "0")
        assert "proven by this logged run" in person.page.says


@promise
def torques_are_the_owners_and_the_strength_class_only_checks_them():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get(JOB + "brake_pads")
        assert person.page.says.count("not looked up yet") == 2, person.page.says  # wheel nuts and caliper pins
        form = next(form for form in person.page.forms if ("torque", "wheel_nuts") in [(f[0], f[1]) for f in form.fields])
        person.submit(form, "torque", figure="110 Nm", note="dry, in a star", thread="M12x1.5", surface="dry", **{"class": "10.9"})
        assert "110 N m, dry, in a star" in person.page.says
        assert re.search(r"M12x1.5, class 10.9: about \d+ to \d+ N m; your figure is of the usual size", person.page.says), person.page.says
        caution = re.search(r"(CAUTION|manual)[^.]*\.", person.page.says.split("Cross-check")[1])
        assert caution, "the estimate's caution stands with it"
        form = next(form for form in person.page.forms if ("torque", "wheel_nuts") in [(f[0], f[1]) for f in form.fields])
        assert form.value("figure") == "110 N m"
        for wrong in ({"figure": "-5 Nm"}, {"figure": "many"}, {"figure": "25"}, {"thread": "half inch"}, {"class": ""}):
            person.get(JOB + "brake_pads")
            person.submit(form, "torque", status=422, **wrong)
            name, value = next(iter(wrong.items()))
            again = next(form for form in person.page.forms if ("torque", "wheel_nuts") in [(f[0], f[1]) for f in form.fields])
            assert again.value(name) == value, wrong
        person.get(JOB + "brake_pads")
        person.submit(form, "torque", figure="80 lbf ft", thread="", **{"class": ""})
        assert "80 lbf ft" in person.page.says and "Cross-check" not in person.page.says
        kept = sqlite3.connect(server.garage)
        was = kept.execute("SELECT json_extract(was, '$.text') FROM history WHERE table_name = 'torque'").fetchall()
        kept.close()
        assert was == [("110",)], was


@promise
def hours_and_money_are_summed_against_the_plan_and_corrected_without_being_lost():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get(JOB + "brake_pads")
        form = form_with(person, "hours")
        person.submit(form, "spent", hours="0,75", money="64.90", note="pads & <i>grease</i>")
        person.submit(form, "spent", hours="0,75", money="64.90", note="pads & <i>grease</i>")  # sent twice by a bad connection
        assert "0.75 h of 1.2" in person.page.says and "64.90 EUR of" in person.page.says, person.page.says
        for wrong in ({"hours": "-1"}, {"hours": "x"}, {"money": "1e5"}, {"hours": "", "money": ""}, {"hours": "1", "day": "2999-01-01"}):
            person.submit(form_with(person, "hours"), "spent", status=422, **wrong)
            person.get(JOB + "brake_pads")
        person.get("/task/1")
        assert "pads & <i>grease</i>" in person.page.says
        person.submit(person.page.form("/spent/1"), "change", money="60")
        assert "0.75 h and 60 EUR" in person.page.says
        # A correction that is refused stands as it was typed, open, with why beside it; so does a new entry.
        for form, button, typed in (("/spent/1", "change", {"hours": "1,500", "money": "70", "note": "pads"}), ("/task/1", "spent", {"hours": "two", "note": "more"})):
            page = person.submit(next(one for one in person.get("/task/1").forms if one.action == form and "hours" in one.names()), button, status=422, **typed)
            again = next(one for one in page.forms if one.action == form and "hours" in one.names())
            assert all(again.value(name) == value for name, value in typed.items()), again.fields
            assert page.source.count('role="alert"') == 1
            assert len(re.findall(r"<details open[^>]*><summary>Correct this", page.source)) == (form == "/spent/1")
        kept = sqlite3.connect(server.garage)
        was = kept.execute("SELECT json_extract(was, '$.money') FROM history WHERE table_name = 'spent'").fetchall()
        kept.close()
        assert was == [(649_000_000,)], was
        person.get("/car/1/winter")
        assert "Paid so far: 60 EUR." in person.page.says
        assert re.search(r"Brake pads in hand 0\.75 of [\d.]+ 60 of \d+", person.page.says)
        status, _, content = person.send("GET", "/car/1/winter/shopping.csv")
        rows = [line.split(",") for line in content.decode().splitlines()]
        assert status == 200 and [row[4] for row in rows if row[2] == "brake_pads"] == ["60.00"], rows


@promise
def photos_of_work_are_kept_and_taken_away():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.submit(tick_until(person, "Mark each wheel"), "done")
        person.get("/")
        person.get(next(link for link in person.page.links if link.startswith("/task/")))
        page = person.page.path
        assert send_photo(person, person.page.form("/photos"), PHOTO) == 303
        assert person.page.path == page and len(photos_on(person.page)) == 1
        assert send_photo(person, person.page.form("/photos"), b"no picture") == 422
        person.get(page)
        person.submit(next(form for form in person.page.forms if form.action.startswith("/photo/")), "delete")
        assert person.page.path == page and not photos_on(person.page)
        person.get("/task/77", status=404)


@promise
def the_job_sheet_is_printed_with_the_owners_torques():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.get(JOB + "brake_pads")
        form = next(form for form in person.page.forms if ("torque", "wheel_nuts") in [(f[0], f[1]) for f in form.fields])
        person.submit(form, "torque", figure="110 Nm", note="")
        assert "Job sheet, Hill car" in person.send("GET", JOB + "brake_pads/sheet.html")[2].decode()
        status, headers, content = person.send("GET", JOB + "brake_pads/sheet.pdf")
        assert status == 200 and content.startswith(b"%PDF") and "brake_pads.pdf" in headers["content-disposition"]
        status, _, content = person.send("GET", JOB + "brake_pads/sheet.html")
        text = content.decode()
        assert status == 200 and "110 N m" in text and re.search("DANGER|WARNING", text).start() < text.index("Level hard floor")
        person.get(JOB + "brake_pads/sheet.doc", status=404)


@promise
def what_is_printed_goes_on_the_paper_of_the_settings():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        for paper, size in ((None, "595.*A4"), ("letter", "612 x 792"), ("a4", "595.*A4")):
            if paper is not None:
                person.get("/settings")
                person.submit(person.page.form("/settings"), paper=paper)
                assert person.page.form("/settings").value("paper") == paper
            for path in (JOB + "brake_pads/sheet.pdf", "/car/1/winter/plan.pdf", "/car/1/ready/check.pdf"):
                status, _, content = person.send("GET", path)
                said = subprocess.run(["pdfinfo", "-"], input=content, capture_output=True, check=True).stdout.decode()
                assert status == 200 and re.search("Page size: *" + size, said), (paper, path, said)


@promise
def a_job_of_ones_own_is_done_and_closed_without_steps():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        person.submit(plan_form(person), **{"new.title": "Seat rails", "new.hours": "3", "new.parts": "20", "new.avoided": "900"})
        person.get(JOB + "own_1")
        assert "Seat rails" in person.page.says
        person.submit(form_with(person, "hours"), "spent", hours="2")
        person.submit(next(form for form in person.page.forms if any(value == "finish" for _, value, _ in form.buttons)), "finish")
        close(person)
        assert " closed " in person.page.says
        person.get(JOB + "own_1/sheet.pdf", status=404)


@promise
def a_winter_that_is_over_makes_room_for_the_next_and_stays_in_the_file():
    with Server() as server:
        person = Person(server)
        fresh_plan(person)
        all_steps(person)
        put_all_back(person)
        person.get(JOB + "brake_pads")
        close(person, "0", "1")
        person.get("/car/1/winter")
        person.submit(next(form for form in person.page.forms if any(value == "over" for _, value, _ in form.buttons)), "over")
        assert "Do it:" not in person.page.says
        person.submit(plan_form(person), **{"until": UNTIL, "w5": "8", "in": ["brake_pads"]})
        person.submit(plan_form(person), **{"j.brake_pads.avoided": "2000"})
        assert re.search(r"Brake pads not begun ", person.page.says), person.page.says
        person.get("/task/3")  # that of last winter
        assert "closed" in person.page.says


if __name__ == "__main__":
    sys.exit(keep())
