"""Inputs that recorded.py asks about, drawn from seeds: drives, plans, sheets, garages. All invented. The same seed gives the same text everywhere."""
import datetime
import math
import random


class Draw:
    """What is drawn from one seed; only of random(), whose numbers are the same in every version of Python."""

    def __init__(self, seed):
        self.one = random.Random(seed).random

    def between(self, low, high):
        return low + (high - low) * self.one()

    def chance(self, share):
        return self.one() < share

    def of(self, things):
        return things[int(self.one() * len(things))]

    def some(self, things, share):
        return [thing for thing in things if self.one() < share]


# ---------------------------------------------------------------- drives

LINES = (37.0, 22.0, 15.5, 12.0, 9.6)
HAPPENS = ("slip", "slip", "slip", "touch", "blip", "brake", "sensor", "spin", "flare", "lift")


def drive(seed, rows_a_second, columns, step_kmh=0.02, seconds=400.0, late_s=0.0, sparse=1, lowest=0):
    """A log of pulls up through five gears and coasting down again, with something that looks like a slip, or is one, in half of the gears.

    `columns`: which of throttle, clutch, gps, driven, acceleration, oil it has. Road speed comes `late_s` late and in every `sparse`-th row. Gears below
    `lowest` are not driven in.
    """
    d, time_s, speed, gear, up = Draw(seed), 0.0, 200.0 / LINES[lowest], lowest, True
    event, until_s, from_s, size, shifted_s, rows, held, oil = None, -1.0, -1.0, 0.0, -9.0, [], [], 60.0
    power, wear = d.between(0.8, 1.2), 0.0
    every = 1.0 / rows_a_second
    while time_s < seconds:
        if event is None and up and time_s > shifted_s + 0.3 and d.chance(0.25 * every):
            event, from_s, size = d.of(HAPPENS), time_s, math.exp(d.between(math.log(0.02), math.log(0.35)))
            until_s = time_s + math.exp(d.between(math.log(0.15), math.log(3.0)))
            wear += 0.01
        if event is not None and time_s > until_s:
            event = None
        part = math.sin(math.pi * (time_s - from_s) / (until_s - from_s)) ** 2 if event else 0.0
        throttle, clutch, pull = (93.0, 0, power * 4.4 / (1.0 + 0.6 * gear)) if up else (13.0, 0, -1.2)
        ahead, wheels, reads = 0.0, 0.0, 0.0
        if event == "slip":
            ahead, pull = size * part, pull * (1.0 - 0.5 * part)
        elif event == "touch":
            ahead = size * abs(math.sin(4.0 * math.pi * (time_s - from_s) / (until_s - from_s)))
        elif event == "blip":
            ahead, pull, throttle, clutch = size * part, -0.3, 60.0, 1
        elif event == "brake":
            throttle, pull = 10.0, -3.0 * size
        elif event == "sensor":
            reads = -size * part
        elif event == "spin":
            ahead = wheels = size * part
        elif event == "flare":
            ahead, pull = size * part, 0.1
        elif event == "lift":
            throttle, pull, ahead = 93.0 - 70.0 * part, pull * (1.0 - part), 0.02 * part
        pull -= 0.0004 * speed * speed
        speed = max(speed + pull * every, 4.0)
        if up and time_s > shifted_s + 0.25 and speed * LINES[gear] > 600.0:
            if gear < 4:
                gear, shifted_s, event = gear + 1, time_s, None
                if d.chance(0.3): # runs ahead straight after the change
                    event, from_s, until_s, size = "slip", time_s + 0.2, time_s + 0.2 + d.between(0.4, 1.5), d.between(0.05, 0.2)
            else:
                up = False
        up = up and not (gear == 4 and pull < 0.4 and event is None)
        while not up and gear > lowest and speed * LINES[gear] < 200.0:
            gear -= 1
        if not up and gear == lowest and speed * LINES[gear] < 250.0:
            up = True
        came_down = max(0.0, 1.0 - (time_s - shifted_s) / 0.25) * 0.35 if gear > 0 and up else 0.0
        if came_down > 0.0:
            throttle, clutch = 20.0, 1
        rpm = speed * LINES[gear] * (1.0 + max(ahead, 0.0) + came_down) * 30.0 / math.pi * (1.0 + 0.0015 * (d.one() - 0.5))
        oil = min(oil + 0.12 * every, 118.0)
        held.append(speed * (1.0 + reads) * 3.6)
        late = held[max(len(held) - 1 - round(late_s * rows_a_second), 0)]
        kmh = f"{round(late / step_kmh) * step_kmh:.2f}" if len(rows) % sparse == 0 else ""
        more = {"throttle": f"{throttle:.0f}", "clutch": str(clutch), "gps": f"{speed * 3.6 + 0.1 * (d.one() - 0.5):.2f}", "oil": f"{oil:.1f}",
                "driven": f"{speed * 1.06 * (1.0 + wheels) * 3.6:.2f}", "acceleration": f"{pull / 9.80665:.3f}"}
        rows.append(",".join([f"{time_s:.3f}", f"{rpm:.0f}", kmh] + [more[name] for name in columns]))
        time_s += every
    names = {"throttle": "throttle (%)", "clutch": "clutch switch", "gps": "GPS speed (km/h)", "oil": "oil temperature (C)",
             "driven": "driven wheel speed (km/h)", "acceleration": "longitudinal acceleration (g)"}
    return "\n".join([",".join(["time (s)", "rpm", "speed (km/h)"] + [names[name] for name in columns]), *rows]) + "\n"


