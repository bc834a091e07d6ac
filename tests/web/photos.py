#!/usr/bin/env python3
"""Promises of photos, through the real program: sent by forms with parts, as a phone does. TAP. What is made of them: tests/unit/test_photo.c.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import os
import re
import struct
import subprocess
import sys
import time
import urllib.parse
import zlib

from browse import PROGRAM, Person, Server
from newcomer import begin_sheet, enter_car
from promises import keep, promise

SOURCE = os.environ["CROSSHATCH_SOURCE"]
with open(os.path.join(SOURCE, "tests/fuzz/corpus/photo/baseline-exif"), "rb") as given:
    PHOTO = given.read()  # 24 by 16 pixels, to be turned a quarter, with a GPS block; made for this


def png(width, height, rows):
    """A grey PNG that says this size, with `rows` as its content."""
    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def multipart(fields, name, content, kind):
    body = b""
    for own, value in fields:
        body += f'--limit\r\nContent-Disposition: form-data; name="{own}"\r\n\r\n{value}\r\n'.encode()
    about = f'--limit\r\nContent-Disposition: form-data; name="photo"; filename="{name}"\r\nContent-Type: {kind}\r\n\r\n'.encode()
    return body + about + content + b"\r\n--limit--\r\n"


def send_photo(person, form, content, name="photo.jpg", kind="image/jpeg"):
    """Send the form with this file, and arrive where the answer leads: its status."""
    fields = [(own, value) for own, value, what, _ in form.fields if what != "file"]
    answer = person.send("POST", form.action, multipart(fields, name, content, kind), Content_Type="multipart/form-data; boundary=limit")
    status = answer[0]
    person.arrive(form.action, *answer, 200 if status == 303 else status)
    return status


def with_entry(server):
    """A device at the ledger of a sheet with one thing off: the sheet, and the form for a photo of that thing."""
    person = Person(server)
    enter_car(person)
    sheet = begin_sheet(person)
    person.get(f"/sheet/{sheet}/ledger")
    person.submit(person.page.form("/ledger"), what="Coil 3", lies="left tray")
    return person, sheet, person.page.form("/photos")


def photos_on(page):
    return [load for load in page.loads if load and load.startswith("/photo/")]


def size_of(jpeg):
    """Width and height out of a JPEG's frame header; every segment before it is of a kind that holds nothing of the sender's."""
    assert jpeg[:2] == b"\xff\xd8"
    at = 2
    while True:
        marker, length = jpeg[at + 1], struct.unpack(">H", jpeg[at + 2:at + 4])[0]
        assert jpeg[at] == 0xff and marker in (0xe0, 0xdb, 0xc0, 0xc4), f"segment {marker:x}"
        if marker == 0xc0:
            height, width = struct.unpack(">HH", jpeg[at + 5:at + 9])
            return width, height
        at += 2 + length


@promise
def a_photo_of_a_thing_taken_off_stands_beside_it():
    with Server() as server:
        person, sheet, form = with_entry(server)
        assert form.names("file") == ["photo"] and 'capture="environment"' in person.page.source and 'enctype="multipart/form-data"' in person.page.source
        assert send_photo(person, form, PHOTO) == 303
        assert person.page.path == f"/sheet/{sheet}/ledger"
        (path,) = photos_on(person.page)
        assert 'loading="lazy"' in person.page.source and 'alt="Photo 1 of Coil 3"' in person.page.source
        status, headers, content = person.send("GET", path)
        assert status == 200 and headers["content-type"] == "image/jpeg" and headers["x-content-type-options"] == "nosniff"
        assert "default-src 'none'" in headers["content-security-policy"] and "private" in headers["cache-control"]
        assert size_of(content) == (16, 24), "turned upright"
        assert photos_on(person.get(f"/sheet/{sheet}")) == []  # it is of the coil
        person.get(f"/sheet/{sheet}/ledger")
        person.submit(person.page.form("/ledger/1"), "back")
        assert photos_on(person.page) == [path]
        person.crawl()


@promise
def a_browser_asks_before_it_shows_a_photo_again_and_another_garages_photo_is_another():
    shown = []
    for shade in (40, 200):  # one garage after the other at the same address, as a browser meets them
        with Server() as server:
            person, _, form = with_entry(server)
            send_photo(person, form, png(8, 8, zlib.compress((b"\0" + bytes([shade]) * 8) * 8)), "a.png", "image/png")
            (path,) = photos_on(person.page)
            _, headers, content = person.send("GET", path)
            assert headers["cache-control"] == "private, no-cache"
            assert person.send("GET", path, If_None_Match=headers["etag"])[0] == 304
            for old_path, old_tag, old_content in shown:
                status, _, fresh = person.send("GET", path, If_None_Match=old_tag)
                assert old_path == path and old_content != content and (status, fresh) == (200, content)
            shown.append((path, headers["etag"], content))


@promise
def where_it_was_taken_is_not_kept():
    with Server() as server:
        person, _, form = with_entry(server)
        assert b"Exif" in PHOTO and b"WHERE I LIVE" in PHOTO
        comment = b"\xff\xfe" + struct.pack(">H", 2 + 9) + b"my secret"
        send_photo(person, form, PHOTO[:2] + comment + PHOTO[2:] + b"and a note behind the picture", name="holiday at home.jpg")
        _, _, content = person.send("GET", photos_on(person.page)[0])
        for trace in (b"Exif", b"WHERE", b"holiday", b"note", b"secret"):
            assert trace not in content, trace
        for name in ("", "-wal"):  # nor anywhere in the garage file
            with open(server.garage + name, "rb") as file:
                stored = file.read()
            assert b"WHERE I LIVE" not in stored and b"holiday" not in stored, name


@promise
def a_photo_of_the_sheet_can_be_taken_and_taken_away():
    with Server() as server:
        person, sheet, _ = with_entry(server)
        person.get(f"/sheet/{sheet}")
        rows = zlib.compress(b"".join(b"\0" + bytes([n]) * 30 for n in range(20)))
        assert send_photo(person, person.page.form("/photos"), png(30, 20, rows), "screen.png", "image/png") == 303
        assert person.page.path == f"/sheet/{sheet}"
        (path,) = photos_on(person.page)
        assert size_of(person.send("GET", path)[2]) == (30, 20)
        person.submit(person.page.form(path), "delete")
        assert person.page.path == f"/sheet/{sheet}" and photos_on(person.page) == []
        assert person.send("GET", path)[0] == 404


@promise
def what_is_no_photo_is_refused_with_a_line_and_nothing_is_stored():
    with Server() as server:
        person, sheet, form = with_entry(server)
        bomb = zlib.compress(bytes(1000)) * 10
        files = {
            "text.jpg": (b"Not a picture at all", "image/jpeg"), "page.jpg": (b"<html><script>alert(1)</script>", "image/jpeg"),
            "drawing.svg": (b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "image/svg+xml"), "moving.gif": (b"GIF89a" + bytes(50), "image/gif"),
            "half.jpg": (PHOTO[:-60], "image/jpeg"), "head.jpg": (PHOTO[:200], "image/jpeg"), "empty.jpg": (b"", "image/jpeg"),
            "apple.heic": (b"\0\0\0\x18ftypheic" + bytes(100), "image/heic"), "huge.png": (png(50_000, 50_000, bomb), "image/png"),
            "wide.png": (png(2**31 - 1, 1, bomb), "image/png"), "lies.png": (png(5000, 5000, bomb), "image/png"), "noise.jpg": (os.urandom(100_000), "image/jpeg"),
            "both.jpg": (b"\xff\xd8\xff" + os.urandom(5000), "image/jpeg"),
        }
        lines = set()
        for name, (content, kind) in files.items():
            assert send_photo(person, form, content, name, kind) == 422, name
            alert = re.search(r'role="alert"[^>]*>(?:<[^>]*>)*([^<]+)<', person.page.source).group(1)
            assert len(alert) > 15 and "alert(1)" not in alert, (name, alert)
            lines.add(alert)
        assert len(lines) >= 5, lines
        assert any("megapixel" in line for line in lines) and any("cut short" in line for line in lines), lines
        for fields in ({"photo": "text where a file should be"}, {}):
            body = urllib.parse.urlencode({"token": form.value("token"), "entry": form.value("entry")} | fields)
            assert person.send("POST", form.action, body)[0] == 422
        assert photos_on(person.get(f"/sheet/{sheet}/ledger")) == [] and person.send("GET", "/photo/1")[0] == 404
        subprocess.run([PROGRAM, "verify", "--garage", server.garage], check=True, stdout=subprocess.DEVNULL)


@promise
def the_same_photo_sent_twice_is_kept_once():
    with Server() as server:
        person, _, form = with_entry(server)
        assert send_photo(person, form, PHOTO) == 303 and send_photo(person, form, PHOTO) == 303
        assert len(photos_on(person.page)) == 1
        send_photo(person, person.page.form("/photos"), PHOTO)
        assert len(photos_on(person.page)) == 2


@promise
def a_photo_from_elsewhere_or_for_what_is_not_there_is_not_kept():
    with Server() as server:
        person, sheet, form = with_entry(server)
        token = form.value("token")
        kind = "multipart/form-data; boundary=limit"
        good = [("token", token)]
        assert person.send("POST", form.action, multipart([], "a.jpg", PHOTO, "image/jpeg"), Content_Type=kind)[0] == 403
        assert person.send("POST", form.action, multipart(good, "a.jpg", PHOTO, "image/jpeg"), Content_Type=kind, Origin="http://elsewhere.example")[0] == 403
        assert person.send("POST", form.action, multipart(good + [("ledger", "99")], "a.jpg", PHOTO, "image/jpeg"), Content_Type=kind)[0] == 422
        assert person.send("POST", "/sheet/99/photos", multipart(good, "a.jpg", PHOTO, "image/jpeg"), Content_Type=kind)[0] == 404
        for path in ("/photo/0", "/photo/99", "/photo/x", "/photo/../photo/1"):
            assert person.send("GET", path)[0] == 404, path
        assert photos_on(person.get(f"/sheet/{sheet}/ledger")) == []


@promise
def a_photo_that_is_too_large_to_send_is_refused_at_once():
    with Server() as server:
        person, _, form = with_entry(server)
        begun = time.monotonic()
        status, _, content = person.send("POST", form.action, b"", Content_Type="multipart/form-data; boundary=limit", Content_Length=str(16 * 1024 * 1024 + 1))
        assert status == 413 and b"16 MB" in content and time.monotonic() - begun < 10
        # The largest that is taken is looked at, and refused for what it is.
        filler = b"x" * (16 * 1024 * 1024 - 2000)
        assert send_photo(person, form, filler) == 422


if __name__ == "__main__":
    sys.exit(keep())
