#!/usr/bin/env python3
"""Promises of importing a plain table of old readings: columns found or named, a preview, nothing half. Speaks TAP."""
import os
import pathlib
import re
import sqlite3
import subprocess
import sys
import tempfile

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
WIDE = ("Datum;Zyl 1 [bar];Zyl 2 [bar];Zyl 3 [bar];Zyl 4 [bar];Stand;Bemerkung\n3.4.2019;12,3;12,1;11,9;12,4;120000;kalt\n"
        "13.10.2020;12,0;;11,8;12,2;128500;\"\"\"laut\"\", auspuff\"\n;;;;;;\n")
LONG = "date,cylinder,compression,list,loss\n,,psi,,%\n2019-04-03,1,175,,\n2019-04-03,2,172.5,,\n2019-04-03,1,190,wet,\n2019-04-03,2,,leakdown,14\n"
promises = []


def promise(body):
    promises.append(body)
    return body


class Folder:
    def __init__(self, path):
        self.path = pathlib.Path(path)

    def write(self, name, text):
        (self.path / name).write_bytes(text.encode() if isinstance(text, str) else text)
        return name

    def run(self, verb, *arguments, status=0):
        done = subprocess.run([PROGRAM, verb, "--garage", "g.db", *map(str, arguments)], capture_output=True, text=True, check=False, cwd=self.path)
        assert done.returncode == status, done
        assert status == 0 or (done.stdout == "" and done.stderr.count("\n") == 1), done
        return done.stdout if status == 0 else done.stderr

    def sheets(self):
        self.run("export", "out")
        self.run("verify")
        return [p.read_text(encoding="utf-8") for p in sorted((self.path / "out").glob("sheet-*.yaml"))]

    def refused(self, text, *said, options=(), status=3):
        line = self.run("import", self.write("t.csv", text), *options, status=status)
        assert all(word in line for word in said), (said, line)
        assert not (self.path / "g.db").exists()


@promise
def a_row_a_test_becomes_sheets_as_typed(folder):
    folder.run("import", folder.write("old.csv", WIDE), "--column", "odometer=Stand:km")
    first, second = folder.sheets()
    assert 'reading: "12,3 bar"' in first and "date: 2019-04-03" in first and "odometer: 120000 km" in first and "note: kalt" in first
    assert "cylinders: 4" in second and "cylinder: 2" not in second and '\\"laut\\", auspuff' in second, second


@promise
def a_row_a_reading_becomes_one_sheet_with_three_lists(folder):
    folder.run("import", folder.write("old.csv", LONG))
    sheet, = folder.sheets()
    assert sheet.count("date:") == 1 and "{cylinder: 2, reading: 172.5 psi}" in sheet
    assert re.search(r"wet:\n  - \{cylinder: 1, reading: 190 psi\}", sheet) and "loss: 14 %" in sheet, sheet


@promise
def a_dry_run_shows_columns_sheets_and_doubts_and_stores_nothing(folder):
    said = folder.run("import", "--dry-run", folder.write("old.csv", WIDE))
    assert re.search(r"column 2 +Zyl 1 \[bar\] +cylinder_1, bar", said) and re.search(r"column 6 +Stand +- not taken", said)
    assert "gives 2 sheets with 7 readings" in said and "line 3: this test has no reading of some cylinder" in said, said
    assert not (folder.path / "g.db").exists()
    doubted = folder.run("import", "--dry-run", folder.write("odd.csv", WIDE.replace("12,3", "1,23").replace("[bar]", "[bar]")))
    assert "line 2: a reading that is unusual" in doubted, doubted


@promise
def a_table_is_stored_once(folder):
    name = folder.write("old.csv", WIDE)
    assert folder.run("import", name).endswith("stored 2; 0 were here already\n")
    assert folder.run("import", name).endswith("stored 0; 2 were here already\n")
    assert len(folder.sheets()) == 2


@promise
def what_was_exported_as_a_table_comes_in_as_one(folder):
    folder.run("import", SOURCE / "demo")
    folder.run("export", "out")
    readings = (folder.path / "out/readings.csv").read_bytes()
    (folder.path / "g.db").rename(folder.path / "first.db")
    folder.run("import", folder.write("again.csv", readings))
    folder.run("export", "out2")
    again = (folder.path / "out2/readings.csv").read_text(encoding="utf-8").splitlines()
    columns = [[line.split(",")[2:10] for line in text] for text in (readings.decode().splitlines(), again)]
    assert columns[0] == columns[1] and len(again) > 10


@promise
def tabs_semicolons_and_a_byte_order_mark_are_read(folder):
    for mark in (",", ";", "\t"):
        text = LONG.replace(",", mark)
        said = folder.run("import", "--dry-run", folder.write("t.csv", b"\xef\xbb\xbf# from a notebook\r\n\r\n" + text.replace("\n", "\r\n").encode()))
        assert "gives 1 sheet with 4 readings" in said, said


