#!/usr/bin/env python3
"""Promises of the server against those who mean harm, through the real program and sockets of our own. TAP.

docs/threats.md names these tests beside what they guard against.
Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import contextlib
import os
import re
import select
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse

import raw
from browse import PROGRAM, Person, Server
from entering import Killable
from newcomer import begin_sheet, enter_car, enter_reading
from promises import CannotRun, keep, promise
from runs import log_of, send_log
from seasons import day, enter_event, enter_part

SOURCE = os.environ["CROSSHATCH_SOURCE"]
SPITEFUL = "<script>alert(1)</script><b>&\"'</b>"
PATIENCE_SECONDS = 20  # what http.h promises
FORM = "Content-Type: application/x-www-form-urlencoded"


def ready_to_enter(server):
    """A device with an open sheet, and the form of a reading as it would send it."""
    person = Person(server)
    enter_car(person)
    sheet = begin_sheet(person)
    person.get(f"/sheet/{sheet}/measure?cylinder=1")
    form = person.page.form("/measure")
    return person, sheet, form.action, urllib.parse.urlencode(form.filled({"reading": "170"}, None)).encode()


def entries(server):
    """How many readings the garage holds, asked by a new device."""
    listing = Person(server).get("/sheets").says
    return sum(int(found) for found in re.findall(r"(\d+) entr", listing))


def still_works(server):
    assert Person(server).get("/").status == 200


# ------------------------------------------------------------------ paths


@promise
def no_path_leads_out_of_the_program():
    inside = ["/../../../../etc/passwd", "/asset/../../../../etc/passwd", "/asset/..%2f..%2f..%2fetc%2fpasswd", "/%2e%2e/%2e%2e/etc/passwd",
              "/asset/%2e%2e%2f%2e%2e%2fetc%2fpasswd", "/asset/..%5c..%5cetc%5cpasswd", "/asset/....//....//etc/passwd", "//etc/passwd",
              "/asset//etc/passwd", "/asset/..%c0%af..%c0%afetc/passwd", "/asset/..%252f..%252fetc%252fpasswd", "/asset/look.css%00.png",
              "/asset/look.css/..", "/asset/.", "/asset/..", "/asset/.hidden", "/asset/" + "a" * 300, "/" + "../" * 60 + "etc/passwd",
              "/asset/look.css;v=1", "/asset/LOOK.CSS", "/asset/look.css/", "/sheet/1/../../asset/look.css", "/\\..\\..\\etc\\passwd",
              "file:///etc/passwd", "http://localhost/etc/passwd", "*", "garage.db", "/garage.db", "/asset/garage.db", "/sheet/1%2fmeasure"]
    with Server() as server:
        for path in inside:
            answer = raw.send(server, raw.request(server, f"GET {path} HTTP/1.1"))
            assert answer.status in (400, 404), (path, answer)
            assert b"root:" not in answer.data, path
            if answer.status == 404:
                raw.assert_safe(answer)


# ------------------------------------------------------------------ sizes and lengths


@promise
def a_body_declared_too_large_is_refused_before_it_is_sent():
    with Server() as server:
        person, _, action, _ = ready_to_enter(server)
        for length in (64 * 1024 + 1, 9 * 1024 * 1024, 2**31, 2**40, 2**63 - 1):
            head = raw.request(server, f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM, f"Content-Length: {length}")
            answer = raw.send(server, head, half_close=False)
            assert answer.statuses == [413], (length, answer)
            raw.assert_safe(answer)
        still_works(server)


@promise
def a_body_larger_than_declared_is_never_taken_for_more():
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        own = f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM
        answer = raw.send(server, raw.request(server, *own, f"Content-Length: {len(body)}", body=body + b"&reading=99" * 100_000))
        assert answer.statuses == [303], answer
        assert entries(server) == 1 and "170" in person.get(action).says


@promise
def a_length_that_is_unclear_changes_nothing():
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        n = len(body)
        lengths = [["Content-Length: -1"], ["Content-Length: +%d" % n], ["Content-Length: 0x10"], ["Content-Length: "], ["Content-Length: all"],
                   [f"Content-Length: {n}, {n}"], [f"Content-Length: {n}", f"Content-Length: {n}"], [f"Content-Length: {n}", "Content-Length: 0"],
                   ["Content-Length: 18446744073709551616"], [f"Content-Length: {2**64 + n}"], ["Content-Length: 9" + "9" * 60],
                   [f"Content-Length : {n}"], [f"Content-Length: {n}", "Transfer-Encoding: chunked"], ["Transfer-Encoding: chunked"],
                   ["Transfer-Encoding: identity", f"Content-Length: {n}"], ["Transfer-Encoding: xchunked"], ["Transfer-Encoding : chunked"],
                   ["Transfer-Encoding: chunked", "Transfer-Encoding: identity"], [f"Content-Length: {n}", "Transfer-Encoding:\tchunked"],
                   [f"Content-Length: {n} {n}"], ["Content-Length: 1e2"], []]
        for headers in lengths:
            chunked = any("chunked" in header for header in headers)
            sent = b"%x\r\n%s\r\n0\r\n\r\n" % (n, body) if chunked else body
            answer = raw.send(server, raw.request(server, f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM, *headers, body=sent))
            # Nothing but refusals: what follows is not read as a second request.
            assert set(answer.statuses) <= {400, 411, 413, 501}, (headers, answer)
        assert entries(server) == 0
        for headers in (["Content-Length: 5"], ["Transfer-Encoding: chunked"]):
            answer = raw.send(server, raw.request(server, "GET / HTTP/1.1", *headers, body=b"hello"))
            assert set(answer.statuses) <= {400}, answer


@promise
def a_body_cut_short_stores_nothing():
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        head = f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM, f"Content-Length: {len(body) + 1}"
        assert raw.send(server, raw.request(server, *head, body=body)).status in (0, 400)
        for missing in (1, 10, len(body) - 1):
            with raw.connect(server) as link:
                head = f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM, f"Content-Length: {len(body)}"
                link.sendall(raw.request(server, *head, body=body[:-missing]))
        assert entries(server) == 0


@promise
def a_flood_of_headers_ends_the_connection():
    with Server() as server:
        floods = [[f"X-{n}: {'a' * 50}" for n in range(2000)], ["X: " + "a" * 100_000], ["a" * 100_000], ["Cookie: " + "a=b; " * 20_000],
                  [f"Cookie: crosshatch_{server.port}={'f' * 30_000}"], ["X:"] * 20_000, [" folded" * 10_000], ["Host: " + "a" * 40_000]]
        for headers in floods:
            answer = raw.send(server, raw.request(server, "GET / HTTP/1.1", *headers))
            assert answer.status in (0, 400, 413, 414, 431), (headers[0][:50], answer)
        answer = raw.send(server, raw.request(server, f"GET /?{'a' * 100_000} HTTP/1.1"))
        assert answer.status in (0, 413, 414, 431), answer
        with raw.connect(server) as link:  # without an end
            sent = 0
            try:
                while sent < 50_000_000:
                    sent += link.send(b"X: aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa\r\n" * 100 if sent else b"GET / HTTP/1.1\r\n")
            except (BrokenPipeError, ConnectionResetError):
                pass
            assert sent < 50_000_000
        still_works(server)


@promise
def what_is_no_request_ends_the_connection():
    with Server() as server:
        for sent in (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(range(256)), b"\0" * 1000, b"\r\n\r\n", b"GET\r\n\r\n", b"GET / \r\n\r\n",
                     b"GET / HTTP/9.9\r\n\r\n", b"GET  /  HTTP/1.1\r\n\r\n", b"GET / HTTP/1.1\r\nHost\r\n\r\n",
                     b"GET / HTTP/1.1\r\n: a\r\n\r\n", b"GET /\r HTTP/1.1\r\n\r\n", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n"):
            answer = raw.send(server, sent)
            assert answer.status == 0 or 400 <= answer.status < 600, (sent[:30], answer)
        still_works(server)


@promise
def methods_that_no_page_has_are_refused():
    with Server() as server:
        person, sheet, action, body = ready_to_enter(server)
        for method in ("PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "OPTIONS", "get", "PROPFIND", "X" * 200):
            answer = raw.send(server, raw.request(server, f"{method} {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM,
                                                  f"Content-Length: {len(body)}", "X-HTTP-Method-Override: POST", body=body))
            assert answer.status in (400, 405, 501), (method, answer)
            assert answer.status != 405 or "GET" in answer.headers["allow"], answer
            assert b"X-HTTP-Method-Override" not in answer.body  # nothing comes back as it was sent (TRACE)
        assert entries(server) == 0
        status, headers, content = person.send("HEAD", f"/sheet/{sheet}")
        assert status == 200 and content == b"" and int(headers["content-length"]) > 1000


# ------------------------------------------------------------------ slow and many


@promise
def a_slow_client_is_let_go_after_twenty_seconds():
    """Headers, and a body, a byte a second; a connection that says nothing; one that takes no answers. All at the same time."""
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        head = f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", FORM, f"Content-Length: {len(body)}"
        greedy = b"GET /help HTTP/1.1\r\nHost: localhost\r\n\r\n" * 3000
        begun, closed, problems = time.monotonic(), {}, []

        def drip(name, at_once, slowly):
            try:
                with raw.connect(server) as link:
                    link.sendall(at_once)
                    link.settimeout(1)
                    while True:
                        try:
                            link.sendall(slowly[:1])
                            slowly = slowly[1:] or b"a"
                            if not link.recv(1000):
                                break
                        except socket.timeout:
                            assert time.monotonic() - begun < 60, f"{name} is still open"
            except (BrokenPipeError, ConnectionResetError):
                pass
            except AssertionError as problem:
                problems.append(problem)
            closed[name] = time.monotonic() - begun

        def take_nothing(name):
            try:
                with raw.connect(server) as link:
                    link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
                    link.settimeout(40)
                    while time.monotonic() < begun + 60:
                        link.sendall(greedy)
                    problems.append("someone who takes no answers is still served")
            except (BrokenPipeError, ConnectionResetError):
                pass
            closed[name] = time.monotonic() - begun

        threads = [threading.Thread(target=drip, args=(f"headers {n}", b"GET / HTTP/1.1\r\n", b"Host: localhost\r\n" + b"X: a\r\n" * 50)) for n in range(16)]  # twice the server's threads
        threads += [threading.Thread(target=drip, args=(f"body {n}", raw.request(server, *head), body)) for n in range(3)]
        threads += [threading.Thread(target=drip, args=("request line", b"", b"GET /" + b"a" * 100))]
        threads += [threading.Thread(target=take_nothing, args=("answers",))]
        for thread in threads:
            thread.start()
        time.sleep(2)
        before = time.monotonic()
        still_works(server)
        quick = time.monotonic() - before
        with raw.connect(server) as silent:
            closed["silence"] = raw.receive(silent, 60).seconds
        for thread in threads:
            thread.join()
        assert not problems, problems
        assert quick < 2, f"others wait {quick} s for slow ones"
        for name, seconds in closed.items():  # some seconds for a busy machine, and for the once-a-second look
            assert PATIENCE_SECONDS - 2 < seconds < PATIENCE_SECONDS + 20, closed
        assert entries(server) == 0


@promise
def five_hundred_idle_connections_do_not_slow_one_person_down():
    with Server() as server:
        person, sheet, _, _ = ready_to_enter(server)
        idle = [raw.connect(server) for _ in range(500)]
        for number, link in enumerate(idle):
            if number % 2:
                link.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n" if number % 4 == 1 else b"GET /asset/look.css HTTP/1.1\r\nHost: localhost\r\n\r\n")
        times = []
        for number in range(20):
            form = person.get(f"/sheet/{sheet}/measure?cylinder={number % 4 + 1}").form("/measure")
            sent = urllib.parse.urlencode(form.filled({"reading": "170"}, None))
            for method, path, body in (("GET", "/", None), ("GET", f"/sheet/{sheet}/ledger", None), ("POST", form.action, sent)):
                begun = time.monotonic()
                person.send(method, path, body)
                times.append(time.monotonic() - begun)
        for link in idle:
            link.close()
        assert entries(server) == 20
        # 0.25 s is promised; that nine in ten keep it leaves room for what else the machine does during a test.
        assert statistics.quantiles(times, n=10)[-1] < 0.25, sorted(times)[-10:]


@promise
def long_judging_for_one_device_holds_no_other_up():
    with Server() as server:
        sheet = os.path.join(SOURCE, "demo/hill-climb-burnt-valve.yaml")
        subprocess.run([PROGRAM, "import", "--garage", server.garage, sheet], check=True, stdout=subprocess.DEVNULL)
        person = Person(server)
        person.get("/")
        # Kept connections: more than the server has threads, so that each of these has some.
        kept = [raw.connect(server) for _ in range(40)]
        judging = []

        def judge():
            begun = time.monotonic()
            status = Person(server).send("GET", "/sheet/1/findings?why=3")[0]
            judging.append((status, time.monotonic() - begun))

        thread = threading.Thread(target=judge)
        thread.start()
        time.sleep(0.2)
        waited = []
        ask = f"GET /sheet/1/revision HTTP/1.1\r\nHost: localhost\r\nCookie: {person.cookie}\r\n\r\n".encode()
        for link in kept:
            begun = time.monotonic()
            link.sendall(ask)
            assert b" 200 " in link.recv(4096)
            waited.append(time.monotonic() - begun)
            if not thread.is_alive():
                break
        thread.join()
        for link in kept:
            link.close()
        assert judging[0][0] == 200, judging
        assert max(waited) < max(0.25, judging[0][1] / 2), (max(waited), len(waited), judging)


def answered_of(server, crowd):
    """How many of so many connections, all open at once and each with a request, are answered before it has been quiet for half a second."""
    links = [raw.connect(server) for _ in range(crowd)]
    for link in links:
        with contextlib.suppress(OSError):  # closed at once
            link.sendall(b"GET /asset/look.css HTTP/1.1\r\nHost: localhost\r\n\r\n")
    waiting = select.poll()
    by_number = {link.fileno(): link for link in links}
    for number in by_number:
        waiting.register(number, select.POLLIN)
    answered = 0
    while ready := waiting.poll(500):
        for number, _ in ready:
            waiting.unregister(number)
            with contextlib.suppress(ConnectionResetError):
                answered += by_number[number].recv(12) == b"HTTP/1.1 200"
    for link in links:
        link.close()
    return answered


@promise
def more_connections_than_allowed_are_turned_away_and_the_server_recovers():
    """As src/web/http.h has it: 640, and of one address 64 where others of the network may come."""
    for options, limit, crowd in (((), 640, 700), (("--lan",), 64, 100)):
        with Server(None, *options) as server:
            answered = answered_of(server, crowd)
            assert limit // 2 < answered <= limit, (options, answered)
            until = time.monotonic() + 10
            while raw.send(server, raw.request(server, "GET / HTTP/1.1")).status == 0:  # until it has noticed that they are gone
                assert time.monotonic() < until, options
                time.sleep(0.05)
            still_works(server)


# ------------------------------------------------------------------ text that is none


BROKEN_UTF8 = [b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf4\x90\x80\x80", b"\xe2\x82", b"\x80", b"\xc2\x85", b"\x00", b"\x1b[31m", b"\x7f"]


@promise
def text_that_is_not_utf8_is_refused_wherever_it_stands():
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        cookie = f"Cookie: {person.cookie}"

        def post(content, kind=FORM):
            return raw.send(server, raw.request(server, f"POST {action} HTTP/1.1", cookie, kind, f"Content-Length: {len(content)}", body=content))

        for bad in BROKEN_UTF8:
            encoded = "".join(f"%{byte:02x}" for byte in bad).encode()
            refused = [post(body + b"&note=" + encoded), post(body + b"&" + encoded + b"=1"), post(body + b"&note=" + bad)]
            refused += [raw.send(server, raw.request(server, b"GET " + path + b" HTTP/1.1", cookie)) for path in (
                b"/" + encoded, b"/asset/" + encoded, b"/sheets?car=" + encoded, b"/sheets?" + encoded + b"=1", b"/sheet/1" + encoded)]
            for boundary_part in (b'name="%s"' % bad, b'name="note"; filename="%s"' % bad):
                refused.append(post(multipart(person, [(boundary_part, b"x")]), MULTIPART))
            refused.append(post(multipart(person, [(b'name="note"', b"a" + bad)]), MULTIPART))
            for answer in refused:
                assert answer.status in (0, 400, 404), (bad, answer)
                answer.body.decode("utf-8")
                assert bad not in answer.body or bad in (b"\x00", b"\x7f", b"\x80"), (bad, answer)
            for header in (b"User-Agent: ", b"Accept-Language: ", b"Referer: ", b"X: "):  # not looked at
                assert raw.send(server, raw.request(server, "GET / HTTP/1.1", header + bad)).status in (0, 200, 400), (bad, header)
            for header in (b"Origin: ", b"Content-Type: ", b"Cookie: "):
                sent = raw.request(server, f"POST {action} HTTP/1.1", header + bad, f"Content-Length: {len(body)}", body=body)
                assert raw.send(server, sent).status in (0, 400, 403, 415), (bad, header)
            if bad != b"\x00":  # the HTTP library ends a header there; no browser sends one, and another client may name us anyway
                assert raw.send(server, raw.request(server, b"GET / HTTP/1.1", host="localhost" + bad.decode("latin-1"))).status in (400, 421), bad
        for bad in (b"%", b"%1", b"%zz", b"%u0041"):
            assert post(body + b"&note=" + bad).status == 400, bad
        assert entries(server) == 0


# ------------------------------------------------------------------ multipart

MULTIPART = "Content-Type: multipart/form-data; boundary=limit"


def multipart(person, parts):
    """A body of parts (what stands behind form-data, content), with the form's token before them."""
    token = person.page.forms[0].value("token").encode()
    body = b""
    for about, content in [(b'name="token"', token), *parts]:
        body += b"--limit\r\nContent-Disposition: form-data; " + about + b"\r\n\r\n" + content + b"\r\n"
    return body + b"--limit--\r\n"