CAR = """mass: 1050 kg
drag_area: 0.62 m2
clutch: {outer: 215 mm, inner: 145 mm, surfaces: 2, clamp_force: 5000 N, friction: 0.35}
"""
# a rolling radius of some 0.28 m makes LINES of these
RATIOS = """tyre: 195/50R15
final_drive: 4.1
gears: [2.53, 1.50, 1.06, 0.82, 0.656]
observed: [no_free_play, not_judder]
"""


def drives():
    """{name: (log, what is told of the car)}."""
    return {
        "throttle alone": (drive(1, 20, ["throttle"]), CAR),
        "all there is": (drive(2, 25, ["throttle", "clutch", "gps", "driven", "acceleration", "oil"]), CAR),
        "no throttle": (drive(3, 20, ["clutch", "oil"]), CAR),
        "whole steps, late": (drive(4, 20, ["throttle"], 1.0, late_s=0.25), CAR),
        "every fifth row": (drive(5, 50, ["throttle", "gps"], sparse=5, seconds=250.0), ""),
        "ten a second": (drive(6, 10, ["throttle", "oil"], 0.1, seconds=700.0), CAR),
        "two a second": (drive(7, 2, ["throttle"], seconds=1500.0), ""),
        "pedal": (drive(8, 20, ["throttle", "clutch"], 0.1), ""),
        "late by half a second": (drive(9, 20, ["throttle", "driven"], late_s=0.5), ""),
        "ratios stated": (drive(21, 20, ["throttle", "oil"]), CAR + RATIOS),
        "ratios stated, whole steps": (drive(22, 20, ["throttle", "clutch"], 1.0), RATIOS),
        "ratios stated, noisy": (drive(23, 10, ["throttle"], 0.5, late_s=0.2, seconds=600.0), CAR + RATIOS),
        "from third on": (drive(24, 20, ["throttle"], lowest=2), CAR),
        "from third on, stated": (drive(25, 20, ["throttle", "driven", "gps"], lowest=2), CAR + RATIOS),
        "long": (drive(10, 10, ["throttle"], seconds=2400.0), CAR),
    }


