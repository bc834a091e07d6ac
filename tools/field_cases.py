#!/usr/bin/env python3
"""Turn the collected field cases into test sheets, without looking at what was found.

    tools/field_cases.py [FOLDER]            write FOLDER/sheets/*.yaml and FOLDER/index.csv
    tools/field_cases.py --check [FOLDER...] write nothing; exit 1 where the files on disk differ from what would be
                                             written, or, for field-cases, a phrase of phrases.yaml does not come to
                                             what stands there
    tools/field_cases.py --left [FOLDER]     list the pieces of evidence that no rule of evidence_words.yaml understands

FOLDER holds cases.csv: tests/data/field-cases where none is given, further-cases, later-cases, latest-cases, fifth-cases, sixth-cases,
textbook-cases or story-cases beside it.

What a sheet says comes from the columns of BLIND only; the answer (cause, how it was confirmed, the collector's
note) goes into index.csv beside it and nowhere else. Needs python3-yaml. Every reading is kept as given; "?" is left
out. Where an account names no cylinder number, its listing order stands for the numbers.
"""
import csv
import functools
import io
import json
import pathlib
import re
import sys

import yaml

# The table of words is long: the loader in C reads it in a tenth of the time, where PyYAML was built with it.
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

ROOT = pathlib.Path(__file__).resolve().parent.parent
CASES = ROOT / "tests/data/field-cases"
OBSERVATIONS = ROOT / "knowledge/observations.yaml"

BLIND = ("case_id engine_description layout cylinders compression_ratio mileage_or_hours altitude engine_temp "
         "test_conditions dry_psi wet_psi stated_normal_psi leakdown_pct leakdown_supply_psi air_heard "
         "other_evidence").split()
# Columns searched for words, and whether mere history there counts for has_more_than_dry: that an engine is turbocharged
# or raced stands in its description whether anything is wrong or not.
WORD_COLUMNS = (("other_evidence", True), ("test_conditions", True), ("engine_description", False))
INDEX = "case_id sheet usable reason engine_level_cause confirmed_cause confidence has_more_than_dry".split()

CALLED = ("reads_well", "reads_low")  # read only where the cylinder is named and no figure of it is given
# Without a number of its own, or with one that it was exchanged with, it is said of the one cylinder that is complained of.
SAID_OF_THE_ONE = "ignition_ruled_out"

HIGH_MILEAGE_KM = 200000  # used only where the figure cannot go into the sheet; common practice for "high"
FRESH_KM = 5000  # a rebuild that has run less counts as recent


def read_yaml(path):
    return yaml.load(path.read_text(encoding="utf-8"), LOADER)


