"""The JSON Schema of the test sheet and the program's reader must agree.

Sheets are made from a whole one by leaving out, changing and spoiling parts, with a fixed seed; the schema (python3-jsonschema) and the
reader (sheet_check) each give a verdict. They may differ only where the rule is one that a schema cannot express: those are
listed in EXCEPTIONS, by what the reader says. Speaks TAP. Environment: SHEET_CHECK, CROSSHATCH_SOURCE.
"""
import copy
import json
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile

try:
    import jsonschema
    import yaml
except ImportError as missing:
    print(f"1..0 # SKIP {missing}")
    sys.exit(0)

SOURCE = pathlib.Path(os.environ["CROSSHATCH_SOURCE"])
CHECK = os.environ["SHEET_CHECK"]
DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
SHEETS = 1200
SEED = 20270116

# Accepted by the schema, refused by the reader: rules that join fields, or that need a quantity's value.
EXCEPTIONS = {
    "a bare number whose unit the sheet does not name": r'"[^"]*" has no unit',
    "the range of a quantity": r"is out of range",
    "a number too large to compute with": r"is too large to compute with",
    "a cylinder that the engine has": r"the engine has no cylinder",
    "a firing order names each cylinder once": r"firing_order names",
    "nothing was heard, and yet something": r'heard: "nothing" beside a place',
    "air heard at the cylinder under test": r"is the cylinder under test",
    "a rod longer than half the stroke": r"rod_length: the crank could not turn",
    "a minimum that is not above the standard": r"minimum: above the standard",
    "a checking lift that the valve reaches": r"at_lift: the valve never opens that far",
    "a day that exists": r"date: ",
}
# Accepted by the reader, refused by the schema: the reader takes more spellings of a unit than the schema lists.
SPELLINGS = ["178 PSI", "12,3 Bar", "178 lbf/in2", "170 kpa"]

# Units that the sheets are written in, each in SI; temperatures are left alone.
UNITS = {
    "pressure": {"psi": 6894.757, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "kgf/cm2": 98066.5, "hPa": 1e2, "inHg": 3386.389, "at": 98066.5, "Torr": 133.3224},
    "length": {"mm": 1e-3, "cm": 1e-2, "in": 0.0254, "m": 1, "km": 1e3, "mi": 1609.344, "ft": 0.3048},
    "volume": {"ml": 1e-6, "cc": 1e-6, "l": 1e-3, "cu in": 1.6387064e-5}, "area": {"mm2": 1e-6, "cm2": 1e-4, "in2": 6.4516e-4},
    "temperature": {"C": 1}, "speed": {"rpm": 1, "r/min": 1, "1/min": 1}, "time": {"h": 60, "min": 1}, "angle": {"deg": 1}, "ratio": {"%": 1},
}
JUNK = [
    None, True, False, 0, 1, -1, 2.5, 4.0, 33, 1e308, 10**12, "", " ", "yes", "no", "all", "open", "nothing", "heard", "cylinder_2", "cylinder_40", "178 psi",
    "12 C", "18 %", "84 mm", "84mm", " 84 mm ", "0.04 in", "1,5 bar", "1,234 mm", "1.2.3 mm", "12 furlong", "psi", "NaN", "nan psi", ".inf mm", "1e3 mm",
    "0x10", "9.6:1", "5 deg", "10 ml", "1 mm2", "412 h", "220 rpm", "450 m", "2 % of span", "2 % of reading", "grade B", "grade E", "class 1.6", "class 3",
    "2027-01-16", "2027-13-01", "2027-02-30", "16.1.2027", [], [1], [1, 2, 3, 4], ["exhaust"], ["exhaust", "nothing"], {}, {"a": 1}, [[1]], [{}], "01", "4",
    "+4", "-4", "4.0", "3,0", "a\u0007b", "caf\u00e9", "x" * 2000, "x" * 2001, "coolant_loss", "Coolant", "2cold", "-0.5 psi", "0 psi", "\u22125 C",
]
KEYS = ["boer", "bore", "oil", "note", "cylinder", "heard", "span", "sheet", "extra", "loss", "throttle", "Sheet", "strokes"]

whole = yaml.safe_load((SOURCE / "tests/data/sheets/full.yaml").read_text())
schema = json.loads((SOURCE / "data/schema/sheet-1.schema.json").read_text())
validator = jsonschema.Draft202012Validator(schema)
rng = random.Random(SEED)


