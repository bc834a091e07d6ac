#!/usr/bin/env python3
"""Promises of `crosshatch driveline`, end to end: simulated runs of four cars in three dialects (drive_log.c), against their truth; a real
log with slip added; what goes wrong. Speaks TAP."""
import csv
import io
import json
import os
import pathlib
import subprocess
import tempfile

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
DRIVE_LOG = os.environ["DRIVE_LOG"]
FOLDER = pathlib.Path(tempfile.mkdtemp(prefix="crosshatch-driveline-"))
LOGS = SOURCE / "tests/data/vehicle-logs"
DIALECTS = ["comma", "semicolon", "tab"]


def run(*arguments, status=0, text=None):
    done = subprocess.run([PROGRAM, "driveline", *map(str, arguments)], input=text, capture_output=True, text=True, check=False)
    assert done.returncode == status, f"exit status {done.returncode}, wanted {status}: {arguments}\n{done.stderr}"
    return done


def judged(*arguments, text=None):
    return json.loads(run("--json", *arguments, text=text).stdout)


def simulated(dialect, seed, kind, seconds=300):
    log, truth = FOLDER / f"{dialect}-{seed}-{kind}.txt", FOLDER / f"{dialect}-{seed}-{kind}.json"
    subprocess.run([DRIVE_LOG, dialect, str(seed), str(seconds), kind, log, truth], check=True)
    return log, json.loads(truth.read_text(encoding="utf-8"))


def every_gear_is_within_half_a_percent_in_each_dialect_and_car():
    for dialect in DIALECTS:
        for seed in range(4):
            log, truth = simulated(dialect, seed, "sound")
            answer = judged(log)
            for gear in truth["gears"]:
                near = min(answer["gears"], key=lambda g: abs(g["rpm_per_kmh"] - gear["rpm_per_kmh"]))
                off = near["rpm_per_kmh"] / gear["rpm_per_kmh"] - 1
                assert abs(off) <= 0.005, f"{log.name}: gear {gear['gear']} is {off:.2%} off"


def no_slip_is_claimed_on_sound_cars():
    for dialect in DIALECTS:
        for seed in range(8):
            log, _ = simulated(dialect, seed, "sound")
            answer = judged(log)
            assert answer["slips"] == [], f"{log.name}: {answer['slips'][0]}"
            assert max(answer["causes"], key=lambda c: c["probability"])["cause"] == "sound"


def slips_are_found_where_they_are_and_as_high():
    found = counted = 0
    for dialect in DIALECTS:
        for seed in range(4):
            log, truth = simulated(dialect, seed, "slipping")
            answer = judged(log)
            for slip in truth["slips"]:
                if slip["end_s"] - slip["start_s"] < 0.4 or slip["peak_percent"] < 5 or slip["end_s"] > 299:
                    continue
                counted += 1
                found += any(abs(s["start_s"] - slip["start_s"]) <= 0.2 and abs(s["end_s"] - slip["end_s"]) <= 0.2
                             and abs(s["peak_percent"] / slip["peak_percent"] - 1) <= 0.15 for s in answer["slips"])
    assert counted > 100 and found >= 0.95 * counted, f"{found} of {counted}"


def a_real_log_of_a_sound_car_gives_its_gears_and_no_slip():
    stated = {row["gear"]: float(row["rpm_per_kmh_measured"])
              for row in csv.DictReader(io.StringIO((LOGS / "vehicle_a_gears.csv").read_text(encoding="utf-8")))
              if row["rpm_per_kmh_measured"] != ""}
    for name, least in ("highway_1", 3), ("commute_1", 3), ("slow_1", 1):
        answer = judged(LOGS / f"vehicle_a_{name}.csv")
        assert answer["slips"] == [], f"{name}: {answer['slips']}"
        right = 0
        for gear in answer["gears"]:
            near = min(stated.values(), key=lambda line: abs(line - gear["rpm_per_kmh"]))
            # the ratios stated with the data; 2 % is what a road speed in whole km/h leaves of low gears
            assert abs(gear["rpm_per_kmh"] / near - 1) < 0.02, f"{name}: {gear}"
            right += 1
        assert right >= least, f"{name}: {right} gears"
        # one value in a second and a half does not tell a cut speed from a rounded one
        assert any("cut or rounded" in limit for limit in answer["limits"]), f"{name}: {answer['limits']}"
        assert any("short slips" in limit for limit in answer["limits"])


def with_slip_added(percent):
    """The highway log with the pedal down and the engine running ahead for about ten seconds of steady fifth gear, at several places."""
    rows = list(csv.reader(io.StringIO((LOGS / "vehicle_a_highway_1.csv").read_text(encoding="utf-8"))))
    header, rows = rows[0], rows[1:]
    length, margin, added, i = 22, 8, [], 0

    def steady(row):
        return float(row[2]) > 70 and abs(float(row[1]) / float(row[2]) - 29.14) < 0.6
    while i + length + 2 * margin < len(rows):
        window = rows[i:i + length + 2 * margin]
        if not all(map(steady, window)) or float(window[-1][2]) < float(window[0][2]) + 1:
            i += 1
            continue
        for k, row in enumerate(window[margin:-margin]):
            share = min(1, (k + 1) / 6, (length - k) / 6)
            row[1] = f"{float(row[1]) * (1 + percent / 100 * share):.2f}"
            row[3] = "60"
        added.append((float(window[margin][0]), float(window[-margin - 1][0])))
        i += length + 2 * margin + 60
    return "\n".join(",".join(row) for row in [header, *rows]) + "\n", added


