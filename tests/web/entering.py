"""Devices that enter readings while the program is killed and started again, and what must be left of it: for kill.py and bench/bench_kill.py."""
import http.client
import json
import os
import random
import re
import sqlite3
import subprocess
import threading
import time
import urllib.parse

from browse import PROGRAM, START_SECONDS, Person
from newcomer import begin_sheet, enter_car

ENTRIES_A_SHEET = 100  # the page of a reading reads its sheet


class Killable:
    """The program serving a garage file of a folder, to be killed and started again at the same port: cookies and tokens hold for one."""

    def __init__(self, folder):
        self.folder, self.garage, self.port, self.process = folder, os.path.join(folder, "garage.db"), 0, None

    def start(self):
        environment = os.environ | {"XDG_STATE_HOME": os.path.join(self.folder, "state")}
        # pylint: disable-next=consider-using-with
        self.process = subprocess.Popen([PROGRAM, "serve", "--garage", self.garage, "--port", str(self.port)], stdout=subprocess.PIPE, text=True,
                                        env=environment)
        line = self.process.stdout.readline()
        found = re.search(r"http://localhost:(\d+)/", line)
        assert found, f"the program does not start (again): {line!r}"
        self.port = int(found.group(1))

    def kill(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

    def stop(self):
        self.process.terminate()
        status = self.process.wait(START_SECONDS)
        self.process.stdout.close()
        assert status == 0, status

    def begin_sheets(self, count):
        """Open sheets of one car, by their numbers."""
        person = Person(self)
        enter_car(person)
        sheets = []
        for _ in range(count):
            person.get("/sheets/new")
            sheets.append(begin_sheet(person))
        return sheets


def value_of(number):
    """A reading in psi that tells which one it is: 100.000, 100.001, ..."""
    return f"{100 + number // 1000}.{number % 1000:03d}"


class Device(threading.Thread):
    """Enters the readings `numbers`, one after the other, as the pages' own queue does: one that got no answer is sent again, the same, until it has one."""

    def __init__(self, server, sheets, numbers):
        super().__init__(daemon=True)
        self.person, self.sheets, self.numbers = Person(server), sheets, list(numbers)
        self.token = re.search(r'name="token" content="([0-9a-f]{64})"', self.person.get("/").source).group(1)
        self.acknowledged, self.sent_again, self.found_again, self.faults = {}, 0, 0, []
        self.ending = threading.Event()

    def enter(self, position, number):
        fields = {"token": self.token, "entry": f"entry-{number:08d}", "kind": "dry", "cylinder": number % 4 + 1, "reading": value_of(number),
                  "answer": "json"}
        sheet = self.sheets[position // ENTRIES_A_SHEET]
        status, _, content = self.person.send("POST", f"/sheet/{sheet}/measure", urllib.parse.urlencode(fields))
        if status == 503:  # the program is ending, as the pages' queue understands it: nothing was changed
            raise http.client.HTTPException(content)
        if status != 200:
            self.faults.append(f"{number}: {status} {content[:300]}")
            return
        answer = json.loads(content)
        self.acknowledged[number] = answer["stored"]
        self.found_again += answer["again"]

    def run(self):
        for position, number in enumerate(self.numbers):
            while number not in self.acknowledged and not self.faults and not self.ending.is_set():
                try:
                    self.enter(position, number)
                except ConnectionRefusedError:
                    time.sleep(0.003)
                except (OSError, http.client.HTTPException):  # in the middle of it
                    self.sent_again += 1
                    time.sleep(0.003)


def sheets_for(entries):
    return (entries + ENTRIES_A_SHEET - 1) // ENTRIES_A_SHEET


def check(server, devices, finished):
    """
    Every acknowledged reading is in the file once, at the id that was told, and no other more than once; the file is whole. Devices may be at
    work. `finished`: they have entered all of theirs. How many readings were acknowledged.
    """
    told = {}
    for device in devices:
        assert not device.faults, device.faults
        if finished:
            assert len(device.acknowledged) == len(device.numbers), (len(device.acknowledged), len(device.numbers))
        told |= {value_of(number): entry for number, entry in device.acknowledged.copy().items()}
    checked = subprocess.run([PROGRAM, "verify", "--garage", server.garage], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
    assert checked.returncode == 0, checked.stdout
    file = sqlite3.connect(f"file:{server.garage}?mode=ro", uri=True)
    stored = {}
    for text, entry in file.execute("SELECT text, entry_id FROM entry_quantity WHERE name = 'reading'"):
        stored.setdefault(text, []).append(entry)
    file.close()
    lost = [value for value, entry in told.items() if entry not in stored.get(value, [])]
    assert not lost, f"{len(lost)} of {len(told)} acknowledged readings are lost: {lost[:5]}"
    doubled = [value for value, entries in stored.items() if len(entries) > 1]
    assert not doubled, f"{len(doubled)} readings are doubled: {doubled[:5]}"
    if not any(device.is_alive() for device in devices):
        unknown = len(stored) - len(told)  # stored, and killed before the answer was out: at most one a device
        assert 0 <= unknown <= len(devices), unknown
    return len(told)


def kill_often(folder, kills, seed, progress=None, end=Killable.kill):
    """Two devices enter readings while the program is killed `kills` times, or brought to its `end` in another way: what came of it, by name."""
    chance = random.Random(seed)
    server = Killable(folder)
    server.start()
    most = 40 * kills  # more than they get to
    sheets = server.begin_sheets(2 * sheets_for(most))
    half = len(sheets) // 2
    devices = [Device(server, sheets[:half], range(0, 2 * most, 2)), Device(server, sheets[half:], range(1, 2 * most, 2))]
    for device in devices:
        device.start()
    in_hand = 0
    for number in range(kills):
        time.sleep(chance.uniform(0, 0.12))
        end(server)
        server.start()
        if progress and (number + 1) % 100 == 0:
            progress(number + 1, check(server, devices, False))
    for device in devices:
        device.ending.set()
    for device in devices:
        device.join()
        in_hand += device.sent_again
    server.stop()
    return {"acknowledged": check(server, devices, False), "broken": in_hand, "again": sum(device.found_again for device in devices)}
