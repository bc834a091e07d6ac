#!/usr/bin/env python3
"""The program's numbers on a set of questions are those that stand in tests/data/recorded, unless a commit says why not. TAP.

A recorded number is no promise that it is right: that is what the other tests hold. It shows that a change moved an answer that nobody meant to move.
Where one is meant: recorded.py --record writes the answers anew, and the commit says what moved and why. Run by meson test with CROSSHATCH (the
program), CROSSHATCH_SOURCE (the tree), WINTER_SEARCH and WINTER_DAYS (winter_search.c, winter_days.c).
"""
import csv
import io
import json
import math
import os
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

import recorded_invented as invented

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
DATA = SOURCE / "tests/data"
RECORDED = DATA / "recorded"
# Printed to ten digits; another machine's library may differ in the last bit of a logarithm, which an answer carries on to its twelfth digit or so.
RELATIVE, ABSOLUTE = 1e-6, 1e-9
# Few and unlike each other: gauges, wet tests, leak-downs, signs, one to eight cylinders, sound and faulty, tests that were misread.
JUDGED = ["demo/hill-climb-sound.yaml", "demo/hill-climb-burnt-valve.yaml", "tests/data/sheets/full.yaml"] + [
    f"tests/data/{kind}-cases/sheets/{name}.yaml"
    for kind, name in (("field", "FC-050"), ("field", "FC-090"), ("field", "FC-102"), ("field", "FC-105"), ("story", "ST-01"), ("story", "ST-06"),
                       ("story", "ST-13"), ("story", "ST-21"), ("story", "ST-29"), ("textbook", "TB-01"), ("textbook", "TB-07"),
                       ("textbook", "TB-40"))]
PREDICTED = ["demo/hill-climb-sound.yaml", "tests/data/sheets/full.yaml"]
ENGINES = {  # for predict: what a sheet may say of an engine, one thing at a time
    "shut": "conditions: {throttle: shut}",
    "slow-cold": "conditions: {cranking_speed: 120 rpm, engine_temperature: 5 C, air_temperature: -5 C, altitude: 1800 m, strokes: 12}",
    "valves": "leaks: [{cylinder: all, exhaust_valve: 2 mm2, intake_valve: 0.7 mm2}]",
    "rings": "leaks: [{cylinder: 1, rings: 6 mm2}]",
    "hose": "gauge: {hose_volume: 40 ml, dead_volume: 9 ml, valve_area: 0.4 mm2, opening_pressure: 30 kPa}",
}


