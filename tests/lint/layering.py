#!/usr/bin/env python3
"""Holds the tree to docs/decisions/0001-floors.md.

usage: layering.py BUILD_DIRECTORY

1. A file includes headers of its own floor and of floors below it, nothing above.
2. The libraries of the lower floors ask for no symbol that prints, reads files, clock or environment, or ends the program.
3. They hold no variable that can be written.
4. Names below the faces say SI units; conversions live in units.c.
5. No note to self is left in the code.
6. Every source and test file is built.

Prints one line a breach and exits 1, or prints nothing and exits 0.
"""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]

# Height of each floor. Floors of one height do not know each other.
HEIGHT = {
    "base": 0,
    "physics": 1, "numbers": 1,
    "car": 2,
    "model": 3,
    "trace": 4,
    "judge": 5, "driveline": 5, "winter": 5,
    "decide": 6,
    "ready": 7,
    "show": 8, "store": 8,
    "web": 9,
    "cli": 10,
}
# Floors that a program may hold inside itself: no input, output, clock, environment, or state of their own.
QUIET = ["base", "physics", "numbers", "car", "model", "trace", "judge", "driveline", "winter", "decide", "ready", "show"]
# Outside libraries by the only floors that may include them. The C library is free; what of it is not is in FORBIDDEN.
OUTSIDE = {
    "gsl/": {"physics", "numbers", "car", "model", "trace", "judge", "decide", "driveline", "cli"},
    "libfyaml.h": {"car", "trace"},
    "jansson.h": {"car", "show"},
    "cairo": {"show"}, "pango/": {"show"}, "librsvg/": {"show"},
    "libical/": {"show"},
    "sqlite3.h": {"store"},
    "microhttpd.h": {"web"},
    "gnutls/": {"web", "store"},
    "archive": {"store"},
    "jpeglib.h": {"web"}, "jerror.h": {"web"}, "png.h": {"web"},
    "qrencode.h": {"web"},
}
FORBIDDEN = re.compile(
    r"^(_?_?(f|v|vf|d|vd)?printf(_chk)?|puts|putchar|putc|fputs|fputc|fwrite|perror|std(in|out|err)"
    r"|f?open(64|at)?|fdopen|freopen(64)?|fread|fgets|fgetc|getc|scanf|fscanf|read|write|creat|unlink|rename|remove|tmpfile|mkstemp"
    r"|time|clock|clock_gettime|gettimeofday|localtime(_r)?|ctime(_r)?|s?rand(om)?|(secure_)?getenv|setenv|putenv|setlocale"
    r"|exit|_exit|_Exit|quick_exit|abort|atexit|signal|sigaction|raise|longjmp|system|popen|fork|exec.*|pthread_create"
    r"|sqlite3_.*|MHD_.*)$")
NOT_SI = re.compile(
    r"\b[a-z][a-z0-9_]*_(psi|bar|mbar|hpa|kpa|mpa|atm|inhg|mm|mm2|mm3|cm|cm2|cm3|cc|ml|litres?|inch|feet|ft|miles?|km|kmh|mph|rpm"
    r"|deg|degrees|celsius|fahrenheit|degc|degf|lb|lbs|lbf|hp|kw|grams?|percent)\b")
NOTE_TO_SELF = re.compile(r"\b(TODO|FIXME|XXX|HACK|TBD|WIP)\b")


def code_of(text):
    """The text without comments and string contents, line breaks kept."""
    def blank(match):
        return re.sub(r"[^\n]", " ", match[0])
    return re.sub(r"/\*.*?\*/|//[^\n]*|\"(?:\\.|[^\"\\\n])*\"|'(?:\\.|[^'\\\n])*'", blank, text, flags=re.S)


def floor_of_header():
    """Which floor each public header belongs to: that of the source file whose name it bears, or of one that begins with it."""
    headers = {}
    for header in sorted((ROOT / "include/crosshatch").glob("*.h")):
        stem = header.stem
        sources = [*ROOT.glob(f"src/*/{stem}.c"), *sorted(ROOT.glob(f"src/*/{stem}_*.c"))]
        if sources:
            headers[header.name] = sources[0].parent.name
        elif (ROOT / "src" / stem).is_dir():
            headers[header.name] = stem
    return headers


def may_include(floor, other):
    return floor == other or HEIGHT[other] < HEIGHT[floor]