@promise
def a_malformed_multipart_form_is_refused_whole():
    with Server() as server:
        person, _, action, _ = ready_to_enter(server)
        good = multipart(person, [(b'name="kind"', b"dry"), (b'name="cylinder"', b"1"), (b'name="reading"', b"170")])

        def post(content, kind=MULTIPART):
            return raw.send(server, raw.request(server, f"POST {action} HTTP/1.1", f"Cookie: {person.cookie}", kind,
                                                f"Content-Length: {len(content)}", body=content))

        wrong = [good[:-4], good[:-len(b"--limit--\r\n")], b"x" + good, b"\r\n" + good, good.replace(b"--limit", b"--other"), b"", b"--limit--",
                 good.replace(b"form-data", b"attachment", 1), good.replace(b'name="token"', b"name=token", 1),
                 good.replace(b'name="token"', b'name=""', 1), good.replace(b'name="token"', b'name="token', 1),
                 good.replace(b"\r\n\r\n", b"\r\nContent-Transfer-Encoding: base64\r\n\r\n", 1), good.replace(b"\r\n", b"\n"),
                 good.replace(b"Content-Disposition", b"X" * 2000 + b": a\r\nContent-Disposition", 1), good.replace(b"--limit\r\n", b"--limit \r\n", 1),
                 good.replace(b"Content-Disposition: form-data", b"Content-Disposition: form-data; name=\"a\"\r\nContent-Disposition: form-data", 1),
                 good.replace(b"\r\n\r\n", b"\r\n\0\r\n\r\n", 1), good.replace(b"--limit\r\n", b"--limit\r\n--limit\r\n", 1),
                 multipart(person, [(b'name="a%d"' % n, b"") for n in range(600)])]
        for content in wrong:
            answer = post(content)
            assert answer.status in (400, 403), (content[:80], answer)
            raw.assert_safe(answer)
        for kind in ("multipart/form-data", "multipart/form-data; boundary=", 'multipart/form-data; boundary="limit', "multipart/mixed; boundary=limit",
                     "multipart/form-data; boundary=" + "a" * 71, "multipart/form-data; boundary=li\tmit", "text/plain", "application/json", ""):
            answer = post(good, f"Content-Type: {kind}")
            assert answer.status in (400, 415), (kind, answer)
        assert entries(server) == 0
        assert post(good + b"what stands behind the end is not looked at").status == 303
        assert entries(server) == 1


