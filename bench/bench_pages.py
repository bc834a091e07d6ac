#!/usr/bin/env python3
"""How fast and how large the pages are in a garage of twenty seasons, with sixteen devices.

The garage: five cars, 400 sheets of some 20 entries each (most imported, some entered through the pages and left open), things off the car. Sixteen
devices ask for pages of the garage in turn, each four times a second, from one thread over kept connections, so that what is measured is the server.
Server time is what the program's own log says: from the headers until the answer is ready. Beside it stands what a device waits for, from the
first byte sent to the last received, in which a machine that does other work shows too.

Wanted: the first page within 5 ms of server time for 99 of 100, and with everything that it loads within 60 kB; the program within 50 MB of memory.
The other pages are shown beside it. Exits 1 on a miss.

usage: bench_pages.py [SECONDS]
"""
import os
import re
import selectors
import socket
import statistics
import subprocess
import sys
import tempfile
import time

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
os.environ.setdefault("CROSSHATCH", os.path.join(BUILD, "crosshatch"))
sys.path.insert(0, os.path.join(SOURCE, "tests/web"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

# pylint: disable=wrong-import-position
import rows as common  # noqa: E402
from browse import PROGRAM, Person, Server  # noqa: E402
from newcomer import begin_sheet, enter_car, enter_reading  # noqa: E402

SECONDS = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
CARS, SHEETS, OPEN_SHEETS, DEVICES, PER_SECOND = 5, 400, 3, 16, 4
WANTED_SECONDS, WANTED_BYTES, WANTED_MEMORY = 0.005, 60_000, 50_000_000


def write_sheets(folder, count):
    """Sheets of twenty seasons, by a demo sheet with other days and readings."""
    with open(os.path.join(SOURCE, "demo/hill-climb-burnt-valve.yaml"), encoding="utf-8") as file:
        text = file.read()
    for number in range(count):
        day = f"{2006 + number // 20}-{1 + number % 12:02d}-{1 + number % 28:02d}"
        changed = re.sub(r"date: [0-9-]+", f"date: {day}", text)
        changed = re.sub(r"(?m)^title: .*$", f"title: Season {2006 + number // 20}, sheet {number}", changed)
        changed = re.sub(r"(reading: 1)(\d\d)", lambda found, n=number: f"{found.group(1)}{(int(found.group(2)) + n) % 80 + 10:02d}", changed)
        with open(os.path.join(folder, f"sheet-{number:04d}.yaml"), "w", encoding="utf-8") as file:
            file.write(changed)


def fill(server):
    """Through the pages: the cars, and open sheets with something off."""
    person = Person(server)
    for number in range(CARS):
        enter_car(person, f"Car {number + 1}")
    for number in range(OPEN_SHEETS):
        person.get("/sheets/new")
        sheet = begin_sheet(person)
        for cylinder in range(1, 5):
            enter_reading(person, sheet, cylinder, str(170 + cylinder))
        person.get(f"/sheet/{sheet}/ledger")
        person.submit(person.page.form("/ledger"), what=f"Coil {number + 1}", lies="left tray")
    return person, sheet


class Connection:
    """A device with a kept connection: one request after the other, each at its time."""

    def __init__(self, number, server, cookie):
        self.socket = socket.create_connection(("127.0.0.1", server.port))
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.head = f"Host: localhost:{server.port}\r\nCookie: {cookie}\r\n\r\n"
        self.turn, self.next, self.path, self.begun, self.got = number, 0.0, None, 0.0, b""

    def ask(self, path):
        self.path, self.got, self.begun = path, b"", time.perf_counter()
        self.socket.sendall(f"GET {path} HTTP/1.1\r\n{self.head}".encode())

    def take(self):
        """The seconds that it took once the answer is whole, else None."""
        self.got += self.socket.recv(1 << 20)
        head, end, body = self.got.partition(b"\r\n\r\n")
        if not end or len(body) < int(re.search(rb"(?i)content-length: (\d+)", head).group(1)):
            return None
        seconds = time.perf_counter() - self.begun
        assert head.startswith(b"HTTP/1.1 200"), head[:200]
        return seconds


def ask_for(server, cookie, paths):
    """Times by path."""
    times = {path: [] for path in paths}
    connections = [Connection(number, server, cookie) for number in range(DEVICES)]
    chosen = selectors.DefaultSelector()
    begun = time.perf_counter()
    for connection in connections:
        connection.next = begun + connection.turn / DEVICES / PER_SECOND
        chosen.register(connection.socket, selectors.EVENT_READ, connection)
    while time.perf_counter() < begun + SECONDS:
        now = time.perf_counter()
        for connection in connections:
            if connection.path is None and connection.next <= now:
                connection.ask(paths[connection.turn % len(paths)])
                connection.turn += 1
                connection.next += 1 / PER_SECOND
        waiting = min((connection.next for connection in connections if connection.path is None), default=now + 1)
        for key, _ in chosen.select(max(0.0, waiting - time.perf_counter())):
            seconds = key.data.take()
            if seconds is not None:
                times[key.data.path].append(seconds)
                key.data.path = None
    for connection in connections:
        connection.socket.close()
    return times


def computing_s(process):
    """Seconds of the processor that a program has taken."""
    with open(f"/proc/{process.pid}/stat", encoding="ascii") as file:
        fields = file.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def memory_bytes(process):
    """The most that it ever had in memory."""
    with open(f"/proc/{process.pid}/status", encoding="ascii") as file:
        return int(re.search(r"VmHWM:\s+(\d+) kB", file.read()).group(1)) * 1024


def row(what, found, wanted, well):
    print(f"{what:<44} {found:>12} {wanted:>12}   {'' if well is None else 'met' if well else 'MISSED'}")
    return well in (None, True)


def main():
    # The log goes to standard error, which the program inherits.
    server = Server(None, "--log")
    log = os.path.join(server.folder.name, "log")
    os.dup2(os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), 2)
    with tempfile.TemporaryDirectory() as folder:
        write_sheets(folder, SHEETS - OPEN_SHEETS)
        subprocess.run([PROGRAM, "import", "--garage", server.garage, folder], check=True, stdout=subprocess.DEVNULL)
    with server:
        person, sheet = fill(server)
        page = person.get("/")
        loads = {load for load in page.loads if load}
        size = len(page.source.encode()) + sum(len(person.send("GET", load)[2]) for load in loads)
        paths = ["/", f"/sheet/{sheet}", "/", f"/sheet/{sheet}/measure", "/", f"/sheet/{sheet}/ledger", "/", "/cars", "/", "/sheets", "/"]
        for path in set(paths):
            person.get(path)
        ask_for(server, person.cookie, paths[:1])
        before = computing_s(server.process)
        skipped = os.path.getsize(log)
        times = ask_for(server, person.cookie, ["/"])
        with open(log, encoding="ascii") as file:
            file.seek(skipped)
            own = [int(line.split()[-1]) / 1e6 for line in file if " GET / 200 " in line]
        computing = (computing_s(server.process) - before) / len(times["/"])
        mixed = ask_for(server, person.cookie, paths)
        memory = memory_bytes(server.process)
        with open(server.garage, "rb") as file:
            kilobytes = len(file.read()) / 1000
    first = sorted(times["/"])
    own_p99, p99 = statistics.quantiles(own, n=100)[98], statistics.quantiles(first, n=100)[98]
    print(f"{SHEETS} sheets of {CARS} cars, {kilobytes:.0f} kB; {DEVICES} devices, {len(first)} first pages\n")
    print(f"{'':<44} {'found':>12} {'wanted':>12}")
    well = [row("first page, server time, 99 of 100 within", f"{1000 * own_p99:.2f} ms", f"{1000 * WANTED_SECONDS:.0f} ms", own_p99 < WANTED_SECONDS),
            row("first page with everything", f"{size / 1000:.1f} kB", f"{WANTED_BYTES / 1000:.0f} kB", size <= WANTED_BYTES),
            row("most memory", f"{memory / 1e6:.1f} MB", f"{WANTED_MEMORY / 1e6:.0f} MB", memory < WANTED_MEMORY)]
    common.figure("pages", "first page, 400 sheets, server time, 99 of 100", own_p99, "s", "5 ms", own_p99 < WANTED_SECONDS)
    common.figure("pages", "first page with everything that it loads", size / 1000, "kB", "60 kB", size <= WANTED_BYTES)
    common.figure("pages", "most memory", memory / 1e6, "MB", "50 MB", memory < WANTED_MEMORY)
    row("first page, server time, half within", f"{1000 * statistics.median(own):.2f} ms", "", None)
    row("first page, at the device, half within", f"{1000 * statistics.median(first):.2f} ms", "", None)
    row("first page, at the device, 99 of 100 within", f"{1000 * p99:.2f} ms", "", None)
    row("first page, computing", f"{1000 * computing:.2f} ms", "", None)
    for path, taken in sorted(mixed.items()):
        row(f"among others: {path}, half / 99 of 100", f"{1000 * statistics.median(taken):.1f} / {1000 * statistics.quantiles(taken, n=100)[98]:.1f}", "", None)
    return 0 if all(well) else 1


if __name__ == "__main__":
    sys.exit(main())
