#!/usr/bin/python3
"""How many small faults the tests notice: a sample of mutants of the trade floors, each compiled and met by the unit tests nearest to it.

usage: mutants.py [--count N] [--seed S] [--build DIR] [--only NUMBER,NUMBER...] [--again LOG] [--sanitized]

A mutant is the program with one place changed: a comparison swapped for its neighbour, a constant changed, a sign turned, an arithmetic operator swapped, or a
statement deleted. Places are drawn at random (seeded) from all places in functions of FLOORS, so that every place is as likely as any other; the same seed on
the same tree gives the same mutants. One that does not compile, or that the compiler makes the same machine code of as before, is no mutant, and the next
is drawn. The tests of the file's own name run first, then those of its floor, then those of the floors above; the first that fails, or takes five times
as long as on the unchanged tree, kills. With --sanitized, what lives through all of them meets them again under the sanitizers, as in ./run test (twice the time). What is killed by no test survives: a missing test, or a change that makes no difference.

KNOWN (docs/coverage.md tells the reasons) are survivors that were judged by hand to make no difference. Exits 1 where, these left out, fewer than 90 % are killed.
Works in a copy of the tree; nothing of the tree itself is changed.
"""
import argparse
import os
import random
import re
import shutil
import subprocess
import sys
import time

FLOORS = ("physics", "judge", "trace", "decide", "driveline", "winter")
WANTED = 0.90
LIMIT_SECONDS = 120
# The unit tests by floor, nearest first.
NEAREST = {
    "physics": ["physics_edges", "air", "atmosphere", "clutch", "fastener", "flow", "leakdown", "piston", "tyre", "valve", "wet", "cranking", "cranking_steps",
                "predict", "setup", "expected", "cranking_reference"],
    "judge": ["judge_doubt", "judge_edges", "at_once", "judge_repeats", "judge_question", "judge_balance", "judge"],
    "trace": ["trace_parts", "trace_shared", "trace_bytes", "order", "outcomes", "exact_causes", "why", "trace", "trace_nonsense", "causes_textbook", "judge"],
    "decide": ["decision", "history", "forecast", "season"],
    "driveline": ["drivelog_edges", "capacity", "drivelog", "drivelog_cells", "drivelog_broken", "driveline", "driveline_picture"],
    "winter": ["winter", "winter_calendar", "suggest", "selection"],
}
COMPARISONS = {"<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "=="}
OPERATORS = {"+": "-", "-": "+", "*": "/", "/": "*"}
NUMBER = re.compile(r"(?<![\w.])(?:\d+\.\d*(?:[eE][-+]?\d+)?|\d+[eE][-+]?\d+|\d+)(?![\w.])")
TOKEN = re.compile(r"->|\+\+|--|<<|>>|&&|\|\||[-+*/]=|[<>=!]=|[-+*/<>]")
STATEMENT = re.compile(r"^(\s+)((?:\*?\(?[\w.>\[\]*-]+(?:->[\w\[\].]+)*\)?(?: [-+*/|&]?= |\+\+|--|\()).*;|\*\w.* = .*;)$")


def blanked(text):
    """The text with comments, strings, characters and preprocessor lines as blanks; places stay."""
    pattern = r'/\*.*?\*/|//[^\n]*|"(?:\\.|[^"\\\n])*"|\'(?:\\.|[^\'\\\n])*\'|^[ \t]*#(?:[^\n]*\\\n)*[^\n]*'
    return re.sub(pattern, lambda found: re.sub(r"[^\n]", " ", found.group(0)), text, flags=re.S | re.M)


def bodies(code):
    """Where functions begin and end: in this house their braces stand alone at the first column."""
    for found in re.finditer(r"^\{\n(.*?)^\}$", code, flags=re.S | re.M):
        yield found.start(1), found.end(1)


def of_operator(code, at, sign):
    """What one operator may become: [(from, to, new text, kind)]."""
    end = at + len(sign)
    before = code[:at].rstrip(" ")
    value_before = bool(before) and (before[-1].isalnum() or before[-1] in "_)]") and not re.search(r"\breturn$", before)
    spaced = code[at - 1] == " " and code[end:end + 1] in (" ", "\n")
    if sign in COMPARISONS and spaced:
        return [(at, end, COMPARISONS[sign], "comparison")]
    if sign in OPERATORS and spaced and value_before:
        return [(at, end, OPERATORS[sign], "operator")]
    if len(sign) == 2 and sign[1] == "=" and sign[0] in OPERATORS and spaced:
        return [(at, end, OPERATORS[sign[0]] + "=", "operator")]
    if sign == "-" and not value_before and not spaced:
        return [(at, end, " ", "sign")]
    return []


def places(path, text):
    """Every change of a file: [(path, from, to, new text, kind)]."""
    code, found = blanked(text), []
    for start, end in bodies(code):
        for token in TOKEN.finditer(code, start, end):
            found += of_operator(code, token.start(), token.group(0))
        for number in NUMBER.finditer(code, start, end):
            old = number.group(0)
            new = str(int(old) + 1) if old.isdigit() else "1.0" if float(old) == 0 else f"({old} * 1.25)"
            found.append((number.start(), number.end(), new, "constant"))
        at = start
        for line in code[start:end].split("\n"):
            statement = STATEMENT.match(line)
            if statement and line.count("(") == line.count(")") and not re.match(r"\s*(?:const|return|break|static)\b", line):
                found.append((at + len(statement.group(1)), at + len(line), ";", "deletion"))
            # `x = a;` and `return a;` with the sign of the whole turned
            whole = re.match(r"^(\s+(?:return|[\w.\[\]>-]+ =) )([^;{}\"]+);$", line)
            if whole and whole.group(2) != "NAN" and whole.group(2).count("(") == whole.group(2).count(")"):
                begin = at + len(whole.group(1))
                found.append((begin, begin + len(whole.group(2)), f"-({text[begin:begin + len(whole.group(2))]})", "sign"))
            at += len(line) + 1
    return [(path, *place) for place in found]


class Tree:
    """The copy that is mutated."""

    def __init__(self, source, build):
        self.root = os.path.join(build, "tree")
        shutil.rmtree(self.root, ignore_errors=True)
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=source, check=True, stdout=subprocess.PIPE).stdout.decode()
        for name in listed.split("\0"):
            if name and os.path.isfile(os.path.join(source, name)):
                os.makedirs(os.path.dirname(os.path.join(self.root, name)), exist_ok=True)
                shutil.copy2(os.path.join(source, name), os.path.join(self.root, name))

    def read(self, path):
        with open(os.path.join(self.root, path), encoding="utf-8") as stream:
            return stream.read()

    def write(self, path, text):
        with open(os.path.join(self.root, path), "w", encoding="utf-8") as stream:
            stream.write(text)


