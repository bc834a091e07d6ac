#!/usr/bin/env python3
"""Promises of the driveline's page, through the real program: a log sent by a form, its answer, columns chosen by hand, hand checks, the winter plan. TAP."""
import csv
import json
import os
import re
import subprocess
import sys

from browse import PROGRAM, Page, Person, Server
from newcomer import enter_car
from promises import keep, promise
from runs import PAGE, log_of, multipart, send_log
from seasons import day, enter_event


def with_car(server):
    person = Person(server)
    enter_car(person)
    return person


def chances(page):
    """Chances of the causes as the page shows them: {title: percent}."""
    found = re.findall(r'<span class="chance">(?:under |over )?(\d+) %</span> <span>([^<]+)</span>', page.source)
    return {title: int(percent) for percent, title in found}


@promise
def a_slipping_run_is_answered_with_gears_slips_and_causes():
    with Server() as server:
        person = with_car(server)
        assert PAGE in person.get("/car/1").links
        page = send_log(person, log_of())
        assert page.path == f"{PAGE}?run=1", page.path
        assert re.search(r"The clutch slips: \d+ times in \d+ s of pulling, the engine up to [\d.]+ % ahead of its gear\. That it is the clutch: \d+ %\.", page.says), page.says[:1500]
        for words in ("The clutch slips", "run.csv, 2026-10-03", "Gears", "The run", "Where it slips most", "What it may be", "What to look at by hand",
                      "What limits this answer", "mass is not stated"):
            assert words in page.says, words
        assert page.source.count("<svg") >= 5 and page.source.count("The numbers") >= 2
        gears = re.findall(r"Gear (\d): ([\d.]+) rpm for each km/h", page.source)
        assert len(gears) >= 4 and all(float(a[1]) > float(b[1]) for a, b in zip(gears, gears[1:])), gears
        assert sum(chances(page).values()) > 80 and page.source.index("NOTICE") < page.source.index("Weigh it with this")
        assert len(page.source) < 600_000, len(page.source)
        person.crawl("/car/1")


@promise
def a_clutch_that_slips_stands_between_the_car_and_its_event_until_it_is_sound():
    with Server() as server:
        person = with_car(server)
        enter_event(person, 12, "Spring sprint")
        assert "Nothing that is on record stands between" in person.get("/car/1/ready").says
        assert "And nothing is on record: no part, no test, no logged run." in person.page.says
        assert "verdict sound" not in person.page.source
        send_log(person, log_of(), day=day(-9))
        ready = person.get("/car/1/ready")
        assert re.search(rf"Not ready: the clutch slips by the run of {day(-9)} with a chance of (over )?\d+ %\.", ready.says), ready.says[:900]
        assert f"By the run of {day(-9)}: The clutch slips: " in ready.says and "verdict fault" in ready.source
        assert "Nothing that is on record" not in ready.says
        asked = [PROGRAM, "ready", "--garage", server.garage]
        told = json.loads(subprocess.run([*asked, "--json"], capture_output=True, check=True).stdout)
        assert told["ready"] is False and told["clutch"]["date"] == day(-9) and told["clutch"]["chance_slips"] > 0.5, told
        assert told["clutch"]["slips"] > 0 and told["chance_over_limit"] is None, told
        text = " ".join(subprocess.run(asked, capture_output=True, check=True, text=True).stdout.split())
        assert "Not ready: the clutch slips by the run of" in text and "clears this" in text, text
        paper = person.get("/car/1/ready/check.html").source
        assert "On record: not ready" in paper and "The clutch slips: " in paper
        send_log(person, log_of("comma", 2, 300, "sound"), "later.csv", day=day(-2))
        ready = person.get("/car/1/ready")
        assert "Nothing that is on record stands between" in ready.says and f"By the run of {day(-2)}: No slip found in" in ready.says, ready.says[:900]
        assert "verdict sound" in ready.source