# ------------------------------------------------------------------ script


@promise
def script_in_every_field_and_address_comes_back_as_text():
    """Every field of every form, of whatever kind and hidden ones too, and every question in an address."""
    with Server() as server:
        person = Person(server)
        enter_car(person, cylinders=1)  # fewer pages to go through
        sheet = begin_sheet(person, gauge_name="Gauge")
        enter_reading(person, sheet, 1, "170")
        enter_event(person, -9, "Was")
        enter_event(person, 9, "Comes")
        enter_part(person, "engine_oil", fitted=day(-20))
        send_log(person, log_of())
        person.get("/car/1/winter")
        person.submit(person.page.form("/winter"), w5="", w6="", **{"in": ["brake_pads"]})
        for _ in range(3):  # the car on stands, the wheels off
            person.get("/car/1/winter/job/brake_pads")
            person.submit(person.page.form("/job/brake_pads"), "done")
        person.get("/task/1")
        person.submit(person.page.form("/task/1"), "spent", hours="1")
        filled = set()
        for path, page in person.crawl().items():
            for number, form in enumerate(page.forms):
                fields = {name for name in form.names() + [name for name, _, _ in form.buttons] if name not in (None, "token")}
                for name in fields - {name for action, name in filled if action == form.action.split("?")[0]}:
                    sent = [(own, SPITEFUL if own == name else value) for own, value in form.filled({}, None)]
                    sent += [] if name in dict(sent) else [(name, SPITEFUL)]
                    status, _, content = person.hand_in(form, sent)
                    assert status in (200, 303, 400, 404, 409, 422), (path, number, form.action, name, status, content[-500:])
                    assert b"<script>alert" not in content and b"<b>&" not in content, (form.action, name)
                    filled.add((form.action.split("?")[0], name))
        assert len(filled) > 60, len(filled)
        for path in ("/", "/sheets", "/sheets/new", f"/sheet/{sheet}", f"/sheet/{sheet}/measure", f"/sheet/{sheet}/ledger", f"/sheet/{sheet}/findings",
                     f"/sheet/{sheet}/do/open_up", "/row/1", "/pair", "/settings", "/cars/new", "/help", "/export", "/import",
                     "/car/1/season", "/car/1/events", "/event/1", "/car/1/parts", "/part/1", "/car/1/ready", "/car/1/winter", "/car/1/winter/job/brake_pads", "/task/1"):
            for name in ("car", "kind", "cylinder", "step", "why", "code", "again", "sheet", "saved", "gauge", "horizon", "x"):
                status, headers, content = person.send("GET", f"{path}?{name}={urllib.parse.quote(SPITEFUL)}&{urllib.parse.quote(SPITEFUL)}=1")
                assert status in (200, 303, 404) and b"<script>alert" not in content and b"<b>&" not in content, (path, name, status)
                assert "<" not in headers.get("location", ""), headers
        shown = 0
        person.page = None
        for path, page in person.crawl().items():
            assert not page.shows_markup or ("<script>alert" not in page.source and "<b>&" not in page.source), path
            shown += page.source.count("&lt;script&gt;alert(1)")
        assert shown > 10, shown