class Words:
    """evidence_words.yaml, compiled and checked against the list of observations."""

    def __init__(self, path, observations):
        table = read_yaml(path)
        known = {o["id"]: o for o in read_yaml(observations)["observations"]}
        self.scope = {name: o["scope"] for name, o in known.items()}
        self.history = {name for name, o in known.items() if o["kind"] == "history"}
        self.negation = re.compile(rf"\b(?:{table['negation']})\b(?:\W+\w+){{0,2}}\W*$", re.I)
        self.listed = re.compile(rf"\b(?:{table['negation']})\b.*\bn?or\W+(?:\w+\W+)?$", re.I)
        self.denied_after = re.compile(rf"\W*(?:{table['denied_after']})\b", re.I)
        self.new_statement = re.compile(rf"(?:{table['new_statement']}|{table['negation']})\b", re.I)
        self.loose = re.compile(rf"\b(?:{table['loose']})\b ?", re.I)
        self.doubt = re.compile(rf"\b(?:{table['doubt']})\b", re.I)
        self.faint = re.compile(rf"\b(?:{table['faint']})\b", re.I)
        self.spellings = {f"spelling_{i}": word for i, word in enumerate(table["spellings"])}
        self.spelling = re.compile("|".join(
            rf"(?P<spelling_{i}>\b(?:{re.sub(r'[(](?![?])', '(?:', other)})(?!\w))"
            for i, other in enumerate(table["spellings"].values())))
        self.particular = table["more_particular"]
        if not {*self.particular, *(g for general in self.particular.values() for g in general)} <= known.keys():
            sys.exit(f"{path}: more_particular names what is not in {observations.name}")
        self.temperature = self._choices(table["engine_temperature"])
        self.throttle = self._choices(table["throttle"])
        self.heard = self._choices(table["heard"])
        families = {name: f"(?:{pattern})" for name, pattern in table["families"].items()}

        def spelt_out(pattern):
            return re.sub(r"<(\w+)>", lambda m: families[m[1]], pattern)

        self.rules = []
        for rule in table["rules"]:
            found = [(w, False) for w in rule.get("observe", [])] + [(w, True) for w in rule.get("absent", [])]
            unknown = [w for w, _ in found if w not in known]
            if unknown:
                sys.exit(f"{path}: not in {observations.name}: {', '.join(unknown)}")
            find = [spelt_out(p) for p in rule["find"]]
            when = spelt_out(rule["when"]) if "when" in rule else None
            self.rules.append((self.word("|".join(find)), when, found))
        self.others_good = [self.word(p) for p in table["others_good"]]
        self.in_a_boat = table["in_a_boat"]
        if not {*self.in_a_boat, *self.in_a_boat.values()} <= known.keys():
            sys.exit(f"{path}: in_a_boat names what is not in {observations.name}")

    @staticmethod
    @functools.cache
    def word(pattern):
        # A free word within a pattern may be any but one that turns the meaning round: "plugs not oily" is no oily plug.
        pattern = pattern.replace(r"(\w+ )?", r"((?!(?:not|never|no|hardly|without)\b)\w+ )?")
        pattern = pattern.replace(r"( \w+)?", r"( (?!(?:not|never|no|hardly|without)\b)\w+)?")
        # No group is asked for, what is searched is in small letters, and a word begins every match: all three make the
        # search faster by far.
        pattern = re.sub(r"(?<!\\)\((?!\?)", "(?:", pattern)
        return re.compile(r"\b(?:" + pattern + r")")

    def _choices(self, rows):
        return [([self.word(p) for p in row["find"]], row["give"]) for row in rows]


def plain(text):
    """A text as the patterns are written: in small letters, and "number 2" for "#2" and "No. 2"."""
    return re.sub(r"(?:#\s*|\bn[or]\. ?)(?=\d)", "number ", text.lower().replace("\u2019", "'"))


def first_choice(choices, text):
    """What the first row of a table with a pattern in the text gives, or None."""
    text = plain(text)
    for patterns, give in choices:
        if any(p.search(text) for p in patterns):
            return give
    return None


def clauses(text):
    """(clause, the statement it stands in): statements end at ; and are cut at , and "but"; a comma before a digit belongs to
    a number or a list of cylinders."""
    return [(clause.strip(), statement.strip()) for statement in text.split(";")
            for clause in re.split(r",(?!\s*\d)|\bbut\b", statement) if clause.strip()]


NUMBER_LIST = r"(\d{1,2}(?:\s*(?:,|and|&|\+)\s*\d{1,2})*)"
CYLINDER_NUMBERS = re.compile(
    r"(?:\b(?:cylinders?|cyl\.?|plugs?|number|no\.?|nr\.?|on|in|at|of|from|into|exhaust|intake|inlet|lobe|rocker)\s*|"
    r"#\s*|\bP030(?=[1-9]\b))" + NUMBER_LIST +
    r"(?![\d,]*\d)(?!\s*(?:psi|mi\b|miles|km|%|percent|rpm|r/min|years?|months?|hours?|quarts?|lit\w+|strokes?|F\b|C\b|-))",
    re.I)


