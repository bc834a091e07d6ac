#!/usr/bin/env python3
"""Promises of the page that asks whether the trailer may be loaded, and of its check sheet. Plain HTTP forms. TAP."""
import base64
import contextlib
import datetime
import hashlib
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
import threading

from browse import PROGRAM, Person, Server
from newcomer import begin_sheet, enter_car, enter_reading
from promises import keep, promise
from runs import log_of, send_log
from seasons import add_sheets, day, enter_event, enter_part, worn_four


def boxes(form):
    """Values of the form's boxes, in their order."""
    return [options[0] for name, _, kind, options in form.fields if name == "tick" and kind == "checkbox"]


def ticked(page):
    """Values of those that are ticked."""
    return [value for name, value, kind, _ in page.form("/car/1/ready").fields if kind == "checkbox" and value]


def form_of(person, *names, drop=()):
    """The form as the page has it now, and what it would send with these boxes ticked and those no more."""
    form = person.get("/car/1/ready").form("/car/1/ready")
    sent = [(name, value) for name, value in form.filled({}, None) if ("tick", value) not in [("tick", one) for one in drop] or name == "had"]
    return form, sent + [("tick", name) for name in names]


def tick(person, *names, drop=(), status=303):
    """Send it."""
    got = person.hand_in(*form_of(person, *names, drop=drop))[0]
    assert got == status, got


@promise
def a_fault_found_and_not_mended_keeps_the_car_at_home():
    """One cylinder of four reads a third of the others: whatever the forecast of leak areas says, the newest sheet says fault."""
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        for _ in range(2):
            for cylinder, reading in ((1, "175"), (2, "174"), (3, "60"), (4, "176")):
                enter_reading(person, sheet, cylinder, reading)
        assert 'class="verdict fault"' in person.get(f"/sheet/{sheet}/findings").source
        says = person.get("/car/1/season").says
        assert re.search(r"The newest sheet of the engine, of \d{4}-\d\d-\d\d, says fault \(cylinder 3, (over )?\d+ %\)", says), says
        says = person.get("/car/1/ready").says
        assert re.search(r"Not ready: the newest sheet of the engine, of \d{4}-\d\d-\d\d, says fault \(cylinder 3, (over )?\d+ %\)", says), says
        assert "Mend it, then enter a compression or leak-down test of cylinder 3." in says, says
        assert "A later compression or leak-down test of cylinder 3 without a fault clears this" in says and "Nothing that is on record" not in says
        assert "/sheet/1/findings" in person.page.links
        assert "event's end" not in says and "end of the event" not in says  # none is planned


@promise
def nothing_on_record_is_ready_and_is_not_called_safe():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_event(person, 12, "Spring <b>sprint</b>")
        says = person.get("/car/1/ready").says
        assert f"For Spring <b>sprint</b> on {day(12)}, 12 days from now" in says, says
        assert "Nothing that is on record stands between the car and the event. That is not the same as safe" in says
        assert "No part is kept yet" in says and "No forecast" in says
        for words in ("it cannot tell that a car is safe", "not that the car is safe", "That is not the same as safe"):
            assert words in says
            says = says.replace(words, "")
        assert not re.search(r"\b(is|are|be) safe\b", says), says


@promise
def it_is_led_to_from_the_start_and_from_the_car():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        assert "No event is planned" in person.get("/").says and "/car/1/ready" in person.page.links
        enter_event(person, 40, "Later")
        enter_event(person, 4, "Sooner")
        enter_event(person, -4, "Gone by")
        assert f"Next: Sooner on {day(4)}" in person.get("/").says
        assert "/car/1/ready" in person.get("/car/1").links
        person.get("/car/9/ready", status=404)
        person.get("/car/1/ready/check.doc", status=404)