class Build:
    """One build of the copy, and how its tests run."""

    def __init__(self, tree, folder, *options):
        self.folder, self.limits = folder, {}
        if not os.path.isfile(os.path.join(folder, "build.ninja")):
            done = subprocess.run(["meson", "setup", folder, tree.root, "-Dwerror=false", *options], stdout=subprocess.PIPE,
                                  stderr=subprocess.STDOUT, check=False)
            if done.returncode != 0:
                raise SystemExit(done.stdout.decode()[-3000:])
        self.environment = dict(os.environ, CROSSHATCH_SOURCE=tree.root, CMOCKA_MESSAGE_OUTPUT="TAP", UBSAN_OPTIONS="halt_on_error=1",
                                LOCPATH=os.path.join(folder, "tests/unit"), ASAN_OPTIONS="detect_leaks=1:strict_string_checks=1",
                                LSAN_OPTIONS="suppressions=" + os.path.join(tree.root, "tests/lint/outside_leaks.lsan"))

    def make(self, *targets):
        return subprocess.run(["ninja", "-C", self.folder, "-j", "2", *targets], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                              check=False).returncode == 0

    def object_of(self, path):
        floor = os.path.join("src", path.split("/")[1])
        for name in sorted(os.listdir(os.path.join(self.folder, floor))):
            candidate = os.path.join(floor, name, os.path.basename(path) + ".o")
            if name.endswith(".p") and os.path.isfile(os.path.join(self.folder, candidate)):
                return candidate
        return None

    def code_of(self, name):
        """The machine code and constants of an object, without what only a debugger reads."""
        out = os.path.join(self.folder, "stripped.o")
        subprocess.run(["objcopy", "--strip-debug", os.path.join(self.folder, name), out], check=True)
        with open(out, "rb") as stream:
            return stream.read()

    def passes(self, test, seconds):
        try:
            return subprocess.run([os.path.join(self.folder, "tests/unit", "test_" + test)], env=self.environment, stdout=subprocess.DEVNULL,
                                  stderr=subprocess.DEVNULL, timeout=seconds, check=False, cwd=self.folder).returncode == 0
        except subprocess.TimeoutExpired:
            return False

    def begin(self, tests):
        """Every test once on the unchanged tree: it must pass, and its time is what a mutant's is held against."""
        if not self.make(*("tests/unit/test_" + test for test in tests)):
            raise SystemExit("the unchanged tree does not build")
        for test in tests:
            begun = time.monotonic()
            if not self.passes(test, LIMIT_SECONDS):
                raise SystemExit(f"{test} fails on the unchanged tree")
            self.limits[test] = min(LIMIT_SECONDS, 5 + 5 * (time.monotonic() - begun))

    def killer(self, tests):
        """The first test that notices the change; None where none does."""
        for test in tests:
            if not self.make("tests/unit/test_" + test):
                raise SystemExit("a test does not link")
            if not self.passes(test, self.limits[test]):
                return test
        return None


