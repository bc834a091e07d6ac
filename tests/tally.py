#!/usr/bin/env python3
"""Counts what a `meson test` run did, every test inside a test program by itself (docs/decisions/0002).

usage: tally.py TESTLOG.JSON            prints "PASSED FAILED SKIPPED"
       tally.py --failed TESTLOG.JSON   prints the failed ones by name, with what they said

Reads the lines of the Test Anything Protocol in each program's output. A program that speaks no TAP is one test. A
program that ended badly without a failed test to show for it (a crash, a leak report, a test that never ran) is one
failure more.
"""
import json
import re
import sys

LINE = re.compile(r"^(?P<not>not )?ok\b\s*(?P<number>\d+)?(?:\s+-)?\s*(?P<name>[^#]*)(?:#\s*(?P<directive>skip|todo)\b.*)?$", re.I)
PLAN = re.compile(r"^1\.\.(?P<count>\d+)")
GOOD = {"OK", "EXPECTEDFAIL"}


def tests_of(record):
    """Yields (name, 'passed' | 'failed' | 'skipped') for each test of one test program."""
    planned, seen, bad = 0, 0, 0
    for line in (record.get("stdout") or "").splitlines():
        plan = PLAN.match(line)
        if plan:
            planned += int(plan["count"])
            continue
        found = LINE.match(line)
        if not found:
            continue
        seen += 1
        outcome = "skipped" if (found["directive"] or "").lower() == "skip" else "failed" if found["not"] else "passed"
        bad += outcome == "failed"
        yield f"{record['name']}: {found['name'].strip() or found['number']}", outcome
    result = record["result"]
    if planned == 0 and seen == 0:
        yield record["name"], "passed" if result in GOOD else "skipped" if result == "SKIP" else "failed"
    elif result not in GOOD | {"SKIP"} and bad == 0:
        yield f"{record['name']}: ended with {result}, exit status {record.get('returncode')}", "failed"


def main(arguments):
    show_failed = arguments[:1] == ["--failed"]
    path = arguments[1 if show_failed else 0]
    counts = {"passed": 0, "failed": 0, "skipped": 0}
    with open(path, encoding="utf-8") as log:
        for text in log:
            record = json.loads(text)
            failures = []
            for name, outcome in tests_of(record):
                counts[outcome] += 1
                if outcome == "failed":
                    failures.append(name)
            if show_failed and failures:
                print(*("failed: " + name for name in failures), sep="\n")
                said = (record.get("stdout") or "") + (record.get("stderr") or "")
                print(*("    " + line for line in said.splitlines()[-40:]), sep="\n")
    if not show_failed:
        print(counts["passed"], counts["failed"], counts["skipped"])


if __name__ == "__main__":
    main(sys.argv[1:])