@promise
def what_stands_in_the_way_is_said_most_pressing_first():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        enter_event(person, 9, "Next", hours="2")
        enter_part(person, "brake_fluid", fitted=day(-800))
        enter_part(person, "engine_oil", fitted=day(-6), hours="6")
        enter_part(person, "harness", fitted=day(-6))
        person.get("/sheet/4")
        says = person.get("/car/1/ready").says
        order = [says.index(words) for words in ("Not ready: 2 things stand in the way.", "Brake fluid: was due", "Engine oil and filter: 6.0 of 7.0 h", "Over its limit", "Due before the event is over", "Not known", "The engine", "To look over")]
        assert order == sorted(order), says
        assert "Renew it, and enter it among the parts." in says, says
        assert re.search(r"over the fault limit with a chance of (under 1|\d+)", says) and "says of no engine that it is safe" in says, says


@promise
def many_things_in_the_way_are_counted_and_listed_each_with_what_to_do():
    """Most dangerous first, one line each, each with the page on which it was entered; the terminal and JSON say the same."""
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        enter_event(person, 9, "Next", hours="2")
        enter_part(person, "brake_fluid", fitted=day(-800))
        enter_part(person, "engine_oil", fitted=day(-6), hours="6")
        send_log(person, log_of(), day=day(-9))
        add_sheets(server.garage, [(day(-2), 396, (172, 150, 60, 171))])
        with sqlite3.connect(server.garage) as db:
            db.execute("UPDATE sheet SET engine_id = 1 WHERE engine_id IS NULL")
        person.get("/sheets/new?car=1")
        ledger = f"/sheet/{begin_sheet(person)}/ledger"
        for thing in ("Fuse", "Coil 1", "Coil 2", "Coil 3"):
            person.submit(person.get(ledger).form(ledger), what=thing, lies="tray")
        page = person.get("/car/1/ready")
        told = json.loads(subprocess.run([PROGRAM, "ready", "--garage", server.garage, "--json"], capture_output=True, check=True).stdout)
        ways = told["in_the_way"]
        assert [one["what"] for one in ways] == ["open", "part", "engine", "part", "clutch"] + ["forecast"] * (len(ways) - 5), ways
        assert re.fullmatch(r"Still off the car: .*, .*, .* and 1 more", ways[0]["says"]), ways[0]
        words = page.says[page.says.index("Not ready"):page.says.index("Coil 3 , now tray")]
        text = " ".join(subprocess.run([PROGRAM, "ready", "--garage", server.garage], capture_output=True, text=True, check=True).stdout.split())
        for shown in (words, text):
            assert f"Not ready: {len(ways)} things stand in the way." in shown, shown
            order = [shown.index(one["says"]) for one in ways]
            assert order == sorted(order), shown
            assert all(one["to_do"] in shown for one in ways), shown
        listed = page.source[page.source.index('<ol class="way">'):page.source.index("</ol>")]
        assert listed.count("<li>") == len(ways)
        for link in ("#off", "/car/1/parts", "/sheet/5/findings", "/car/1/driveline"):
            assert f'href="{link}"' in listed, listed
        html = person.get("/car/1/ready/check.html").source
        assert f"Not ready: {len(ways)} things stand in the way." in html and ways[2]["says"] in html, html[:2000]


def sheet_of(garage, offset, rows):
    """One more sheet of the car's engine, a sheet's rows as YAML; nothing but what stands in them was tested. offset None: no day. What the import says."""
    date = "" if offset is None else f"date: {day(offset)}, "
    with tempfile.TemporaryDirectory() as folder:
        with open(os.path.join(folder, "one.yaml"), "w", encoding="utf-8") as file:
            file.write("sheet: 1\nengine: {cylinders: 4, bore: 84 mm, stroke: 88 mm, compression_ratio: 9.5}\n"
                       "gauge: {span: 300 psi, accuracy: 2 % of span, resolution: 2 psi}\n"
                       f"conditions: {{{date}throttle: open, engine_temperature: 70 C, strokes: 8}}\n" + rows)
        says = subprocess.run([PROGRAM, "import", "--garage", garage, folder], check=True, capture_output=True, text=True).stdout
    with sqlite3.connect(garage) as db:
        db.execute("UPDATE sheet SET engine_id = 1 WHERE engine_id IS NULL")
    db.close()
    return says