def cylinder_numbers(clause, count):
    """Cylinders a clause names, those that the engine has."""
    numbers = []
    for match in CYLINDER_NUMBERS.finditer(clause):
        for text in re.findall(r"\d+", match.group(1)):
            if 1 <= int(text) <= count and int(text) not in numbers:
                numbers.append(int(text))
    return numbers


NUMBER_WORDS = {word: str(i) for i, word in enumerate(
    "one two three four five six seven eight nine ten eleven twelve".split(), 1)}
NAMED_IN_WORDS = re.compile(rf"\b(number|no\.|cylinder|cyl\.?) ({'|'.join(NUMBER_WORDS)})\b", re.I)
WHICH_CYLINDER = re.compile(
    r" ?\b(?:(?:(?:on|in|of|at|for|from) )?(?:the )?(?:cylinders?|cyl\.?|number|no\.|nr\.?) ?#?|(?:(?:on|in|of|at|for) )#?|(?<= )#)"
    r"\d{1,2}\b(?!,?\d| ?(?:psi|mi\b|miles|km|%|percent|rpm|r/min|years?|months?|hours?|quarts?|strokes?|F\b|C\b))", re.I)


def denied(words, before, match):
    """Whether a match is negated: by a word shortly before it, or further before it where "or" goes on, unless "and" starts
    a new statement; or right after it."""
    starts_anew = re.search(r"\band\W*$", before) and words.new_statement.match(match.group(0))
    if not starts_anew and (words.negation.search(before) or words.listed.search(before)):
        return True
    return bool(words.denied_after.match(match.string, match.end()))


@functools.cache
def signs_of(clause, statement, words):
    """What the rules find in one clause: (what, absent), or None where no rule understands any of it. A rule with `when`
    looks for that in the whole statement first."""
    rest, signs = clause, None
    for pattern, when, found in words.rules:
        match = pattern.search(rest)
        if not match or (when and not words.word(when).search(statement)):
            continue
        turned = denied(words, rest[:match.start()], match)
        signs = (signs or []) + [(what, absent != turned) for what, absent in found]
        rest = rest[:match.start()] + "." * len(match.group(0)) + rest[match.end():]
    return signs


def observed_in(text, words, count, numbered, left=None):
    """Observations of a text: (what, cylinder or None, absent), in order, each once."""
    rows, said_in, more_general = [], [], set()
    text = words.spelling.sub(lambda m: words.spellings[m.lastgroup], plain(text))
    for clause, statement in clauses(text):
        if words.doubt.search(clause):
            continue
        clause = NAMED_IN_WORDS.sub(lambda m: f"{m[1]} {NUMBER_WORDS[m[2]]}", clause)
        numbers = cylinder_numbers(clause, count) if numbered else []
        if count == 1:
            numbers = [1]
        signs = signs_of(clause, statement, words)
        if signs is None:  # once more without the words that only weigh the others, and without the cylinder's number
            signs = signs_of(WHICH_CYLINDER.sub("", words.loose.sub("", clause)).strip(), statement, words)
        if signs is None and left is not None:
            left.append(clause)
        for what, absent in signs or []:
            if what in CALLED and not numbers:
                continue
            for number in (numbers or [None]) if words.scope[what] == "cylinder" else [None]:
                if (what, number) not in [r[:2] for r in rows]:
                    rows.append((what, number, absent))
                    said_in.append(statement)
            if not absent:
                more_general |= {(general, statement) for general, kept_by in words.particular.get(what, {}).items()
                                 if not (kept_by and re.search(kept_by, statement))}
    rows = [row for row, statement in zip(rows, said_in) if row[2] or (row[0], statement) not in more_general]
    return as_in_a_boat(rows, words)


def as_in_a_boat(rows, words):
    """The rows with what water means in a boat, where one of them says that the engine is in one; each once."""
    if not any(what == "boat_engine" and not absent for what, _, absent in rows):
        return rows
    named = [(words.in_a_boat.get(what, what), number, absent) for what, number, absent in rows]
    return [row for i, row in enumerate(named) if row[:2] not in [n[:2] for n in named[:i]]]


