#!/usr/bin/python3
"""How many small faults the tests notice: a sample of mutants of the trade floors, each compiled and met by the tests that run the changed floor.

usage: mutants.py [--count N] [--seed S] [--commit C] [--build DIR] [--resume LOG | --again LOG [--only NUMBER,NUMBER...]] [--in PATTERN...] [--quick SECONDS] [--sanitized]

A mutant is the program with one place changed: a comparison swapped for its neighbour, a constant changed, a sign turned, an arithmetic operator swapped, or a
statement deleted. Places are drawn at random (seeded) from all places in functions of FLOORS, so that every place is as likely as any other; the same seed on
the same commit gives the same mutants. One that does not compile, or that the compiler makes the same machine code of as before, is no mutant, and the next
is drawn. A mutant meets every unit test that is linked with its file, then the tests of the whole program in WHOLE: those first
that are named like its file, have killed often and take little time. The first that fails, or takes three times the processor's time it takes on the unchanged tree, kills.
With --sanitized, what lives through all of them meets the unit tests again under the sanitizers, as in ./run test. What is killed by no test survives: a missing test, or a
change that makes no difference.

The program that is changed is that of a commit (HEAD where none is named, or the one that LOG was begun with); the tests are those of the tree as it stands, so that a test written
since can be held against the same mutants. Tests that are of a later program than that are named and left out. --resume goes on after the last line of LOG (what an earlier run printed). --again tries again what survived in LOG, all or --only some
of it, and then goes on. --in draws from the files that match a pattern alone (src/judge/*.c).

Survivors that were judged by hand to make no difference are listed in docs/coverage.md with the reasons. Exits 1 where, these left out, fewer than 90 % are killed.
Works in a copy of the tree; nothing of the tree itself is changed.
"""
import argparse
import fnmatch
import hashlib
import json
import math
import os
import random
import re
import resource
import subprocess
import sys