def dry(*rows):
    return "compression:\n" + "".join(f"  - {{cylinder: {c}, reading: {psi} psi}}\n" for c, psi in rows)


def leaks(*rows):
    """Air is heard at the exhaust where much is lost."""
    return "leakdown:\n" + "".join(f"  - {{cylinder: {c}, supply: 100 psi, loss: {loss} %, heard: [{'exhaust' if loss > 50 else 'nothing'}]}}\n" for c, loss in rows)


def asked(server):
    return json.loads(subprocess.run([PROGRAM, "ready", "--garage", server.garage, "--json"], capture_output=True, check=True).stdout)


@promise
def a_sheet_that_tested_less_clears_no_fault_of_what_it_did_not_test():
    """Found with cylinder 3 at a third of the others; then only 1 and 2 are tested; then 3."""
    server = Server()
    worn_four(server.garage)
    with server:
        sheet_of(server.garage, -20, dry(*((c, psi) for _ in range(2) for c, psi in ((1, 175), (2, 174), (3, 60), (4, 176)))))
        first = asked(server)
        assert first["standing_fault"]["date"] == day(-20) and first["standing_fault"]["cylinder"] == 3, first
        sheet_of(server.garage, -10, dry((1, 175), (2, 174), (1, 175), (2, 174)))
        second = asked(server)
        assert second["newest_sheet"]["date"] == day(-10) and second["newest_sheet"]["verdict"] != "fault", second
        assert second["ready"] is False and second["standing_fault"] == first["standing_fault"], second
        assert second["newest_sheet"]["cylinder"] in (1, 2), second  # those that it tested
        assert second["chance_over_limit"] > 0.5, second  # the leak goes on from the sheet that tested it
        season = Person(server).get("/car/1/season").says
        assert "still stands (cylinder 3," in season and "Cheapest over the next year by what is expected: \"Run it" not in season, season
        assert "put it right first. Cylinder 3" in season and "A step, not wear: by the sheet of " + day(-10) not in season, season
        says = Person(server).get("/car/1/ready").says
        assert f"The fault that the sheet of {day(-20)} found still stands (cylinder 3," in says, says
        assert "A later compression or leak-down test of cylinder 3 without a fault clears this" in says, says
        sheet_of(server.garage, -5, dry((3, 174), (3, 175)))
        third = asked(server)
        assert third["standing_fault"] is None and "engine" not in [one["what"] for one in third["in_the_way"]], third
        assert "still stands" not in Person(server).get("/car/1/ready").says


LOW_THIRD = dry(*((c, psi) for _ in range(2) for c, psi in ((1, 175), (2, 174), (3, 60), (4, 176))))
EVEN = dry(*((c, psi) for _ in range(2) for c, psi in ((1, 175), (2, 174), (3, 175), (4, 176))))


@promise
def only_what_opens_the_engine_makes_a_fault_a_matter_of_the_past():
    """By kind, not by a word of a name: tyres have valves, and a valve cover has a gasket."""
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        sheet_of(server.garage, -20, LOW_THIRD)
        enter_part(person, name="Tyre valves", fitted=day(-10))
        enter_part(person, name="Valve cover gasket", fitted=day(-10))
        answer = asked(server)
        assert answer["standing_fault"]["cylinder"] == 3 and answer["newest_sheet"]["date"] == day(-20), answer
        enter_part(person, "head_gasket", fitted=day(-9))
        assert "It has no limit, so it is never due." in person.page.says
        answer = asked(server)
        assert answer["standing_fault"] is None and answer["newest_sheet"] is None, answer


