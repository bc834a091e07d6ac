#!/usr/bin/env python3
"""Promises of `crosshatch ready`: a garage with a planned event, and what stands in its way. Speaks TAP."""
import json
import os
import pathlib
import re
import sqlite3
import subprocess
import tempfile

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
TODAY = "2027-03-01"
promises = []


def promise(body):
    promises.append(body)
    return body


class Garage:
    """The garage file of the store's tests (one car, a clutch with ten hours, one thing off), with more put in as SQL."""

    def __init__(self, folder, *statements):
        self.path = pathlib.Path(folder) / "garage.db"
        db = sqlite3.connect(self.path)
        db.executescript((SOURCE / "tests/store/garage-v3.sql").read_text(encoding="utf-8"))
        db.executescript(f"PRAGMA application_id = {0x43684761}; PRAGMA user_version = 3; PRAGMA journal_mode = WAL;")
        for statement in statements:
            db.execute(statement)
        db.commit()
        db.close()

    def run(self, *options, status=0):
        done = subprocess.run([PROGRAM, "ready", "--garage", self.path, "--today", TODAY, *options], capture_output=True,
                              text=True, check=False)
        assert done.returncode == status, done
        return done.stdout if status == 0 else done.stderr

    def json(self, *options):
        return json.loads(self.run("--json", *options))


def part(name, life, **facts):
    columns = {"engine_id": 1, "name": name, "fitted_day": "2026-06-01", "carried_running_s": 0, "carried_distance_m": 0,
               "carried_starts": 0, "changed_s": 1800000000, "life": life, **facts}
    return "INSERT INTO part ({}) VALUES ({})".format(
        ", ".join(columns), ", ".join("NULL" if v is None else repr(v) for v in columns.values()))


EVENT = ("INSERT INTO event (car_id, engine_id, day, name, sessions, running_s, changed_s)"
         " VALUES (1, 1, '2027-04-03', 'first event', 6, 7200, 1800000000)")
BACK = "UPDATE ledger SET put_back_s = taken_s, changed_s = 1800000001"


@promise
def what_is_off_stands_in_the_way(folder):
    garage = Garage(folder)
    answer = garage.json()
    assert answer["ready"] is False and answer["open"] == ["coil"] and answer["event"] is None, answer
    assert "coil, now bench" in garage.run()


@promise
def with_everything_back_it_is_ready_and_does_not_call_it_safe(folder):
    garage = Garage(folder, BACK, EVENT)
    answer = garage.json()
    assert answer["ready"] is True and answer["due"] == [], answer
    assert answer["event"] == {"date": "2027-04-03", "name": "first event"}
    text = " ".join(garage.run().split())
    assert "Ready. Nothing that is on record" in text and "not the same as safe" in text


@promise
def parts_are_due_by_whatever_comes_first(folder):
    garage = Garage(folder, BACK, EVENT,
                    part("oil", "engine_oil", carried_running_s=6 * 3600.0, fitted_day="2027-02-20"),
                    part("studs", "wheel_studs", carried_sessions=41, fitted_day="2026-06-01"),
                    part("belt", "timing_belt", fitted_day="2022-03-20"),
                    part("front pads", "brake_pads_front", part_left_1=0.55))
    answer = garage.json()
    due = {row["what"]: row for row in answer["due"]}
    assert not answer["ready"] and set(due) == {"oil", "studs", "belt", "front pads"}, answer
    # 6 of 7 hours, and the event takes two
    assert due["oil"]["when"] == "during" and due["oil"]["unit"] == "h" and abs(due["oil"]["left"] - 1.0) < 1e-9, due
    assert due["studs"]["when"] == "over" and due["studs"]["left"] == -1 and due["studs"]["by"] == "sessions", due
    # five years from 2022-03-20
    assert due["belt"]["when"] == "during" and due["belt"]["by"] == "2027-03-20" and due["belt"]["left"] == 19, due
    assert due["front pads"]["when"] == "soon", due
    assert [row["what"] for row in answer["due"]][0] == "studs"
    text = " ".join(garage.run().split())
    assert "studs: 41 sessions, over its 40 by 1" in text and "belt: due on 2027-03-20" in text, text