def in_order(path, tests):
    """Those first whose names the file's name holds or begins like."""
    stem = os.path.basename(path)[:-2]
    return sorted(tests, key=lambda test: (test != stem, stem.split("_")[0] not in test))


def known(source):
    """The survivors judged by hand: 'FILE: old text -> new text' of the table in docs/coverage.md."""
    with open(os.path.join(source, "docs/coverage.md"), encoding="utf-8") as stream:
        rows = re.findall(r"^\| `(src/[^`]+)` \| `([^`]+)` \|", stream.read(), flags=re.M)
    return {(path, change.replace("\\|", "|")) for path, change in rows}


def described(text, change):
    path, start, end, new, _ = change
    number = text.count("\n", 0, start) + 1
    first, last = text.rfind("\n", 0, start) + 1, text.index("\n", end)
    mutated = text[first:start] + new + text[end:last]
    return f"{path}:{number}", f"{' '.join(text[first:last].split())} => {' '.join(mutated.split())}"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--build", default="build-mutants")
    parser.add_argument("--only", help="numbers of mutants to run alone, as this program counted them")
    parser.add_argument("--again", help="what an earlier run printed: those that survived it, instead of a new sample")
    parser.add_argument("--sanitized", action="store_true", help="what lives meets the tests again under the sanitizers")
    wanted = parser.parse_args()
    only = {int(one) for one in wanted.only.split(",")} if wanted.only else None
    source = os.path.abspath(os.path.join(os.path.dirname(__file__), ".."))
    folder = os.path.abspath(wanted.build)
    tree = Tree(source, folder)
    plain = Build(tree, os.path.join(folder, "plain"), "--buildtype=debugoptimized")
    checked = None
    if wanted.sanitized:
        checked = Build(tree, os.path.join(folder, "checked"), "--buildtype=debugoptimized", "-Db_sanitize=address,undefined")
    every = sorted({test for tests in NEAREST.values() for test in tests})
    plain.begin(every)
    if checked:
        checked.begin(every)
    texts, all_places = {}, []
    for floor in FLOORS:
        for name in sorted(os.listdir(os.path.join(tree.root, "src", floor))):
            path = os.path.join("src", floor, name)
            if name.endswith(".c") and plain.object_of(path):
                texts[path] = tree.read(path)
                all_places += places(path, texts[path])
    random.Random(wanted.seed).shuffle(all_places)
    if wanted.again:
        with open(wanted.again, encoding="utf-8") as stream:
            lived_then = set(re.findall(r"^ *\d+ (\S+?):\d+: \w+: (.*): survived$", stream.read(), flags=re.M))
        all_places = [change for change in all_places if (change[0], described(texts[change[0]], change)[1]) in lived_then]
    print(f"{len(all_places)} places in {len(texts)} files of {', '.join(FLOORS)}; seed {wanted.seed}", flush=True)
    judged = known(source)
    killed, lived, same, number, no_mutant = 0, [], 0, 0, 0
    for change in all_places:
        if number == wanted.count:
            break
        path, start, end, new, kind = change
        text, name = texts[path], plain.object_of(path)
        where, what = described(text, change)
        original = plain.code_of(name)
        tree.write(path, text[:start] + new + text[end:])
        fate = None
        if not plain.make(name) or plain.code_of(name) == original:
            no_mutant += 1
        else:
            number += 1
            if only is None or number in only:
                tests = in_order(path, NEAREST[path.split("/")[1]])
                by, how = plain.killer(tests), ""
                if by is None and checked:
                    by, how = checked.killer(tests), ", sanitized"
                fate = "survived" if by is None else f"killed by {by}{how}"
        tree.write(path, text)
        plain.make(name)
        if fate is None:
            continue
        if fate != "survived":
            killed += 1
        elif (path, what) in judged:
            same += 1
            fate = "survived, judged to make no difference"
        else:
            lived.append(f"{number:>3} {where}: {kind}: {what}")
        print(f"{number:>3} {where}: {kind}: {what}: {fate}", flush=True)
    print(f"\n{killed} of {killed + len(lived)} killed, {len(lived)} survived; {same} make no difference; "
          f"{no_mutant} drawn that were none")
    for line in lived:
        print("  " + line)
    share = killed / (killed + len(lived)) if killed + len(lived) else 0.0
    print(f"wanted at least {100 * WANTED:.0f} % killed: {100 * share:.1f} %, {'met' if share >= WANTED else 'MISSED'}")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
