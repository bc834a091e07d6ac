"""A garage with some seasons in it: a car, its sheets over the years, events and parts. Readings and names are invented."""
import datetime
import os
import sqlite3
import subprocess
import tempfile

from browse import PROGRAM

TODAY = datetime.date.today()
SHEET = """sheet: 1
engine: {{cylinders: {cylinders}, layout: {layout}, bore: 84 mm, stroke: 88 mm, compression_ratio: 9.5}}
gauge: {{span: 300 psi, accuracy: 2 % of span, resolution: 2 psi}}
conditions: {{date: {day}, throttle: open, engine_temperature: 70 C, strokes: 8, engine_hours: {hours} h}}
compression:
{rows}
"""


def day(offset):
    """A day, counted from today."""
    return (TODAY + datetime.timedelta(days=offset)).isoformat()


def add_sheets(garage, rows, layout="inline"):
    """One sheet a row: (day, engine hours, readings in psi), twice over."""
    with tempfile.TemporaryDirectory() as folder:
        for number, (date, hours, readings) in enumerate(rows):
            lines = "\n".join(f"  - {{cylinder: {c}, reading: {psi + turn} psi}}" for turn in (0, 1) for c, psi in enumerate(readings, 1))
            with open(os.path.join(folder, f"{number:03}.yaml"), "w", encoding="utf-8") as file:
                file.write(SHEET.format(cylinders=len(readings), layout=layout, day=date, hours=hours, rows=lines))
        subprocess.run([PROGRAM, "import", "--garage", garage, folder], check=True, stdout=subprocess.DEVNULL)


def give_to_car(garage, car="Hill car"):
    """A new car with an engine that all sheets without one are of; the car's id."""
    with sqlite3.connect(garage) as db:
        db.execute("PRAGMA foreign_keys = ON")
        car_id = db.execute("INSERT INTO car (name, changed_s) VALUES (?, 1)", (car,)).lastrowid
        engine = db.execute("INSERT INTO engine (car_id, name, why, begun_day, changed_s) VALUES (?, 'two litre', 'first', '2012-01-01', 1)",
                            (car_id,)).lastrowid
        db.execute("UPDATE sheet SET engine_id = ? WHERE engine_id IS NULL", (engine,))
    db.close()
    return car_id


def worn_four(garage):
    """Four winters of a four whose second cylinder wears."""
    add_sheets(garage, [(day(-1180), 300, (176, 175, 177, 174)), (day(-810), 330, (174, 170, 176, 173)),
                        (day(-440), 362, (175, 164, 174, 172)), (day(-60), 395, (172, 155, 173, 171))])
    return give_to_car(garage)


def enter_event(person, offset, name, status=200, **more):
    person.get("/car/1/events")
    return person.submit(person.page.form("/car/1/events"), status=status, day=day(offset), name=name, **more)


def enter_part(person, life="", status=200, **more):
    person.get("/car/1/parts")
    return person.submit(person.page.form("/car/1/parts"), status=status, life=life, **more)