def ask(*arguments, text=None):
    done = subprocess.run([PROGRAM, *map(str, arguments)], input=text, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, (arguments, done.returncode, done.stderr)
    return json.loads(done.stdout)


def judged():
    return {path: ask("judge", "--json", SOURCE / path) for path in JUDGED}


def drawn():
    return {**{f"sheet {seed}": ask("judge", "--json", "-", text=invented.sheet(seed)) for seed in range(16)},
            **{f"sheet {seed} without dry readings": ask("judge", "--json", "-", text=invented.sheet(seed, False)) for seed in range(100, 104)}}


def predicted():
    answers = {path: ask("predict", "--json", SOURCE / path) for path in PREDICTED}
    for name, more in ENGINES.items():
        answers[name] = ask("predict", "--json", "-", text="sheet: 1\nengine: {cylinders: 4, bore: 84 mm, stroke: 80 mm, rod_length: 135 mm, "
                                                           f"compression_ratio: 10.2}}\ncompression: [{{cylinder: 1, reading: 170 psi}}]\n{more}\n")
    return answers


def planned():
    text = (SOURCE / "demo/winter/hill-climb.yaml").read_text(encoding="utf-8")
    return {"as it is": ask("winter", "--json", "-", text=text),
            "little money": ask("winter", "--json", "-", text=text.replace("budget: 1500", "budget: 500")),
            "little time": ask("winter", "--json", "-", text=text.replace("until: 2027-04-03", "until: 2027-01-31")),
            "too little": ask("winter", "--json", "-", text=text.replace("budget: 1500", "budget: 100")),
            "late parts": ask("winter", "--json", "-", text=text.replace("lead_days: 21", "lead_days: 60"))}


def tangled():
    return {f"plan {seed}": ask("winter", "--json", "-", text=invented.plan(seed)) for seed in range(12)}


def searched():
    """How far the choice had come after so many branchings: a search that goes another way, and comes to the same answer, shows here alone."""
    done = subprocess.run([os.environ["WINTER_SEARCH"]], capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def laid():
    """All jobs of a plan on its days: few days and many, short ones and long, so that some do not fit. The last three are so large that not all orders are tried."""
    names = [f"{number}.yaml" for number in (*range(11), *range(12, 23), 47, 83, 791)]
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            pathlib.Path(folder, name).write_text(invented.days(int(name[:-5])), encoding="utf-8")
        done = subprocess.run([os.environ["WINTER_DAYS"], *names], capture_output=True, text=True, timeout=120, check=False, cwd=folder)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def drive(step_kmh, rows_a_second, throttle):
    """An invented log: ten pulls through five gears with a clutch that lets go in fourth and fifth, the more the longer it runs."""
    lines, shift_rad_s, time_s, speed = (37.0, 22.0, 15.5, 12.0, 9.6), 640.0, 0.0, 4.0
    out = ["time (s),rpm,speed (km/h)" + (",throttle (%)" if throttle else "")]
    for pull in range(10):
        gear, phase_s, slip_from_s = 0, 0.0, math.inf
        while time_s < 42.0 * (pull + 1):
            pulling = phase_s < 30.0
            top = gear == 4 and speed > 56.0
            acceleration = (4.2 / (1.0 + 0.6 * gear) - 0.0004 * speed * speed) if pulling and not top else 0.0 if pulling else -1.9
            speed = max(speed + acceleration / rows_a_second, 4.0)
            if pulling and gear < 4 and speed * lines[gear] > shift_rad_s:
                gear += 1
                slip_from_s = time_s + 1.2
            while not pulling and gear > 0 and speed * lines[gear] < 190.0:
                gear -= 1
            part = (time_s - slip_from_s) / (1.0 + 0.1 * pull)
            ahead = (0.04 + 0.012 * pull) * math.sin(math.pi * part) ** 2 if gear >= 3 and pulling and 0.0 < part < 1.0 else 0.0
            rpm = speed * lines[gear] * (1.0 + ahead) * 30.0 / math.pi * (1.0 + 0.0015 * math.sin(77.0 * time_s))
            kmh = round(speed * 3.6 / step_kmh) * step_kmh
            out.append(f"{time_s:.3f},{rpm:.1f},{kmh:.2f}" + (f",{92 if pulling else 14}" if throttle else ""))
            time_s += 1.0 / rows_a_second
            phase_s += 1.0 / rows_a_second
    return "\n".join(out) + "\n"


def with_slip_added(percent):
    """A real log with the engine running ahead for a while, every two hundred and fifty rows."""
    rows = list(csv.reader(io.StringIO((DATA / "vehicle-logs/vehicle_a_highway_1.csv").read_text(encoding="utf-8"))))
    for i, row in enumerate(rows[1:]):
        share = math.sin(math.pi * (i % 250) / 30) if i % 250 < 30 else 0.0
        row[1] = f"{float(row[1]) * (1 + percent / 100 * share):.2f}"
        row[3] = "60" if share > 0 else row[3]
    return "\n".join(",".join(row) for row in rows) + "\n"


def driven():
    with tempfile.TemporaryDirectory() as folder:
        car = pathlib.Path(folder, "car.yaml")
        car.write_text(invented.CAR, encoding="utf-8")
        return {**{name: ask("driveline", "--json", DATA / f"vehicle-logs/vehicle_a_{name}.csv") for name in ("highway_1", "commute_1", "slow_1")},
                "slip added": ask("driveline", "--json", "--car", car, "-", text=with_slip_added(14)),
                "invented, fine": ask("driveline", "--json", "--car", car, "-", text=drive(0.01, 20, True)),
                "invented, whole steps": ask("driveline", "--json", "--car", car, "-", text=drive(1.0, 20, True)),
                "invented, seldom": ask("driveline", "--json", "-", text=drive(0.1, 4, True)),
                "invented, no throttle": ask("driveline", "--json", "-", text=drive(0.01, 50, False))}


def happened():
    answers = {name: ask("driveline", "--json", "-", text=log) for name, log in invented.clocks().items()}
    with tempfile.TemporaryDirectory() as folder:
        car = pathlib.Path(folder, "car.yaml")
        for name, (log, told) in invented.drives().items():
            car.write_text(told, encoding="utf-8")
            answers[name] = ask("driveline", "--json", *(["--car", car] if told else []), "-", text=log)
    return answers


SHEET = """sheet: 1
engine: {{cylinders: 2, bore: 84 mm, stroke: 80 mm, compression_ratio: 9.5}}
conditions: {{date: {day}, throttle: open, cranking_speed: 220 rpm, engine_temperature: 70 C{hours}}}
compression: [{{cylinder: 1, reading: {one} psi}}, {{cylinder: 2, reading: {two} psi}}]
leakdown: [{{cylinder: 2, supply: 100 psi, loss: {loss} %, orifice: 1.016 mm}}]
"""
TESTED = [("2023-11-04", 270, 176, 175, 8), ("2024-02-29", 300, 175, 174, 8), ("2025-03-01", None, 173, 170, 12), ("2026-03-01", 360, 172, 161, 17)]
EVENTS = [("2024-05-11", 6), ("2024-07-20", 9), ("2025-06-14", 8), ("2025-09-06", 7), ("2026-05-09", None), ("2026-07-11", 5)]


def garage_with(garage, sheets, events):
    """A garage file with one car, its engine's sheets and its events."""
    with tempfile.TemporaryDirectory() as folder:
        for number, text in enumerate(sheets):
            pathlib.Path(folder, f"{number}.yaml").write_text(text, encoding="utf-8")
        subprocess.run([PROGRAM, "import", "--garage", garage, folder], check=True, capture_output=True)
    with sqlite3.connect(garage) as db:
        car = db.execute("INSERT INTO car (name, changed_s) VALUES ('invented', 1)").lastrowid
        engine = db.execute("INSERT INTO engine (car_id, name, why, begun_day, changed_s) VALUES (?, 'two litre', 'first', '2020-01-01', 1)",
                            (car,)).lastrowid
        db.execute("UPDATE sheet SET engine_id = ?", (engine,))
        for day, hours in events:
            db.execute("INSERT INTO event (car_id, engine_id, day, name, running_s, changed_s) VALUES (?, ?, ?, 'sprint', ?, 1)",
                       (car, engine, day, None if hours is None else hours * 3600))


def seasons():
    with tempfile.TemporaryDirectory() as folder:
        garage = os.path.join(folder, "garage.db")
        garage_with(garage, [SHEET.format(day=day, one=one, two=two, loss=loss, hours=f", engine_hours: {hours} h" if hours else "")
                             for day, hours, one, two, loss in TESTED], EVENTS)
        return {day: ask("season", "--garage", garage, "--json", "--today", day) for day in ("2026-04-01", "2026-08-01")}


def lived():
    answers = {}
    with tempfile.TemporaryDirectory() as folder:
        for seed in (0, 1, 2, 4): # of 3 two assumptions weigh alike, and rounding decides which comes first
            garage = os.path.join(folder, f"{seed}.db")
            sheets, events, today = invented.season(seed)
            garage_with(garage, sheets, events)
            answers[f"engine {seed}"] = ask("season", "--garage", garage, "--json", "--today", today, "--horizon", ("season", "year", "three_years")[seed % 3])
    return answers


NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?")


def says_nothing(value):
    """A sentence without a number."""
    return isinstance(value, str) and " " in value and not NUMBER.search(value)


def without_words(answer):
    """An answer with the numbers of each sentence in its place, and without those sentences that have none."""
    if isinstance(answer, dict):
        return {name: without_words(value) for name, value in answer.items() if not says_nothing(value)}
    if isinstance(answer, list):
        return [without_words(value) for value in answer if not says_nothing(value)]
    if isinstance(answer, str) and " " in answer:
        return [float(number) for number in NUMBER.findall(answer)]
    return answer


def differences(want, got, path=""):
    """Where an answer is another than the recorded one. Sentences may be put in other words: only their numbers count. Further names may come."""
    if isinstance(want, dict) and isinstance(got, dict):
        for name, value in want.items():
            if name in got:
                yield from differences(value, got[name], f"{path}/{name}")
            else:
                yield f"{path}/{name} is gone"
    elif isinstance(want, list) and isinstance(got, list):
        if len(want) != len(got):
            yield f"{path}: {len(got)} for {len(want)}"
        for number, (one, other) in enumerate(zip(want, got)):
            yield from differences(one, other, f"{path}/{number}")
    elif isinstance(want, (int, float)) and isinstance(got, (int, float)) and not isinstance(want, bool):
        if abs(got - want) > RELATIVE * abs(want) + ABSOLUTE:
            yield f"{path}: {got} for {want}"
    elif want != got:
        yield f"{path}: {got} for {want}"


QUESTIONS = {"predict": predicted, "judge": judged, "season": seasons, "winter": planned, "winter-search": searched, "winter-days": laid,
             "driveline": driven,
             "judge-drawn": drawn, "season-drawn": lived, "winter-drawn": tangled, "driveline-drawn": happened}


def main():
    asked = [name for name in QUESTIONS if name in sys.argv[1:]] or list(QUESTIONS)
    os.environ["XDG_CACHE_HOME"] = "/nonexistent" # answers of an earlier run are none of this program
    if "--record" in sys.argv:
        for name in asked:
            RECORDED.joinpath(name + ".json").write_text(json.dumps(without_words(QUESTIONS[name]()), indent=1) + "\n", encoding="utf-8")
        return 0
    print(f"1..{len(asked)}")
    broken = 0
    for number, name in enumerate(asked, 1):
        want = json.loads(RECORDED.joinpath(name + ".json").read_text(encoding="utf-8"))
        try:
            found = list(differences(want, without_words(QUESTIONS[name]())))
        except AssertionError as failure:
            found = [str(failure)]
        broken += bool(found)
        for line in found[:20]:
            print("# " + line)
        if found:
            print(f"# {len(found)} differences. If they are meant: tests/cli/recorded.py --record {name}, and say in the commit what moved and why.")
        print(f"{'not ok' if found else 'ok'} {number} - {name}_answers_as_recorded")
    return broken > 0


if __name__ == "__main__":
    sys.exit(main())
