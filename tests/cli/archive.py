#!/usr/bin/env python3
"""Promises of the whole garage as one archive: out and in again the same, in bounded memory, and nothing from a stranger's. Speaks TAP."""
import hashlib
import io
import os
import pathlib
import random
import re
import resource
import sqlite3
import struct
import subprocess
import sys
import tempfile
import zipfile

PROGRAM = os.environ["CROSSHATCH"]
SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
TOP = "crosshatch-garage/"
promises = []


def promise(body):
    promises.append(body)
    return body


def run(*arguments, status=0):
    done = subprocess.run([PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False)
    assert done.returncode == status, (arguments, done)
    return done.stdout if status == 0 else done.stderr


def fixture_version():
    return max(int(p.stem.removeprefix("garage-v")) for p in (SOURCE / "tests/store").glob("garage-v*.sql"))


def garage(path, sheets=0, photos=0, photo_bytes=0):
    """A garage with something of every kind (tests/store/make_fixture.c), and more sheets and photos with awkward texts."""
    version = fixture_version()
    db = sqlite3.connect(path)
    db.executescript((SOURCE / f"tests/store/garage-v{version}.sql").read_text(encoding="utf-8"))
    db.executescript(f"PRAGMA application_id = {0x43684761}; PRAGMA user_version = {version}; PRAGMA journal_mode = WAL;")
    db.close()
    chance = random.Random(sheets)
    with tempfile.TemporaryDirectory() as folder:
        demo = (SOURCE / "demo/hill-climb-sound.yaml").read_text(encoding="utf-8")
        for i in range(sheets):
            title = f'"sheet {i}, \\"quoted\\", käse; ±{chance.random():.6f}"'
            sheet = re.sub(r"(?m)^title:.*", "title: " + title, demo)
            assert sheet != demo
            (pathlib.Path(folder) / f"{i:04}.yaml").write_text(sheet, encoding="utf-8")
        if sheets:
            run("import", "--garage", path, folder)
    db = sqlite3.connect(path)
    for i in range(photos):
        db.execute("INSERT INTO photo (sheet_id, mime, taken_s, changed_s, bytes) VALUES (?, ?, ?, 1800000000, ?)",
                   (1 + i % (sheets + 2), ("image/jpeg", "image/png", "image/webp")[i % 3], 1800000000 + i, b"\xff\xd8\xff" + chance.randbytes(photo_bytes)))
    for name, text in [("empty", ""), ("lines", "one\ntwo\ttab"), ("quotes", 'say "hm", =1+1'), ("unset", None), ("blank", " ")]:
        db.execute("INSERT INTO setting (name, text, changed_s) VALUES (?, ?, 1800000000)", (name, text))
    db.execute("UPDATE setting SET text = 'changed', changed_s = 1800000001 WHERE name = 'lines'")
    db.execute("UPDATE photo SET deleted_s = 1800000009, changed_s = 1800000009 WHERE id = 1")
    db.execute("UPDATE event SET running_s = 0.1 + 0.2, distance_m = 1e-7, changed_s = 1800000002")
    db.execute("UPDATE sheet SET deleted_s = 1800000003, changed_s = 1800000003 WHERE id = 1")
    db.commit()
    db.close()
    run("verify", "--garage", path)


def dump(path):
    """Every row of every table but what is worked out again, exactly."""
    db = sqlite3.connect(path)
    tables = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name") if name != "derived"]
    rows = {name: sorted(map(repr, db.execute(f"SELECT * FROM {name}"))) for name in tables}
    db.close()
    return rows


def same_after_a_journey(folder, sheets, photos, photo_bytes):
    a, b = folder / "a.db", folder / "b.db"
    garage(a, sheets, photos, photo_bytes)
    run("export", "--garage", a, folder / "a.zip")
    said = run("import", "--garage", b, folder / "a.zip")
    assert "a whole garage" in said, said
    run("export", "--garage", b, folder / "b.zip")
    assert (folder / "a.zip").read_bytes() == (folder / "b.zip").read_bytes()
    one, other = dump(a), dump(b)
    assert one.keys() == other.keys() and len(one) >= 20
    for name in one:
        assert one[name] == other[name], name
    assert len(one["sheet"]) >= sheets + 2 and len(one["photo"]) >= photos + 1 and len(one["history"]) > 3
    run("verify", "--garage", b)


@promise
def a_small_garage_comes_back_the_same(folder):
    same_after_a_journey(folder, 3, 4, 100000)


@promise
def a_garage_of_150_sheets_comes_back_the_same(folder):
    same_after_a_journey(folder, 150, 40, 20000)


@promise
def every_file_has_its_digest_and_the_folder_is_a_bag(folder):
    garage(folder / "a.db", 2, 2, 1000)
    run("export", "--garage", folder / "a.db", folder / "a.zip")
    with zipfile.ZipFile(folder / "a.zip") as archive:
        assert archive.testzip() is None
        content = {name.removeprefix(TOP): archive.read(name) for name in archive.namelist()}
        assert all(name.startswith(TOP) for name in archive.namelist())
    # RFC 8493, 2.1: the declaration, the manifest of the payload below data/, and Payload-Oxum (2.2.2).
    assert content["bagit.txt"] == b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    listed = {}
    for list_name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        for line in content[list_name].decode().splitlines():
            digest, name = line.split("  ")
            listed[name] = digest
    assert listed.keys() == content.keys() - {"tagmanifest-sha256.txt"}
    for name, digest in listed.items():
        assert hashlib.sha256(content[name]).hexdigest() == digest, name
    payload = [body for name, body in content.items() if name.startswith("data/")]
    assert f"Payload-Oxum: {sum(map(len, payload))}.{len(payload)}\n" in content["bag-info.txt"].decode()
    assert content["data/photos/photo-0002.jpg"][:3] == b"\xff\xd8\xff"


@promise
def the_tables_have_a_row_of_units_and_no_formula(folder):
    garage(folder / "a.db", 2)
    db = sqlite3.connect(folder / "a.db")
    db.execute("UPDATE event SET name = '=HYPERLINK(1)', changed_s = 1800000005")
    db.commit()
    db.close()
    run("export", "--garage", folder / "a.db", folder / "out")
    history = (folder / "out/history.csv").read_text(encoding="utf-8").splitlines()
    assert history[0] == "date,what,car,engine,name,running,distance,starts,sessions,sheet,note" and history[1] == ",,,,,h,km,1,1,,"
    assert any("'=HYPERLINK(1)" in line for line in history) and not any(",=" in line for line in history), history
    assert any(line.startswith("2025-03-01,engine in: first,invented hill climb car,invented four") for line in history), history
    assert any(line.startswith("2025-03-01,part fitted,") and ",clutch,10,0," in line for line in history), history
    readings = (folder / "out/readings.csv").read_text(encoding="utf-8").splitlines()
    assert readings[1].startswith(",,,,Pa,Pa,m3,Pa,1,m")


def peak(*arguments):
    """Peak resident memory of one run, kB, as the kernel counted it."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    code = ("import resource, subprocess, sys; status = subprocess.call(sys.argv[1:], stdout=subprocess.DEVNULL);"
            "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss); sys.exit(status)")
    done = subprocess.run([sys.executable, "-c", code, PROGRAM, *map(str, arguments)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, (before, done)
    return int(done.stdout)


@promise
def memory_does_not_grow_with_the_garage(folder):
    small, large = folder / "small.db", folder / "large.db"
    garage(small, 40, 10, 200000)
    garage(large, 160, 150, 200000)
    out = peak("export", "--garage", small, folder / "small.zip"), peak("export", "--garage", large, folder / "large.zip")
    back = (peak("import", "--garage", folder / "s.db", folder / "small.zip"),
            peak("import", "--garage", folder / "l.db", folder / "large.zip"))
    print(f"# export: {out[0]} and {out[1]} kB for 40 sheets with 2 MB and 160 sheets with 30 MB of photos; import: {back[0]} and {back[1]} kB")
    if b"__asan_init" in pathlib.Path(PROGRAM).read_bytes():
        return  # the sanitizer's memory is not the program's
    # Four times the sheets and fifteen times the photos, 28 MB more: what grows is the list of files and what SQLite keeps of the pages.
    assert out[1] - out[0] < 6000 and back[1] - back[0] < 10000, (out, back)


# ---- archives from strangers ----

def entries_of(path):
    with zipfile.ZipFile(path) as archive:
        return [(info.filename, archive.read(info)) for info in archive.infolist()]


def relisted(entries, bend=lambda manifest: manifest):
    """The same with lists that are right for what is there, so that only what was changed on purpose is wrong: the list of the payload, by `bend`."""
    lists = {TOP + "manifest-sha256.txt", TOP + "tagmanifest-sha256.txt"}
    kept = [(name, body) for name, body in entries if name not in lists]

    def lines(data):
        return "".join(f"{hashlib.sha256(body).hexdigest()}  {name.removeprefix(TOP)}\n" for name, body in kept
                       if name.startswith(TOP + "data/") == data)
    manifest = bend(lines(True)).encode()
    tags = lines(False) + f"{hashlib.sha256(manifest).hexdigest()}  manifest-sha256.txt\n"
    return kept + [(TOP + "manifest-sha256.txt", manifest), (TOP + "tagmanifest-sha256.txt", tags.encode())]


def written(path, entries, compression=zipfile.ZIP_DEFLATED):
    with zipfile.ZipFile(path, "w", compression) as archive:
        for name, body in entries:
            archive.writestr(name, body)


def refused(folder, path, *words):
    target = folder / "nothing.db"
    before = sorted(p.name for p in folder.iterdir())
    said = run("import", "--garage", target, path, status=3)
    assert said.count("\n") == 1 and said.startswith(str(path)), said
    assert all(word in said for word in words), (words, said)
    assert not target.exists() and sorted(p.name for p in folder.iterdir()) == before, said
    return said


def sample(folder):
    garage(folder / "a.db", 2, 1, 5000)
    run("export", "--garage", folder / "a.db", folder / "a.zip")
    return folder / "a.zip"


@promise
def a_packed_again_archive_is_as_good(folder):
    entries = entries_of(sample(folder))
    written(folder / "again.zip", [(TOP, b""), *sorted(entries, reverse=True)])
    run("import", "--garage", folder / "b.db", folder / "again.zip")
    assert dump(folder / "a.db") == dump(folder / "b.db")


@promise
def names_that_lead_elsewhere_are_refused(folder):
    entries = entries_of(sample(folder))
    for name in ("../../evil", "/etc/evil", TOP + "../evil", TOP + "data/../../evil", "evil", TOP + "data/a\\..\\b", TOP + "data/x\x1b[31m", TOP + "data//x", TOP + "/x",
                 TOP + "data/" + 200 * "x"):
        written(folder / "evil.zip", [*relisted(entries), (name, b"x")])
        said = refused(folder, folder / "evil.zip", "has no place in it")
        assert "\x1b" not in said


@promise
def a_link_is_refused(folder):
    entries = relisted(entries_of(sample(folder)))
    with zipfile.ZipFile(folder / "link.zip", "w") as archive:
        for name, body in entries:
            archive.writestr(name, body)
        link = zipfile.ZipInfo(TOP + "data/link")
        link.external_attr = 0o120777 << 16
        link.create_system = 3
        archive.writestr(link, "/etc/passwd")
    refused(folder, folder / "link.zip", "has no place in it")


@promise
def a_bomb_is_put_down(folder):
    entries = entries_of(sample(folder))
    bomb = io.BytesIO(bytes(300 * 1024 * 1024)).getvalue()
    written(folder / "bomb.zip", [*entries, (TOP + "data/bomb", bomb)])
    assert (folder / "bomb.zip").stat().st_size < 400000
    refused(folder, folder / "bomb.zip", "unpacks to more than it can hold")
    del bomb
    kB = peak_of_refusal(folder / "bomb.zip", folder)
    print(f"# refusing 300 MB of zeros took {kB} kB")
    assert kB < 120000, kB


def peak_of_refusal(path, folder):
    code = ("import resource, subprocess, sys; subprocess.call(sys.argv[1:], stderr=subprocess.DEVNULL);"
            "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)")
    done = subprocess.run([sys.executable, "-c", code, PROGRAM, "import", "--garage", folder / "no.db", path], capture_output=True, text=True,
                          check=True)
    return int(done.stdout)


def add_empty_files(path, count):
    """So many more files, data/0000000 and on: zipfile takes ten times as long (PKWARE's APPNOTE.TXT 6.3.10, 4.3.7, 4.3.12 and 4.3.14 to 4.3.16)."""
    whole = path.read_bytes()
    own, size, start = struct.unpack("<HII", whole[-12:-2])
    names = [f"{TOP}data/{i:07}".encode() for i in range(count)]
    fields = struct.pack("<5H3I2H", 20, 0, 0, 0, 0x21, 0, 0, 0, len(names[0]), 0)
    local = b"PK\3\4" + fields
    central = b"PK\1\2" + struct.pack("<H", 20) + fields + struct.pack("<3HI", 0, 0, 0, 0)
    files = b"".join(local + name for name in names)
    listed = b"".join(central + struct.pack("<I", start + i * len(local + name)) + name for i, name in enumerate(names))
    own, size, at = own + count, size + len(listed), start + len(files)
    end = struct.pack("<4sQ2H2I4Q", b"PK\6\6", 44, 45, 45, 0, 0, own, own, size, at)  # more than 16 bits count
    end += struct.pack("<4sIQI", b"PK\6\7", 0, at + size, 1) + struct.pack("<4s4H2IH", b"PK\5\6", 0, 0, 0xFFFF, 0xFFFF, size, at, 0)
    path.write_bytes(whole[:start] + files + whole[start:-22] + listed + end)


@promise
def too_many_files_are_refused(folder):
    entries = entries_of(sample(folder))
    written(folder / "many.zip", entries)
    add_empty_files(folder / "many.zip", 200001)
    refused(folder, folder / "many.zip", "too many files", "200000")


@promise
def a_changed_file_is_named(folder):
    entries = entries_of(sample(folder))
    for which in ("data/tables/sheet.csv", "data/photos/photo-0002.jpg", "data/sheets/sheet-0002.yaml", "bag-info.txt", "manifest-sha256.txt"):
        changed = [(name, body + b" " if name == TOP + which else body) for name, body in entries]
        assert changed != entries
        written(folder / "changed.zip", changed)
        refused(folder, folder / "changed.zip", which + ": its content is not that of the list")


@promise
def a_missing_or_unlisted_or_doubled_file_is_named(folder):
    entries = entries_of(sample(folder))
    written(folder / "less.zip", [e for e in entries if not e[0].endswith("readings.csv")])
    refused(folder, folder / "less.zip", "data/readings.csv: the list names it, but it is missing")
    written(folder / "more.zip", [*entries, (TOP + "data/more", b"")])
    refused(folder, folder / "more.zip", "data/more: no list names this file")
    import warnings
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        written(folder / "twice.zip", [*entries, entries[3]])
    refused(folder, folder / "twice.zip", "is in the archive twice")
    written(folder / "none.zip", [])
    refused(folder, folder / "none.zip", "the archive is damaged or cut off")
    written(folder / "folder.zip", [(TOP, b"")])
    refused(folder, folder / "folder.zip", "is no archive of a garage")
    written(folder / "other.zip", [(TOP + "data/letter.txt", b"hello")])
    refused(folder, folder / "other.zip", "is no archive of a garage")
    written(folder / "short.zip", relisted([e for e in entries if not e[0].endswith("tables/event.csv")]))
    refused(folder, folder / "short.zip", "data/tables/event.csv: is missing")
    written(folder / "extra.zip", relisted([*entries, (TOP + "data/tables/evil.csv", b"id\r\n\r\n")]))
    refused(folder, folder / "extra.zip", "data/tables/evil.csv: is no table of this version")


@promise
def lists_that_are_none_are_named_with_their_line(folder):
    entries = entries_of(sample(folder))
    first, second = relisted(entries)[-2][1].decode().splitlines(keepends=True)[:2]
    for bend, *words in [
            (lambda m: "x" + m[1:], "its content is not that of the list"),
            (lambda m: m.replace(second, second[:60] + "\n"), "manifest-sha256.txt:2:1: a line of the list is none"),
            (lambda m: m.replace(first, first[:64] + "_" + first[65:]), "manifest-sha256.txt:1:1: a line of the list is none"),
            (lambda m: m.replace(second, second[:66] + 200 * "x" + "\n"), "manifest-sha256.txt:2:1: a line of the list is none"),
            (lambda m: m + first, "the list names it twice"),
            (lambda m: m + first[:66] + "data/nothing\n", "data/nothing: the list names it, but it is missing")]:
        written(folder / "list.zip", relisted(entries, bend))
        refused(folder, folder / "list.zip", *words)
    written(folder / "open.zip", relisted(entries, lambda m: m.removesuffix("\n")))
    run("import", "--garage", folder / "open.db", folder / "open.zip")  # a last line need not end
    for text in ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt"):
        written(folder / "without.zip", [e for e in relisted(entries) if e[0] != TOP + text])
        refused(folder, folder / "without.zip", "is no archive of a garage")
    written(folder / "long.zip", relisted([(n, b + 70000 * b" " if n == TOP + "bagit.txt" else b) for n, b in entries]))
    refused(folder, folder / "long.zip", "long.zip/bagit.txt: ", "longer than 65536 bytes")


@promise
def a_cut_or_bent_archive_is_refused(folder):
    whole = sample(folder).read_bytes()
    chance = random.Random(1)
    for length in [4, 30, 1000, len(whole) // 2, len(whole) - 23, len(whole) - 1, *(chance.randrange(4, len(whole)) for _ in range(20))]:
        (folder / "cut.zip").write_bytes(whole[:length])
        refused(folder, folder / "cut.zip")
    accepted = 0
    for _ in range(60):
        bent = bytearray(whole)
        bent[chance.randrange(4, len(bent))] ^= 1 << chance.randrange(8)
        (folder / "bent.zip").write_bytes(bent)
        done = subprocess.run([PROGRAM, "import", "--garage", folder / "bent.db", folder / "bent.zip"], capture_output=True, text=True, check=False)
        assert done.returncode in (0, 3), done
        if done.returncode == 0:  # a bit that says nothing of the content, as a date
            assert dump(folder / "a.db") == dump(folder / "bent.db")
            accepted += 1
        for path in folder.glob("bent.db*"):
            path.unlink()
    assert accepted < 30, accepted


def table_changed(entries, table, old, new):
    name = f"{TOP}data/tables/{table}.csv"
    body = dict(entries)[name]
    assert old in body, (old, body)
    return relisted([(n, b.replace(old, new, 1) if n == name else b) for n, b in entries])


@promise
def rows_that_no_garage_holds_are_named_with_their_line(folder):
    entries = entries_of(sample(folder))
    for table, old, new, *words in [
            ("car", b"\r\n1,", b"\r\nx1,", "data/tables/car.csv:3:1: id: no whole number"),
            ("event", b",9,", b",9,9,", "data/tables/event.csv:3:1: a row of"),
            ("car", b"id,name", b"id,nome", "data/tables/car.csv:1:4: another column", "name"),
            ("event", b"0.30000000000000004", b"nan", "data/tables/event.csv:3:", "running_s: no number"),
            ("event", b"0.30000000000000004", b"-1", "data/tables/event.csv:3:1: CHECK constraint failed"),
            ("photo", b"photos/photo-0002.jpg", b"photos/photo-0001.jpg", "data/tables/photo.csv:4:", "another file"),
            ("photo", b"photos/photo-0002.jpg", b"../../etc/passwd", "data/tables/photo.csv:4:", "another file"),
            ("setting", b"lines,changed", b"lines,chan\xffed", "data/tables/setting.csv:", "a byte that is no text"),
            ("setting", b"lines,changed", b"lines,chan\x01ed", "data/tables/setting.csv:", "a byte that is no text"),
            ("sheet", b"\r\n1,1,", b"\r\n1,77,", "a row refers to one that is missing"),
            ("car", b"\r\n1,", b"\r\n1\n", "data/tables/car.csv:3:2:", "in the middle of a cell"),
            ("entry_quantity", b",178,psi,", b",179,psi,", "a value is not that of its text"),
            ("event", b"0.30000000000000004", b"0.300000000000000040", "data/tables/event.csv: does not come out of a garage as it went in"),
            ("car", b"\r\n1,", b"\r\n99999999999999999999,", "data/tables/car.csv:3:1: id: no whole number"),
            ("car", b"\r\n1,", b"\r\n1-2,", "data/tables/car.csv:3:1: id: no whole number"),
            ("car", b"\r\n1,", b"\r\n+1,", "data/tables/car.csv:3:1: id: no whole number"),
            ("car", b",1800000000,\r\n", b',"1800000000"\r\n', "data/tables/car.csv:3:1: a row of"),
            ("car", b",1800000000,\r\n", b',1800000000,"7"\r\n', "data/tables/car.csv: does not come out of a garage as it went in"),
            ("event", b"0.30000000000000004", b"0.3 h", "data/tables/event.csv:3:", "running_s: no number"),
            ("car", b"\r\n1,", b'\r\n1"2,', "data/tables/car.csv:3:2:", "in the middle of a cell"),
            ("car", b"\r\n1,", b"\r\n1\0,", "data/tables/car.csv:3:2:", "in the middle of a cell"),
            ("car", b"\r\n1,", b'\r\n"1\0",', "data/tables/car.csv:3:3:", "a NUL in a cell"),
            ("car", b"\r\n1,", b'\r\n"1"2,', "data/tables/car.csv:3:4:", "between a quote and the next cell"),
            ("car", b"\r\n1,", b"\r1,", "data/tables/car.csv:2:", "a line end that is not CR LF"),
            ("car", b"\r\n1,", b"\r\n" + 70 * b"," + b"1,", "data/tables/car.csv:3:", "a row of more than 64 cells"),
            ("setting", b"lines,changed", b"lines," + 2100000 * b"x", "data/tables/setting.csv:", "text: 2100000 bytes"),
            ("setting", b"lines,changed", b"lines," + 4300000 * b"x", "data/tables/setting.csv:")]:
        written(folder / "bad.zip", table_changed(entries, table, old, new))
        refused(folder, folder / "bad.zip", *words)
    for cut in (lambda b: b[:-2], lambda b: b + b"2,", lambda b: b.split(b"\r\n")[0] + b"\r\n", lambda b: b""):
        written(folder / "cut.zip", relisted([(n, cut(b) if n == TOP + "data/tables/car.csv" else b) for n, b in entries]))
        refused(folder, folder / "cut.zip", "data/tables/car.csv:", "the table ends in the middle")
    row = re.search(rb"(?m)^2,.*\r\n", dict(entries)[TOP + "data/tables/photo.csv"]).group()
    written(folder / "twice.zip", table_changed(entries, "photo", row, 2 * row))
    refused(folder, folder / "twice.zip", "data/tables/photo.csv:5:", "there is no such file")
    written(folder / "less.zip", relisted([e for e in entries if not e[0].endswith("photo-0002.jpg")]))
    refused(folder, folder / "less.zip", "data/tables/photo.csv:4:", "there is no such file")


@promise
def a_newer_archive_asks_for_a_newer_program(folder):
    entries = entries_of(sample(folder))
    info = TOP + "bag-info.txt"
    newer = [(n, re.sub(rb"Garage-Version: \d+", b"Garage-Version: 999", b) if n == info else b) for n, b in entries]
    written(folder / "newer.zip", relisted(newer))
    refused(folder, folder / "newer.zip", "is of version 999")
    for text in (b"Garage-Version: 0", b"Garage-Version: 10001", b"Garage-Version: new", b"Version: 5"):
        written(folder / "none.zip", relisted([(n, re.sub(rb"Garage-Version: \d+", text, b) if n == info else b) for n, b in entries]))
        refused(folder, folder / "none.zip", "bag-info.txt: the version is missing")


@promise
def an_archive_of_version_3_is_brought_up_to_date(folder):
    run("import", "--garage", folder / "old.db", SOURCE / "tests/data/archive/garage-v3.zip")
    run("verify", "--garage", folder / "old.db")
    db = sqlite3.connect(folder / "old.db")
    assert db.execute("PRAGMA user_version").fetchone()[0] >= fixture_version()
    assert db.execute("SELECT count(*), sum(length(bytes)) FROM photo").fetchone() == (1, 4)
    assert db.execute("SELECT text FROM setting WHERE name = 'hour_value'").fetchone()[0] == "15"
    db.close()


@promise
def a_garage_that_holds_something_stays_as_it_is(folder):
    archive = sample(folder)
    run("import", "--garage", folder / "mine.db", SOURCE / "demo")
    before = dump(folder / "mine.db")
    said = run("import", "--garage", folder / "mine.db", archive, status=3)
    assert "is not empty" in said and str(folder / "mine.db") in said, said
    assert dump(folder / "mine.db") == before


@promise
def an_archive_is_not_written_over(folder):
    archive = sample(folder)
    before = archive.read_bytes()
    said = run("export", "--garage", folder / "a.db", archive, status=3)
    assert "is there already" in said and archive.read_bytes() == before
    assert sorted(p.name for p in folder.iterdir() if p.name.startswith("a.zip")) == ["a.zip"]
    run("export", "--garage", folder / "missing.db", folder / "new.zip", status=3)
    assert not (folder / "new.zip").exists()
    for verb in ("export", "backup"):  # the help lists -o, which names what is printed
        said = run(verb, "--garage", folder / "a.db", "-o", folder / "new.zip", status=2)
        assert "is named without it" in said and "no name given" not in said, said
        assert "no name given" in run(verb, "--garage", folder / "a.db", status=2)
    assert not (folder / "new.zip").exists()


@promise
def what_a_table_cannot_hold_is_not_exported(folder):
    for sql, words in [("UPDATE event SET running_s = 9e999", "a number in the table event is not finite"),
                       ("UPDATE setting SET text = 'a' || char(0) || 'b'", "a text in the table setting holds a NUL")]:
        garage(folder / "a.db")
        db = sqlite3.connect(folder / "a.db")
        db.execute(sql)
        db.commit()
        db.close()
        said = run("export", "--garage", folder / "a.db", folder / "a.zip", status=3)
        assert words in said and "crosshatch verify" in said, said
        assert not list(folder.glob("a.zip*"))
        (folder / "a.db").unlink()


@promise
def a_full_disk_leaves_nothing_half(folder):
    garage(folder / "a.db", 2, 1, 300000)
    # Beyond ulimit's size (in blocks of 512 bytes) a write fails as on a full disk, once the signal is ignored.
    done = subprocess.run(["sh", "-c", 'trap "" XFSZ; ulimit -f 300; exec "$0" export --garage "$1" "$2"', PROGRAM, folder / "a.db",
                           folder / "big.zip"], capture_output=True, text=True, check=False)
    assert done.returncode == 4 and "big.zip: cannot be written" in done.stderr, done
    assert not list(folder.glob("big.zip*"))


def main():
    print(f"1..{len(promises)}")
    broken = 0
    fast = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None  # a flush costs milliseconds elsewhere
    for number, body in enumerate(promises, 1):
        with tempfile.TemporaryDirectory(dir=fast) as folder:
            try:
                body(pathlib.Path(folder))
                print(f"ok {number} - {body.__name__}")
            except Exception as failure:  # noqa: BLE001 - any failure is a broken promise
                broken += 1
                print("# " + repr(failure).replace("\n", "\n# ")[:3000])
                print(f"not ok {number} - {body.__name__}")
    return broken > 0


if __name__ == "__main__":
    sys.exit(main())