@promise
def a_sound_run_is_called_one_in_every_dialect():
    with Server() as server:
        person = with_car(server)
        for number, dialect in enumerate(("comma", "semicolon", "tab"), 1):
            page = send_log(person, log_of(dialect, 2, 300, "sound"), f"{dialect}.txt")
            assert page.path == f"{PAGE}?run={number}" and "No slip found" in page.says, page.says[:400]
            assert max(chances(page).items(), key=lambda one: one[1])[0] == "Sound"
        listed = person.get(PAGE)
        assert all(f"{dialect}.txt" in listed.says for dialect in ("comma", "semicolon", "tab"))
        assert "comma.txt, 2026" in person.get(f"{PAGE}?run=1").says and "tab.txt, 2026" in person.get(f"{PAGE}?run=99").says


@promise
def what_is_known_of_the_car_gives_torque_and_numbers():
    with Server() as server:
        person = with_car(server)
        person.get(PAGE)
        person.submit(person.page.form(f"{PAGE}/car"), tyre="195/50R15", final_drive="4.1", mass="1050 kg", outer="215 mm", inner="145", surfaces="2",
                      clamp_force="5 kN", friction="0.35", gears="3.14, 1.89,1.33 , 1.00, 0.81")
        form = person.get(PAGE).form(f"{PAGE}/car")
        assert form.value("mass") == "1050 kg" and form.value("clamp_force") == "5 kN" and form.value("gears") == "3.14, 1.89, 1.33, 1.00, 0.81", form.fields
        # With blanks alone, with decimal commas, with semicolons: the same ratios.
        for typed, shown in ((" 3.14 1.89  1.33", "3.14, 1.89, 1.33"), ("3,14 1,89 1,33 ", "3,14, 1,89, 1,33"), ("3,14, 1,89, 1,33", "3,14, 1,89, 1,33"),
                             ("3,14;1,89; 1,33", "3,14, 1,89, 1,33"), ("3,2,1", "3, 2, 1"), ("3.14, 1.89,1.33 , 1.00, 0.81", "3.14, 1.89, 1.33, 1.00, 0.81")):
            person.submit(person.get(PAGE).form(f"{PAGE}/car"), gears=typed)
            assert person.get(PAGE).form(f"{PAGE}/car").value("gears") == shown, typed
        page = send_log(person, log_of(seconds=400))
        assert "It lets go at" in page.says and "should hold" in page.says and "mass is not stated" not in page.says
        assert "Torque held over plate temperature" in page.source
        for values, words in (({"mass": "heavy"}, "Mass as driven"), ({"tyre": "round"}, "Tyre of the driven wheels"), ({"inner": "300 mm"}, "inner"),
                              ({"mass": '9" x'}, "Mass as driven"), ({"gears": "1, 2"}, "")):
            refused = person.submit(person.get(PAGE).form(f"{PAGE}/car"), status=422, **values)
            assert words in re.search(r'role="alert"[^>]*><p>([^<]*)', refused.source).group(1), (values, refused.says[:300])
            assert refused.form(f"{PAGE}/car").value(next(iter(values))) == next(iter(values.values()))
        assert person.get(PAGE).form(f"{PAGE}/car").value("mass") == "1050 kg"


@promise
def where_columns_are_not_found_they_can_be_chosen_without_sending_it_again():
    text = log_of().decode().splitlines()
    text[0] = "alpha,beta,gamma,delta,epsilon,zeta <script>alert(1)</script>"
    with Server() as server:
        person = with_car(server)
        page = send_log(person, "\n".join(text).encode() + b"\n", "odd.csv", 422)
        assert "Which column is which?" in page.says and "alpha" in page.says and text[1].split(",")[1] in page.says
        assert "no column is known as time: choose it below under Time, one of alpha, beta" in page.says, page.says[:600]
        assert "<script>alert" not in page.source
        form = page.form(f"{PAGE}/columns")
        assert form.options("column_time")[:3] == ["", "1", "2"]
        swapped = person.submit(form, status=422, column_time="1", column_rpm="3", column_speed="2")
        assert "role=\"alert\"" in swapped.source and "Engine speed and Road speed, below, the other way round" in swapped.says
        for page in (swapped, send_log(person, "\n".join(text[1:]).encode() + b"\n", "bare.csv", 422), send_log(person, b"time\n1\n2\n", "one.csv", 422)):
            assert "=" not in page.source.split('role="alert"')[1].split("<p>")[1].split("</p>")[0], page.says[:600]
        page = person.submit(swapped.form(f"{PAGE}/columns"), column_time="1", column_rpm="2", column_speed="3", unit_speed="km/h", column_throttle="4")
        assert page.path == f"{PAGE}?run=1" and "The clutch slips" in page.says and "odd.csv, 2026-10-03" in page.says
        again = next(link for link in page.links if "/columns?" in link)
        miles = person.submit(person.get(again).form(f"{PAGE}/columns"), column_time="1", column_rpm="2", column_speed="3", unit_speed="mph")
        assert miles.path == f"{PAGE}?run=2" and "odd.csv" in miles.says
        assert miles.source.count("?run=1") == 0, "the run judged anew takes the place of the first"


