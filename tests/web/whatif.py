#!/usr/bin/env python3
"""Promises of the what-if page, through the real program and plain HTTP forms, without a script in the browser. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import os
import random
import re
import subprocess
import sys
import time
import urllib.parse

from browse import PROGRAM, Page, Person, Server
from newcomer import sheet_with_readings
from promises import keep, promise

SOURCE = os.environ["CROSSHATCH_SOURCE"]
# The house's own limit is 100 ms for 95 of 100; a machine that runs other tests beside this one is given three times that.
MOVE_S = 0.3


RANGES = {"altitude": (0, 4000), "sea_level_pressure": (950, 1050), "air_temperature": (-20, 45), "engine_temperature": (-20, 110),
          "cranking_speed": (80, 400), "strokes": (1, 20), "compression_ratio": (6, 16), "intake_closes": (20, 100),
          "hose_volume": (1, 80), "dead_volume": (0, 20), "rings": (0, 6), "intake_valve": (0, 6), "exhaust_valve": (0, 6)}


def random_moves(chance):
    """One to three inputs somewhere on their sliders, now and then with the throttle shut."""
    moves = {name: f"{chance.uniform(*RANGES[name]):.0f}" for name in chance.sample(sorted(RANGES), chance.randint(1, 3))}
    if chance.random() < 0.1:
        moves["throttle"] = "shut"
    return moves


def numbers(page):
    """The rows of the page's tables by their first cell: (before, now)."""
    rows = re.findall(r'<tr><th scope="row">([^<]*)</th><td class="number">([^<]*)</td><td class="number">([^<]*)</td></tr>', page.source)
    return {name: tuple(float(cell) if cell else None for cell in cells) for name, *cells in rows}


def outcome(page):
    """The last reading before and now, out of the table."""
    found = [value for name, value in numbers(page).items() if name.isdigit()]
    return [[cell for cell in column if cell is not None][-1] for column in zip(*found)]


def ask(person, **moves):
    return person.get("/whatif?" + urllib.parse.urlencode(moves))


@promise
def the_page_is_reached_from_the_start_and_starts_from_a_stated_engine():
    with Server() as server:
        person = Person(server)
        assert "/whatif" in person.get("/").links
        page = person.get("/whatif")
        assert "86 by 86 mm" in page.says and "Nothing yet" in page.says
        before, now = outcome(page)
        assert before == now > 100, (before, now)  # psi
        # Half a litre at 1.2 g/l, less what goes back before the intake closes.
        trapped = numbers(page)["Air trapped, g"]
        assert 0.3 < trapped[0] == trapped[1] < 0.6, trapped


@promise
def the_form_works_without_a_script_and_keeps_what_was_typed():
    with Server() as server:
        person = Person(server)
        person.get("/whatif")
        person.submit(person.page.form("/whatif"), "Work it out", altitude="6500 ft", throttle="shut")
        form = person.page.form("/whatif")
        assert form.value("altitude") == "6500 ft" and form.value("hose_volume") == "12"
        assert "Altitude 1981 m instead of 0 m" in person.page.says, person.page.says
        assert "Throttle shut instead of open" in person.page.says
        before, now = outcome(person.page)
        assert now < before


@promise
def every_trap_is_one_tap_and_lowers_the_reading():
    with Server() as server:
        person = Person(server)
        traps = [link for link in person.get("/whatif").links if link.startswith("/whatif?")]
        assert len(traps) == 7, traps
        for trap in traps:
            page = person.get(trap)
            before, now = outcome(page)
            assert now < before and page.source.count("instead of") > 1 and page.source.count("By itself") == 1, trap


