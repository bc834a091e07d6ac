#!/usr/bin/env python3
"""Promises of the server towards those who mean no good, through the real program. TAP.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import re
import socket
import statistics
import sys
import threading
import time
import urllib.parse

from browse import START_SECONDS, Person, Server
from newcomer import begin_sheet, enter_car, enter_reading
from promises import CannotRun, keep, promise

PATIENCE_SECONDS = 20  # src/web/http.h: what a connection may take for its headers
IDLE = 500
FORM = "application/x-www-form-urlencoded"


def raw(server, content, seconds=START_SECONDS):
    """The bytes as they are, and all that comes back until the server closes or falls silent."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=seconds) as link:
        try:
            link.sendall(content)
            link.shutdown(socket.SHUT_WR)
        except OSError:
            pass  # refused before it was all sent: the answer says so
        parts = []
        try:
            while part := link.recv(65536):
                parts.append(part)
        except OSError:
            pass
        return b"".join(parts)


def request(server, line, *headers, body=b""):
    return raw(server, "\r\n".join([line, f"Host: localhost:{server.port}", *headers, "Connection: close", "", ""]).encode("latin-1") + body)


def status(answer):
    found = re.match(rb"HTTP/1\.[01] (\d{3})", answer)
    return int(found.group(1)) if found else 0


def still_well(server):
    person = Person(server)
    person.get("/")
    return person