def clocks():
    """{name: log}: five minutes of one gear, with what clocks, columns and cells may do; each row a thing of its own."""
    def stamp(time_s, kind):
        whole = int(time_s) % 86400
        if kind == "clock":
            return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}.{int(round(time_s % 1 * 1000)) % 1000:03d}"
        if kind == "counter": # of sixteen bits
            return str(round(time_s * 1000.0) % 65536)
        return f"{time_s:.2f}" if kind == "seconds" else f"{time_s * 1000:.0f}" if kind == "ms" else f"{int(time_s)}"

    def log(seed, kind, header, begins_s=0.0, odd=(), sparse=1):
        d, rows, ahead_s = Draw(seed), [], 0.0
        for i in range(3000):
            time_s = begins_s + 0.1 * i + ahead_s
            kmh = 70.0 + 30.0 * math.sin(i / 90.0)
            cells = [stamp(time_s, kind), f"{kmh * 35.4:.0f}", f"{kmh:.1f}" if i % sparse == 0 else "", f"{50 + 40 * math.sin(i / 90.0 + 1.5):.0f}"]
            what = d.of(odd) if odd and d.chance(0.012) else None
            if what == "stray":
                cells[0] = stamp(time_s + d.between(-300.0, 4000.0) if time_s > 300.0 else time_s + 500.0, kind)
            elif what == "back":
                cells[0] = stamp(time_s - d.between(0.0, 1.4), kind)
            elif what == "gap":
                ahead_s += d.between(0.2, 25.0)
            elif what == "restart":
                ahead_s -= d.between(2.0, 200.0) if time_s > 210.0 else 0.0
            elif what == "repeat":
                rows.append(";".join(cells))
            elif what == "spike":
                cells[1] = str(int(d.between(5000.0, 30000.0)))
            elif what == "out":
                cells[2] = f"{d.between(300.0, 700.0):.1f}"
            elif what == "empty":
                cells[3] = d.of(["", "nan", "-", "n/a"])
            elif what == "short":
                cells = cells[:2]
            elif what == "header":
                rows.append(header)
            rows.append(";".join(cells))
        return header + "\n" + "\n".join(rows) + "\n"

    plain = "time;rpm;speed;throttle"
    return {
        "strays": log(11, "seconds", "time (s);rpm;speed (km/h);throttle (%)", 400.0, ["stray", "stray", "gap"]),
        "back": log(12, "seconds", "time (s);rpm;speed (km/h);throttle (%)", 0.0, ["back", "repeat"]),
        "restarts": log(13, "seconds", plain, 0.0, ["restart", "gap", "header"]),
        "whole seconds": log(14, "whole", "time (s);rpm;speed (mph);throttle (%)", 0.0, ["gap"]),
        "midnight": log(15, "clock", "clock;Motordrehzahl;Geschwindigkeit;Gaspedal\nhh:mm:ss;1/min;km/h;%", 86250.0, ["stray", "empty"]),
        "milliseconds": log(16, "ms", "Time;Engine Speed;Vehicle Speed;Throttle Position", 0.0, ["spike", "out", "short"]),
        "overflow": log(17, "counter", "time (ms);rpm;speed (km/h);throttle (%)", 65.4, ["gap"]),
        "slow speed": log(18, "seconds", "time (s);rpm;speed (km/h);throttle (%)", 0.0, ["gap", "empty"], sparse=7),
        "slower speed": log(19, "seconds", "time (s);rpm;speed (m/s);throttle (%)", 0.0, ["restart"], sparse=19),
        "units row": log(20, "seconds", "Zeit;Drehzahl;Geschwindigkeit;Drosselklappe\n[s];[1/min];[km/h];[%]", 0.0, ["empty", "spike"]),
    }


# ---------------------------------------------------------------- plans