def plain(value):
    """A document as JSON has it: PyYAML makes dates of dates."""
    return json.loads(json.dumps(value, default=str))


def places(node):
    """Every part of a document, as (container, key), each before its own parts."""
    found = []

    def walk(container):
        for key, value in container.items() if isinstance(container, dict) else enumerate(container):
            found.append((container, key))
            if isinstance(value, (dict, list)):
                walk(value)

    walk(node)
    return found


def thin(doc):
    """Leave parts out."""
    for _ in range(rng.randrange(0, 12)):
        container, key = rng.choice(places(doc))
        needed = ("sheet", "units", "engine", "cylinders", "cylinder", "reading", "what", "loss")
        if container is not doc["units"] and key not in needed:
            del container[key]


def requantify(doc):
    """Some quantities in other units, and bare where `units` allows it."""
    units = doc.setdefault("units", {})
    for dimension in rng.sample(["volume", "area", "temperature", "speed", "time", "angle", "ratio"], rng.randrange(0, 4)):
        units[dimension] = rng.choice(list(UNITS[dimension]))
    for container, key in places(doc):
        value = container[key]
        match = re.fullmatch(r"(-?[0-9.]+) (\S.*)", value) if isinstance(value, str) else None
        dimension = next((d for d, names in UNITS.items() if match and match[2] in names), None)
        if dimension is None or rng.random() < 0.6:
            continue
        unit = units.get(dimension) if key not in ("altitude", "odometer") else None
        bare = unit in UNITS[dimension] and rng.random() < 0.5
        name = unit if bare else rng.choice(list(UNITS[dimension]))
        changed = float(f"{float(match[1]) * UNITS[dimension][match[2]] / UNITS[dimension][name]:.6g}")
        container[key] = changed if bare else f"{changed} {name}"


def spoil(doc):
    """Put something where it may not belong."""
    container, key = rng.choice(places(doc))
    kind = rng.random()
    if kind < 0.55:
        container[key] = copy.deepcopy(rng.choice(JUNK))
    elif kind < 0.75 and isinstance(container, dict):
        container[rng.choice(KEYS)] = copy.deepcopy(rng.choice(JUNK))
    elif kind < 0.85:
        del container[key]
    elif kind < 0.95:
        other, from_key = rng.choice(places(doc))
        container[key] = copy.deepcopy(other[from_key])
    elif isinstance(container, list):
        container.insert(key, copy.deepcopy(container[key]))


def make(i):
    doc = copy.deepcopy(whole)
    thin(doc)
    requantify(doc)
    for _ in range(i % 3):
        if doc:
            spoil(doc)
    return doc