def own_address():
    """An address of this machine that is not loopback; no packet is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: nobody's
            address = probe.getsockname()[0]
        except OSError:
            address = "127.0.0.1"
    if address.startswith("127."):
        raise CannotRun("this machine has no address but loopback")
    return address


# ------------------------------------------------------------------ what is asked for


@promise
def no_path_leads_out_of_the_pages():
    with Server() as server:
        for path in ("/../../../../etc/passwd", "/asset/../../etc/passwd", "/asset/..%2f..%2fetc/passwd", "/asset/%2e%2e/%2e%2e/etc/passwd",
                     "//etc/passwd", "/asset//etc/passwd", "/asset/....//....//etc/passwd", "/asset/look.css%00.png", "/asset/.htaccess",
                     "/garage.db", "/asset/..\\..\\etc\\passwd", "/" + "a" * 300, "/" + "a/" * 120, "*", "http://elsewhere.example/"):
            answer = request(server, f"GET {path} HTTP/1.1")
            assert status(answer) in (400, 404, 414) and b"root:" not in answer, (path, answer[:200])
        still_well(server)


@promise
def another_host_is_not_answered():
    with Server() as server:
        for host in ("elsewhere.example", "localhost.elsewhere.example", "127.0.0.1.elsewhere.example", "", "localhost:x", "[::1", "0.0.0.0", "a" * 500):
            answer = raw(server, f"GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode())
            assert status(answer) in (400, 421) and b"Garage</h1>" not in answer, (host, answer[:200])
        twice = raw(server, f"GET / HTTP/1.1\r\nHost: localhost:{server.port}\r\nHost: elsewhere.example\r\nConnection: close\r\n\r\n".encode())
        assert status(twice) in (400, 421), twice[:200]
        assert status(raw(server, b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n")) in (400, 421)


@promise
def a_method_that_a_page_does_not_have_is_refused():
    with Server() as server:
        for method in ("PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "BREW", "get"):
            answer = request(server, f"{method} / HTTP/1.1")
            assert status(answer) in (400, 405, 501), (method, answer[:200])
        answer = request(server, "GET /gauges HTTP/1.1")
        assert status(answer) == 405 and b"allow: post" in answer.lower(), answer[:400]


# ------------------------------------------------------------------ how it is sent


@promise
def a_length_that_is_wrong_is_refused():
    with Server() as server:
        person = still_well(server)
        cookie = f"Cookie: {person.cookie}"
        post = ("POST /cars/new HTTP/1.1", cookie, f"Content-Type: {FORM}")
        for lengths in (["Content-Length: -1"], ["Content-Length: 4x"], ["Content-Length: 4", "Content-Length: 5"], ["Content-Length: 99999999999999999999"],
                        ["Content-Length: 4", "Transfer-Encoding: chunked"], ["Content-Length: +4"], ["Content-Length: 0x4"]):
            answer = request(server, *post, *lengths, body=b"name")
            assert status(answer) in (0, 400, 413), (lengths, answer[:200])
        assert status(request(server, *post, body=b"name=a")) == 411
        answer = request(server, *post, "Content-Length: 500", body=b"name=a")  # and then the line goes dead
        assert status(answer) in (0, 400), answer[:200]
        assert status(request(server, "GET / HTTP/1.1", cookie, "Content-Length: 4", body=b"name")) == 400
        assert "Nothing here yet" in still_well(server).page.says


@promise
def a_body_or_a_head_too_large_is_refused():
    with Server() as server:
        person = still_well(server)
        cookie = f"Cookie: {person.cookie}"
        answer = request(server, "POST /cars/new HTTP/1.1", cookie, f"Content-Type: {FORM}", "Content-Length: 70000", body=b"a" * 70000)
        assert status(answer) == 413, answer[:200]
        answer = request(server, "POST /cars/new HTTP/1.1", cookie, f"Content-Type: {FORM}", "Content-Length: 4000000000", body=b"a" * 1000)
        assert status(answer) == 413, answer[:200]
        flood = request(server, "GET / HTTP/1.1", *(f"X-{number}: {'a' * 100}" for number in range(2000)))
        assert status(flood) in (0, 400, 413, 431), flood[:200]
        flood = request(server, "GET /?" + "a" * 100_000 + " HTTP/1.1")
        assert status(flood) in (0, 400, 414, 431), flood[:200]
        fields = urllib.parse.urlencode([(f"f{number}", "") for number in range(600)]).encode()
        answer = request(server, "POST /cars/new HTTP/1.1", cookie, f"Content-Type: {FORM}", f"Content-Length: {len(fields)}", body=fields)
        assert status(answer) in (400, 413), answer[:200]
        still_well(server)


@promise
def text_that_is_none_is_refused():
    with Server() as server:
        person = still_well(server)
        person.get("/cars/new")
        form = person.page.form("/cars/new")
        fields = dict(form.filled({}, None))
        for spoilt in (b"%ff%fe", b"%c0%af", b"%ed%a0%80", b"a%00b", b"%f5%80%80%80", b"%e2%82", b"%01", b"%zz"):
            body = urllib.parse.urlencode(fields | {"name": "SPOILT"}).encode().replace(b"SPOILT", spoilt)
            code = person.send("POST", "/cars/new", body)[0]
            assert code == 400, (spoilt, code)
        assert "Nothing here yet" in person.get("/").says
        assert status(request(server, "GET /sheets?car=%ff HTTP/1.1", f"Cookie: {person.cookie}")) == 400


@promise
def a_malformed_form_with_parts_is_refused():
    with Server() as server:
        person = still_well(server)
        token = person.get("/cars/new").form("/cars/new").value("token")
        part = f'--B\r\nContent-Disposition: form-data; name="token"\r\n\r\n{token}\r\n'
        name = '--B\r\nContent-Disposition: form-data; name="name"\r\n\r\nParts\r\n'
        cylinders = '--B\r\nContent-Disposition: form-data; name="cylinders"\r\n\r\n4\r\n'
        whole = part + name + cylinders + "--B--\r\n"
        for spoilt in (whole[:-6], whole.replace("--B--", "--B"), "x" + whole, whole.replace('; name="name"', ""), whole.replace("Content-Disposition", "X"),
                       whole.replace("form-data; name=\"name\"", "form-data; name=\"name"), part + name.replace("name=", "n" * 2000 + "="), "", "--B--",
                       whole.replace("Parts", "P\0arts"), whole.replace("\r\n", "\n")):
            code, _, content = person.send("POST", "/cars/new", spoilt, Content_Type="multipart/form-data; boundary=B")
            assert code in (400, 403, 413), (spoilt[:300], code, content[-300:])
        for kind in ("multipart/form-data", "multipart/form-data; boundary=", "multipart/form-data; boundary=" + "b" * 400):
            assert person.send("POST", "/cars/new", whole, Content_Type=kind)[0] in (400, 403), kind
        for kind in ("text/plain", "application/json", "text/xml"):
            assert person.send("POST", "/cars/new", whole, Content_Type=kind)[0] == 415, kind
        assert "Nothing here yet" in person.get("/").says
        assert person.send("POST", "/cars/new", whole, Content_Type="multipart/form-data; boundary=B")[0] == 303  # so it was the spoiling


@promise
def a_slow_sender_is_cut_off_and_hinders_nobody():
    with Server() as server:
        begun, ended = time.monotonic(), []

        def dribble():
            with socket.create_connection(("127.0.0.1", server.port), timeout=START_SECONDS) as link:
                link.sendall(f"GET / HTTP/1.1\r\nHost: localhost:{server.port}\r\n".encode())
                try:
                    while time.monotonic() - begun < 3 * PATIENCE_SECONDS:
                        link.sendall(b"X-A: a\r\n")  # a header a second, for ever
                        time.sleep(1)
                        link.settimeout(0.01)
                        try:
                            if link.recv(100) == b"":
                                break
                        except TimeoutError:
                            pass
                except OSError:
                    pass
            ended.append(time.monotonic() - begun)

        slow = [threading.Thread(target=dribble) for _ in range(16)]  # twice the server's threads
        for one in slow:
            one.start()
        time.sleep(2)
        before = time.monotonic()
        still_well(server)
        assert time.monotonic() - before < 2, "slow senders hold the others up"
        for one in slow:
            one.join()
        # They are looked for once a second or so; a loaded machine may take longer.
        assert max(ended) < PATIENCE_SECONDS + 15, ended


@promise
def five_hundred_idle_connections_hinder_nobody():
    with Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        idle = [socket.create_connection(("127.0.0.1", server.port), timeout=START_SECONDS) for _ in range(IDLE)]
        times = []
        for number in range(20):
            begun = time.monotonic()
            enter_reading(person, sheet, number % 4 + 1, "170")
            times.append(time.monotonic() - begun)
        for link in idle:
            link.close()
        # Three requests and a flush to the disk each; half a second is what a person would notice.
        assert statistics.median(times) < 0.5, times
        assert person.get(f"/sheet/{sheet}").status == 200


# ------------------------------------------------------------------ who it is from


@promise
def a_cookie_that_is_not_ours_lets_nobody_change_anything():
    with Server() as server:
        person = still_well(server)
        person.get("/cars/new")
        body = urllib.parse.urlencode(person.page.form("/cars/new").filled({"name": "Stolen"}, None))
        name, value = person.cookie.split("=", 1)
        guesses = [value[:-1] + ("0" if value[-1] != "0" else "1"), value[1:], value.replace(".", ""), "", "." * 10, value + "0", value.upper(), "0" * len(value)]
        for guess in guesses:
            assert person.send("POST", "/cars/new", body, Cookie=f"{name}={guess}")[0] == 403, guess
        assert "Nothing here yet" in person.get("/").says


@promise
def the_cookie_is_out_of_reach_of_scripts_and_other_sites():
    with Server() as server:
        _, headers, _ = Person(server).send("GET", "/")
        cookie = headers["set-cookie"]
        assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/" in cookie, cookie


def on_the_lan(address, server):
    class Device(Person):
        """A device that comes by the machine's address in the network."""

        def send(self, method, path, body=None, **headers):
            return super().send(method, path, body, Host=f"{address}:{server.port}", **headers)

    return Device(server, address)