def plan(seed):
    """A plan of some twenty jobs on some eight steps, tangled in every way that plans can be."""
    d = Draw(seed)
    begin = datetime.date(2026, 12, 1)
    steps, jobs = [f"s{i}" for i in range(5 + int(5 * d.one()))], [f"j{i}" for i in range(12 + int(12 * d.one()))]

    def hours(most):
        middle = round(d.between(0.2, most), 1)
        return f"[{round(middle * 0.6, 2)}, {middle}, {round(middle * d.between(1.2, 2.2), 2)}]" if d.chance(0.5) else str(middle)

    lines = ["plan: 1", "title: invented", f"today: {begin}", f"until: {begin + datetime.timedelta(110)}", f"hours_value: {d.of([0, 8, 15, 22.5])}"]
    if d.chance(0.8):
        lines.append(f"budget: {round(d.between(300, 2500))}")
    lines.append("days:" if d.chance(0.9) else "days: []")
    if lines[-1] == "days:":
        lines += [f"  - {{date: {begin + datetime.timedelta(i)}, hours: {round(d.between(1, 8), 1)}}}" for i in range(4, 120) if d.chance(0.13)]
    lines.append("access:")
    for i, step in enumerate(steps):
        more = "".join([f", needs: [{', '.join(d.some(steps[:i], 0.4))}]" if d.chance(0.5) else "", f", lead_days: {int(d.between(0, 30))}" if d.chance(0.2) else "",
                        ", done: true" if d.chance(0.1) else f", done_hours: {round(d.between(0.1, 1), 1)}" if d.chance(0.1) else ""])
        lines.append(f"  {step}: {{hours: {hours(4)}, refit_hours: {hours(4)}, parts: {round(d.between(0, 90))}{more}}}")
    lines.append("jobs:")
    for i, job in enumerate(jobs):
        more = "".join([f", needs: [{', '.join(d.some(steps, 0.25) + d.some(jobs[:i], 0.04))}]" if d.chance(0.8) else "",
                        f", requires: [{d.of(jobs[:i])}]" if i > 0 and d.chance(0.1) else "", f", excludes: [{d.of(jobs[:i])}]" if i > 0 and d.chance(0.12) else "",
                        f", after: [{d.of(jobs[:i])}]" if i > 0 and d.chance(0.2) else "", ", must: true" if d.chance(0.05) else "",
                        f", lead_days: {int(d.between(1, 60))}" if d.chance(0.25) else "", ", done: true" if d.chance(0.05) else "",
                        f", paid: {round(d.between(1, 200))}" if d.chance(0.1) else "", f", done_hours: {round(d.between(0.1, 3), 1)}" if d.chance(0.1) else ""])
        lines.append(f"  {job}: {{hours: {hours(5)}, parts: {round(d.between(0, 400))}, avoided: {round(d.between(10, 900))}{more}}}")
    return "\n".join(lines) + "\n"