def entries(text, count):
    """Per-cylinder entries of a column: stripped texts, None where not given."""
    if not text.strip():
        return [None] * count
    cells = [c.strip() for c in text.split(";")]
    if len(cells) > count:
        raise ValueError(f"{len(cells)} entries for {count} cylinders: {text}")
    return [c if c not in ("", "?") else None for c in cells] + [None] * (count - len(cells))


def figure(text):
    """A number as text without trailing zeros; the middle of a range "165-170"."""
    parts = [float(p) for p in re.fullmatch(r"([\d.]+)(?:\s*-\s*([\d.]+))?", text).groups() if p]
    return f"{sum(parts) / len(parts):g}"


def heard_places(text, words, cylinder, count, inline):
    """The sheet's `heard` list from what an account says of one cylinder. Faint hiss is left out."""
    places = []
    for part in re.split(r",|\band\b|&|\+|/", text):
        if words.faint.search(text):  # "intake and oil filler, slight": the qualifier speaks of the whole entry
            continue
        place = first_choice(words.heard, part)
        if place == "neighbour":
            digits = re.search(r"\d+", part)
            others = [n for n in (cylinder - 1, cylinder + 1) if 1 <= n <= count]
            if digits and 1 <= int(digits.group()) <= count and int(digits.group()) != cylinder:
                place = f"cylinder_{int(digits.group())}"
            elif inline and len(others) == 1:
                place = f"cylinder_{others[0]}"
            else:
                place = None
        if place and place not in places:
            places.append(place)
    return places if places != ["nothing"] and "nothing" not in places else ["nothing"]


def mileage(text, description):
    """(condition lines, observations) from a distance or hours, as far as it is clear."""
    if not text.strip():
        return {}, []
    match = re.search(r"([\d,]+(?:\.\d+)?)\s*(km|mi|miles|h|hours|hrs)\b(\s+or\s+)?", text, re.I)
    if not match:
        return {}, []
    number, unit = match.group(1).replace(",", ""), match.group(2).lower()
    if unit.startswith("h"):
        return {"engine_hours": f"{number} h"}, []
    kilometres = float(number) * (1.609344 if unit.startswith("mi") else 1.0)
    if re.search(r"re-?buil[dt]|overhaul", text + " " + description, re.I):
        return {}, ["recent_rebuild"] if kilometres < FRESH_KM else []
    if match.group(3):
        return {}, ["high_mileage"] if kilometres >= HIGH_MILEAGE_KM else []
    return {"odometer": f"{number} {'mi' if unit.startswith('mi') else 'km'}"}, []


def conditions(row, words):
    """The `conditions` block as far as the account goes."""
    out = {}
    text = row["test_conditions"]
    match = re.search(r"([\d,]+(?:\.\d+)?)\s*(m|ft|feet)\b", row["altitude"])
    if match:
        out["altitude"] = f"{match.group(1).replace(',', '')} {'m' if match.group(2) == 'm' else 'ft'}"
    match = re.search(r"(\d+)\s*(?:deg(?:rees)? ?)?([CF])\b", row["engine_temp"])
    temperature = f"{match.group(1)} {match.group(2)}" if match else None
    temperature = temperature or first_choice(words.temperature, row["engine_temp"]) or first_choice(
        words.temperature, text)
    if temperature:
        out["engine_temperature"] = temperature
    throttle = first_choice(words.throttle, text)
    if throttle:
        out["throttle"] = throttle
    match = re.search(r"(\d{2,3})\s*(?:rpm|r/min)", text)
    if match:
        out["cranking_speed"] = f"{match.group(1)} rpm"
    match = re.search(r"(\d{1,2})\s*(?:compression )?strokes", text)
    if match:
        out["strokes"] = match.group(1)
    return out