@promise
def a_new_device_in_the_network_needs_the_code_and_cannot_guess_it():
    address = own_address()
    with Server(None, "--lan") as server:
        device = on_the_lan(address, server)
        page = device.get("/")
        assert page.path == "/pair", page.path
        for path in ("/cars", "/sheets/new", "/settings", "/sheet/1"):
            assert device.get(path).path == "/pair", path
        code = re.search(r"asks for this code: (\d{3}) (\d{3})", server.said(r"asks for this code"))
        right = code.group(1) + code.group(2)
        body = urllib.parse.urlencode(device.page.form("/pair").filled({}, None) + [("name", "x")])
        assert device.send("POST", "/cars/new", body)[0] == 403
        wrong = f"{(int(right) + 1) % 1_000_000:06d}"
        waits = 0
        for _ in range(6):
            sent = urllib.parse.urlencode(device.page.form("/pair").filled({"code": wrong}, None))
            waits += device.send("POST", "/pair", sent)[0] == 429
        assert waits >= 2, waits
        sent = urllib.parse.urlencode(device.page.form("/pair").filled({"code": right}, None))
        assert device.send("POST", "/pair", sent)[0] == 429  # the right one as well, until the wait is over
        deadline = time.monotonic() + START_SECONDS
        while device.send("POST", "/pair", sent)[0] == 429 and time.monotonic() < deadline:
            time.sleep(1)
        assert device.get("/").path == "/", "the right code does not let in"


@promise
def without_lan_the_network_reaches_nothing():
    address = own_address()
    with Server() as server:
        try:
            with socket.create_connection((address, server.port), timeout=2):
                raise AssertionError("the server listens in the network")
        except OSError:
            pass


if __name__ == "__main__":
    sys.exit(keep())
