# shellcheck shell=sh
# The Test Anything Protocol for shell scripts. Source it, call `promise NAME COMMAND...` for each test, end with `kept`.
# Leaves an empty folder in $scratch that is removed at the end.

: "${CROSSHATCH_SOURCE:?run this by meson test}"
set -u
scratch=$(mktemp -d) || exit 1
trap 'rm -rf "$scratch"' EXIT
promises=0
broken=0

# promise NAME COMMAND...: one test; it passes when the command succeeds. What the command says is shown when it does not.
promise() {
    promises=$((promises + 1))
    promise_name=$1
    shift
    if "$@" >"$scratch/.said" 2>&1; then
        echo "ok $promises - $promise_name"
    else
        broken=$((broken + 1))
        sed 's/^/# /' "$scratch/.said"
        echo "not ok $promises - $promise_name"
    fi
}

# not_run NAME REASON: a test that cannot be run here.
not_run() {
    promises=$((promises + 1))
    echo "ok $promises - $1 # SKIP $2"
}

# exits STATUS COMMAND...: the command ends with exactly this exit status.
exits() {
    wanted=$1
    shift
    "$@"
    got=$?
    [ $got -eq "$wanted" ] || {
        echo "exit status $got, wanted $wanted: $*"
        return 1
    }
}

# kept: the plan, and the script's exit status.
kept() {
    echo "1..$promises"
    [ $broken -eq 0 ]
}
