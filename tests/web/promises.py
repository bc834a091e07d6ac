"""Runs the functions marked with @promise, and says in TAP what became of each."""
import sys
import traceback

KEPT = []


class CannotRun(Exception):
    """The machine lacks what a promise is tried with: it is skipped, and the reason shown."""


def promise(function):
    """Mark one test; its name says what it holds the program to."""
    KEPT.append(function)
    return function


def keep():
    """All of them, or those named on the command line; the exit status."""
    own = [one for one in KEPT if one.__module__ == "__main__"]  # what a test lends to another brings its promises along
    chosen = [one for one in own if len(sys.argv) < 2 or one.__name__ in sys.argv[1:]]
    print(f"1..{len(chosen)}")
    broken = 0
    for number, test in enumerate(chosen, 1):
        try:
            test()
            print(f"ok {number} - {test.__name__}", flush=True)
        except CannotRun as problem:
            print(f"ok {number} - {test.__name__} # SKIP {problem}", flush=True)
        except Exception as problem:  # noqa: BLE001 - each failure is a broken promise, whatever it is
            broken += 1
            place = traceback.extract_tb(problem.__traceback__)[-1]
            print(f"# {place.filename}:{place.lineno}: {type(problem).__name__}: " + str(problem)[:2000].replace("\n", "\n# "))
            print(f"not ok {number} - {test.__name__}", flush=True)
    return 1 if broken else 0