@promise
def a_sheet_of_a_day_to_come_or_of_none_hides_no_fault():
    """A year mistyped, or a day that nobody noted: such a sheet is neither the newest nor clears anything, and is kept."""
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        assert "still to come" not in sheet_of(server.garage, -20, LOW_THIRD)
        assert "Its day is still to come: put it right on the sheet" in sheet_of(server.garage, 400, EVEN)
        answer = asked(server)
        assert answer["standing_fault"]["date"] == day(-20) and answer["newest_sheet"]["date"] == day(-20), answer
        assert f"The sheet of {day(400)}: this day is still to come." in person.get("/car/1/season").says
        sheet_of(server.garage, None, EVEN)
        answer = asked(server)
        assert answer["standing_fault"]["date"] == day(-20) and answer["newest_sheet"]["date"] == day(-20), answer
        assert "no day" in person.get("/car/1/season").says
        sheet_of(server.garage, -10, EVEN)
        assert asked(server)["standing_fault"] is None
        sheet_of(server.garage, None, LOW_THIRD)  # but what it found stands until it has its day
        assert "The fault that the sheet without a day (entered" in person.get("/car/1/ready").says


@promise
def a_sheet_without_a_day_is_not_told_as_of_the_day_of_its_entry():
    with Server() as server:
        enter_car(Person(server))
        sheet_of(server.garage, None, EVEN)
        assert asked(server)["newest_sheet"]["date"] is None
        assert "By the newest sheet, without a day (entered 20" in Person(server).get("/car/1/ready").says


@promise
def work_in_hand_stands_in_the_way_until_it_is_closed():
    """Access that is open, as a car on its stands with cracked wheel nuts, and a job that is not done; one that is done may need a drive to be proven."""
    def work(kind, name, title, done="NULL", closed="NULL"):
        with sqlite3.connect(server.garage) as db:
            db.execute("INSERT INTO work (car_id, kind, name, title, begun_s, done_s, closed_s, changed_s)"
                       f" VALUES (1, ?, ?, ?, 1000, {done}, {closed}, 3000)", (kind, name, title))
        db.close()

    with Server() as server:
        person = Person(server)
        enter_car(person)
        work("job", "clutch_kit", "Clutch", "2000")
        work("access", "undertray", "Undertray off", "2000", "3000")
        answer = asked(server)
        assert answer["ready"] is True and answer["work"] == [], answer
        work("access", "stands", "Car on four stands", "2000")
        work("job", "head_rebuild", "Head rebuilt")
        answer = asked(server)
        assert answer["ready"] is False and answer["work"] == ["Car on four stands", "Head rebuilt"], answer
        assert [one["what"] for one in answer["in_the_way"]] == ["work"], answer
        page = person.get("/car/1/ready")
        assert "Not ready: work that was begun is not closed: Car on four stands, Head rebuilt." in page.says, page.says
        assert "Car on four stands open, and not closed again" in page.says and "/task/3" in page.links, page.says
        assert "Work in hand: close it" in person.get("/car/1/ready/check.html").source
        with sqlite3.connect(server.garage) as db:
            db.execute("UPDATE work SET done_s = 2000, closed_s = 3000 WHERE id > 2")
        db.close()
        assert asked(server)["ready"] is True


@promise
def a_compression_test_does_not_clear_what_only_a_leak_down_saw():
    """Cylinder 2 reads nine tenths of the others and loses most of its air: another compression test says no more than the first."""
    server = Server()
    worn_four(server.garage)
    with server:
        rows = [(c, psi) for _ in range(2) for c, psi in ((1, 175), (2, 158), (3, 174), (4, 176))]
        sheet_of(server.garage, -20, dry(*rows) + leaks((1, 6), (2, 70), (3, 7)))
        first = asked(server)
        assert first["standing_fault"]["cylinder"] == 2 and first["standing_fault"]["seen_by"] == ["leakdown"], first
        sheet_of(server.garage, -10, dry(*rows))
        assert asked(server)["standing_fault"] == first["standing_fault"]
        assert "A later leak-down test of cylinder 2 without a fault clears this" in Person(server).get("/car/1/ready").says
        sheet_of(server.garage, -5, leaks((2, 6), (2, 7)))
        assert asked(server)["standing_fault"] is None


