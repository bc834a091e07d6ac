#!/usr/bin/env python3
"""Promises of a garage that may only be read: file and folder without the right to write, or on a medium that cannot be written. The verbs and the pages read it, say so in a line, and
refuse entries in a line. TAP.

Rights do not bind root: where the tests run as root, the program runs as nobody. A medium is stood in for by a read-only mount in a namespace of its own, which only root may make.
"""
import contextlib
import os
import pathlib
import shutil
import sqlite3
import subprocess
import sys
import tempfile

import browse
from browse import Person, Server
from promises import CannotRun, keep, promise
from seasons import day, worn_four

SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
SAID = "may only be read: it is shown as it is, and nothing can be entered"
NOBODY = ["setpriv", "--reuid", "65534", "--regid", "65534", "--clear-groups", "--"]
MOUNT = ["unshare", "--mount", "sh", "-c", 'mount --bind "$0" "$0" && mount -o remount,bind,ro "$0" && exec "$@"']


class Locked:
    """A folder with a garage file in it that the program may only read, by rights or by mount; `run` is how the program is started."""

    def __init__(self, by, fill):
        self.by, self.fill = by, fill

    def __enter__(self):
        self.folder = tempfile.TemporaryDirectory()
        os.chmod(self.folder.name, 0o755)
        self.inner = pathlib.Path(self.folder.name) / "garage of Ann #1?"  # letters that mean something in an address
        self.inner.mkdir()
        self.garage = str(self.inner / "garage.db")
        self.fill(self.garage)
        root = os.geteuid() == 0
        if self.by == "mount":
            self.run = [*MOUNT, str(self.inner)]
        else:
            self.run = NOBODY if root else []
            for one in self.inner.iterdir():
                one.chmod(0o444)
            self.inner.chmod(0o555)
        tried = subprocess.run([*self.run, browse.PROGRAM, "--version"], capture_output=True, text=True, check=False) if shutil.which((self.run or ["sh"])[0]) else None
        if tried is None or tried.returncode != 0:
            self.__exit__()
            raise CannotRun("the program cannot be run so here: " + (tried.stderr.strip() if tried else "no " + self.run[0]))
        self.before = self.state()
        return self

    def state(self):
        return {one.name: one.read_bytes() for one in self.inner.iterdir()}

    def program(self, *words, status=0):
        done = subprocess.run([*self.run, browse.PROGRAM, *words], capture_output=True, text=True, check=False)
        assert done.returncode == status, (words, done)
        assert self.state() == self.before, words
        return done

    def __exit__(self, *_):
        self.inner.chmod(0o755)
        self.folder.cleanup()


@contextlib.contextmanager
def started_by(run):
    """The server's program, started with these words ahead."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        script = pathlib.Path(folder) / "program"
        words = " ".join("'" + word.replace("'", "'\\''") + "'" for word in [*run, browse.PROGRAM])
        script.write_text(f'#!/bin/sh\nexec {words} "$@"\n', encoding="utf-8")
        script.chmod(0o755)
        was, browse.PROGRAM = browse.PROGRAM, str(script)
        try:
            yield
        finally:
            browse.PROGRAM = was


def verbs_read_it(by):
    with Locked(by, worn_four) as locked, tempfile.TemporaryDirectory() as out:
        os.chmod(out, 0o777)
        for words in (["season", "--json"], ["ready", "--json"], ["backup", f"{out}/copy.db"]):
            done = locked.program(words[0], "--garage", locked.garage, *words[1:])
            assert done.stderr == f"crosshatch: {locked.garage}: {SAID}\n", done.stderr
        for words in (["verify"], ["export", f"{out}/all"], ["report", "-o", f"{out}/1.pdf"]):
            done = locked.program(words[0], "--garage", locked.garage, *words[1:])
            assert done.stderr == "", done.stderr
        sheet = next((SOURCE / "demo").glob("*.yaml"))
        done = locked.program("import", "--garage", locked.garage, str(sheet), status=4)
        assert done.stderr.count("\n") == 1 and "the garage file may only be read: copy it into a folder that may be written" in done.stderr, done.stderr


def pages_read_it(by):
    with Locked(by, worn_four) as locked, started_by(locked.run):
        with Server(locked.garage) as server:
            person = Person(server)
            for path in ("/", "/car/1", "/car/1/season", "/car/1/ready", "/car/1/winter", "/car/1/events", "/sheet/1", "/sheet/1/findings", "/sheet/1/report.pdf"):
                page = person.get(path)
                assert path.endswith("pdf") or "This garage may only be read: nothing can be entered." in page.says, (path, page.says[:300])
            person.get("/car/1/events")
            refused = person.submit(person.page.form("/car/1/events"), status=403, day=day(9), name="Sprint")
            assert "The garage file may only be read where it lies: nothing can be entered or changed." in refused.says, refused.says
            form = person.get("/car/1/events").form("/car/1/events")
            status, _, text = person.hand_in(form, [("token", form.value("token")), ("answer", "json"), ("reading", "170")])
            assert status == 422 and b'"refused": "The garage file may only be read' in text, (status, text)
        assert locked.state() == locked.before


@promise
def verbs_read_what_they_may_not_write():
    verbs_read_it("rights")


@promise
def verbs_read_what_lies_on_a_medium_that_cannot_be_written():
    verbs_read_it("mount")


@promise
def pages_show_what_they_may_not_write_and_refuse_entries_in_a_line():
    pages_read_it("rights")


@promise
def pages_show_what_lies_on_a_medium_that_cannot_be_written():
    pages_read_it("mount")


@promise
def one_of_an_older_version_is_refused_with_what_to_do():
    def older(garage):
        db = sqlite3.connect(garage)
        db.executescript((SOURCE / "tests/store/garage-v3.sql").read_text(encoding="utf-8"))
        db.executescript(f"PRAGMA application_id = {0x43684761}; PRAGMA user_version = 3; PRAGMA journal_mode = WAL;")
        db.close()

    with Locked("rights", older) as locked:
        done = locked.program("ready", "--garage", locked.garage, status=3)
        assert done.stderr.count("\n") == 1 and "is of an older version, and may only be read: open it for writing once" in done.stderr, done.stderr


@promise
def changes_in_a_log_that_cannot_be_read_without_writing_are_not_passed_over():
    def in_use(garage):
        worn_four(garage)
        db = sqlite3.connect(garage)
        db.execute("UPDATE car SET name = 'Renamed'")
        db.commit()
        for end in ("", "-wal"):
            shutil.copy(garage + end, garage + ".kept" + end)
        db.close()
        for end in ("", "-wal"):
            os.replace(garage + ".kept" + end, garage + end)

    with Locked("rights", in_use) as locked:
        done = locked.program("ready", "--garage", locked.garage, status=4)
        assert done.stderr.count("\n") == 1 and "its last changes lie in a log beside it" in done.stderr, done.stderr
        shutil.copytree(locked.inner, locked.folder.name + "/copy")
        copy = pathlib.Path(locked.folder.name) / "copy"
        for one in (copy, *copy.iterdir()):
            one.chmod(0o777)
        assert "Renamed" in locked.program("ready", "--garage", str(copy / "garage.db")).stdout


sys.exit(keep())
