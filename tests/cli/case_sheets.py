#!/usr/bin/env python3
"""The sheets of the collected engines say what their accounts say, and nothing of what was found: tools/field_cases.py --check on
every folder of them. Speaks TAP.

A table of words that was changed for one set must not silently change another.
"""
import csv
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
FOLDERS = sorted(path.parent.name for path in (SOURCE / "tests/data").glob("*/cases.csv"))
ANSWER = "engine_level_cause confirmed_cause how_confirmed confidence note".split()
promises = []


def promise(body):
    promises.append(body)
    return body


def tool(*arguments):
    return subprocess.run([sys.executable, SOURCE / "tools/field_cases.py", *arguments], capture_output=True, text=True, check=False)


@promise
def every_collection_is_looked_at():
    assert {"field-cases", "further-cases", "later-cases", "latest-cases", "fifth-cases", "sixth-cases", "story-cases", "textbook-cases"} <= set(FOLDERS), FOLDERS


@promise
def every_sheet_is_what_the_table_of_words_makes_of_its_account():
    done = tool("--check", *(SOURCE / "tests/data" / name for name in FOLDERS))
    assert done.returncode == 0 and done.stdout == "", done.stdout + done.stderr


def changed_by_hand(folder):
    sheet = sorted((folder / "sheets").glob("*.yaml"))[0]
    sheet.write_text(sheet.read_text(encoding="utf-8") + "# changed\n", encoding="utf-8")
    return sheet


def other_answers(folder):
    with open(folder / "cases.csv", encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    with open(folder / "cases.csv", "w", encoding="utf-8", newline="") as text:
        writer = csv.DictWriter(text, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows({**row, **{column: "blue smoke; milky oil" for column in ANSWER}} for row in rows)


@promise
def a_sheet_changed_by_hand_is_noticed_and_the_answer_does_not_reach_the_sheet():
    with tempfile.TemporaryDirectory() as temporary:
        by_hand, answered = (pathlib.Path(temporary) / name for name in ("by_hand", "answered"))
        for copy in by_hand, answered:
            shutil.copytree(SOURCE / "tests/data/further-cases", copy)
        sheet = changed_by_hand(by_hand)
        other_answers(answered)
        done = tool("--check", by_hand, answered)
        # One sheet here; there the index, which tells the answer, and no sheet.
        differing = [pathlib.Path(line.split(": ")[0]) for line in done.stdout.splitlines()]
        assert done.returncode == 1 and differing == [sheet.resolve(), (answered / "index.csv").resolve()], done


@promise
def every_engine_of_the_blind_sets_has_an_answer_of_the_known_kind():
    known = set("sound rings_or_bore piston_damage intake_valve exhaust_valve valve_lash_tight head_gasket_between_cylinders head_gasket_to_coolant "
                "cracked_head cam_or_timing measurement_error unknown".split())
    rows = []
    for name in "further-cases", "later-cases", "latest-cases", "fifth-cases", "sixth-cases":
        with open(SOURCE / "tests/data" / name / "cases.csv", encoding="utf-8", newline="") as text:
            rows += csv.DictReader(text)
    assert len({row["case_id"] for row in rows}) == len(rows)
    for row in rows:
        causes = row["confirmed_cause"].split(";")
        assert len(causes) == int(row["cylinders"]), row["case_id"]
        assert {c for cause in causes for c in cause.replace("+", "|").split("|")} <= known, row["case_id"]
        assert row["how_confirmed"] and row["source_url"] and row["confidence"] in "123", row["case_id"]


def main():
    broken = 0
    print(f"1..{len(promises)}")
    for number, body in enumerate(promises, 1):
        try:
            body()
            print(f"ok {number} - {body.__name__}")
        except Exception as failure:  # noqa: BLE001 - any failure is a broken promise
            broken += 1
            print("# " + repr(failure).replace("\n", "\n# ")[:2000])
            print(f"not ok {number} - {body.__name__}")
    return broken > 0


if __name__ == "__main__":
    sys.exit(main())