def verdicts(texts, ending):
    """What the reader says of each text: "ok" or its line without the place."""
    lines = []
    with tempfile.TemporaryDirectory() as folder:
        names = []
        for i, text in enumerate(texts):
            name = f"{i}.{ending}"
            (pathlib.Path(folder) / name).write_text(text, encoding="utf-8")
            names.append(name)
        for start in range(0, len(names), 500):
            done = subprocess.run([CHECK, *names[start:start + 500]], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
            if done.returncode not in (0, 3):
                raise SystemExit(f"sheet_check ended with {done.returncode}: {done.stdout[-500:]}")
            lines += done.stdout.splitlines()
    assert len(lines) == len(texts), f"{len(lines)} verdicts for {len(texts)} sheets"
    return [line if line == "ok" else re.sub(r"^[^:]*:[0-9]+:[0-9]+: ", "", line) for line in lines]


number = 0
failures = 0


def promise(name, broken):
    global number, failures
    number += 1
    for line in broken[:10]:
        print("#", line)
    failures += bool(broken)
    print(f"{'not ok' if broken else 'ok'} {number} - {name}")


def schema_keys(node):
    """Every key that the schema knows, by its name."""
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "properties" and "additionalProperties" in node:
                yield from value
            yield from schema_keys(value)
    elif isinstance(node, list):
        for value in node:
            yield from schema_keys(value)


def document_keys(node):
    if isinstance(node, dict):
        yield from node
    for value in node.values() if isinstance(node, dict) else node if isinstance(node, list) else ():
        yield from document_keys(value)


jsonschema.Draft202012Validator.check_schema(schema)
promise("the_schema_is_a_schema", [])

whole = plain(whole)
whole["units"] = {dimension: list(names)[0] for dimension, names in UNITS.items()} | {"distance": "km"}
promise("the_whole_sheet_has_every_key_of_the_schema", sorted(set(schema_keys(schema)) - set(document_keys(whole))))

kept = sorted(SOURCE.glob("tests/data/sheets/*.yaml")) + sorted(SOURCE.glob("tests/data/cranking-oracle/*.yaml"))
said = verdicts([path.read_text() for path in kept], "yaml")
broken = [f"{path.name}: {line}" for path, line in zip(kept, said) if line != "ok"]
broken += [f"{path.name}: {error.message}" for path in kept for error in validator.iter_errors(plain(yaml.safe_load(path.read_text())))]
promise("both_accept_the_sheets_of_the_project", broken if kept else ["no sheets"])

whole["units"] = {"pressure": "psi", "length": "mm"}
documents = [make(i) for i in range(SHEETS)]
said = verdicts([json.dumps(doc) for doc in documents], "json")
seen = dict.fromkeys(EXCEPTIONS, 0)
agreed = {True: 0, False: 0}
broken = []
for doc, line in zip(documents, said):
    errors = list(validator.iter_errors(doc))
    if (line == "ok") == (not errors):
        agreed[line == "ok"] += 1
        continue
    excuse = next((rule for rule, words in EXCEPTIONS.items() if not errors and re.search(words, line)), None)
    if excuse is None:
        best = jsonschema.exceptions.best_match(errors).message[:200] if errors else "accepts it"
        broken.append(f"reader: {line}; schema: {best}; in {json.dumps(doc)[:1500]}")
    else:
        seen[excuse] += 1
print(f"# {agreed[True]} sheets accepted by both, {agreed[False]} refused by both, {sum(seen.values())} told apart by the listed rules")
promise("schema_and_reader_agree_but_for_the_listed_rules", broken)
promise("many_sheets_are_accepted_and_many_refused", [] if min(agreed.values()) > SHEETS // 10 else [str(agreed)])

# Every listed rule is real: one sheet each that only the reader refuses.
probes = {
    "a bare number whose unit the sheet does not name": lambda d: d["gauge"].update(hose_volume=12),
    "the range of a quantity": lambda d: d["engine"].update(bore="1 m"),
    "a number too large to compute with": lambda d: d["engine"].update(bore="1e999 mm"),
    "a cylinder that the engine has": lambda d: d["compression"][0].update(cylinder=5),
    "a firing order names each cylinder once": lambda d: d["engine"].update(firing_order=[1, 3, "1", 2]),
    "nothing was heard, and yet something": lambda d: d["leakdown"][0].update(heard=["nothing", "intake"]),
    "air heard at the cylinder under test": lambda d: d["leakdown"][0].update(heard="cylinder_2"),
    "a rod longer than half the stroke": lambda d: d["engine"].update(rod_length="44 mm"),
    "a minimum that is not above the standard": lambda d: d["engine"]["limits"].update(minimum=186),
    "a checking lift that the valve reaches": lambda d: d["engine"]["valve_timing"].update(at_lift=8.5),
    "a day that exists": lambda d: d["conditions"].update(date="2027-02-29"),
}
broken = sorted(set(EXCEPTIONS) ^ set(probes))
for rule, change in probes.items():
    doc = copy.deepcopy(whole)
    change(doc)
    line = verdicts([json.dumps(doc)], "json")[0]
    if list(validator.iter_errors(doc)) or not re.search(EXCEPTIONS[rule], line):
        broken.append(f"{rule}: reader says {line}")
promise("every_listed_rule_is_the_readers_alone", broken)

broken = []
for spelling in SPELLINGS:
    doc = copy.deepcopy(whole)
    doc["compression"][0]["reading"] = spelling
    line = verdicts([json.dumps(doc)], "json")[0]
    if line != "ok" or validator.is_valid(doc):
        broken.append(f"{spelling}: {line}")
promise("the_reader_takes_more_spellings_than_the_schema", broken)

again = verdicts([yaml.dump(doc, Dumper=DUMPER, allow_unicode=True) for doc in documents], "yaml")
broken = [f"JSON: {one}; YAML: {two}" for one, two in zip(said, again) if (one == "ok") != (two == "ok")]
promise("the_verdict_does_not_depend_on_the_form", broken)

print(f"1..{number}")
sys.exit(1 if failures else 0)