def slip_added_to_a_real_log_is_found():
    text, added = with_slip_added(15)
    assert added, "nowhere to add it"
    first = float((LOGS / "vehicle_a_highway_1.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[0])
    answer = judged("-", text=text)
    found = sum(any(s["start_s"] < end - first and s["end_s"] > start - first for s in answer["slips"]) for start, end in added)
    # one fresh value in 1.5 to 1.8 s: not all of it can be seen
    assert len(added) >= 5 and found >= 0.7 * len(added), f"{found} of {len(added)}: {answer['slips']} {added}"
    assert len(answer["slips"]) <= len(added)


def the_car_gives_capacity_and_the_hand_checks_move_the_causes():
    log, truth = simulated("comma", 1, "slipping")
    car = FOLDER / "car.yaml"
    car.write_text("tyre: 195/50R15\nfinal_drive: 4.10\ngears: [3.14, 1.89, 1.33, 1.00, 0.81]\nmass: 1070 kg\ndrag_area: 0.63 m2\n"
                   "clutch: {outer: 215 mm, inner: 145 mm, surfaces: 2, clamp_force: 5 kN, friction: 0.35}\n", encoding="utf-8")
    answer = judged("--car", car, log)
    torques = sorted(s["torque_Nm"] for s in truth["slips"])
    low, middle, high = answer["capacity_Nm"]
    assert low < middle < high
    assert 0.85 < middle / torques[len(torques) // 2] < 1.15, f"{middle} of {torques[len(torques) // 2]}"
    assert abs(sum(c["probability"] for c in answer["causes"]) - 1) < 1e-9
    assert all(s["heat_kJ"] > 0 for s in answer["slips"])

    def chance(cause, *options):
        return {c["cause"]: c["probability"] for c in judged(*options, "--car", car, log)["causes"]}[cause]
    assert chance("oil_contaminated", "--observed", "oil_at_drain_hole,judder") > 0.6
    assert chance("hydraulic_or_cable", "--observed", "slip_goes_with_nipple_open") > 0.6
    assert chance("oil_contaminated", "--observed", "not_oil_at_drain_hole") < chance("oil_contaminated")
    assert judged(log)["capacity_Nm"] is None


def what_is_wrong_is_refused_in_a_line():
    log, _ = simulated("comma", 1, "sound", 30)
    car = FOLDER / "bad.yaml"
    for text, said in (("mas: 1000 kg\n", 'bad.yaml:1:1: unknown key "mas": did you mean "mass"?'),
                       ("observed: [no_fre_play]\n", 'bad.yaml:1:12: observed: unknown name "no_fre_play": did you mean "no_free_play"?')):
        car.write_text(text, encoding="utf-8")
        done = run("--car", car, log, status=3)
        assert said in done.stderr and done.stdout == "", done.stderr
    for arguments, status, said in ((["--observed", "xyzzy", log], 3, 'unknown name "xyzzy"'),
                                    (["--observed", "judder,not_judder", log], 3, "stands here again"),
                                    (["--column", "rpm", log], 2, '--column: "rpm"'),
                                    (["--column", "rpms=2", log], 2, '--column: "rpms=2"'),
                                    (["--column", "rpm=Nothing", log], 3, "Nothing"),
                                    ([FOLDER / "nowhere.csv"], 3, "cannot be opened"),
                                    ([FOLDER], 3, "is a folder"),
                                    (["--car", FOLDER / "nowhere.yaml", log], 3, "cannot be opened")):
        done = run(*arguments, status=status)
        assert said in done.stderr and len(done.stderr.splitlines()) == 1 and done.stdout == "", done.stderr


def columns_are_taken_by_hand_and_the_standard_input_is_read():
    log, _ = simulated("comma", 2, "sound", 120)
    text = log.read_text(encoding="utf-8")
    by_words = judged(log)
    hidden = text.replace("Engine Speed (rpm)", "A").replace("Vehicle Speed (km/h)", "B")
    by_hand = judged("--column", "rpm=A", "--column=speed=3", "-", text=hidden)
    assert by_hand["gears"] == by_words["gears"]


def the_text_holds_the_words_of_the_answer():
    log, _ = simulated("semicolon", 3, "slipping")
    text = run(log, "--working").stdout
    for words in "The clutch slips", "Gears", "Slips", "Causes", "What to check next", "What limits this answer", "WARNING", "service manual", \
            "Working":
        assert words in text, words
    assert all(len(line) <= 80 for line in text.splitlines())


def main():
    promises = [f for name, f in list(globals().items()) if callable(f) and getattr(f, "__module__", "") == "__main__"
                and name not in ("run", "judged", "simulated", "with_slip_added", "main")]
    failed = 0
    for number, promise in enumerate(promises, 1):
        try:
            promise()
            print(f"ok {number} - {promise.__name__}", flush=True)
        except (AssertionError, KeyError, IndexError, TypeError, ValueError, subprocess.CalledProcessError) as error:
            failed += 1
            print(*(f"# {line}" for line in repr(error).splitlines()), sep="\n")
            print(f"not ok {number} - {promise.__name__}", flush=True)
    print(f"1..{len(promises)}")
    raise SystemExit(1 if failed else 0)


main()