def includes(path, floor, headers):
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        found = re.match(r'\s*#\s*include\s+[<"]([^>"]+)[>"]', line)
        if not found:
            continue
        name = found[1]
        where = f"{path.relative_to(ROOT)}:{number}"
        if name.startswith("crosshatch/"):
            other = headers.get(name.removeprefix("crosshatch/"), floor)
        else:
            other = name.split("/")[-2] if "/" in name and name.split("/")[-2] in HEIGHT else floor
        if not may_include(floor, other):
            yield f"{where}: {floor} includes {name} of {other}"
        for outside, floors in OUTSIDE.items():
            if name.startswith(outside) and floor not in floors:
                yield f"{where}: {floor} includes {name}; only {', '.join(sorted(floors))} may"


def check_includes():
    headers = floor_of_header()
    for path in sorted(ROOT.glob("src/*/**/*.[ch]")):
        floor = path.relative_to(ROOT / "src").parts[0]
        if floor not in HEIGHT:
            yield f"{path.relative_to(ROOT)}: the floor {floor} is not in tests/lint/layering.py"
            continue
        yield from includes(path, floor, headers)
    for name, floor in headers.items():
        yield from includes(ROOT / "include/crosshatch" / name, floor, headers)


def objdump(option, library):
    done = subprocess.run(["objdump", option, library], capture_output=True, text=True, check=False)
    if done.returncode != 0 and "not recognized" not in done.stderr:
        raise SystemExit(f"objdump {option} {library}: {done.stderr.strip()}")
    return done.stdout


def check_symbols(build):
    for floor in QUIET:
        library = build / "src" / floor / f"lib{floor}.a"
        if not library.exists():
            yield f"{library} is missing: build first"
            continue
        member = library.name
        for line in objdump("-t", library).splitlines():
            if ":" in line and "file format" in line:
                member = line.split(":")[0]
                continue
            # VALUE FLAGS SECTION<tab>SIZE NAME; the flags are seven characters wide
            found = re.match(r"^[0-9a-f]+ (.{7}) (\S+)\t[0-9a-f]+\s+(?:\.hidden )?(\S+)$", line)
            if not found:
                continue
            flags, section, name = found.groups()
            if section == "*UND*" and FORBIDDEN.match(name):
                yield f"{floor}: {member} asks for {name}"
            writable = section == "*COM*" or re.match(r"\.(t?bss|t?data)(\.(?!rel\.ro)|$)", section)
            if writable and "O" in flags + ("O" if section == "*COM*" else ""):
                yield f"{floor}: {member} holds the writable variable {name}"


def check_text():
    for path in sorted([*ROOT.glob("src/**/*.[ch]"), *ROOT.glob("include/**/*.h"), *ROOT.glob("tests/**/*.[ch]"),
                        *ROOT.glob("bench/**/*.[ch]")]):
        text = path.read_text(encoding="utf-8")
        relative = path.relative_to(ROOT)
        for number, line in enumerate(text.splitlines(), 1):
            if NOTE_TO_SELF.search(line):
                yield f"{relative}:{number}: a note to self is left: {line.strip()}"
        quiet = relative.parts[0] == "include" or (relative.parts[0] == "src" and relative.parts[1] in QUIET[:-1])
        if quiet and path.stem != "units":
            for number, line in enumerate(code_of(text).splitlines(), 1):
                found = NOT_SI.search(line)
                if found:
                    yield f"{relative}:{number}: {found[0]} is not in SI units"


def check_listed():
    for folder, pattern in [("src/*", "*.c"), ("tests/unit", "test_*.c"), ("tests/fuzz", "fuzz_*.c")]:
        for path in sorted(ROOT.glob(f"{folder}/{pattern}")):
            listing = path.parent / "meson.build"
            stem = path.stem if folder.startswith("src") else path.stem.split("_", 1)[1]
            text = listing.read_text(encoding="utf-8") if listing.exists() else ""
            if f"'{stem}'" not in text and f"'{path.name}'" not in text:
                yield f"{path.relative_to(ROOT)} is not in {listing.relative_to(ROOT)}"


def main():
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    breaches = [*check_includes(), *check_symbols(pathlib.Path(sys.argv[1])), *check_text(), *check_listed()]
    print(*breaches, sep="\n", end="\n" if breaches else "")
    raise SystemExit(1 if breaches else 0)


if __name__ == "__main__":
    main()