@promise
def every_trap_lowers_the_reading_of_an_engine_that_is_in_it_already():
    text = """sheet: 1
engine: {cylinders: 4, bore: 84 mm, stroke: 84 mm, compression_ratio: 11, valve_timing: {intake_opens_btdc: 30, intake_closes_abdc: 82, exhaust_opens_bbdc: 80,
  exhaust_closes_atdc: 30, at_lift: 0.1 mm}}
gauge: {hose_volume: 45 ml}
conditions: {altitude: 2400 m, engine_temperature: 2 C, cranking_speed: 130 rpm}
compression: [{cylinder: 1, reading: 120 psi}]
leaks: [{cylinder: all, rings: 0.4 mm2}]
"""
    with Server() as server:
        sheet = os.path.join(os.path.dirname(server.garage), "trapped.yaml")
        with open(sheet, "w", encoding="utf-8") as file:
            file.write(text)
        subprocess.run([PROGRAM, "import", "--garage", server.garage, sheet], check=True, stdout=subprocess.DEVNULL)
        person = Person(server)
        traps = [link for link in person.get("/whatif?sheet=1").links if link.startswith("/whatif?") and "&" in link]
        assert len(traps) == 7, traps
        for trap in traps:
            page = person.get(trap)
            before, now = outcome(page)
            # Of an engine colder than the air a still colder one leaks more slowly too: that trap need not lower it any more.
            lowered = page.says.count("By itself: -") == 1 and now <= before
            assert page.says.count("By itself") == 1 and (lowered or "engine_temperature" in trap), (trap, before, now)


@promise
def a_place_high_up_lowers_the_reading_by_about_the_ratio_of_the_pressures():
    with Server() as server:
        person = Person(server)
        page = ask(person, altitude="2000")
        outside_before, outside_now = numbers(page)["Air outside, hPa"]
        # ISO 2533:1975, table: 1013.25 hPa at sea level, 795.0 hPa at 2000 m.
        assert abs(outside_before - 1013) <= 1 and abs(outside_now - 795) <= 1
        before, now = outcome(page)
        assert abs(now / before - outside_now / outside_before) < 0.02, (before, now)  # heat does not scale; the check valve neither


@promise
def a_lower_barometer_does_the_same_as_a_higher_place():
    with Server() as server:
        person = Person(server)
        before, now = outcome(ask(person, sea_level_pressure="960"))
        assert abs(now / before - 960 / 1013.25) < 0.02


@promise
def a_longer_hose_takes_more_strokes_and_comes_to_the_same_in_the_end():
    with Server() as server:
        person = Person(server)
        short, long = numbers(ask(person, hose_volume="40", strokes="40"))["Within 5 % at stroke"]
        assert long > short, (short, long)
        before, now = outcome(ask(person, hose_volume="40"))
        assert now < 0.9 * before  # after eight strokes it is still on its way
        _, many = outcome(ask(person, hose_volume="40", strokes="60"))
        _, reference = outcome(ask(person, strokes="60"))
        assert abs(many - reference) <= 3, (many, reference)  # psi: 2 %, the last of the filling


@promise
def leaks_a_shut_throttle_a_slow_starter_and_a_late_cam_lower_it_and_a_higher_ratio_lifts_it():
    with Server() as server:
        person = Person(server)
        for moves in ({"rings": "2"}, {"intake_valve": "1"}, {"exhaust_valve": "1"}, {"throttle": "shut"}, {"cranking_speed": "120"},
                      {"intake_closes": "75"}, {"dead_volume": "10"}, {"strokes": "2"}):
            before, now = outcome(ask(person, **moves))
            assert now < before, (moves, before, now)
        before, now = outcome(ask(person, compression_ratio="12"))
        assert now > before
        small, large = (outcome(ask(person, rings=area))[1] for area in ("1", "4"))
        assert large < small


@promise
def each_change_is_said_with_its_own_part():
    with Server() as server:
        page = ask(Person(server), altitude="1500", rings="1.5", strokes="5")
        assert page.says.count("By itself") == 3
        for words in ("the air outside stands at 84", "gone by the top of the last stroke", "after 5 the gauge shows"):
            assert words in page.says, (words, page.says)