@promise
def what_is_wrong_is_named_with_its_place(folder):
    two = "date,cylinder,reading [psi]\n2019-04-03,1,175\n"
    folder.refused(two + "2019-04-03,2,12x\n", "t.csv:3:14: reading:")
    folder.refused(two + "2019-04-03,mean,173\n", 't.csv:3:12: cylinder: "mean" is no cylinder: 1 to 32')
    folder.refused(two + "2019-02-30,2,173\n", 't.csv:3:1: date: "2019-02-30" is no date', "2027-01-16")
    folder.refused(two + "2019-04-03,2,173,5\n", "t.csv:3:18: the row has more cells than the header")
    folder.refused(two + '2019-04-03,2,"173\n', "t.csv:3:14: a quote that does not end")
    folder.refused(two.replace(" [psi]", ""), 't.csv:2:14: reading: "175" has no unit: in brackets in the header, or in the cell, one of psi,')
    for workbook in ("old.xlsx", "old.ODS", "old.xls", "old.numbers"):
        line = folder.run("import", folder.write(workbook, b"PK\x03\x04 and so on"), status=3)
        assert line.startswith(f"{workbook}: is a workbook of a spreadsheet: ") and "CSV UTF-8" in line, line
    folder.refused(two + '2019-04-03,2,"1,234"\n', "t.csv:3:14: reading:")
    folder.refused("date,cylinder\n2019-04-03,1\n", "t.csv:1:1: columns:", "no readings were found")
    folder.refused("hello\nworld\n", "t.csv:1:1: the first line is no header")
    folder.refused(two.encode() + b"2019-04-03,2,\xff\n", "t.csv:3:14: a byte that is no text", "UTF-8")
    folder.refused("date,cylinder,reading [psi]\n", "the table has no rows")
    folder.refused("date,cylinder,reading [psi]\n,,\n2019-04-03,1,\n", "a table without any reading")
    folder.refused("date,list,cylinder,reading [psi]\n2019-04-03,damp,1,170\n", 't.csv:2:12: list: "damp" is no kind of test')
    folder.refused(two + "2019-04-03,2,-5000\n", "t.csv:2:1:")


@promise
def a_date_that_may_be_two_is_asked_about(folder):
    table = "date,cylinder,reading [psi]\n04/03/2019,1,175\n"
    folder.refused(table, 't.csv:2:1: date: "04/03/2019" may be two days', "date=COLUMN:dmy")
    for options, day in [(["--column", "date=date:mdy"], "2019-04-03"), (["--column", "date=1:dmy"], "2019-03-04")]:
        assert day in folder.run("import", "--dry-run", folder.write("t.csv", table), *options)
    assert "2019-03-04" in folder.run("import", "--dry-run", folder.write("t.csv", table + "25/03/2019,1,174\n"))
    assert "2019-04-03" in folder.run("import", "--dry-run", folder.write("t.csv", table + "03/25/2019,1,174\n"))


@promise
def a_column_or_unit_that_there_is_not_is_wrong_usage(folder):
    for option in ("reading=Nowhere", "reeding=3", "reading=3:mm", "date=1:ymd", "reading", "note=1:psi", "reading=99"):
        folder.refused(LONG, "--column", options=["--column", option], status=2)
    folder.write("s.yaml", (SOURCE / "demo/hill-climb-sound.yaml").read_text(encoding="utf-8"))
    assert "are for tables" in folder.run("import", "--dry-run", "s.yaml", status=2)
    assert 'the garage has no car "none"' in folder.run("import", "--car", "none", "s.yaml", status=3)


