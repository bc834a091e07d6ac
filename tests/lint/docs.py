#!/usr/bin/env python3
"""Holds the public headers of libcrosshatch to their documentation, as Doxygen reads them (Doxyfile). Speaks TAP.

Every function has a comment that tells of every argument; every comment is one that Doxygen understands.
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])


def warnings(extra=None):
    """What Doxygen says of the headers, and of one more that stands in a folder."""
    with tempfile.TemporaryDirectory() as folder:
        settings = (SOURCE / "Doxyfile").read_text(encoding="utf-8") + f"\nOUTPUT_DIRECTORY = {folder}\nGENERATE_HTML = NO\nGENERATE_XML = YES\n"
        if extra is not None:
            header = pathlib.Path(folder) / "extra.h"
            header.write_text(extra, encoding="utf-8")
            settings += f"INPUT = {header}\n"
        done = subprocess.run(["doxygen", "-"], input=settings, capture_output=True, text=True, check=False, cwd=SOURCE)
        assert done.returncode == 0, done.stderr
        return done.stderr


def judge(said):
    functions, arguments, faults, function = set(), set(), [], None
    for line in said.splitlines():
        found = re.match(r"\S+?([^/]+\.h):\d+: warning: (.*)", line)
        if found:
            function = None
            words = found[2]
            if re.match(r"Member \S.*\(function\)", words):
                functions.add(re.search(r"(\w+)\(", words)[1])
            elif re.match(r"(Member|Compound) ", words):
                continue  # members of structs tell themselves by name and unit
            elif "parameter" in words and "documented" in words:
                name = re.search(r"(\w+)\(", words)
                function = name[1] if name else "?"
                for one in re.findall(r"argument '(\w+)'", words):
                    arguments.add(f"{function} {one}")
            else:
                faults.append(line)
        elif (found := re.match(r"\s+parameter '(\w+)'", line)) and function:
            arguments.add(f"{function} {found[1]}")
    return functions, arguments, faults


def main():
    if shutil.which("doxygen") is None:
        print("1..0 # SKIP doxygen is not installed")
        return 0
    version = subprocess.run(["doxygen", "--version"], capture_output=True, text=True, check=True).stdout
    if not version.startswith("1.9.4"):  # others warn of other things
        print(f"1..0 # SKIP needs Doxygen 1.9.4, found {version.strip()}")
        return 0
    functions, arguments, faults = judge(warnings())
    bare = judge(warnings("/** @file */\nint ch_bare(int x);\n/** Half. @param x One. */\nint ch_half(int x, int y);\n"))
    tests = [("every_public_function_is_documented", sorted(functions)),
             ("every_argument_is_documented", sorted(arguments)),
             ("doxygen_understands_every_comment", faults),
             ("a_bare_function_and_a_bare_argument_are_noticed", [] if bare[0] == {"ch_bare"} and bare[1] == {"ch_half y"} else [str(bare)])]
    print(f"1..{len(tests)}")
    for number, (name, wrong) in enumerate(tests, 1):
        for line in wrong[:40]:
            print(f"# {line}")
        print(f"{'not ok' if wrong else 'ok'} {number} - {name}")
    return any(wrong for _, wrong in tests)


if __name__ == "__main__":
    sys.exit(main())