FLOORS = ("physics", "judge", "trace", "decide", "driveline", "winter")
WANTED = 0.90
WALL_SECONDS = 600
MEMORY_BYTES = 4 << 30
# Tests of the whole program by floor; the ones left out take long and look at other things.
WHOLE = {
    "physics": ["cli:recorded_predict", "cli:recorded_judge", "cli:recorded_judge-drawn", "cli:recorded_driveline", "cli:output", "oracle:oracle_predict",
                "cli:answers"],
    "judge": ["cli:recorded_judge", "cli:recorded_judge-drawn", "cli:recorded_season", "cli:output", "cli:report", "cli:answers"],
    "trace": ["cli:recorded_judge", "cli:recorded_judge-drawn", "cli:recorded_season", "cli:output", "cli:report", "cli:answers"],
    "decide": ["cli:recorded_season", "cli:recorded_season-drawn", "cli:report", "cli:season"],
    "driveline": ["cli:recorded_driveline", "cli:recorded_driveline-drawn", "fuzz:replay_drivelog", "cli:driveline_logs"],
    "winter": ["cli:recorded_winter", "cli:recorded_winter-drawn", "cli:recorded_winter-search", "cli:recorded_winter-days", "fuzz:replay_plan",
               "oracle:oracle_winter", "cli:season"],
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


def gathered(source, commit):
    """The files of a commit, but for the tests, which are those of the tree: {name: (bytes, runs)}."""
    def lines(*command):
        done = subprocess.run(["git", *command], cwd=source, check=True, stdout=subprocess.PIPE)
        return [name for name in done.stdout.decode().split("\0") if name]

    files = {}
    for row in lines("ls-tree", "-r", "-z", commit):
        (mode, _, blob), name = row.split("\t")[0].split(" "), row.split("\t")[1]
        if not name.startswith("tests/"):
            files[name] = (blob, mode == "100755")
    asked = subprocess.run(["git", "cat-file", "--batch"], cwd=source, check=True, stdout=subprocess.PIPE,
                           input="".join(blob + "\n" for blob, _ in files.values()).encode()).stdout
    at = 0
    for name, (_, runs) in files.items():
        end = asked.index(b"\n", at)
        size = int(asked[at:end].split()[2])
        files[name] = (asked[end + 1:end + 1 + size], runs)
        at = end + size + 2
    for name in lines("ls-files", "-z", "-c", "-o", "--exclude-standard", "tests"):
        if os.path.isfile(os.path.join(source, name)):
            with open(os.path.join(source, name), "rb") as stream:
                files[name] = (stream.read(), os.access(os.path.join(source, name), os.X_OK))
    return files


class Tree:
    """The copy that is mutated. What is there already and the same stays as it is, so that little is compiled again."""

    def __init__(self, source, commit, build):
        self.root = os.path.join(build, "tree")
        files = gathered(source, commit)
        for folder, _, names in os.walk(self.root):
            for name in names:
                if os.path.relpath(os.path.join(folder, name), self.root) not in files:
                    os.remove(os.path.join(folder, name))
        for name, (content, runs) in files.items():
            path = os.path.join(self.root, name)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            if os.path.isfile(path):
                with open(path, "rb") as stream:
                    if stream.read() == content:
                        continue
            with open(path, "wb") as stream:
                stream.write(content)
            os.chmod(path, 0o755 if runs else 0o644)

    def read(self, path):
        with open(os.path.join(self.root, path), encoding="utf-8") as stream:
            return stream.read()

    def write(self, path, text):
        with open(os.path.join(self.root, path), "w", encoding="utf-8") as stream:
            stream.write(text)


class Test:
    """One test of a build: what it runs, what has to be linked for it, and what it took on the unchanged tree."""

    def __init__(self, told, programs, floors_of):
        self.name = told["suite"][0].split(":")[1] + ":" + told["name"]
        self.command, self.env = told["cmd"], told["env"]
        self.programs = [programs[each] for each in told["depends"] if each in programs]
        self.floors = {floor for program in self.programs for floor in floors_of(program)}
        self.seconds, self.kills = 0.0, 0

    def runs(self, floor):
        return floor in self.floors if self.name.startswith("unit:") else self.name in WHOLE[floor]

    def cost(self, path):
        """Small for a test that is likely to kill soon."""
        stem = os.path.basename(path)[:-2]
        near = 0.01 if self.name == "unit:" + stem else 0.1 if stem.split("_")[0] in self.name else 1.0
        return near * (0.1 + self.seconds) / (1 + self.kills)


class Build:
    """One build of the copy, and how its tests run. Objects and programs are made by the build's own commands, without asking it what else is old."""

    def __init__(self, tree, folder, bounded, *options):
        self.folder, self.bounded, self.links, self.fresh = folder, bounded, {}, set()
        if not os.path.isfile(os.path.join(folder, "build.ninja")):
            done = subprocess.run(["meson", "setup", folder, tree.root, "-Dwerror=false", *options], stdout=subprocess.PIPE,
                                  stderr=subprocess.STDOUT, check=False)
            if done.returncode != 0:
                raise SystemExit(done.stdout.decode()[-3000:])
        # what the build makes by itself, before it can tell which program is linked from what
        if not self.make("src/car/embed/libknowledge_embed.a"):
            raise SystemExit("the unchanged tree does not build")
        with open(os.path.join(folder, "compile_commands.json"), encoding="utf-8") as stream:
            self.compiles = {os.path.relpath(os.path.join(one["directory"], one["file"]), tree.root): one for one in json.load(stream)}
        programs = {one["id"]: os.path.relpath(one["filename"][0], folder) for one in self.told("--targets") if one["type"] == "executable"}
        told = {test["name"] + test["suite"][0]: test for test in self.told("--tests")}
        self.tests = [Test(one, programs, self.floors_of) for one in told.values()]
        self.tests = [test for test in self.tests if any(test.runs(floor) for floor in FLOORS)]
        wanted = sorted({program for test in self.tests for program in test.programs} | {os.path.join("tests/unit", "de_DE.UTF-8")})
        if not self.make("-k", "0", *wanted): # tests of a later program than the one that is changed
            self.leave_out("does not build", lambda test: not all(self.up_to_date(program) for program in test.programs))
            wanted = sorted({program for test in self.tests for program in test.programs})
        self.symbols = {program: self.names(program) for program in wanted if program in programs.values()}
        self.environment = dict(os.environ, UBSAN_OPTIONS="halt_on_error=1", ASAN_OPTIONS="detect_leaks=1:strict_string_checks=1",
                                LSAN_OPTIONS="suppressions=" + os.path.join(tree.root, "tests/lint/outside_leaks.lsan"))

    def make(self, *targets):
        return subprocess.run(["ninja", "-C", self.folder, *targets], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode == 0

    def up_to_date(self, program):
        return b"no work to do" in subprocess.run(["ninja", "-C", self.folder, "-n", program], check=True, stdout=subprocess.PIPE).stdout

    def leave_out(self, why, which):
        for test in [test for test in self.tests if which(test)]:
            print(f"left out: {test.name} {why} on this commit", flush=True)
            self.tests.remove(test)

    def told(self, about):
        return json.loads(subprocess.run(["meson", "introspect", about, self.folder], check=True, stdout=subprocess.PIPE).stdout)

    def link_of(self, program):
        if program not in self.links:
            listed = subprocess.run(["ninja", "-C", self.folder, "-t", "commands", program], check=True, stdout=subprocess.PIPE).stdout.decode()
            self.links[program] = listed.strip().split("\n")[-1]
        return self.links[program]

    def floors_of(self, program):
        return re.findall(r" src/(\w+)/lib\w+\.a", self.link_of(program))

    def names(self, name):
        """The functions that a program or object defines."""
        listed = subprocess.run(["nm", "--defined-only", name], cwd=self.folder, check=True, stdout=subprocess.PIPE).stdout.decode()
        return {line.split()[-1] for line in listed.splitlines() if line.split()[-2] == "T"}

    def holds(self, test, path):
        """Whether any program of a test is linked from that file."""
        functions = self.names(self.object_of(path))
        return any(functions & self.symbols[program] for program in test.programs)

    def run(self, command):
        return subprocess.run(command, shell=True, cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode == 0

    def object_of(self, path):
        return os.path.join(self.folder, self.compiles[path]["output"])

    def code_of(self, path):
        with open(self.object_of(path), "rb") as stream:
            return stream.read()

    def compile(self, path):
        self.fresh = set()
        return self.run(re.sub(r" -MD -MQ \S+ -MF \S+", " -w", self.compiles[path]["command"]))

    def restore(self, path, code):
        with open(self.object_of(path), "wb") as stream:
            stream.write(code)

    def passes(self, test, bound):
        """Whether a test passes within a bound of processor seconds a process; and the seconds it took, of all its processes."""
        def limits():
            resource.setrlimit(resource.RLIMIT_CPU, (bound, bound + 1))
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
            if self.bounded:
                resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))

        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        try:
            done = subprocess.run(test.command, env=dict(self.environment, **test.env), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                                  timeout=WALL_SECONDS, check=False, cwd=self.folder, preexec_fn=limits).returncode == 0
        except subprocess.TimeoutExpired:
            done = False
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return done, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    def bytes_of(self, test):
        """A digest of what a test runs."""
        digest = hashlib.sha256()
        for name in test.programs + [part for part in test.command if os.path.isfile(os.path.join(self.folder, part))]:
            with open(os.path.join(self.folder, name), "rb") as stream:
                digest.update(stream.read())
        return digest.hexdigest()

    def begin(self, quick):
        """Every test once on the unchanged tree: one that fails there can tell nothing; its time is what a mutant's is held against. A time taken in an earlier run stands."""
        kept, known = os.path.join(self.folder, "seconds.json"), {}
        if os.path.isfile(kept):
            with open(kept, encoding="utf-8") as stream:
                known = json.load(stream)
        failed = set()
        for test in self.tests:
            key = test.name + " " + self.bytes_of(test)
            passed, test.seconds = (True, known[key]) if key in known else self.passes(test, WALL_SECONDS)
            if passed:
                known[key] = test.seconds
            else:
                failed.add(test)
        self.leave_out("fails", lambda test: test in failed)
        with open(kept, "w", encoding="utf-8") as stream:
            json.dump(known, stream)
        self.tests = [test for test in self.tests if quick is None or test.seconds <= quick]

    def killer(self, path):
        """The first test that notices the change; None where none does."""
        floor = path.split("/")[1]
        for test in sorted((test for test in self.tests if test.runs(floor) and self.holds(test, path)), key=lambda test: test.cost(path)):
            for program in test.programs:
                if program not in self.fresh:
                    if not self.run(self.link_of(program)):
                        raise SystemExit(f"{program} does not link")
                    self.fresh.add(program)
            if not self.passes(test, math.ceil(2 + 3 * test.seconds))[0]:
                test.kills += 1
                return test.name
        return None


def judged(source):
    """The survivors judged by hand: file and change of the table in docs/coverage.md; FUNCTION[NUMBER] before a change whose line the file has more than once."""
    with open(os.path.join(source, "docs/coverage.md"), encoding="utf-8") as stream:
        rows = re.findall(r"^\| `(src/[^`]+)` \| `([^`]+)` \|", stream.read(), flags=re.M)
    return {(path, change.replace("\\|", "|")) for path, change in rows}


def described(text, change):
    """The place, and the line before and after."""
    path, start, end, new, kind = change
    number = text.count("\n", 0, start) + 1
    first, last = text.rfind("\n", 0, start) + 1, text.index("\n", end)
    mutated = text[first:start] + new + text[end:last]
    return f"{path}:{number}: {kind}", f"{' '.join(text[first:last].split())} => {' '.join(mutated.split())}"


def in_function(text, change):
    """Function and number of the changed line among the lines of the same words in it, and whether the file has those words once: ("f[2]", False)."""
    first = text.rfind("\n", 0, change[1]) + 1
    line = text[first:text.index("\n", first)].strip()
    begin = text.rfind("\n{\n", 0, first)
    name = re.findall(r"^\w[^;{}#]*?\b(\w+)\(", text[:begin + 1], flags=re.M)[-1]
    number = sum(one.strip() == line for one in text[begin:first].split("\n")) + 1
    return f"{name}[{number}]", sum(one.strip() == line for one in text.split("\n")) == 1


class Log:
    """What an earlier run printed: {(place, change): fate}."""

    def __init__(self, name):
        self.fates, self.commit, self.seed = {}, None, None
        if name:
            with open(name, encoding="utf-8") as stream:
                text = stream.read()
            begun = re.search(r"; seed (\d+); commit (\w+)$", text, flags=re.M)
            if not begun:
                raise SystemExit(f"{name} is not what this program printed")
            self.seed, self.commit = int(begun.group(1)), begun.group(2)
            for number, place, what, fate in re.findall(r"^ *(\d+|-) (\S+:\d+: \w+): (.* => .*): (no mutant|killed by .*|survived.*)$", text, flags=re.M):
                self.fates[(place, what)] = (number, fate)

    def fate(self, key, again, only):
        """What stays of a line; None where the mutant is to be tried."""
        number, fate = self.fates.get(key, ("-", None))
        if fate and fate.startswith("survived") and again and (only is None or int(number) in only):
            return None
        return fate


class Trial:
    """Mutants one after another: the builds that they are tried in."""

    def __init__(self, tree, plain, checked, patterns):
        self.tree, self.plain, self.checked = tree, plain, checked
        self.texts = {path: tree.read(path) for path in sorted(plain.compiles) if path.split("/")[0] == "src" and path.split("/")[1] in FLOORS
                      and any(fnmatch.fnmatch(path, pattern) for pattern in patterns)}

    def fate(self, change):
        """What becomes of one mutant."""
        path, start, end, new, _ = change
        text, code = self.texts[path], self.plain.code_of(path)
        self.tree.write(path, text[:start] + new + text[end:])
        fate = "no mutant"
        if self.plain.compile(path) and self.plain.code_of(path) != code:
            by = self.plain.killer(path)
            fate = f"killed by {by}" if by else self.fate_checked(path)
        self.tree.write(path, text)
        self.plain.restore(path, code)
        return fate

    def fate_checked(self, path):
        if not self.checked:
            return "survived"
        code = self.checked.code_of(path)
        by = self.checked.killer(path) if self.checked.compile(path) else None
        self.checked.restore(path, code)
        return f"killed by {by}, sanitized" if by else "survived"


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int)
    parser.add_argument("--commit", help="the program to change; HEAD where none is named")
    parser.add_argument("--build", default="build-mutants")
    parser.add_argument("--resume", help="what an earlier run printed: go on after it")
    parser.add_argument("--again", help="what an earlier run printed: try what survived, then go on after it")
    parser.add_argument("--only", help="with --again: the numbers to try")
    parser.add_argument("--in", dest="patterns", nargs="+", default=["*"], metavar="PATTERN", help="change files that match alone")
    parser.add_argument("--quick", type=float, help="leave tests out that take more seconds than this: for a first look")
    parser.add_argument("--sanitized", action="store_true", help="what lives meets the tests again under the sanitizers")
    wanted = parser.parse_args()
    only = {int(one) for one in wanted.only.split(",")} if wanted.only else None
    log = Log(wanted.again or wanted.resume)
    seed = log.seed if log.seed is not None else 1 if wanted.seed is None else wanted.seed
    source, folder = os.path.abspath(os.path.join(os.path.dirname(__file__), "..")), os.path.abspath(wanted.build)
    commit = subprocess.run(["git", "rev-parse", "--short=12", wanted.commit or log.commit or "HEAD"], cwd=source, check=True,
                            stdout=subprocess.PIPE).stdout.decode().strip()
    tree = Tree(source, commit, folder)
    plain = Build(tree, os.path.join(folder, "plain"), True, "--buildtype=plain", "-Dc_args=-O2 -g0")
    plain.begin(wanted.quick)
    checked = None
    if wanted.sanitized:
        checked = Build(tree, os.path.join(folder, "checked"), False, "--buildtype=plain", "-Dc_args=-O1 -g0", "-Db_sanitize=address,undefined",
                        "-Db_lundef=false")
        quick = {test.name for test in plain.tests}
        checked.tests = [test for test in checked.tests if test.name.startswith(("unit:", "fuzz:")) and test.name in quick]
        checked.begin(None)
    trial = Trial(tree, plain, checked, wanted.patterns)
    all_places = [place for path, text in trial.texts.items() for place in places(path, text)]
    random.Random(seed).shuffle(all_places)
    print(f"{len(all_places)} places in {len(trial.texts)} files of {', '.join(FLOORS)}; seed {seed}; commit {commit}", flush=True)
    same_told, count, number, lived = judged(source), {"killed": 0, "same": 0, "none": 0}, 0, []
    for change in all_places:
        if number == wanted.count:
            break
        key = described(trial.texts[change[0]], change)
        fate = log.fate(key, wanted.again, only) or trial.fate(change)
        if fate.startswith("survived"):
            where, once = in_function(trial.texts[change[0]], change)
            told = (change[0], key[1] if once else f"{where}: {key[1]}") in same_told
            fate = "survived, judged to make no difference" if told else "survived"
        number += fate != "no mutant"
        line = f"{'-' if fate == 'no mutant' else number:>3} {key[0]}: {key[1]}"
        count["killed"] += fate.startswith("killed")
        count["none"] += fate == "no mutant"
        count["same"] += fate.startswith("survived,")
        if fate == "survived":
            lived.append(line if once else f"{line} ({where})")
        print(f"{line}: {fate}", flush=True)
    tried = count["killed"] + len(lived)
    share = count["killed"] / tried if tried else 0.0
    print(f"\n{number} mutants: {count['killed']} killed, {count['same']} judged to make no difference, {len(lived)} survived; {count['none']} drawn that were none")
    for line in lived:
        print("  " + line)
    print(f"wanted at least {100 * WANTED:.0f} % of the {tried} that make a difference killed: {100 * share:.1f} %, {'met' if share >= WANTED else 'MISSED'}")
    return 0 if share >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