def layout_name(text):
    low = text.lower()
    if low.startswith("flat") or "boxer" in low:
        return "flat"
    if re.match(r"v[ -]?(\d|twin)", low):
        return "vee"
    if re.match(r"i\d|inline|in-line|single|parallel|2-stroke|two-stroke", low):
        return "inline"
    return None


def sheet_of(row, words, left=None):
    """(sheet text or None, has more than dry, why not usable) of one row that holds the BLIND columns only."""
    count = int(row["cylinders"])
    layout = layout_name(row["layout"])
    listed_first = "listed first" in row["engine_description"]
    dry, wet = entries(row["dry_psi"], count), entries(row["wet_psi"], count)
    loss, air = entries(row["leakdown_pct"], count), entries(row["air_heard"], count)
    supply = row["leakdown_supply_psi"].strip()

    given, observed = mileage(row["mileage_or_hours"], row["engine_description"])
    observed = [(what, None, False) for what in observed]
    evidence = False
    for column, counts in WORD_COLUMNS:
        # Where the account gives no cylinder number, numbers in its words do not fit the listing order either.
        for found in observed_in(row[column], words, count, not listed_first,
                                 left if column == "other_evidence" else None):
            evidence = evidence or counts or found[0] not in words.history
            if found[:2] not in [o[:2] for o in observed]:
                observed.append(found)

    of_the_one = [o for o in observed if o[0] == SAID_OF_THE_ONE and not o[2]]
    complained_of = {number for what, number, absent in observed
                     if number and not absent and what not in (SAID_OF_THE_ONE, *CALLED, "normal_plug")}
    if of_the_one and len(complained_of) == 1:
        observed = [o for o in observed if o not in of_the_one] + [(SAID_OF_THE_ONE, *complained_of, False)]

    observed = as_in_a_boat(observed, words)

    lines = ["sheet: 1", "title: " + json.dumps(f"{row['case_id']}: {row['engine_description']}"), "engine:",
             f"  cylinders: {count}"]
    if layout:
        lines.append(f"  layout: {layout}")
    ratio = re.match(r"([\d.]+)(.*)", row["compression_ratio"])
    if ratio:
        lines.append(f"  compression_ratio: {ratio.group(1)}" +
                     ("    # from memory of the collector, not in the account" if "memory" in ratio.group(2) else ""))
    if row["stated_normal_psi"].strip():
        lines.append(f"  limits: {{standard: {figure(row['stated_normal_psi'])} psi}}")
    state = {**conditions(row, words), **given}
    if state:
        lines.append("conditions: {" + ", ".join(f"{k}: {v}" for k, v in state.items()) + "}")
    for name, cells in (("compression", dry), ("wet", wet)):
        if any(cells):
            lines.append(f"{name}:")
            lines += [f"  - {{cylinder: {i}, reading: {figure(c)} psi}}" for i, c in enumerate(cells, 1) if c]
    rows = []
    for i, (percent, words_heard) in enumerate(zip(loss, air), 1):
        heard = heard_places(words_heard, words, i, count, layout == "inline") if words_heard else []
        if not percent and not heard:
            continue
        parts = [f"cylinder: {i}"] + ([f"supply: {supply} psi"] if supply else [])
        parts += [f"loss: {figure(percent)} %"] if percent else []
        parts += [f"heard: [{', '.join(heard)}]"] if heard else []
        rows.append("  - {" + ", ".join(parts) + "}")
    if rows:
        lines += ["leakdown:"] + rows
    if not (any(dry) or any(wet) or rows):
        return None, False, "no reading and no air path given"
    # Who complains of some cylinders and passes over the others has found nothing against those; who calls them the low
    # ones has found the others better.
    told = [i for i in range(count) if dry[i] or wet[i] or loss[i] or air[i]]
    observed = [o for o in observed if o[0] not in CALLED or o[1] - 1 not in told]
    spoken_of = {number for _, number, _ in observed}
    praised = any(p.search(plain(row[c])) for p in words.others_good for c, _ in WORD_COLUMNS)
    others = "reads_well" if praised else "not_complained_of"
    observed += [(others, i + 1, False) for i in range(count) if i not in told and i + 1 not in spoken_of]
    if observed:
        lines.append("observed:")
        for what, number, absent in observed:
            lines.append(f"  - {{what: {what}" + (f", cylinder: {number}" if number else "") +
                         (", found: no" if absent else "") + "}")
    return "\n".join(lines) + "\n", bool(any(wet) or rows or evidence), None


