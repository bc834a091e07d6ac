#!/usr/bin/env python3
"""Promises of what the commands answer, through the real program: names in JSON, width of text, colour, sameness. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import functools
import json
import math
import os
import pty
import re
import subprocess
import sys
import tempfile

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = os.environ["CROSSHATCH_SOURCE"]
SOUND = os.path.join(SOURCE, "demo/hill-climb-sound.yaml")
BURNT = os.path.join(SOURCE, "demo/hill-climb-burnt-valve.yaml")
FULL = os.path.join(SOURCE, "tests/data/sheets/full.yaml")
SCARCE = "sheet: 1\nengine: {cylinders: 6}\ncompression: [{cylinder: 1, reading: 11.9 bar}, {cylinder: 4, reading: 10.1 bar}]\n"
CAUSES = ["sound", "rings_or_bore", "piston_damage", "intake_valve", "exhaust_valve", "valve_lash_tight",
          "head_gasket_between_cylinders", "head_gasket_to_coolant", "cracked_head", "cam_or_timing", "measurement_error"]
ESCAPE = "\x1b["


def promise(function):
    """Mark one test; its name says what it holds the program to."""
    function.is_promise = True
    return function


@functools.cache
def run(*arguments, text=None):
    """The standard output of a run that must succeed; one run for each different question."""
    return run_anew(*arguments, text=text)


def run_anew(*arguments, text=None, **keywords):
    done = subprocess.run([PROGRAM, *arguments], input=text, capture_output=True, text=True, timeout=60, check=False, **keywords)
    assert done.returncode == 0, (arguments, done.returncode, done.stderr)
    assert done.stderr == "", done.stderr
    return done.stdout


class CannotRun(Exception):
    """The machine lacks what a promise is tried with: it is skipped, and the reason shown."""


def judged(*arguments, text=None):
    return json.loads(run("judge", "--json", *arguments, text=text), parse_constant=refuse_constant)


def refuse_constant(name):
    raise AssertionError(f"{name} is not JSON")


def on_terminal(*arguments, **variables):
    """What the program writes when its output is a terminal."""
    environment = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "TERM")} | {"TERM": "xterm"} | variables
    try:
        ours, theirs = pty.openpty()
    except OSError as problem:  # a root without /dev/pts
        raise CannotRun(f"no pseudo-terminal: {problem}") from problem
    child = subprocess.Popen([PROGRAM, *arguments], stdout=theirs, stderr=subprocess.PIPE, env=environment)
    os.close(theirs)
    said = b""
    while True:
        try:
            piece = os.read(ours, 65536)
        except OSError:
            break
        if not piece:
            break
        said += piece
    os.close(ours)
    child.stderr.close()
    assert child.wait() == 0
    return said.decode().replace("\r\n", "\n")


@promise
def predict_json_has_its_names_and_no_others():
    answer = json.loads(run("predict", "--json", FULL))
    assert list(answer) == ["cylinders", "assumed"], list(answer)
    assert [list(row) for row in answer["cylinders"]] == [["cylinder", "gauge_kPa"]] * 4
    assert [row["cylinder"] for row in answer["cylinders"]] == [1, 2, 3, 4]
    for row in answer["cylinders"]:
        gauge = row["gauge_kPa"]
        assert len(gauge) == 8 and all(isinstance(value, float) for value in gauge)
        assert all(a < b for a, b in zip(gauge, gauge[1:])), gauge  # the check valve never lets go
    assert answer["assumed"] == []


@promise
def predict_numbers_have_seven_digits_or_more():
    digits = [len(number.replace(".", "").lstrip("0")) for number in re.findall(r"\d+\.\d+", run("predict", "--json", FULL))]
    assert digits and min(digits) >= 7 - 2, digits  # trailing zeros are not written
    assert sum(count >= 7 for count in digits) > 0.8 * len(digits), digits


@promise
def predict_says_what_it_assumed():
    answer = json.loads(run("predict", "--json", "-", text=SCARCE))
    assert "bore" in answer["assumed"] and "rod_length" in answer["assumed"] and "leaks" in answer["assumed"]
    assert "span" not in answer["assumed"]  # the dial takes no part
    assert "bore" in run("predict", "-", text=SCARCE)


@promise
def judge_json_has_the_promised_names():
    answer = judged(BURNT)
    assert list(answer)[:6] == ["verdict", "because", "compression", "causes", "next_checks", "assumed"]
    assert answer["verdict"] in ("sound", "watch", "fault", "unclear")
    assert answer["because"] and all(isinstance(reason, str) and reason for reason in answer["because"])
    compression = answer["compression"]
    assert list(compression)[:3] == ["lowest_over_highest", "lowest_over_highest_interval", "chance_below_75_percent"]
    assert len(compression["lowest_over_highest_interval"]) == 2
    wanted = {"cylinder", "n", "mean_kPa", "sd_kPa", "standard_uncertainty_kPa", "expected_kPa", "leak_area_mm2"}
    assert [row["cylinder"] for row in compression["cylinders"]] == [1, 2, 3, 4]
    for row in compression["cylinders"]:
        assert wanted <= set(row), wanted - set(row)
        assert len(row["expected_kPa"]) == 2 and len(row["leak_area_mm2"]) == 3
        assert row["leak_area_mm2"] == sorted(row["leak_area_mm2"])
    for check in answer["next_checks"]:
        assert {"check", "cylinder", "minutes", "bits"} <= set(check)
    for name in ("rules", "questions", "trace"):
        assert name in answer


@promise
def the_means_are_those_of_the_sheet():
    row = judged(BURNT)["compression"]["cylinders"][2]
    assert row["n"] == 2
    assert abs(row["mean_kPa"] - (132 + 130) / 2 * 6.894757293168361) < 1e-6, row  # NIST SP 811: psi
    assert abs(row["sd_kPa"] - math.sqrt(2) * 6.894757293168361) < 1e-6, row


@promise
def every_cylinder_has_every_cause_and_they_add_up_to_one():
    for arguments, text, cylinders in (((BURNT,), None, 4), (("-",), SCARCE, 6)):
        causes = judged(*arguments, text=text)["causes"]
        for cylinder in range(1, cylinders + 1):
            rows = [row for row in causes if row["cylinder"] == cylinder]
            assert [row["cause"] for row in rows] == CAUSES
            assert abs(sum(row["probability"] for row in rows) - 1.0) < 1e-6
        assert len(causes) == cylinders * len(CAUSES)


@promise
def the_demonstration_tells_a_sound_engine_from_a_burnt_valve():
    sound, burnt = json.loads(run("demo", "--json"))
    assert sound["verdict"] == "sound", sound["because"]
    assert burnt["verdict"] == "fault", burnt["because"]
    third = {row["cause"]: row["probability"] for row in burnt["causes"] if row["cylinder"] == 3}
    assert max(third, key=third.get) == "exhaust_valve", third


@promise
def demo_answers_as_judge_does():
    assert json.loads(run("demo", "--json")) == [judged(SOUND), judged(BURNT)]
    text = run("demo")
    assert run("judge", SOUND) in text and run("judge", BURNT) in text and "invented" in text.lower()


@promise
def the_same_seed_gives_the_same_bytes():
    for arguments in (("judge", BURNT), ("predict", FULL)):
        assert run_anew(*arguments) == run(*arguments)
    assert run("judge", "--json", BURNT) == run("judge", "--json", "--seed=1", BURNT)
    assert run("judge", "--json", BURNT) != run("judge", "--json", "--seed", "7", BURNT)


@promise
def the_standard_input_reads_as_the_file_does():
    with open(BURNT, encoding="utf-8") as file:
        text = file.read()
    assert run("judge", "--json", "-", text=text) == run("judge", "--json", BURNT)


@promise
def the_built_in_knowledge_is_that_of_the_tree():
    assert run("judge", "--knowledge", os.path.join(SOURCE, "knowledge"), BURNT) == run("judge", BURNT)


@promise
def the_chosen_rule_is_marked():
    for rule in judged("--rule", "98_kPa", BURNT)["rules"]:
        assert rule["chosen"] == (rule["rule"] == "98_kPa")
    assert len(re.findall(r"^ > .*\n?.*\(chosen\)", run("judge", "--rule", "98_kPa", BURNT), re.M)) == 1


@promise
def text_fits_eighty_columns():
    for arguments in (("judge", BURNT), ("judge", "--working", FULL), ("judge", "--why", "1", "-"), ("predict", "--working", FULL),
                      ("judge", "--units", "bar", SOUND), ("predict", "--units", "hPa", FULL), ("demo",),
                      ("judge", "--working", "-")):
        text = run(*arguments, text=SCARCE if arguments[-1] == "-" else None)
        long = [line for line in text.splitlines() if len(line) > 80]
        assert not long, (arguments, long)
        assert text.endswith("\n") and not re.search(r" nan|[^a-z]inf[^a-z]", text), arguments


@promise
def the_verdict_comes_first():
    lines = [line for line in run("judge", BURNT).splitlines() if line]
    assert any(line.startswith("Verdict: ") for line in lines[:4]), lines[:4]
    assert any(line.startswith("How sure: ") for line in lines[:6]), lines[:6]


@promise
def a_fault_that_nothing_places_is_told_of_the_engine():
    sheet = ("sheet: 1\nengine: {cylinders: 4}\nleakdown: [{cylinder: 1, loss: 8 %}]\n"
             "observed: [{what: oil_use_high}, {what: detonation_heard}, {what: misfire}, {what: raced}]\n")
    answer = judged("-", text=sheet)
    assert answer["verdict"] == "watch", answer["verdict"]
    chance = answer["trace"]["chance_of_any_fault"]
    assert 0.5 < chance < 1, chance
    words = " ".join(run("judge", "-", text=sheet).split())
    assert "something is wrong with one cylinder or another with a chance of" in words, words
    assert "nothing here tells which" in words, words
    assert "is sound with a chance" not in words, words


@promise
def pressures_are_in_the_owners_unit():
    assert " psi" in run("predict", FULL) and "kPa (" not in run("predict", FULL)
    assert "12.48" in run("judge", "--units", "bar", SOUND)  # 181 psi
    assert judged("--units", "bar", SOUND)["compression"] == judged(SOUND)["compression"]


@promise
def working_names_inputs_methods_and_sources():
    text = re.sub(r"\s+", " ", run("judge", "--working", BURNT))
    for part in ("JCGM 100:2008", "JCGM 101:2008", "132 (line ", "docs/method.md", "Effective samples", "1 mm2 effective"):
        assert part in text, part
    plain = run("judge", BURNT)
    assert "JCGM" not in plain and "valve_area" in plain
    assert "seed" in judged("--working", BURNT)["working"]


@promise
def why_shows_every_cause_of_the_cylinder():
    text = run("judge", "--why", "1", "-", text=SCARCE)
    assert "Cylinder 1: every cause" in text and "would be without" in text
    why = judged("--why", "1", "-", text=SCARCE)["why"]
    assert why["cylinder"] == 1 and why["reasons"]
    for reason in why["reasons"]:
        assert reason["cause"] in CAUSES and 0 <= reason["probability_without"] <= 1, reason
    assert "why" not in judged(BURNT)
    assert "every cause" not in run("judge", BURNT)


@promise
def colour_is_for_terminals_that_want_it_and_says_nothing_alone():
    plain = run("judge", BURNT)
    assert ESCAPE not in plain
    coloured = on_terminal("judge", BURNT)
    assert ESCAPE in coloured
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == plain


@promise
def colour_can_be_refused_and_forced():
    plain = run("predict", FULL)
    assert ESCAPE in run("predict", "--color", FULL)
    assert ESCAPE in on_terminal("predict", FULL)
    assert ESCAPE in on_terminal("predict", FULL, NO_COLOR="")  # set but empty: no-color.org
    for said in (on_terminal("predict", FULL, NO_COLOR="1"), on_terminal("predict", FULL, TERM="dumb"),
                 on_terminal("predict", "--no-color", FULL), on_terminal("predict", "--color", "--no-color", FULL)):
        assert said == plain
    assert ESCAPE not in on_terminal("predict", "--json", FULL)


@promise
def a_file_has_no_colour_even_from_a_terminal():
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, "answer")
        assert on_terminal("predict", "-o", name, FULL) == ""
        with open(name, encoding="utf-8") as file:
            assert file.read() == run("predict", FULL)


@promise
def a_reader_that_has_gone_is_noticed():
    ours, theirs = os.pipe()
    os.close(ours)
    done = subprocess.run([PROGRAM, "predict", FULL], stdout=theirs, stderr=subprocess.PIPE, text=True, check=False)
    os.close(theirs)
    assert done.returncode == 4, done.returncode
    assert done.stderr == "standard output: cannot be written: Broken pipe\n", done.stderr


@promise
def the_locale_does_not_matter():
    comma = {**os.environ, "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8"}
    assert run_anew("predict", "--json", FULL, env=comma) == run("predict", "--json", FULL)
    assert run_anew("judge", BURNT, env=comma) == run("judge", BURNT)


def main():
    promises = [value for value in globals().values() if getattr(value, "is_promise", False)]
    print(f"1..{len(promises)}")
    broken = 0
    for number, test in enumerate(promises, 1):
        try:
            test()
            print(f"ok {number} - {test.__name__}", flush=True)
        except CannotRun as problem:
            print(f"ok {number} - {test.__name__} # SKIP {problem}", flush=True)
        except Exception as problem:  # noqa: BLE001 - each failure is a broken promise, whatever it is
            broken += 1
            print(f"# {type(problem).__name__}: " + str(problem)[:2000].replace("\n", "\n# "))
            print(f"not ok {number} - {test.__name__}", flush=True)
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