@promise
def a_log_of_another_device_is_not_found():
    with Server() as server:
        person = with_car(server)
        link = next(link for link in send_log(person, log_of()).links if "/columns?" in link)
        assert person.get(link).status == 200
        stranger = Person(server)
        stranger.get("/")
        stranger.get(link, status=404)
        person.get(link.replace("log=", "log=0"), status=404)


@promise
def hand_checks_move_the_causes_and_can_be_taken_back():
    with Server() as server:
        person = with_car(server)
        before = chances(send_log(person, log_of()))
        page = person.submit(person.page.form("/run/1"), "see", sign_oil_at_drain_hole="yes", sign_oil_burnt_smell="yes", sign_no_free_play="no")
        after = chances(page)
        assert page.path == f"{PAGE}?run=1" and after["Oil on the facing"] > 2 * before["Oil on the facing"], (before, after)
        assert "crank's rear seal" in page.says and "gearbox input seal" in page.says and "With it out:" in page.says
        assert page.form("/run/1").value("sign_oil_at_drain_hole") == "yes" or ("sign_oil_at_drain_hole", "yes") in page.form("/run/1").filled({}, "see")
        back = person.submit(page.form("/run/1"), "see", sign_oil_at_drain_hole="", sign_oil_burnt_smell="", sign_no_free_play="")
        assert chances(back) == before
        person.submit(back.form("/run/1"), "see", sign_oil_at_drain_hole="yes")
        suggested = person.get("/car/1/winter").says
        assert "Oil on the facing" in suggested, suggested[:1500]


@promise
def a_run_is_noted_and_taken_away():
    with Server() as server:
        person = with_car(server)
        page = send_log(person, log_of())
        forms = [form for form in page.forms if form.action == "/run/1"]
        person.submit(next(form for form in forms if "note" in form.names()), "change", note="second <b>run</b>", driven="2026-10-04")
        assert "second <b>run</b>" in person.page.says and "run.csv, 2026-10-04" in person.page.says
        form = next(form for form in person.page.forms if form.action == "/run/1" and "note" in form.names())
        page = person.submit(form, "change", status=422, note="third run", driven="some day")
        form = next(form for form in page.forms if form.action == "/run/1" and "note" in form.names())
        assert (form.value("note"), form.value("driven")) == ("third run", "some day") and page.source.count('role="alert"') == 1
        person.submit(next(form for form in person.page.forms if ("do", "delete", "Take this run away") in form.buttons), "delete")
        assert person.page.path == PAGE and "Send a logged run" in person.page.says
        assert person.send("POST", "/run/1", f"token={person.page.form(PAGE).value('token')}&do=delete")[0] == 404


@promise
def runs_go_out_with_an_export_and_into_a_backup_and_are_verified():
    with Server() as server:
        person = with_car(server)
        send_log(person, log_of())
        send_log(person, log_of("comma", 2, 300, "sound"), "=sound, 2.csv")
        folder, copy = os.path.join(server.folder.name, "out"), os.path.join(server.folder.name, "copy.db")
        for verb in (["export", "--garage", server.garage, folder], ["backup", "--garage", server.garage, copy], ["verify", "--garage", copy]):
            subprocess.run([PROGRAM, *verb], check=True, stdout=subprocess.DEVNULL)
        with open(os.path.join(folder, "runs.csv"), encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))[1:]  # a row of units first
        slips = [row for row in rows if row["log"] == "run.csv"]
        assert len(slips) > 5 and all(float(row["end"]) > float(row["start"]) > 0 and int(row["gear"]) > 0 for row in slips)
        (sound,) = [row for row in rows if row["log"] == "'=sound, 2.csv"]
        assert sound["slips_found"] == "0" and sound["start"] == "" and float(sound["sound"]) > 0.7
        for row in rows:
            assert abs(sum(float(row[cause]) for cause in ("sound", "worn", "glazed", "oil_contaminated", "pressure_plate", "hydraulic_or_cable", "flywheel",
                                                           "not_the_clutch")) - 1) < 1e-6