def days(seed):
    """A plan of many small blocks of work on weekends, of which most of the days are filled: some jobs wait for parts, for each other, or stand apart from the start."""
    d = Draw(seed)
    large = 5 if seed % 12 == 11 else 1
    begin, steps, jobs = datetime.date(2027, 1, 2), range(large * int(d.between(2, 7))), range(large * int(d.between(4, 15)))
    lines, total = ["plan: 1", "title: invented"] + ([f"today: {begin}"] if d.chance(0.8) else []), 0.0
    work = []
    for i in steps:
        opened, closed = round(d.between(0.2, 2), 1), round(d.between(0.2, 2), 1)
        more = "".join([f", needs: [s{int(d.between(0, i))}]" if i > 0 and d.chance(0.3) else "", f", lead_days: {int(d.between(1, 30))}" if d.chance(0.15) else "",
                        ", done: true" if d.chance(0.1) else ", done_hours: 0.1" if d.chance(0.1) else ""])
        work.append(f"  s{i}: {{hours: [{opened}, {round(opened * 1.2, 2)}, {round(opened * 2, 2)}], refit_hours: {closed}{more}}}")
        total += opened * 1.2 + closed
    work.append("jobs:")
    for i in jobs:
        hours = d.of([0, 0.5, 1, 2, round(d.between(0.3, 6), 1)])
        more = "".join([f", needs: [s{d.of(steps)}]" if d.chance(0.7) else "", f", after: [j{int(d.between(0, i))}]" if i > 0 and d.chance(0.25) else "",
                        f", lead_days: {int(d.between(1, 30))}" if d.chance(0.2) else "", ", done: true" if d.chance(0.05) else ""])
        work.append(f"  j{i}: {{hours: {hours}, avoided: 1{more}}}")
        total += hours
    count = large * int(d.between(6, 18))
    each = total / count * d.between(0.98, 2.0)
    lines.append("days:")
    for i in range(count):
        date = begin + datetime.timedelta(7 * (i // 2) + (i % 2 if d.chance(0.9) else 3 * (i % 2)))
        lines.append(f"  - {{date: {date}, hours: {round(min(each * d.between(0.5, 1.5), 24), 2)}}}")
    return "\n".join(lines + ["access:"] + work) + "\n"


# ---------------------------------------------------------------- sheets

SEEN = ("oily_plug", "wet_plug", "normal_plug", "misfire_cylinder", "weak_in_power_balance", "builds_up_slowly", "lash_tight", "borescope_valve_edge",
        "borescope_scoring", "better_with_oil", "coolant_loss", "coolant_bubbles", "gas_test_positive", "white_exhaust_smoke", "blue_smoke_load",
        "crankcase_pressure_high", "vacuum_regular_flick", "oil_use_high", "runs_hot", "coolant_in_cylinder")


def sheet(seed, dry=True):
    """A sheet with about half of all that a sheet may say, readings about one level with one or two cylinders off it; without `dry`, of wet tests and leak-downs alone."""
    d = Draw(seed)
    n = d.of([1, 2, 3, 4, 4, 4, 5, 6, 6, 8])
    level, noise = d.between(120, 200), d.between(1, 5)
    low = {c: d.of([0.55, 0.75, 0.85, 0.92]) for c in range(1, n + 1) if d.chance(0.3)}
    engine = [f"cylinders: {n}"]
    if d.chance(0.7):
        engine.append(f"bore: {round(d.between(70, 100), 1)} mm, stroke: {round(d.between(65, 95), 1)} mm, compression_ratio: {round(d.between(8.2, 11.5), 1)}")
    if d.chance(0.4):
        engine.append(f"limits: {{standard: {round(level)} psi, minimum: {round(level * 0.75)} psi, spread: {d.of([15, 25, 40])} psi}}")
    if d.chance(0.5) and n > 1:
        engine.append(f"layout: {d.of(['inline', 'flat' if n % 2 == 0 else 'inline', 'vee' if n % 2 == 0 else 'inline'])}")
    lines = ["sheet: 1", f"engine: {{{', '.join(engine)}}}"]
    gauge = [part for part in (f"accuracy: {d.of(['2 % of span', '1 % of reading', 'grade B', 'class 1.6'])}, span: 300 psi", f"resolution: {d.of([1, 2, 5])} psi",
                               f"hose_volume: {round(d.between(2, 30))} ml", "opening_pressure: 10 kPa") if d.chance(0.5)]
    if gauge:
        lines.append(f"gauge: {{{', '.join(gauge)}}}")
    conditions = [part for part in (f"throttle: {d.of(['open', 'open', 'shut'])}", f"cranking_speed: {round(d.between(130, 280))} rpm", f"altitude: {round(d.between(0, 2200))} m",
                                    f"engine_temperature: {round(d.between(5, 95))} C", f"air_temperature: {round(d.between(-5, 33))} C", f"strokes: {4 + int(8 * d.one())}",
                                    f"barometer: {round(d.between(900, 1030))} hPa") if d.chance(0.5)]
    if conditions:
        lines.append(f"conditions: {{{', '.join(conditions)}}}")

    def reading(c):
        return round(level * low.get(c, 1.0) + d.between(-noise, noise))

    lines += ["compression:"] if dry else []
    for repeat in range(d.of([1, 1, 2, 3, 4]) if dry else 0):
        for c in range(1, n + 1):
            if repeat == 0 or d.chance(0.8):
                first = f", first_stroke: {round(level * d.between(0.35, 0.6))} psi" if d.chance(0.25) else ""
                lines.append(f"  - {{cylinder: {c}, reading: {reading(c) + (40 if repeat == 2 and d.chance(0.1) else 0)} psi{first}}}")
    wet = [c for c in range(1, n + 1) if d.chance(0.9 if c in low else 0.2)] if d.chance(0.6 if dry else 0.9) else []
    if wet:
        lines.append("wet:")
        for c in wet:
            dry = reading(c)
            lines.append(f"  - {{cylinder: {c}, reading: {round(dry + (level * 1.05 - dry) * d.one())} psi"
                         + (f", oil: {d.of([3, 5, 10, 15])} ml" if d.chance(0.6) else "") + "}")
    leakdown = [c for c in range(1, n + 1) if d.chance(0.7)] if not dry or d.chance(0.6) else []
    if leakdown:
        lines.append("leakdown:")
        orifice = f", orifice: {d.of([0.8, 1.016, 1.5])} mm" if d.chance(0.6) else ""
        for c in leakdown:
            loss = round(d.between(4, 14) if c not in low else d.between(10, 70))
            places = ["intake", "exhaust", "oil_filler", "coolant"] + [f"cylinder_{o}" for o in range(1, n + 1) if o != c]
            heard = f", heard: {d.of(places)}" if d.chance(0.4) else ", heard: nothing" if d.chance(0.2) else ""
            lines.append(f"  - {{cylinder: {c}, supply: {d.of([80, 100])} psi, loss: {loss} %{orifice}{heard}}}")
    seen = d.some(SEEN, 0.12)
    if seen:
        lines.append("observed:")
        for what in seen:
            lines.append(f"  - {{what: {what}" + (f", cylinder: {1 + int(n * d.one())}" if "plug" in what or "borescope" in what else "") + (", found: no" if d.chance(0.3) else "") + "}")
    return "\n".join(lines) + "\n"


# ---------------------------------------------------------------- garages

def season(seed):
    """Sheets and events of an engine that wears, or breaks: ([sheet], [(day, hours)])."""
    d = Draw(seed)
    n, day, hours, sheets, events = d.of([2, 4, 4, 6]), datetime.date(2021, 3, 1), 50.0, [], []
    wear, broken = [d.between(0.0005, 0.004) for _ in range(n)], int(n * d.one()) + 1 if d.chance(0.6) else 0
    tests = 3 + int(4 * d.one())
    for number in range(tests):
        aged = [170.0 * (1.0 - wear[c] * (hours - 50.0) ** 0.5) * (0.8 if c + 1 == broken and number == tests - 1 else 1.0) for c in range(n)]
        lines = ["sheet: 1", f"engine: {{cylinders: {n}, bore: 86 mm, stroke: 80 mm, compression_ratio: 9.8}}"]
        counter = f", engine_hours: {round(hours)} h" if d.chance(0.7) else ""
        lines += [f"conditions: {{date: {day}, throttle: open, cranking_speed: {round(d.between(190, 240))} rpm, engine_temperature: {round(d.between(40, 85))} C{counter}}}",
                  "gauge: {resolution: 1 psi}" if d.chance(0.5) else "", "compression:"]
        lines += [f"  - {{cylinder: {c + 1}, reading: {round(aged[c] + d.between(-2, 2))} psi}}" for c in range(n) for _ in range(d.of([1, 1, 2]))]
        if d.chance(0.6):
            lines.append("leakdown:")
            lines += [f"  - {{cylinder: {c + 1}, supply: 100 psi, loss: {round(5 + (170 - aged[c]) * 0.5)} %, orifice: 1.016 mm}}" for c in range(n) if c == 0 or d.chance(0.8)]
        if number == tests - 1 and broken and d.chance(0.5):
            lines += ["observed:", f"  - {{what: misfire_cylinder, cylinder: {broken}}}"]
        sheets.append("\n".join(line for line in lines if line) + "\n")
        run = d.between(8, 40)
        for event in range(int(d.between(1, 5))):
            events.append((str(day + datetime.timedelta(40 + 30 * event)), None if d.chance(0.15) else round(run / 4, 1)))
        hours += run
        day += datetime.timedelta(200 + int(250 * d.one()))
    events += [(str(day + datetime.timedelta(60 + 25 * i)), round(d.between(3, 9), 1)) for i in range(int(d.between(0, 5)))]
    return sheets, events, str(day)
