#!/bin/sh
# Promises of tests/tally.py, on records of the form that `meson test` writes.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"

# counts WANTED RECORD...: the records are counted as "PASSED FAILED SKIPPED".
counts() {
    wanted=$1
    shift
    printf '%s\n' "$@" >"$scratch/log.json"
    got=$(python3 "$CROSSHATCH_SOURCE/tests/tally.py" "$scratch/log.json")
    [ "$got" = "$wanted" ] || { echo "got $got, wanted $wanted"; return 1; }
}

names_what_failed() {
    printf '%s\n' '{"name": "leak", "result": "FAIL", "returncode": 1, "stdout": "1..2\nok 1 - a\nnot ok 2 - is_choked\n", "stderr": "why"}' >"$scratch/log.json"
    python3 "$CROSSHATCH_SOURCE/tests/tally.py" --failed "$scratch/log.json" >"$scratch/said" &&
        grep -x 'failed: leak: is_choked' "$scratch/said" && grep 'why' "$scratch/said"
}

promise every_test_in_a_program_counts counts '3 1 1' \
    '{"name": "a", "result": "FAIL", "stdout": "1..3\nok 1 - x\nnot ok 2 - y\nok 3 - z # SKIP no disk\n# ok - tests\n"}' \
    '{"name": "b", "result": "OK", "stdout": "1..2\nok 1 - x\nok 2 - y\n"}'
promise a_program_without_tap_is_one_test counts '1 2 1' \
    '{"name": "a", "result": "OK", "stdout": "fine"}' '{"name": "b", "result": "FAIL", "stdout": ""}' \
    '{"name": "c", "result": "SKIP"}' '{"name": "d", "result": "TIMEOUT", "stdout": null}'
promise a_crash_after_good_tests_is_a_failure counts '2 1 0' \
    '{"name": "a", "result": "FAIL", "returncode": -11, "stdout": "1..2\nok 1 - x\nok 2 - y\n"}'
promise a_test_that_never_ran_is_a_failure counts '1 1 0' \
    '{"name": "a", "result": "ERROR", "returncode": 0, "stdout": "1..2\nok 1 - x\n"}'
promise what_failed_is_named names_what_failed
kept