@promise
def parts_have_to_last_through_all_events_of_a_day(folder):
    oil = part("oil", "engine_oil", carried_running_s=3.5 * 3600.0, fitted_day="2027-02-20")  # 3.5 of 7 hours are left
    belt = part("studs", "wheel_studs", carried_sessions=28)  # 12 of 40 sessions are left
    second = EVENT.replace("first event", "second event")
    alone = {row["what"]: row["when"] for row in Garage(folder, BACK, EVENT, oil, belt).json()["due"]}
    assert alone == {"oil": "soon", "studs": "soon"}, alone
    os.remove(os.path.join(folder, "garage.db"))
    both = Garage(folder, BACK, EVENT, second, oil, belt)
    answer = both.json()
    due = {row["what"]: row for row in answer["due"]}
    assert answer["event"] == {"date": "2027-04-03", "name": "first event, second event"} and not answer["ready"], answer
    assert due["oil"]["when"] == "during" and abs(due["oil"]["left"] - 3.5) < 1e-9, due  # 2 + 2 hours
    assert due["studs"]["when"] == "soon" and due["studs"]["left"] == 12, due  # 6 + 6 sessions
    # on the day itself, with the first of them driven and entered, the answer is the same
    on_the_day = json.loads(both.run("--json", "--today", "2027-04-03"))
    assert [row["when"] for row in on_the_day["due"] if row["what"] == "oil"] == ["during"], on_the_day
    # the day after, both have counted
    after = json.loads(both.run("--json", "--today", "2027-04-04"))
    oils = [row for row in after["due"] if row["what"] == "oil"]
    assert after["event"] is None and abs(oils[0]["left"] + 0.5) < 1e-9 and oils[0]["when"] == "over", after


@promise
def an_event_on_another_day_is_not_the_next_one(folder):
    later = EVENT.replace("first event", "later").replace("2027-04-03", "2027-04-04")
    answer = Garage(folder, BACK, later, EVENT).json()
    assert answer["event"] == {"date": "2027-04-03", "name": "first event"}, answer


@promise
def what_nobody_entered_is_said_and_does_not_stand_in_the_way(folder):
    answer = Garage(folder, BACK, EVENT, part("harness", "harness", made_day=None)).json()
    assert [row["when"] for row in answer["due"]] == ["unknown"] and answer["ready"] is True, answer
    assert answer["due"][0]["left"] is None


@promise
def the_check_sheet_prints_what_is_open_and_what_to_look_at(folder):
    garage = Garage(folder, EVENT, part("studs", "wheel_studs", carried_sessions=41))
    sheet, page = garage.path.with_name("check.pdf"), garage.path.with_name("check.html")
    garage.run("-o", str(sheet))
    garage.run("-o", str(page))
    html = page.read_text(encoding="utf-8")
    places = [html.index(words) for words in ("On record: not ready", "coil", "studs: 41 sessions", "Wheel nuts again, after the first session")]
    assert places == sorted(places), places
    assert html.count('class="ticks"') > 30 and html.count('class="tick"') == 2 and "<script" not in html
    text = subprocess.run(["pdftotext", sheet, "-"], capture_output=True, text=True, check=True).stdout
    assert "Check sheet: invented hill climb car" in text and "DANGER" in text
    assert subprocess.run(["qpdf", "--check", sheet], capture_output=True, check=False).returncode == 0


@promise
def all_boxes_stand_on_one_page_and_what_to_look_at_on_its_back(folder):
    soon = [part(f"part {n}", "engine_oil", carried_running_s=6 * 3600.0, fitted_day="2027-02-20") for n in range(3)]
    garage = Garage(folder, EVENT, *soon)
    sheet = garage.path.with_name("check.pdf")
    titles = re.findall(r'(?m)^    title: "(.*)"$', (SOURCE / "knowledge/inspection.yaml").read_text(encoding="utf-8"))
    assert len(titles) > 30
    for paper in ("a4", "letter"):
        garage.run("-o", str(sheet), "--paper", paper)
        pages = subprocess.run(["pdftotext", "-raw", sheet, "-"], capture_output=True, text=True, check=True).stdout.split("\f")
        front, back = ("".join(page.split()) for page in pages[:2])
        assert len(pages) == 3 and pages[2] == "", f"{paper}: {len(pages) - 1} pages"
        for words in ("coil", "part 2: 6.0 of 7.0 h", "DANGER", *titles):
            assert words.replace(" ", "") in front, (paper, words)
        assert "Thicknessofeachpad" not in front
        for words in ("What to look at", "Thickness of each pad", "Half of the new thickness"):
            assert words.replace(" ", "") in back, (paper, words)


@promise
def bad_use_is_refused(folder):
    garage = Garage(folder)
    assert "no car" in garage.run("--car", "none such", status=3)
    assert "ready" in garage.run("sheet.yaml", status=2)
    assert "date" in garage.run("--today", "2027-02-30", status=2).lower()


def main():
    broken = 0
    for number, body in enumerate(promises, 1):
        with tempfile.TemporaryDirectory() as folder:
            try:
                body(folder)
                print(f"ok {number} - {body.__name__}")
            except Exception as failure:  # every failure is a broken promise, whatever it is
                broken += 1
                print(f"# {type(failure).__name__}: {failure}")
                print(f"not ok {number} - {body.__name__}")
    print(f"1..{len(promises)}")
    raise SystemExit(broken > 0)


main()