@promise
def what_cannot_be_is_refused_with_a_line_and_kept_as_typed():
    with Server() as server:
        person = Person(server)
        for name, value, right in (("altitude", "9000", "-500 to 6000 m"), ("strokes", "0", "1 to 100"), ("strokes", "2.5", "whole"),
                                   ("cranking_speed", "fast", ""), ("hose_volume", "12 psi", ""), ("throttle", "half", "open or shut"),
                                   ("rings", "-1", "0 to 100 mm2"), ("compression_ratio", "nan", ""), ("engine_temperature", "400 C", "C")):
            page = person.get("/whatif?" + urllib.parse.urlencode({name: value, "rings" if name != "rings" else "strokes": "1"}), 422)
            assert 'role="alert"' in page.source and right in page.says, (name, value, page.says)
            if name != "throttle":
                assert page.form("/whatif").value(name) == value and "aria-invalid" in page.source
            assert "Gauge reading" not in page.says


@promise
def it_starts_from_an_engine_of_ones_own():
    with Server() as server:
        subprocess.run([PROGRAM, "import", "--garage", server.garage, os.path.join(SOURCE, "demo/hill-climb-sound.yaml")], check=True,
                       stdout=subprocess.DEVNULL)
        person = Person(server)
        links = person.get("/sheet/1/findings").links
        assert "/whatif?sheet=1" in links, links
        page = person.get("/whatif?sheet=1")
        form = page.form("/whatif")
        assert form.value("sheet") == "1" and outcome(page) != outcome(Person(server).get("/whatif"))
        page = person.submit(form, rings="3")
        before, now = outcome(page)
        assert now < before and page.form("/whatif").value("sheet") == "1"
        assert all("sheet=1" in link for link in page.links if link.startswith("/whatif?"))
        assert person.send("GET", "/whatif?sheet=99")[0] == 404 and person.send("GET", "/whatif/result?sheet=x")[0] == 404


@promise
def a_sheet_of_which_little_is_known_starts_from_the_defaults():
    with Server() as server:
        person = Person(server)
        sheet = sheet_with_readings(person, 1)
        assert outcome(person.get(f"/whatif?sheet={sheet}")) == outcome(Person(server).get("/whatif"))


@promise
def the_reading_stands_in_the_units_of_the_settings():
    with Server() as server:
        person = Person(server)
        psi = outcome(person.get("/whatif"))[0]
        person.get("/settings")
        person.submit(person.page.form("/settings"), pressure="bar", temperature="F")
        page = person.get("/whatif")
        assert abs(outcome(page)[0] * 14.5038 - psi) < 1 and page.form("/whatif").value("engine_temperature") == "158"
        before, now = outcome(ask(person, engine_temperature="158"))
        assert before == now


@promise
def what_the_script_fetches_is_the_same_as_the_page():
    with Server() as server:
        person = Person(server)
        query = urllib.parse.urlencode({"altitude": "1200", "rings": "0.9"})
        status, headers, content = person.send("GET", f"/whatif/result?{query}")
        part = Page("/whatif/result", status, headers, content.decode())
        assert status == 200 and "<html" not in part.source and {"reading", "result", "refused"} <= set(part.ids)
        whole = person.get(f"/whatif?{query}")
        for name in ("pumpup", "cycle"):
            drawn = re.search(rf'<svg(?:(?!</svg>).)*"{name}-title".*?</svg>', part.source, re.S).group(0)
            assert drawn in whole.source
        assert numbers(part) == numbers(whole)
        status, _, content = person.send("GET", "/whatif/result?altitude=9000")
        assert status == 422 and b'role="alert"' in content and b'id="reading"' not in content


@promise
def ninety_five_of_a_hundred_moves_are_answered_at_once():
    chance = random.Random(8)
    with Server() as server:
        person = Person(server)
        person.get("/whatif")
        took = []
        for _ in range(100):
            moves = random_moves(chance)
            began = time.monotonic()
            status, _, content = person.send("GET", "/whatif/result?" + urllib.parse.urlencode(moves))
            took.append(time.monotonic() - began)
            assert status == 200 and b'id="reading"' in content, (moves, status, content[:300])
        took.sort()
        print(f"# moves: half within {took[49] * 1e3:.0f} ms, 95 of 100 within {took[94] * 1e3:.0f} ms, all within {took[-1] * 1e3:.0f} ms")
        assert took[94] < MOVE_S, took[90:]


if __name__ == "__main__":
    sys.exit(keep())
