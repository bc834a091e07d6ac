#!/usr/bin/env python3
"""Promises of what was acknowledged: it is there, once, whatever becomes of the program. TAP. At length: bench/bench_kill.py.

Run by meson test, with CROSSHATCH (the program) and CROSSHATCH_SOURCE (the tree).
"""
import sys
import tempfile

from entering import Device, Killable, check, kill_often, sheets_for
from promises import keep, promise

KILLS, STOPS, ENTRIES = 50, 30, 400


@promise
def what_was_acknowledged_survives_fifty_kills():
    with tempfile.TemporaryDirectory() as folder:
        found = kill_often(folder, KILLS, 1)
        # Fewer would tell nothing: the program was killed before it had anything to do.
        assert found["acknowledged"] > 2 * KILLS and found["broken"] > KILLS / 4, found


@promise
def stopped_in_the_middle_of_entries_it_ends_in_good_order_each_time():
    with tempfile.TemporaryDirectory() as folder:
        found = kill_often(folder, STOPS, 2, end=Killable.stop)  # which looks at the status
        assert found["acknowledged"] > 2 * STOPS and found["broken"] > 0, found


@promise
def of_four_hundred_entries_by_two_devices_none_is_lost_or_doubled():
    with tempfile.TemporaryDirectory() as folder:
        server = Killable(folder)
        server.start()
        sheets = server.begin_sheets(sheets_for(ENTRIES))
        devices = [Device(server, sheets, range(part, ENTRIES, 2)) for part in range(2)]
        # The same readings from both, as from a phone that is not sure whether it was heard.
        devices.append(Device(server, sheets, range(0, 40, 2)))
        for device in devices:
            device.start()
        for device in devices:
            device.join()
        server.stop()
        assert check(server, devices, True) == ENTRIES
        assert sum(device.found_again for device in devices) == 20


if __name__ == "__main__":
    sys.exit(keep())