@promise
def a_hostile_sheet_from_elsewhere_stays_text_on_every_page():
    """A file as one gets it from a stranger: markup in each text that a sheet can hold."""
    with open(os.path.join(SOURCE, "demo/hill-climb-burnt-valve.yaml"), encoding="utf-8") as file:
        text = file.read()
    quoted = "'" + SPITEFUL.replace("'", "''") + "'"
    changed, count = re.subn(r"(?m)^(\s*-?\s*(?:title|note|name|place)): .*$", rf"\1: {quoted}", text)
    assert count >= 1, "the demo sheet has no text to change"
    with Server() as server:
        name = os.path.join(server.folder.name, "hostile.yaml")
        with open(name, "w", encoding="utf-8") as file:
            file.write(changed)
        subprocess.run([PROGRAM, "import", "--garage", server.garage, name], check=True, stdout=subprocess.DEVNULL)
        shown = 0
        for path, page in Person(server).crawl().items():
            assert not page.shows_markup or ("<script>alert" not in page.source and "<b>&" not in page.source), path
            shown += page.source.count("&lt;script&gt;alert(1)")
        assert shown > 2, shown


# ------------------------------------------------------------------ other sites


@promise
def a_foreign_page_can_change_nothing():
    with Server() as server:
        person, sheet, action, body = ready_to_enter(server)
        stranger = Person(server)
        stranger.get("/")
        host = f"localhost:{server.port}"
        token = re.search(rb"token=([0-9a-f]{64})", body).group(1)
        foreign = [{"Origin": "http://elsewhere.example"}, {"Origin": "null"}, {"Origin": f"http://localhost:{server.port + 1}"}, {"Origin": "http://localhost"},
                   {"Origin": f"http://{host}.elsewhere.example"}, {"Origin": f"http://elsewhere.example/{host}"}, {"Origin": f"ftp://{host}"},
                   {"Origin": f"http://a@{host}"}, {"Origin": ""}, {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"},
                   {"Sec_Fetch_Site": "odd"}, {"Sec_Fetch_Site": ""}, {"Cookie": None}, {"Cookie": "crosshatch_1=" + person.cookie.split("=")[1]},
                   {"Cookie": stranger.cookie}]
        for headers in foreign:
            status, _, _ = Person(server).send("POST", action, body, **({"Cookie": person.cookie} | headers))
            assert status == 403, (headers, status)
        for other in (b"", b"0" * 64, token[:-1], token + b"0", token.upper(), token[::-1]):
            if other != token:
                assert person.send("POST", action, body.replace(token, other))[0] == 403, other
        assert person.send("POST", f"{action}?token={token.decode()}", body.replace(token, b""))[0] == 403  # in the address it does not count
        assert person.send("POST", action, body, Content_Type="text/plain")[0] == 415  # what a foreign form may send unasked
        assert entries(server) == 0
        for path in ("/", f"/sheet/{sheet}", "/token"):  # nor read, as a script or picture of another page
            assert person.send("GET", path, Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors")[0] == 403, path
        assert person.send("POST", action, body, Origin=f"http://{host}", Sec_Fetch_Site="same-origin")[0] == 303
        assert entries(server) == 1


@promise
def a_foreign_name_that_points_here_gets_no_page():
    """DNS rebinding: the browser believes that it is at elsewhere.example, whose address was made ours."""
    with Server() as server:
        port = server.port
        for host in (f"elsewhere.example:{port}", "elsewhere.example", f"localhost.elsewhere.example:{port}", f"127.0.0.1.elsewhere.example:{port}", "",
                     f"192.168.0.1:{port}", f"0.0.0.0:{port}", f"localhost:{port}@elsewhere.example", f"localhost:{port}:1", "localhost:x", "[::1", "::1",
                     "localhost/", "localhost ", f"a@localhost:{port}", ":80", f"127.0.0.2:{port}", "LOCALHOST.", "[localhost]x"):
            answer = raw.send(server, raw.request(server, "GET / HTTP/1.1", host=host))
            assert answer.status in (400, 421), (host, answer)
            assert "set-cookie" not in answer.headers, host
        for names in (["Host: localhost", "Host: elsewhere.example"], ["Host: elsewhere.example"], ["Host: localhost"]):
            answer = raw.send(server, raw.request(server, "GET / HTTP/1.1", *names))
            assert answer.status in (400, 421), (names, answer)
        assert raw.send(server, raw.request(server, "GET http://elsewhere.example/ HTTP/1.1")).status in (400, 404)
        for host in (f"localhost:{port}", f"127.0.0.1:{port}", f"[::1]:{port}", f"LocalHost:{port}"):
            assert raw.send(server, raw.request(server, "GET / HTTP/1.1", host=host)).status == 200, host


# ------------------------------------------------------------------ sessions and pairing


@promise
def a_cookie_cannot_be_made_up():
    with Server() as server:
        person, _, action, body = ready_to_enter(server)
        name, value = person.cookie.split("=")
        assert re.fullmatch(r"[0-9a-f]{32}\.[01][0-9a-f]{80}", value), value
        forged = ["", "0" * 114, value[:-1], value + "0", value.upper(), value[:33] + "1" + value[34:], "A" * 114, value[:50] + "f" * 64]
        forged += [value[:at] + ("0" if value[at] != "0" else "1") + value[at + 1:] for at in range(0, 114, 3)]
        for one in forged:
            if one == value:
                continue
            assert person.send("POST", action, body, Cookie=f"{name}={one}")[0] == 403, one
        assert entries(server) == 0
        given = set()
        for _ in range(50):
            new = Person(server)
            new.get("/")
            given.add(new.cookie.split("=")[1][:32])
        assert len(given) == 50
        _, headers, _ = Person(server).send("GET", "/")
        assert "HttpOnly" in headers["set-cookie"] and "SameSite=Strict" in headers["set-cookie"] and "Domain" not in headers["set-cookie"]


def code_of(server):
    """The code that the terminal shows."""
    return "".join(re.search(r"code: (\d{3}) (\d{3})", server.said(r"code: \d")).groups())


def try_code(person, code, **headers):
    status, named, _ = person.send("POST", "/pair", urllib.parse.urlencode({"token": person.token, "code": code}), **headers)
    return status, int(named.get("retry-after", 0))


@promise
def guessing_the_code_is_slowed_down():
    with Server(None, "--lan") as server:
        code = code_of(server)
        wrong = "000000" if code != "000000" else "000001"
        person = Person(server)
        person.token = person.get("/pair").form("/pair").value("token")
        answers = [try_code(person, wrong) for _ in range(3)]
        assert [status for status, _ in answers] == [403, 403, 403] and answers[2][1] > 0, answers
        # Now it is not even looked at, neither from a new device nor with a made-up sender.
        assert try_code(person, code)[0] == 429
        assert try_code(person, code, X_Forwarded_For="10.0.0.7", Forwarded="for=10.0.0.8", X_Real_IP="10.0.0.9")[0] == 429
        other = Person(server)
        other.token = other.get("/pair").form("/pair").value("token")
        status, wait = try_code(other, code)
        assert status == 429 and wait > 0
        time.sleep(wait)
        status, longer = try_code(other, wrong)
        assert status == 403 and longer > wait - 1, (status, longer)
        time.sleep(longer)
        before = other.cookie
        assert try_code(other, code)[0] == 303
        assert other.cookie[-115:-82] != before[-115:-82], "a device that is let in gets a new id"


def own_address():
    """An address of this machine that is not loopback. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            address = probe.getsockname()[0]
        except OSError:
            address = "127.0.0.1"
    if address.startswith("127."):
        raise CannotRun("this machine has no address but loopback")
    return address


@promise
def a_device_without_the_code_sees_and_changes_nothing():
    address = own_address()
    with Server(None, "--lan") as server:
        code = code_of(server)
        host = f"{address}:{server.port}"

        def ask(line, *headers, body=b""):
            return raw.send(server, raw.request(server, line, *headers, body=body, host=host), address=address)

        for path in ("/", "/cars", "/cars/new", "/sheets", "/settings", "/token", "/sheet/1", "/photo/1", "/row/1", "/sheet/1/findings"):
            answer = ask(f"GET {path} HTTP/1.1")
            assert answer.status in (303, 404) and answer.headers.get("location", "/pair") == "/pair", (path, answer)
        answer = ask("GET /pair HTTP/1.1")
        cookie = answer.headers["set-cookie"].split(";")[0]
        token = re.search(rb'name="token" value="([0-9a-f]{64})"', answer.body).group(1)
        name, value = cookie.split("=")
        body = b"token=" + token + b"&name=Car&cylinders=4"

        def post(path, content, own=cookie):
            return ask(f"POST {path} HTTP/1.1", f"Cookie: {own}", FORM, f"Content-Length: {len(content)}", body=content)

        assert post("/cars/new", body).status == 403
        assert post("/cars/new", body, f"{name}={value[:33]}1{value[34:]}").status == 403  # the mark of being let in, set by itself
        assert ask("GET / HTTP/1.1", f"Cookie: {name}={value[:33]}1{value[34:]}").status == 303
        for foreign in ("elsewhere.example", f"{address}.elsewhere.example:{server.port}"):
            answer = raw.send(server, raw.request(server, "GET /pair HTTP/1.1", host=foreign), address=address)
            assert answer.status == 421, answer
        answer = post("/pair", b"token=" + token + b"&code=" + code.encode())
        assert answer.status == 303, answer
        let_in = answer.headers["set-cookie"].split(";")[0]
        assert ask("GET /cars HTTP/1.1", f"Cookie: {let_in}").status == 200
        assert ask("GET /cars HTTP/1.1", f"Cookie: {cookie}").status == 303  # the id from before is worth nothing


@promise
def without_lan_nobody_else_can_connect():
    address = own_address()
    with Server() as server:
        try:
            raw.connect(server, address).close()
        except OSError:
            return
        raise AssertionError(f"port {server.port} is open at {address}")


# ------------------------------------------------------------------ the database


@promise
def sql_in_any_name_is_only_a_name():
    names = ["Robin'); DROP TABLE car; --", "' OR '1'='1", "x' UNION SELECT sql FROM sqlite_master --", "\"; DELETE FROM entry; --", "%' ESCAPE '",
             "a\\'; ATTACH DATABASE '/tmp/x' AS y; --", "?1 :name @name $name", "'||(SELECT 1)||'"]
    with Server() as server:
        person = Person(server)
        for name in names:
            enter_car(person, name)
            sheet = begin_sheet(person, gauge_name=name)
            enter_reading(person, sheet, 1, "170")
            person.get(f"/sheet/{sheet}/ledger")
            person.submit(person.page.form("/ledger"), what=name, origin=name, lies=name, torque=name, note=name)
            assert name in person.page.says
        for name in names:
            assert name in person.get("/cars").says
            quoted = urllib.parse.quote(name)
            for path in (f"/sheets?car={quoted}", f"/sheets/new?car={quoted}", f"/sheet/1/measure?kind={quoted}", f"/sheet/1/do/open_up?step={quoted}"):
                assert person.send("GET", path)[0] == 200, path
        assert entries(server) == len(names)
        subprocess.run([PROGRAM, "verify", "--garage", server.garage], check=True, stdout=subprocess.DEVNULL)


# ------------------------------------------------------------------ every answer


@promise
def every_kind_of_answer_carries_the_safe_headers():
    with Server() as server:
        person, sheet, action, body = ready_to_enter(server)
        cookie = f"Cookie: {person.cookie}"
        sized = f"Content-Length: {len(body)}"
        wanted = {
            200: [("GET / HTTP/1.1", cookie), ("GET /asset/look.css HTTP/1.1",), ("GET /worker.js HTTP/1.1",), ("GET /token HTTP/1.1", cookie),
                  (f"GET /sheet/{sheet}/revision HTTP/1.1", cookie), ("HEAD / HTTP/1.1", cookie)],
            303: [(f"POST {action} HTTP/1.1", cookie, FORM, sized)],
            400: [("GET / HTTP/1.1", "Content-Length: 3"), ("GET /?a=%ff HTTP/1.1", cookie)],
            403: [(f"POST {action} HTTP/1.1", FORM, sized), ("GET / HTTP/1.1", "Sec-Fetch-Site: cross-site")],
            404: [("GET /nothing HTTP/1.1",), ("GET /sheet/99 HTTP/1.1", cookie), ("GET /asset/nothing HTTP/1.1",)],
            405: [("DELETE / HTTP/1.1",)],
            411: [(f"POST {action} HTTP/1.1", cookie, FORM)],
            413: [(f"POST {action} HTTP/1.1", cookie, FORM, "Content-Length: 99999999")],
            415: [(f"POST {action} HTTP/1.1", cookie, sized)],
            421: [("GET / HTTP/1.1",)],
        }
        _, named, _ = person.send("GET", "/asset/look.css")
        wanted[304] = [("GET /asset/look.css HTTP/1.1", f"If-None-Match: {named['etag']}")]
        for status, requests in wanted.items():
            for parts in requests:
                host = "elsewhere.example" if status == 421 else None
                answer = raw.send(server, raw.request(server, *parts, body=body if sized in parts else b"", host=host))
                assert answer.status == status, (parts, answer)
                raw.assert_safe(answer)
                assert "set-cookie" not in answer.headers or "HttpOnly" in answer.headers["set-cookie"]
                if status != 304 and "/asset/" not in parts[0] and "worker" not in parts[0]:
                    assert "private" in answer.headers["cache-control"] or status == 421 or status >= 400, answer
        # Answers that the HTTP library gives before a request is one: fixed words, nothing of what was sent.
        for sent in (b"GET / HTTP/1.1\r\nHost: a\r\nContent-Length: <script>\r\n\r\n", b"GET /<script> HTTP/1.1\r\n\r\n", b"<script> <script>\r\n\r\n"):
            assert b"<script" not in raw.send(server, sent).body


def routes():
    """Each address that the program's table holds, and whether it is read and changed, with something in the place of each *."""
    with open(os.path.join(SOURCE, "src/web/route_table.c"), encoding="utf-8") as file:
        table = re.findall(r'\{\.path = "([^"]+)"(.*?)\},\n', file.read(), re.DOTALL)
    for path, more in table:
        yield path.replace("*", "1"), ".get" in more, ".post" in more


@promise
def every_address_answers_with_the_safe_headers():
    seen = {}
    with Server() as server:
        person, _, _, _ = ready_to_enter(server)
        cookie = f"Cookie: {person.cookie}"
        for path, read, changed in routes():
            for method, taken in (("GET", read), ("POST", changed), ("DELETE", False)):
                parts = [f"{method} {path} HTTP/1.1", cookie] + ([FORM, "Content-Length: 3"] if method == "POST" else [])
                answer = raw.send(server, raw.request(server, *parts, body=b"a=b" if method == "POST" else b""))
                assert (answer.status == 405) == (not taken), (parts, answer)
                raw.assert_safe(answer)
                seen[answer.status] = seen.get(answer.status, 0) + 1
                if taken and method == "POST":  # a form without the token
                    assert answer.status == 403, (parts, answer)
    assert sum(seen.values()) > 100 and seen.get(200, 0) > 15, seen


@promise
def the_server_writes_in_the_garage_folder_alone_or_says_that_it_cannot():
    with tempfile.TemporaryFile("w+") as said:
        kept = os.dup(2)
        os.dup2(said.fileno(), 2)
        try:
            with Server() as server:
                os.dup2(kept, 2)
                with open(f"/proc/{server.process.pid}/status", encoding="ascii") as file:
                    confined = "NoNewPrivs:\t1" in file.read()
                person, _, action, body = ready_to_enter(server)
                assert person.send("POST", action, body)[0] == 303  # the garage itself is written as before
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        said.seek(0)
        assert confined != ("cannot keep the server from writing" in said.read())


@promise
def the_session_key_and_the_garage_are_for_their_owner_alone():
    with Server() as server:
        ready_to_enter(server)
        key = os.path.join(server.folder.name, "state", "crosshatch", "session.key")
        assert os.stat(key).st_mode & 0o077 == 0
    with tempfile.TemporaryDirectory() as folder:
        sheet = os.path.join(SOURCE, "demo/hill-climb-sound.yaml")
        subprocess.run([PROGRAM, "import", sheet], check=True, stdout=subprocess.DEVNULL, env=os.environ | {"XDG_DATA_HOME": os.path.join(folder, "data")})
        for name in ("data", "data/crosshatch"):
            assert os.stat(os.path.join(folder, name)).st_mode & 0o077 == 0, name


@promise
def a_new_key_turns_every_device_away():
    with tempfile.TemporaryDirectory() as folder:
        server = Killable(folder)
        server.start()
        person, sheet, action, body = ready_to_enter(server)
        server.stop()
        server.start()
        assert person.send("POST", action, body)[0] == 303  # the same key: still known
        server.stop()
        os.remove(os.path.join(folder, "state", "crosshatch", "session.key"))
        server.start()
        assert person.send("POST", action, body.replace(b"170", b"171"))[0] == 403
        assert "171" not in Person(server).get(f"/sheet/{sheet}/measure").says
        server.stop()


@promise
def every_test_that_the_threat_model_names_is_there():
    with open(os.path.join(SOURCE, "docs/threats.md"), encoding="utf-8") as file:
        named = set(re.findall(r"`([a-z0-9]+(?:_[a-z0-9]+){3,})`", file.read()))
    tests = ""
    for folder, _, names in os.walk(os.path.join(SOURCE, "tests")):
        for name in names:
            if name.endswith((".py", ".c", ".mjs", ".sh")) and "node_modules" not in folder:
                with open(os.path.join(folder, name), encoding="utf-8") as file:
                    tests += file.read()
    assert len(named) > 30, named
    missing = [name for name in named if not re.search(r"(?:def |static void |promise\(\")" + name + r"\b", tests)]
    assert not missing, missing


if __name__ == "__main__":
    sys.exit(keep())