@promise
def a_run_of_the_day_on_which_the_clutch_was_renewed_may_be_of_the_old_one():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        enter_event(person, 9, "Next", hours="2")
        send_log(person, log_of(), day=day(-9))
        assert "fitted since and is entered" in person.get("/car/1/ready").says and "that very day" not in person.page.says
        enter_part(person, "clutch_plate", fitted=day(-9), hours="0")
        says = person.get("/car/1/ready").says
        assert re.search(rf"the clutch slips by the run of {day(-9)} with a chance of (over )?\d+ %, if that was after it was renewed on that day", says), says
        assert "The clutch was renewed on that very day: whether the run was before or after is not known. A later run without slip clears this." in says, says
        assert "fitted since and is entered" not in says, says
        told = json.loads(subprocess.run([PROGRAM, "ready", "--garage", server.garage, "--json"], capture_output=True, check=True).stdout)
        assert told["clutch"]["renewed_that_day"] is True, told
        enter_part(person, "clutch_plate", fitted=day(-8), hours="0")
        assert "No run of this clutch is on record that tells whether it slips." in person.get("/car/1/ready").says


@promise
def a_distance_that_a_part_brought_with_it_is_said_not_to_count_in_hours():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        enter_event(person, 9, "Next", hours="2")
        enter_part(person, "clutch_plate", fitted=day(-4000), distance="145000")
        says = person.get("/car/1/parts").says
        assert "since it was fitted here; the distance that it had run before does not count" in says, says
        says = person.get("/car/1/ready").says
        assert "Clutch plate: nobody has entered what its life is counted by: hours run" in says, says
        person.get("/part/1")
        person.submit(person.page.form("/part/1"), hours="70")
        assert "does not count" not in person.get("/car/1/parts").says and "70.0 of 80.0 h" in person.page.says, person.page.says


@promise
def a_distance_that_counts_by_itself_is_not_said_not_to_count():
    """A timing belt's life is counted in hours and in distance: what it brought with it in km counts among the latter."""
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        enter_part(person, "timing_belt", fitted=day(-20), distance="45000")
        says = person.get("/car/1/parts").says
        assert "45000 of 50000 km" in says and "does not count" not in says, says
        assert "of the time before, the distance is known and counts by itself, the hours are not" in says, says


@promise
def what_is_off_the_car_stands_in_the_way_and_leads_to_its_ledger():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        form = person.get(f"/sheet/{sheet}/ledger").form(f"/sheet/{sheet}/ledger")
        person.submit(form, what="Coil 3", lies="tray <2>")
        page = person.get("/car/1/ready")
        assert "Coil 3 , now tray <2>" in page.says and "1 thing is still off the car" in page.says, page.says
        assert f"/sheet/{sheet}/ledger" in page.links


@promise
def ticks_are_kept_for_the_event_and_empty_for_the_next():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        assert "name=\"tick\"" not in person.get("/car/1/ready").source  # nothing to tick for
        enter_event(person, 5, "One")
        assert ticked(person.get("/car/1/ready")) == []
        chosen = ["home.brake_pads", "event.wheel_nuts", "first_session.wheel_nuts_again"]
        assert set(chosen) <= set(boxes(person.page.form("/car/1/ready")))
        tick(person, *chosen)
        page = person.get("/car/1/ready")
        assert ticked(page) == chosen and "After the first session: torque again: 1 of 1 looked at" in page.says, page.says
        tick(person, "home.seat", drop=["home.brake_pads"])
        assert ticked(person.get("/car/1/ready")) == ["home.seat", *chosen[1:]]
        form = person.get("/event/1").form("/event/1")
        person.submit(form, "change", day=day(6))
        assert ticked(person.get("/car/1/ready")) == []


