#!/usr/bin/env python3
"""Files that the verbs write, on a disk with less and less room: whole or not there, and a line that says why. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree). The disk is one in memory of a few kilobytes, mounted where nobody else sees it: as root or in a
user namespace of our own; where the system has neither, what needs it is skipped. A limit of the size of files (RLIMIT_FSIZE) stops writing in the middle on every system.
"""
import os
import pathlib
import resource
import shutil
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.environ["CROSSHATCH_SOURCE"], "tests/web"))
from promises import CannotRun, keep, promise  # noqa: E402

PROGRAM = os.environ["CROSSHATCH"]
TREE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
SHEETS = sorted((TREE / "demo").glob("*.yaml"))
# Name, arguments with {garage} and {to}, what is written; from the garage or from a sheet.
VERBS = [("backup", ["backup", "--garage", "{garage}", "{to}"]),
         ("export", ["export", "--garage", "{garage}", "{to}"]),
         ("report", ["report", "-o", "{to}.html", str(SHEETS[0])]),
         ("table", ["report", "-o", "{to}.csv", str(SHEETS[0])]),
         ("answer", ["predict", "--json", "-o", "{to}", str(SHEETS[0])])]


def run(arguments, limit=None):
    def prepare():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        if limit is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    environment = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")} | {"HOME": "/nonexistent", "SOURCE_DATE_EPOCH": "1800000000"}
    return subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, timeout=120, check=False, env=environment, preexec_fn=prepare, restore_signals=False)


def make_garage(path):
    done = run(["import", "--garage", path, str(TREE / "demo")])
    assert done.returncode == 0, done.stderr


def holds(folder):
    """Every file below, by name; a garage's copy by what it holds."""
    found = {}
    for path in sorted(pathlib.Path(folder).rglob("*")):
        if path.is_file():
            found[str(path.relative_to(folder))] = path.stat().st_size if path.name == "new" else path.read_bytes()
    return found


def tried(arguments, folder, garage, limit=None):
    return run([one.format(garage=garage, to=os.path.join(folder, "new")) for one in arguments], limit)


def expect_refused(done, folder, words, name):
    assert done.returncode == 4, (name, done.returncode, done.stderr)
    assert done.stdout == "" and done.stderr.count("\n") == 1 and any(word in done.stderr for word in words), (name, done.stdout, done.stderr)
    assert holds(folder) == {} and not any(pathlib.Path(folder).iterdir()), (name, list(pathlib.Path(folder).iterdir()))


@promise
def a_limit_on_the_size_of_files_leaves_nothing_half_written():
    with tempfile.TemporaryDirectory() as place:
        garage = os.path.join(place, "garage.db")
        make_garage(garage)
        for name, arguments in VERBS:
            folder = os.path.join(place, "out")
            os.mkdir(folder)
            assert tried(arguments, folder, garage).returncode == 0, name
            largest = max(path.stat().st_size for path in pathlib.Path(folder).rglob("*") if path.is_file())
            shutil.rmtree(folder)
            for limit in sorted({0, 1, 511, 4096, largest // 2, largest - 1}):
                if limit >= largest or (name in ("backup", "export") and limit < 0):
                    continue
                os.mkdir(folder)
                expect_refused(tried(arguments, folder, garage, limit), folder, ["too large", "full", "disk", "I/O", "cannot be"], (name, limit))
                shutil.rmtree(folder)
            done = run(["verify", "--garage", garage])
            assert done.returncode == 0, (name, done.stdout, done.stderr)


def namespaces():
    """The words before a command that let it mount, or none."""
    for words in (["unshare", "-m"], ["unshare", "-Urm"]):
        try:
            if subprocess.run([*words, "sh", "-c", "mount -t tmpfs -o size=4k none /mnt"], capture_output=True, check=False).returncode == 0:
                return words
        except FileNotFoundError:
            pass
    return None


def mounted(folder, size_kb):
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size_kb}k", "none", folder], check=True)


def files_on_small_disks(place):
    garage, folder = os.path.join(place, "garage.db"), os.path.join(place, "out")
    make_garage(garage)
    os.mkdir(folder)
    refused = 0
    for name, arguments in VERBS:
        size_kb, right = 4, None
        while right is None:
            mounted(folder, size_kb)
            done = tried(arguments, folder, garage)
            if done.returncode == 0:
                right = holds(folder)
            else:
                expect_refused(done, folder, ["No space left", "the disk is full"], (name, size_kb))
                refused += 1
            subprocess.run(["umount", folder], check=True)
            size_kb += 4 if size_kb < 64 else 32
            assert size_kb < 8192, name
        assert right, name
        mounted(folder, 16384)  # with plenty of room it is the same
        assert tried(arguments, folder, garage).returncode == 0 and holds(folder) == right, name
        subprocess.run(["umount", folder], check=True)
    assert refused > 30, refused  # the smallest disk has 4 kB, which the table fits into


def garage_on_small_disks(place):
    first, folder = os.path.join(place, "first.db"), os.path.join(place, "disk")
    assert run(["import", "--garage", first, str(SHEETS[0])]).returncode == 0
    os.mkdir(folder)
    size, refused = os.stat(first).st_size // 1024 + 4, 0
    for room_kb in range(0, 4000, 16):
        mounted(folder, size + room_kb)
        garage = os.path.join(folder, "garage.db")
        shutil.copy(first, garage)
        done = run(["import", "--garage", garage, str(SHEETS[1])])
        if done.returncode != 0:
            assert done.returncode == 4 and done.stderr.count("\n") == 1 and "disk" in done.stderr, (room_kb, done.stderr)
            refused += 1
        subprocess.run(["mount", "-o", "remount,size=16m", folder], check=True)  # once there is room again
        assert run(["verify", "--garage", garage]).returncode == 0, room_kb
        again = run(["import", "--garage", garage, str(SHEETS[1])])
        assert again.returncode == 0 and ("was here already" in again.stdout) == (done.returncode == 0), (room_kb, again.stdout, again.stderr)
        subprocess.run(["umount", folder], check=True)
        if done.returncode == 0 and refused > 0:
            return
    raise AssertionError(f"never both refused and done: {refused}")


INSIDE = {"files": files_on_small_disks, "garage": garage_on_small_disks}


def inside(which):
    words = namespaces()
    if words is None:
        raise CannotRun("no disk can be mounted here")
    with tempfile.TemporaryDirectory() as place:
        done = subprocess.run([*words, sys.executable, os.path.abspath(__file__), "inside", which, place], capture_output=True, text=True, check=False, timeout=240)
        assert done.returncode == 0, done.stderr[-1500:]


@promise
def a_full_disk_leaves_every_file_whole_or_not_there():
    inside("files")


@promise
def a_garage_on_a_full_disk_keeps_what_it_has_and_goes_on_when_there_is_room():
    inside("garage")


if len(sys.argv) > 1 and sys.argv[1] == "inside":
    INSIDE[sys.argv[2]](sys.argv[3])
else:
    sys.exit(keep())
