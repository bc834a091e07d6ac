#!/usr/bin/env python3
"""Winter plans against outside calculations, through the real program. TAP.

usage: check_winter.py PROGRAM

1. Plans with 60 jobs and 40 shared access steps, written as JSON: the value equals that of HiGHS (an independent branch and cut, through
   scipy.optimize.milp) on the program as docs/winter.md states it, and the chosen sets keep every rule.
2. The published 0/1 knapsacks of tests/data/knapsack as plans that have only money.
3. The calendar keeps to the days, the order and the sums.
4. The iCalendar file is read back by the Python package icalendar, and holds to RFC 5545 (tests/data/icalendar/rules.csv).
"""
import csv
import io
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile

import numpy
from scipy.optimize import Bounds, LinearConstraint, milp

PROGRAM = sys.argv[1]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
DEMO = SOURCE / "demo/winter/hill-climb.yaml"
HOSTILE = "Öl; \"Kühler\", \\ und ein sehr langer Name, der über eine Zeile von fünfundsiebzig Bytes hinausgeht: ÄÖÜäöüß"


def promise(function):
    function.is_promise = True
    return function


def winter(plan, *options):
    done = subprocess.run([PROGRAM, "winter", "--today", "2027-01-01", *options, "-"], input=json.dumps(plan), capture_output=True,
                          text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def answer(plan):
    return json.loads(winter(plan, "--json"))


def random_plan(seed, jobs=60, steps=40):
    """Jobs that share access in trees, exclude and require each other; the limits bite."""
    r = random.Random(seed)
    access, work, hours, parts = {}, {}, 0, 0
    for i in range(steps):
        step = {"hours": round(r.uniform(0.1, 4), 1), "refit_hours": round(r.uniform(0.1, 4), 1), "parts": r.choice([0, 0, r.randint(2, 60)])}
        if i and r.random() < 0.6:
            step["needs"] = [f"a{r.randrange(i)}"]
        access[f"a{i}"] = step
        hours += step["hours"] + step["refit_hours"]
        parts += step["parts"]
    for i in range(jobs):
        job = {"hours": round(r.uniform(0.2, 6), 2), "parts": round(r.uniform(5, 400), 2), "avoided": r.randint(20, 1500)}
        if steps:
            job["needs"] = [f"a{k}" for k in r.sample(range(steps), r.randint(0, 3))]
        if i and r.random() < 0.1:
            job["excludes"] = [f"j{r.randrange(i)}"]
        if i and r.random() < 0.1:
            job["requires"] = [f"j{r.randrange(i)}"]
        if r.random() < 0.03:
            job["must"] = True
        work[f"j{i}"] = job
        hours += job["hours"]
        parts += job["parts"]
    share = r.uniform(0.15, 0.6)
    days = [{"date": f"2027-{2 + k // 28:02d}-{1 + k % 28:02d}", "hours": round(hours * share / 40, 1)} for k in range(40)]
    days = [{"date": day["date"], "hours": min(day["hours"], 24)} for day in days]
    return {"plan": 1, "hours_value": 15, "budget": round(parts * share, 2), "until": "2027-03-12", "days": days, "access": access, "jobs": work}


def by_highs(plan):
    """Value of the best choice by HiGHS, or None where there is none."""
    items = [("access", name) for name in plan["access"]] + [("jobs", name) for name in plan["jobs"]]
    place = {item: i for i, item in enumerate(items)}
    n = len(items)
    value, parts, hours = numpy.zeros(n), numpy.zeros(n), numpy.zeros(n)
    rows, low, high = [], [], []

    def pair(a, x, b, y, most):
        row = numpy.zeros(n)
        row[a] += x
        row[b] += y
        rows.append(row)
        low.append(-numpy.inf)
        high.append(most)

    lower = numpy.zeros(n)
    for (kind, name), i in place.items():
        item = plan[kind][name]
        parts[i] = item.get("parts", 0)
        hours[i] = item["hours"] + item.get("refit_hours", 0)
        value[i] = item.get("avoided", 0) - parts[i] - plan["hours_value"] * hours[i]
        lower[i] = 1 if item.get("must") else 0
        for need in item.get("needs", []):
            pair(i, 1, place["access", need], -1, 0)
        for other in item.get("requires", []):
            pair(i, 1, place["jobs", other], -1, 0)
        for other in item.get("excludes", []):
            pair(i, 1, place["jobs", other], 1, 1)
    have = sum(day["hours"] for day in plan["days"] if day["date"] <= plan["until"])
    rows += [parts, hours]
    low += [-numpy.inf] * 2
    high += [plan["budget"], have + 1e-9]
    found = milp(-value, constraints=LinearConstraint(numpy.array(rows), low, high), integrality=numpy.ones(n),
                 bounds=Bounds(lower, numpy.ones(n)), options={"mip_rel_gap": 0})
    return None if found.status == 2 else -found.fun


def check_choice(plan, got):
    jobs, access = set(got["jobs"]), set(got["access"])
    items = [plan["jobs"][name] for name in jobs] + [plan["access"][name] for name in access]
    for item in items:
        assert set(item.get("needs", [])) <= access
        assert set(item.get("requires", [])) <= jobs
        assert not set(item.get("excludes", [])) & jobs
    for name, item in plan["jobs"].items():
        assert not item.get("must") or name in jobs
    hours = sum(item["hours"] + item.get("refit_hours", 0) for item in items)
    parts = sum(item.get("parts", 0) for item in items)
    assert abs(hours - got["hours"]) < 1e-6 and abs(parts - got["parts"]) < 1e-6
    assert parts <= plan["budget"] + 1e-6
    value = sum(item.get("avoided", 0) for item in items) - parts - plan["hours_value"] * hours
    assert abs(value - got["value"]) < 1e-6
    needed = {need for item in items for need in item.get("needs", [])}
    assert needed == access, "a step that nothing needs"


def check_calendar(plan, got):
    have = {day["date"]: day["hours"] for day in plan["days"]}
    last, total = "", 0
    opened, closed = set(), set()
    for day in got["calendar"]:
        assert last < day["date"] <= plan["until"]
        last = day["date"]
        assert sum(piece["hours"] for piece in day["work"]) <= have[last] + 1e-9
        for piece in day["work"]:
            item, kind = piece["item"], piece["kind"]
            total += piece["hours"]
            needs = set(plan["access" if kind != "job" else "jobs"][item].get("needs", []))
            if kind == "close":
                closed.add(item)
                assert item in opened and not needs & closed
            else:
                assert needs <= opened and not needs & closed
                if kind == "open":
                    opened.add(item)
    assert got["finish"] == last and opened == closed == set(got["access"])
    assert abs(total - got["hours"]) < 1e-6


@promise
def plans_of_sixty_jobs_are_worth_what_highs_finds():
    feasible = 0
    for seed in range(16):
        plan = random_plan(seed)
        got, want = answer(plan), by_highs(plan)
        assert got["feasible"] == (want is not None), seed
        if want is None:
            continue
        assert got["proven"]
        # HiGHS takes a row that is over by 1e-6 of its scale; amounts have two decimals, so values are whole tenths of a cent
        assert abs(got["value"] - want) < 2e-3, (seed, got["value"], want)
        check_choice(plan, got)
        check_calendar(plan, got)
        feasible += 1
    assert feasible >= 8


@promise
def small_plans_of_every_tightness_too():
    for seed in range(100, 160):
        plan = random_plan(seed, jobs=12, steps=6)
        got, want = answer(plan), by_highs(plan)
        assert got["feasible"] == (want is not None), seed
        if want is not None:
            assert abs(got["value"] - want) < 2e-3, (seed, got["value"], want)
            check_choice(plan, got)
            check_calendar(plan, got)


@promise
def published_knapsacks_are_plans_that_have_only_money():
    rows = []
    for part in "ab":
        with open(SOURCE / f"tests/data/knapsack/knapsack01_{part}.csv", encoding="utf-8", newline="") as file:
            rows += csv.DictReader(file)
    assert len(rows) == 8
    for row in rows:
        weights, profits = ([int(x) for x in row[key].split()] for key in ("weights", "profits"))
        jobs = {f"j{i}": {"hours": 0, "parts": w, "avoided": w + p} for i, (w, p) in enumerate(zip(weights, profits))}
        got = answer({"plan": 1, "hours_value": 0, "budget": int(row["capacity"]), "jobs": jobs})
        assert got["value"] == int(row["optimal_profit"]), row["instance"]
        assert got["chance_in_time"] is None and got["calendar"] == []


def hostile_plan():
    return {"plan": 1, "title": HOSTILE, "currency": "EUR", "today": "2027-01-02", "days": [{"date": "2027-01-09", "hours": 6},
            {"date": "2027-02-28", "hours": 6}, {"date": "2028-02-29", "hours": 6}],
            "access": {"x": {"title": HOSTILE, "hours": 2, "refit_hours": 3, "parts": 1.5}},
            "jobs": {"a": {"title": HOSTILE + " 2", "hours": 9, "avoided": 500, "parts": 20, "needs": ["x"]},
                     "=1+1": {"hours": 1, "parts": 3, "avoided": 50, "lead_days": 4}}}


@promise
def the_calendar_file_is_read_back():
    from icalendar import Calendar  # the outside library
    plan = hostile_plan()
    got = answer(plan)
    calendar = Calendar.from_ical(winter(plan, "--ics"))
    assert str(calendar["VERSION"]) == "2.0" and str(calendar["PRODID"])
    events = calendar.walk("VEVENT")
    assert [event["DTSTART"].dt.isoformat() for event in events] == [day["date"] for day in got["calendar"]]
    for event, day in zip(events, got["calendar"]):
        assert (event["DTEND"].dt - event["DTSTART"].dt).days == 1
        lines = str(event["DESCRIPTION"]).split("\n")
        titles = {"x": HOSTILE, "a": HOSTILE + " 2", "=1+1": "=1+1"}
        assert lines == [f"{p['kind']}: {titles[p['item']]}, {p['hours']:.1f} h" for p in day["work"]], lines
    assert len({str(event["UID"]) for event in events}) == len(events)


@promise
def the_calendar_file_holds_to_rfc_5545():
    done = subprocess.run([PROGRAM, "winter", "--ics", "-"], input=json.dumps(hostile_plan()).encode(), capture_output=True, check=True)
    raw = done.stdout
    assert raw.endswith(b"END:VCALENDAR\r\n") and raw.count(b"\n") == raw.count(b"\r\n")  # 3.1
    for line in raw.split(b"\r\n"):
        assert len(line) <= 75, line  # 3.1
        line.decode("utf-8")  # a fold inside a character would break it
    text = raw.decode("utf-8").replace("\r\n ", "")
    assert text.count("BEGIN:VCALENDAR") == text.count("VERSION:2.0") == text.count("PRODID:") == 1  # 3.6, 3.7
    for event in text.split("BEGIN:VEVENT")[1:]:
        for name in ("UID:", "DTSTAMP:", "DTSTART;VALUE=DATE:", "DTEND;VALUE=DATE:"):  # 3.6.1
            assert event.count("\r\n" + name) == 1, name
        assert "\r\nDTSTAMP:20270102T000000Z\r\n" in event
    assert "Öl\\; " in text and "\\, \\\\ und" in text  # 3.3.11


@promise
def the_example_of_rfc_5545_reads_as_the_standard_says():
    """The outside library itself is worth trusting: section 4's first event, tests/data/icalendar."""
    from icalendar import Calendar
    event = Calendar.from_ical((SOURCE / "tests/data/icalendar/rfc5545_section4_event.ics").read_bytes()).walk("VEVENT")[0]
    with open(SOURCE / "tests/data/icalendar/expected.csv", encoding="utf-8", newline="") as file:
        want = {row["property"]: row["unfolded_unescaped_value"] for row in csv.DictReader(file)}
    assert str(event["SUMMARY"]) == want["SUMMARY"]
    assert " ".join(str(event["DESCRIPTION"]).split()) == " ".join(want["DESCRIPTION"].split())


@promise
def the_same_plan_gives_the_same_bytes_and_identifiers():
    first, second = winter(hostile_plan(), "--ics"), winter(hostile_plan(), "--ics")
    assert first == second
    moved = hostile_plan()
    moved["jobs"]["a"]["hours"] = 8
    assert identifiers(moved) == identifiers(hostile_plan())


def identifiers(plan):
    return [line for line in winter(plan, "--ics").splitlines() if line.startswith("UID:")]


@promise
def an_edited_plan_keeps_its_identifiers_and_another_has_its_own():
    """RFC 5545, 3.8.4.7: the identifier is the event's alone, and the same over its life."""
    plan = hostile_plan() | {"id": "mine"}
    edited = plan | {"title": "renamed", "until": "2028-03-01", "budget": 5000}
    assert identifiers(plan) == identifiers(edited)
    every = [identifiers(one) for one in (plan, plan | {"id": "yours"}, hostile_plan(), hostile_plan() | {"title": "mine"})]
    assert len(set(sum(every, []))) == sum(map(len, every)) > 0


@promise
def tables_are_read_back():
    plan = hostile_plan()
    got = answer(plan)
    rows = list(csv.DictReader(io.StringIO(winter(plan, "--csv"), newline="")))
    pieces = [(day["date"], piece["item"], piece["kind"], piece["hours"]) for day in got["calendar"] for piece in day["work"]]
    assert [(row["date"], row["item"], row["kind"], float(row["hours"])) for row in rows] == pieces
    assert rows[0]["title"] in (HOSTILE, HOSTILE + " 2", "=1+1")
    shopping = list(csv.DictReader(io.StringIO(winter(plan, "--shopping"), newline="")))
    assert sum(float(row["parts"]) for row in shopping[:-1]) == float(shopping[-1]["parts"]) == got["parts"] == 24.5
    assert {row["item"] for row in shopping} == {"x", "a", "=1+1", "total"}
    by_item = {row["item"]: row for row in shopping}
    assert by_item["=1+1"]["order_by"] < by_item["=1+1"]["wanted_on"]
    assert [row["order_by"] for row in shopping[:-1]] == sorted(row["order_by"] for row in shopping[:-1])


@promise
def endings_of_the_name_choose_the_form():
    with tempfile.TemporaryDirectory() as folder:
        for ending, begins in (("ics", b"BEGIN:VCALENDAR\r\n"), ("csv", b"date,item,kind,hours,title\r\n"), ("txt", b"Winter of")):
            name = os.path.join(folder, "out." + ending)
            subprocess.run([PROGRAM, "winter", "-o", name, str(DEMO)], check=True)
            assert pathlib.Path(name).read_bytes().startswith(begins)


@promise
def a_plan_that_cannot_be_done_says_by_how_much():
    got = answer({"plan": 1, "budget": 100, "days": [{"date": "2027-01-09", "hours": 6}],
                  "jobs": {"a": {"hours": 7.75, "parts": 130.5, "must": True}}})
    assert got["feasible"] is False
    assert got["shortfall"] == {"hours": 1.75, "parts": 30.5}
    assert len(got["because"]) == 2 and "1.75 h" in got["because"][0] and "30.50" in got["because"][1]


@promise
def text_fits_a_phone():
    for name, plan in (("demo", None), ("hostile", hostile_plan())):
        text = subprocess.run([PROGRAM, "winter", "--working", str(DEMO)], capture_output=True, text=True, check=True).stdout if plan is None \
            else winter(plan, "--working")
        assert max(len(line) for line in text.splitlines()) <= 60, name
        assert "\x1b" not in text


def main():
    promises = [(name, function) for name, function in globals().items() if getattr(function, "is_promise", False)]
    print(f"1..{len(promises)}")
    broken = 0
    for number, (name, function) in enumerate(promises, 1):
        try:
            function()
            print(f"ok {number} - {name}")
        except ModuleNotFoundError as lack:
            print(f"ok {number} - {name} # SKIP {lack}")
        except Exception as reason:  # any failure is a broken promise
            broken += 1
            print(f"# {type(reason).__name__}: {reason}".replace("\n", "\n# "))
            print(f"not ok {number} - {name}")
    sys.exit(broken > 0)


main()