def two_tick_at_once(servers):
    """Each half of the boxes, from a page that is shown before the other has ticked any."""
    people = [Person(server) for server in servers]
    enter_car(people[0])
    enter_event(people[0], 5, "One")
    names = boxes(people[0].get("/car/1/ready").form("/car/1/ready"))
    halves = [names[0::2], names[1::2]]

    def go(person, mine):
        form, sent = form_of(person)  # as both saw it in the beginning
        for n in range(0, len(mine), 7):
            person.hand_in(form, sent + [("tick", value) for value in mine[n:n + 7]])

    threads = [threading.Thread(target=go, args=(person, mine)) for person, mine in zip(people, halves)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert ticked(people[0].get("/car/1/ready")) == names


@promise
def two_who_tick_at_once_lose_nothing():
    with Server() as server:
        two_tick_at_once([server, server])


@promise
def two_who_tick_at_once_by_two_programs_lose_nothing():
    with Server() as server, Server(server.garage) as beside:
        two_tick_at_once([server, beside])


@promise
def what_the_list_does_not_have_is_passed_over():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_event(person, 5, "One")
        wrong = ["home.no_such", "session.brake_pads", "first_session.seat", "home", ".", "home.", "x" * 500, "home.seat 5"]
        tick(person, *wrong)
        assert ticked(person.get("/car/1/ready")) == []
        with sqlite3.connect(server.garage) as db:
            assert db.execute("SELECT text FROM setting WHERE name = 'ready.1'").fetchall() == [(f"{day(5)}\n",)]
        db.close()


@promise
def an_event_renamed_or_joined_by_another_on_its_day_keeps_its_ticks():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_event(person, 5, "One")
        tick(person, "home.seat", "event.wheel_nuts")
        person.submit(person.get("/event/1").form("/event/1"), "change", name="Another name")
        assert ticked(person.get("/car/1/ready")) == ["home.seat", "event.wheel_nuts"]
        enter_event(person, 5, "Two")
        tick(person, "home.brake_pads")
        assert set(ticked(person.get("/car/1/ready"))) == {"home.seat", "event.wheel_nuts", "home.brake_pads"}
        # as earlier versions kept them: with the event's name behind its day
        with contextlib.closing(sqlite3.connect(server.garage)) as db, db:
            db.execute("UPDATE setting SET text = ? WHERE name = 'ready.1'", (f"{day(5)} Some name\nhome.seat 1700000000\n",))
        assert ticked(person.get("/car/1/ready")) == ["home.seat"]
        with contextlib.closing(sqlite3.connect(server.garage)) as db, db:
            db.execute("UPDATE setting SET text = ? WHERE name = 'ready.1'", (f"{day(6)} One\nhome.seat 1700000000\n",))
        assert ticked(person.get("/car/1/ready")) == []


@promise
def the_check_sheet_is_printed_for_the_event_behind_its_cautions():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        person.get("/")
        enter_event(person, 9, "Spring <b>sprint</b>")
        enter_part(person, "brake_fluid", fitted=day(-800))
        status, headers, content = person.send("GET", "/car/1/ready/check.pdf")
        assert status == 200 and headers["content-type"] == "application/pdf" and content.startswith(b"%PDF-"), headers
        assert headers["content-disposition"] == 'attachment; filename="check.pdf"'
        said = subprocess.run(["pdftotext", "-layout", "-", "-"], input=content, capture_output=True, check=True).stdout.decode()
        for words in ("Check sheet: Hill car", "Spring <b>sprint</b>", "Brake fluid: was due on", "DANGER", "not that the car is safe"):
            assert words in " ".join(said.split()), words
        _, headers, content = person.send("GET", "/car/1/ready/check.html")
        html = content.decode()
        assert "Spring &lt;b&gt;sprint&lt;/b&gt;" in html and "Brake fluid: was due on" in html and "<script" not in html
        assert headers["content-disposition"] == 'inline; filename="check.html"'
        assert html.index("DANGER") < html.index("Wheel bearings and joints")


@promise
def a_document_shown_by_itself_may_have_its_own_style_and_nothing_else():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        assert person.get("/sheet/1/findings").links.count("/sheet/1/report.pdf") == 1
        policies = set()
        for path in ("/sheet/1/report.html", "/car/1/ready/check.html"):
            status, headers, content = person.send("GET", path)
            assert status == 200 and headers["content-type"].startswith("text/html"), (status, headers)
            style = re.search(rb"<style>(.*?)</style>", content, re.S).group(1)
            code = base64.b64encode(hashlib.sha256(style).digest()).decode()
            policies.add(headers["content-security-policy"])
            assert policies == {f"default-src 'none'; style-src 'sha256-{code}'; form-action 'none'; base-uri 'none'; sandbox; frame-ancestors 'none'"}
            assert content.count(b"<style") == 1 and b"style=" not in content and headers["x-content-type-options"] == "nosniff"
        for path in ("/", "/car/1/ready", "/car/1/ready/check.pdf", "/sheet/1/report.pdf", "/sheet/1/findings"):
            policy = person.send("GET", path)[1]["content-security-policy"]
            assert "style-src 'self';" in policy and "sha256" not in policy and "unsafe" not in policy, (path, policy)


@promise
def the_engine_report_says_what_the_findings_say():
    server = Server()
    worn_four(server.garage)
    with server:
        person = Person(server)
        verdict = re.search(r'<p class="verdict [^>]*>\s*(?:<strong>)?([^<]+)', person.get("/sheet/4/findings").source).group(1)
        status, headers, content = person.send("GET", "/sheet/4/report.pdf")
        assert status == 200 and headers["content-disposition"] == 'attachment; filename="report.pdf"' and content.startswith(b"%PDF-")
        _, _, html = person.send("GET", "/sheet/4/report.html")
        assert verdict.split(",")[0].strip(" .").lower() in html.decode().lower(), verdict
        assert person.send("GET", "/sheet/9/report.html")[0] == 404


@promise
def a_sheet_that_says_nothing_yet_has_no_report():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        assert not any("report" in link for link in person.get(f"/sheet/{sheet}/findings").links)
        status, headers, content = person.send("GET", f"/sheet/{sheet}/report.pdf")
        assert status in (400, 422) and headers["content-type"].startswith("text/html") and "content-disposition" not in headers, (status, headers)
        assert "style-src 'self';" in headers["content-security-policy"] and b"reading" in content, content


@promise
def today_is_that_of_the_machines_time_zone():
    """It is never the same day at both ends of the date line."""
    east = datetime.datetime.now(datetime.timezone(datetime.timedelta(hours=14))).date()
    for zone, words in (("UTC-14", "today"), ("UTC+12", "from now")):
        before = os.environ.get("TZ")
        os.environ["TZ"] = zone  # POSIX: UTC-14 is fourteen hours ahead of UTC
        try:
            with Server() as server:
                person = Person(server)
                enter_car(person)
                person.get("/car/1/events")
                person.submit(person.page.form("/car/1/events"), day=east.isoformat(), name="Early")
                says = person.get("/car/1/ready").says
                assert re.search(rf"For Early on {east}, (\d days? )?{words}", says), (zone, says)
        finally:
            os.environ.pop("TZ")
            os.environ |= {"TZ": before} if before is not None else {}


@promise
def the_day_of_the_event_is_still_to_come_and_the_next_morning_it_is_past():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_event(person, -1, "Yesterday")
        enter_event(person, 0, "Today", hours="2", sessions="6")
        enter_event(person, 1, "Tomorrow")
        assert f"For Today on {day(0)}, today" in person.get("/car/1/ready").says
        person.get("/event/2")
        person.submit(person.page.forms[-1], "delete")
        assert f"For Tomorrow on {day(1)}, 1 day from now" in person.get("/car/1/ready").says


@promise
def without_an_event_there_is_nothing_to_tick_for():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_event(person, 5, "One")
        form, sent = form_of(person, "home.seat")
        person.get("/event/1")
        person.submit(person.page.forms[-1], "delete")
        assert person.hand_in(form, sent)[0] == 409


if __name__ == "__main__":
    sys.exit(keep())