def convert(words, folder, left=None):
    """Everything to be written: {path: text}."""
    files, index = {}, []
    with open(folder / "cases.csv", encoding="utf-8", newline="") as source:
        for row in csv.DictReader(source):
            text, more, reason = sheet_of({k: row[k] for k in BLIND}, words, left)
            name = f"sheets/{row['case_id']}.yaml"
            if text:
                files[folder / name] = text
            if text and re.search(r"2-stroke|two-stroke", row["layout"] + row["engine_description"], re.I):
                reason = "excluded: two-stroke"
            index.append({"case_id": row["case_id"], "sheet": name if text else "", "usable": "no" if reason else "yes",
                          "reason": reason or "", "engine_level_cause": row["engine_level_cause"],
                          "confirmed_cause": row["confirmed_cause"], "confidence": row["confidence"],
                          "has_more_than_dry": "yes" if more else "no"})
    out = io.StringIO()
    writer = csv.DictWriter(out, INDEX, lineterminator="\n")
    writer.writeheader()
    writer.writerows(index)
    files[folder / "index.csv"] = out.getvalue()
    return files


def misread_phrases(words):
    """Phrases that do not come to what phrases.yaml says of them."""
    phrases = read_yaml(CASES / "phrases.yaml")["comes_to"]
    for phrase, wanted in phrases.items():
        rows = observed_in(phrase, words, 4, True)
        got = {("no " if absent else "") + what for what, _, absent in rows}
        if (wanted not in got) if wanted else got:
            yield f'"{phrase}" comes to {", ".join(sorted(got)) or "nothing"}, not {wanted or "nothing"}'


def differences(words, folder):
    """What is wrong with the files of a folder, a line each."""
    files = convert(words, folder)
    wrong = [p for p, text in files.items() if not p.exists() or p.read_text(encoding="utf-8") != text]
    wrong += [p for p in (folder / "sheets").glob("*.yaml") if p not in files]
    lines = [f"{path}: differs from what tools/field_cases.py writes" for path in sorted(wrong)]
    return lines + [f"phrases.yaml: {line}" for line in (misread_phrases(words) if folder == CASES else [])]


def main():
    options = [a for a in sys.argv[1:] if a.startswith("-")]
    folders = [pathlib.Path(a).resolve() for a in sys.argv[1:] if not a.startswith("-")] or [CASES]
    if options not in ([], ["--check"], ["--left"]) or (len(folders) > 1 and options != ["--check"]):
        sys.exit(__doc__)
    words = Words(CASES / "evidence_words.yaml", OBSERVATIONS)
    if options == ["--check"]:
        wrong = [line for folder in folders for line in differences(words, folder)]
        print("".join(line + "\n" for line in wrong), end="")
        sys.exit(1 if wrong else 0)
    folder, left = folders[0], []
    files = convert(words, folder, left)
    if options == ["--left"]:
        print("\n".join(left))
        return
    present = set((folder / "sheets").glob("*.yaml"))
    (folder / "sheets").mkdir(exist_ok=True)
    for path in present - set(files):
        path.unlink()
    for path, text in files.items():
        path.write_text(text, encoding="utf-8")
    print(f"{len(files) - 1} sheets and an index written")


if __name__ == "__main__":
    main()