@promise
def with_a_car_each_test_goes_to_the_engine_of_its_day(folder):
    db = sqlite3.connect(folder.path / "g.db")
    newest = max((SOURCE / "tests/store").glob("garage-v*.sql"), key=lambda p: int(p.stem.removeprefix("garage-v")))
    version = int(newest.stem.removeprefix("garage-v"))
    db.executescript(newest.read_text(encoding="utf-8"))
    db.executescript(f"PRAGMA application_id = {0x43684761}; PRAGMA user_version = {version};")
    db.close()
    # The day on which a car was entered says nothing of when its engine began: what is older is of the first life.
    table = "date,cylinder,reading [psi]\n2026-05-03,1,175\n2019-04-03,1,180\n"
    folder.run("import", "--car", "invented hill climb car", folder.write("t.csv", table))
    db = sqlite3.connect(folder.path / "g.db")
    assert [row[0] for row in db.execute("SELECT engine_id FROM sheet ORDER BY id DESC LIMIT 2")] == [1, 1]
    # A sheet's file goes the same way as a table; both take what is known of the engine where they say nothing.
    said = folder.run("import", "--car", "invented hill climb car", folder.write("s.yaml", "sheet: 1\nengine: {cylinders: 4, bore: 70 mm}\nconditions: {date: 2018-01-02}\ncompression: [{cylinder: 1, reading: 12 bar}]\n"))
    assert "s.yaml: is now sheet" in said, said
    known = dict(db.execute("SELECT name, text FROM field WHERE engine_id = 1 AND text IS NOT NULL"))
    for number, own in ((1, {"engine.bore": "70"}), (2, {}), (3, {})):
        got = dict(db.execute("SELECT name, text FROM field WHERE sheet_id = (SELECT id FROM sheet ORDER BY id DESC LIMIT 1 OFFSET ?) AND name LIKE 'engine.%' AND text IS NOT NULL", (number - 1,)))
        assert got == known | own and len(got) > 3, (got, known)
    line = folder.run("import", "--car", "invented hill climb car", folder.write("six.yaml", "sheet: 1\nengine: {cylinders: 32}\ncompression: [{cylinder: 32, reading: 12 bar}]\n"), status=3)
    assert line.startswith("crosshatch: six.yaml: cylinders: the test is of 32") or "six.yaml: cylinders: the test is of 32" in line, line
    assert "belong to none" not in folder.run("import", "--car", "invented hill climb car", folder.write("t.csv", table))
    db.executescript("UPDATE engine SET ended_day = '2026-05-01' WHERE id = 1;"
                     "INSERT INTO engine (car_id, name, why, begun_day, changed_s) VALUES (1, 'second', 'swap', '2026-05-01', 1);")
    db.close()
    said = folder.run("import", "--car", "invented hill climb car", folder.write("later.csv", table.replace("175", "171").replace("180", "181")))
    undated = folder.run("import", "--car", "invented hill climb car", folder.write("undated.csv", "cylinder,reading [psi]\n1,175\n2,176\n"))
    db = sqlite3.connect(folder.path / "g.db")
    found = dict(db.execute("SELECT f.text, s.engine_id FROM sheet s JOIN field f ON f.sheet_id = s.id AND f.name = 'conditions.date' ORDER BY s.id"))
    second = db.execute("SELECT id FROM engine WHERE name = 'second'").fetchone()[0]
    assert found["2026-05-03"] == second and found["2019-04-03"] == 1, found
    assert "belong to none" not in said and "1 with no day belong to none of the car's engines" in undated, undated


@promise
def a_unit_may_stand_at_the_end_of_a_header(folder):
    for header, unit in (("compression psi", "psi"), ("reading_psi", "psi"), ("Pressure, kPa", "kPa"), ("reading [psi]", "psi"), ("psi", "psi")):
        said = folder.run("import", "--dry-run", folder.write("t.csv", f'date,cyl no,"{header}"\n2026-01-02,1,170\n'.replace("cyl no", "cylinder")))
        assert "1 dry" in said and f"first reading 170 {unit}" in said, (header, said)
    said = folder.run("import", "--dry-run", folder.write("t.csv", "date,cylinder 1 psi,cyl 2 psi\n2026-01-02,170,171\n"))
    assert "2 cylinders, 2 dry" in said and "first reading 170 psi" in said, said
    # A unit of something else is no unit of a reading, and a number is none at all.
    folder.refused("date,cylinder,reading km\n2026-01-02,1,170\n", "no readings were found")
    folder.refused("date,cyl 1,cyl 2\n2026-01-02,170,171\n", "has no unit")
    # A row of units is surer than the header's last word.
    said = folder.run("import", "--dry-run", folder.write("t.csv", "date,cylinder,reading psi\n,,kPa\n2026-01-02,1,1200\n"))
    assert "first reading 1200 kPa" in said, said


@promise
def limits_hold(folder):
    rows = "".join(f"2019-04-03,1,{100 + i % 50}\n" for i in range(20001))
    folder.refused("date,cylinder,reading [psi]\n" + rows, "at most 20000 rows")
    folder.refused("date,cylinder,reading [psi]\n" + "x" * (4 * 1024 * 1024), "at most")
    folder.refused(",".join(f"a{i}" for i in range(65)) + "\n1\n", "at most 64 columns")
    folder.refused("sheet,cylinder,reading [psi]\n" + "".join(f"{i},1,170\n" for i in range(2001)), "at most 2000 tests")


def main():
    print(f"1..{len(promises)}")
    broken = 0
    for number, body in enumerate(promises, 1):
        with tempfile.TemporaryDirectory() as path:
            try:
                body(Folder(path))
                print(f"ok {number} - {body.__name__}")
            except Exception as failure:  # noqa: BLE001 - any failure is a broken promise
                broken += 1
                print("# " + repr(failure).replace("\n", "\n# ")[:2000])
                print(f"not ok {number} - {body.__name__}")
    return broken > 0


if __name__ == "__main__":
    sys.exit(main())
