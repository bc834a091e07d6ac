#!/usr/bin/env python3
"""How fast the history of an engine is shown in a garage of twenty seasons, 5 engines and 400 sheets.

The garage: five cars with an engine each, 80 sheets an engine, four a season, from 2007 on, whose cylinders wear at their own pace; six events a season and some
parts. Readings, days and names are invented. Every page is asked for with nothing kept in memory (cold: the program was just started; what sheets were judged
to say stands in the garage file, as it does in use), then again and again (kept). A sheet more makes the forecast anew, and only that engine's.

Server time is what the program's own log says: from the headers until the answer is ready; computing is what it took of the processor, which other work on the
machine does not lengthen.

Wanted: the history page within 50 ms for 99 of 100, the forecast within 1 s cold. Exits 1 on a miss.

usage: bench_history.py [TIMES [GARAGE]]: a garage file that this program made before is used again, one that is not there is made and kept
"""
import datetime
import os
import random
import re
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
os.environ.setdefault("CROSSHATCH", os.path.join(BUILD, "crosshatch"))
sys.path.insert(0, os.path.join(SOURCE, "tests/web"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

# pylint: disable=wrong-import-position
import rows as common  # noqa: E402
from browse import PROGRAM, Person, Server  # noqa: E402
from seasons import add_sheets, give_to_car  # noqa: E402

TIMES = int(sys.argv[1]) if len(sys.argv) > 1 else 100
GARAGE = sys.argv[2] if len(sys.argv) > 2 else None
ENGINES, SEASONS, A_SEASON, EVENTS = 5, 20, 4, 6
CYLINDERS = (4, 6, 4, 8, 4)
WANTED_SECONDS, WANTED_COLD_SECONDS = 0.050, 1.0


def worn_sheets(engine, chance):
    """Sheets of twenty seasons of one engine; each cylinder loses some psi in 100 h, and every reading scatters by one."""
    pace = [chance.uniform(0.5, 4.0) for _ in range(CYLINDERS[engine])]
    for number in range(SEASONS * A_SEASON):
        season, turn = divmod(number, A_SEASON)
        day = datetime.date(2007 + season, 2, 10) + datetime.timedelta(days=60 * turn + engine)
        hours = 100.0 + 16.0 * season + 4.0 * turn
        yield day.isoformat(), hours, [round(180.0 - own * (hours - 100.0) / 100.0 + chance.gauss(0.0, 1.0)) for own in pace]


def enter_days(garage, car):
    """Events of the past and one to come, and parts, one of which opened the engine: entered as the pages do, only faster."""
    with sqlite3.connect(garage) as db:
        engine = db.execute("SELECT id FROM engine WHERE car_id = ?", (car,)).fetchone()[0]
        for season in range(SEASONS):
            for event in range(EVENTS):
                day = datetime.date(2007 + season, 3, 1) + datetime.timedelta(days=30 * event)
                db.execute("INSERT INTO event (car_id, engine_id, day, name, running_s, sessions, changed_s) VALUES (?, ?, ?, ?, 9600, 5, 1)",
                           (car, engine, day.isoformat(), f"Day {event + 1}"))
        to_come = datetime.date.today() + datetime.timedelta(days=20)
        db.execute("INSERT INTO event (car_id, engine_id, day, name, changed_s) VALUES (?, ?, ?, 'Next', 1)", (car, engine, to_come.isoformat()))
        for name, day in (("Head gasket", "2015-01-10"), ("Engine oil", "2026-02-01"), ("Brake pads", "2026-03-01")):
            db.execute("INSERT INTO part (engine_id, name, fitted_day, carried_running_s, carried_distance_m, carried_starts, changed_s)"
                       " VALUES (?, ?, ?, 0, 0, 0, 1)", (engine, name, day))
    db.close()


def fill(garage):
    chance = random.Random(1)
    for engine in range(ENGINES):
        add_sheets(garage, list(worn_sheets(engine, chance)))
        enter_days(garage, give_to_car(garage, f"Car {engine + 1}"))


def server_seconds(log, skipped, path):
    with open(log, encoding="ascii") as file:
        file.seek(skipped)
        return [int(line.split()[-1]) / 1e6 for line in file if f" GET {path} 200 " in line]


def row(what, found, wanted="", well=None):
    print(f"{what:<56} {found:>18} {wanted:>10}   {'' if well is None else 'met' if well else 'MISSED'}", flush=True)
    return well in (None, True)


def computing_s(process):
    """Seconds of the processor that a program has taken."""
    with open(f"/proc/{process.pid}/stat", encoding="ascii") as file:
        fields = file.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def ask(person, log, path, times=1):
    """Server times of a page asked for this often."""
    skipped = os.path.getsize(log)
    for _ in range(times):
        assert person.send("GET", path)[0] == 200, path
    return server_seconds(log, skipped, path)


def spread(taken):
    return f"{1000 * statistics.median(taken):.1f} / {1000 * max(taken):.1f} ms"


def judge_all(garage):
    """The first look at each engine, which judges its sheets once for all. By the terminal's command, so that no page waits for it: what it keeps, they find."""
    for car in range(1, ENGINES + 1):
        begun = time.perf_counter()
        subprocess.run([PROGRAM, "season", "--garage", garage, "--car", f"Car {car}"], check=True, stdout=subprocess.DEVNULL)
        first = time.perf_counter() - begun
        row(f"first look ever, {CYLINDERS[car - 1]} cylinders, {SEASONS * A_SEASON} sheets judged", f"{first:.1f} s")


def ask_each(server, person, log):
    """The history page of every engine, cold and then again and again: the server times of both, and seconds of computing for one of either."""
    cold, kept, computing = [], [], [0.0, 0.0]
    for car in range(1, ENGINES + 1):
        path, before = f"/car/{car}/season", computing_s(server.process)
        cold += ask(person, log, path)
        between = computing_s(server.process)
        taken = ask(person, log, path, TIMES)
        kept += taken
        computing[0] += (between - before) / ENGINES
        computing[1] += (computing_s(server.process) - between) / TIMES / ENGINES
        row(f"history page, {CYLINDERS[car - 1]} cylinders, kept, half / most", spread(taken))
    return cold, kept, computing


def measure(garage, log):
    with Server(garage, "--log") as server:
        person = Person(server)
        person.get("/help")
        cold, kept, computing = ask_each(server, person, log)
        p99 = statistics.quantiles(kept, n=100)[98]
        well = [row("history page, forecast made, most", f"{1000 * max(cold):.0f} ms", f"{WANTED_COLD_SECONDS:.0f} s", max(cold) < WANTED_COLD_SECONDS),
                row("history page, kept, 99 of 100 within", f"{1000 * p99:.1f} ms", f"{1000 * WANTED_SECONDS:.0f} ms", p99 < WANTED_SECONDS)]
        row("history page, computing, forecast made / kept", f"{1000 * computing[0]:.0f} / {1000 * computing[1]:.1f} ms")
        common.figure("pages", "history page, 80 of 400 sheets, forecast made, most of 5", max(cold), "s", "1 s", well[0])
        common.figure("pages", "history page, 80 of 400 sheets, kept, 99 of 100", p99, "s", "50 ms", well[1])
        for path in ("/car/1/ready", "/car/1/events", "/car/1/parts", "/car/1", "/"):
            ask(person, log, path)
            row(f"{path}, half / most", spread(ask(person, log, path, TIMES)))
        person.get("/car/1/season")
        add_sheets(garage, [("2026-10-30", 425.0, (160, 161, 162, 163))])
        with sqlite3.connect(garage) as db:
            db.execute("UPDATE sheet SET engine_id = 1 WHERE engine_id IS NULL")
        db.close()
        row("history page of that engine after one more sheet", f"{1000 * ask(person, log, '/car/1/season')[0]:.0f} ms")
        row("history page of another engine then", f"{1000 * ask(person, log, '/car/2/season')[0]:.1f} ms")
        with open(f"/proc/{server.process.pid}/status", encoding="ascii") as file:
            most = int(re.search(r"VmHWM:\s+(\d+) kB", file.read()).group(1))
        row("most memory", f"{most / 1024:.1f} MiB")
        return well


def main():
    with tempfile.TemporaryDirectory() as folder:
        garage, log = os.path.join(folder, "garage.db"), os.path.join(folder, "log")
        if GARAGE is not None and os.path.exists(GARAGE):
            shutil.copyfile(GARAGE, garage)
        else:
            fill(garage)
        judge_all(garage)  # what was judged before and still holds is found
        if GARAGE is not None:
            shutil.copyfile(garage, GARAGE)
        print(f"{ENGINES * SEASONS * A_SEASON} sheets of {ENGINES} engines, {SEASONS} seasons, {os.path.getsize(garage) / 1e6:.1f} MB\n")
        own = os.dup(2)
        os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), 2)  # the program inherits it
        try:
            return 0 if all(measure(garage, log)) else 1
        finally:
            os.dup2(own, 2)


if __name__ == "__main__":
    sys.exit(main())