@promise
def what_is_no_log_is_refused_with_a_line():
    with Server() as server:
        person = with_car(server)
        for content in (b"", b"not a log at all", bytes(range(256)) * 40, b"Time,RPM\n1,2\n", b"\xff\xd8\xff\xe0" + os.urandom(20_000), b"\n" * 1000, b"a" * 100_000,
                        b"Time,RPM,Speed\n" + b"0,900,0\n" * 500):
            page = send_log(person, content, "x.bin", 422)
            alert = re.search(r'role="alert"[^>]*><p>([^<]*)', page.source).group(1)
            assert len(alert) > 15, (content[:20], alert)
        person.get(PAGE)
        form = person.page.form(PAGE)
        assert person.send("POST", PAGE, f"token={form.value('token')}&log=text&day=")[0] == 422
        assert person.send("POST", PAGE, multipart([("token", "0" * 64)], "run.csv", log_of()), Content_Type="multipart/form-data; boundary=limit")[0] == 403
        assert "Send a logged run" in person.get(PAGE).says
        for path in ("/car/9/driveline", "/car/1/driveline/other", "/run/1"):
            assert person.send("GET", path)[0] in (404, 405), path


@promise
def a_long_run_is_streamed_in_little_memory():
    """Five copies of an hour's log under one header: too long for any buffer of the server's own."""
    content = log_of("tab", 3, 1200, "sound")
    body = content.split(b"\n", 1)
    while len(content) < 200_000_000:
        content = content + b"\n".join(body[1:]) if len(content) < 30_000_000 else content + content.split(b"\n", 1)[1]
    with Server() as server:
        person = with_car(server)
        send_log(person, log_of("tab", 3, 60, "sound"))
        before = anonymous_kb(server)
        page = send_log(person, content[:250_000_000], "long.txt")
        grown = anonymous_kb(server) - before
        assert "rows" in page.says and "long.txt" in page.says, page.says[:300]
        assert grown < 64_000, f"{grown} kB for {len(content)} bytes"
        form = person.get(PAGE).form(PAGE)
        status, _, answer = person.send("POST", PAGE, None, Content_Type="multipart/form-data; boundary=limit", Content_Length=str(300 << 20))
        assert status == 413 and b"256 MB" in answer, (status, form.action)


def anonymous_kb(server):
    """Peak of the memory that is the program's own: file pages, which the system takes back at will, do not count."""
    with open(f"/proc/{server.process.pid}/status", encoding="ascii") as status:
        values = dict(re.findall(r"(\w+):\s+(\d+) kB", status.read()))
    return int(values["RssAnon"])


@promise
def without_a_place_for_the_log_that_is_said_and_the_rest_goes_on():
    server = Server()
    before = os.environ.get("TMPDIR")
    os.environ["TMPDIR"] = "/nowhere/at/all"
    try:
        with server:
            person = with_car(server)
            page = send_log(person, log_of(seconds=60), status=507)
            assert "No room for this" in page.says and "no file for the upload" in page.says, page.says
            assert "Send a logged run" in person.get(PAGE).says
    finally:
        del os.environ["TMPDIR"]
        if before is not None:
            os.environ["TMPDIR"] = before


@promise
def markup_in_names_stays_text():
    with Server() as server:
        person = with_car(server)
        page = send_log(person, log_of(), "<b>&<script>alert(1)<-script>.csv")
        assert "<script>alert" not in page.source and "&lt;script&gt;alert(1)" in page.source
        assert isinstance(page, Page)


sys.exit(keep())
