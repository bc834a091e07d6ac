#!/usr/bin/env python3
"""Promises of the pages that take data out of the garage and bring it in. TAP."""
import datetime
import io
import os
import subprocess
import sys
import tempfile
import zipfile

from browse import PROGRAM, Person, Server
from newcomer import begin_sheet, enter_car, enter_reading
from promises import keep, promise

SOURCE = os.environ["CROSSHATCH_SOURCE"]
TABLE = ("Datum;Zyl 1;Zyl 2;Zyl 3;Zyl 4;km;Bemerkung\r\n3.4.2019;12,3;12,1;11,9;12,4;120000;kalt\r\n"
         "13.10.2020;12,0;;11,8;12,2;128500;<script>alert(1)</script>\r\n")


def upload(person, text, button="do=look", **values):
    """Hand the import form in as a browser does: multipart, with a file where `text` is one."""
    form = person.page.form("/import")
    mark = "boundary-of-the-test"
    parts = []
    name, value = button.split("=")
    for field, content in [*((n, v) for n, v in form.filled(values, None) if n not in ("table", "do")), (name, value)]:
        parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="{field}"\r\n\r\n'.encode() + content.encode() + b"\r\n")
    if text is not None:
        parts.append(f'--{mark}\r\nContent-Disposition: form-data; name="table"; filename="old.csv"\r\nContent-Type: text/csv\r\n\r\n'.encode() +
                     (text if isinstance(text, bytes) else text.encode()) + b"\r\n")
    body = b"".join(parts) + f"--{mark}--\r\n".encode()
    return person.send("POST", "/import", body, **{"content-type": f"multipart/form-data; boundary={mark}", "origin": f"http://localhost:{person.server.port}"})


def looked(person, text, status=200, **values):
    code, headers, content = upload(person, text, **values)
    person.page = None
    return person.arrive("/import", code, headers, content, status)


def sheets(server):
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([PROGRAM, "export", "--garage", server.garage, folder], check=True, stdout=subprocess.DEVNULL)
        return [open(os.path.join(folder, name), encoding="utf-8").read() for name in sorted(os.listdir(folder)) if name.endswith(".yaml")]


@promise
def the_start_leads_to_the_archive_and_it_comes_in_the_same():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        enter_reading(person, begin_sheet(person, gauge_name="Gauge"), 1, "170")
        assert "/export" in person.get("/").links
        for link in ("/export/garage.zip", "/export/readings.csv", "/export/history.csv", "/import"):
            assert link in person.get("/export").links
        status, headers, content = person.send("GET", "/export/garage.zip")
        assert status == 200 and headers["content-type"] == "application/zip" and "garage.zip" in headers["content-disposition"], headers
        assert zipfile.ZipFile(io.BytesIO(content)).testzip() is None
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "a.zip")
            subprocess.run([PROGRAM, "export", "--garage", server.garage, path], check=True, stdout=subprocess.DEVNULL)
            assert open(path, "rb").read() == content
            subprocess.run([PROGRAM, "import", "--garage", os.path.join(folder, "b.db"), path], check=True, stdout=subprocess.DEVNULL)
        status, headers, content = person.send("GET", "/export/readings.csv")
        assert status == 200 and headers["content-type"].startswith("text/csv") and b"reading 170 psi" in content, content
        status, headers, content = person.send("GET", "/export/history.csv")
        assert status == 200 and b"engine in: first" in content, content
        assert person.send("GET", "/export/../garage.db")[0] in (400, 404) and person.send("GET", "/export/garage.db")[0] == 404


@promise
def nothing_is_stored_before_it_is_confirmed_and_then_once():
    with Server() as server:
        person = Person(server)
        person.get("/import")
        page = looked(person, TABLE, status=422)
        assert "unit" in page.says and sheets(server) == []
        page = looked(person, None, unit="bar")
        assert "2 sheets with 7 readings" in page.says and "no reading of some cylinder" in page.says, page.says
        assert "<script>alert" not in page.source and "&lt;script&gt;" in page.source
        assert sheets(server) == []
        code, headers, content = upload(person, None, "do=store", use_6="")  # another choice than was shown
        assert code == 200 and b"The choices changed" in content and sheets(server) == [], (code, headers, content[:3000])
        looked(person, None, use_5="odometer", unit_5="km", use_6="note")
        code, headers, _ = upload(person, None, "do=store")
        assert code == 303 and headers["location"] == "/import?stored=2", headers
        first, second = sheets(server)
        assert 'reading: "12,3 bar"' in first and "odometer: 120000 km" in first and "date: 2020-10-13" in second
        code, headers, _ = upload(person, None, "do=store")
        assert headers["location"] == "/import?stored=0" and len(sheets(server)) == 2


@promise
def a_column_can_be_taken_for_something_else():
    with Server() as server:
        person = Person(server)
        person.get("/import")
        page = looked(person, "Wann,Topf,Anzeige\n04/03/2019,1,175\n04/03/2019,2,172\n", status=422)
        assert "no readings were found: choose below what the columns hold" in page.says, page.says
        page = looked(person, None, status=422, use_0="date", use_1="cylinder", use_2="reading", unit_2="psi")
        assert "may be two days" in page.says and "say below what 3/4/2019 means" in page.says and "date=" not in page.says and "old.csv:" not in page.says, page.says
        page = looked(person, None, status=422, days="mdy", unit_2="")
        assert '"175" has no unit: choose below what its numbers are in, one of psi' in page.says, page.says
        page = looked(person, None, days="mdy", unit_2="psi")
        assert "1 sheet with 2 readings" in page.says and "2019-04-03" in page.says, page.says


@promise
def with_a_car_the_tests_go_to_its_engine():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        person.get("/import")
        looked(person, f"date,cylinder,reading [psi]\n{datetime.date.today()},1,175\n")
        code, headers, _ = upload(person, None, "do=store", car="1")
        assert code == 303, headers
        assert "/sheet/1" in person.get("/car/1").links


@promise
def what_is_no_table_is_refused_with_its_place():
    with Server() as server:
        person = Person(server)
        for text, words in [(b"\xff\xfe\x00", "a byte that is no text"), ("a,b\n", "no rows"), ("date,cylinder,reading [psi]\n2019-04-03,x,1\n", "old.csv:2:12"),
                            ("x", "no header"), ("date,cylinder\n" + "1,1\n" * 60000, "too large")]:
            person.get("/import")
            page = looked(person, text, status=422)
            assert words in page.says, (words, page.says)
        person.get("/import")
        assert "no table was chosen" in looked(person, None, status=422).says
        assert sheets(server) == []


if __name__ == "__main__":
    sys.exit(keep())
