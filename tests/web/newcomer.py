"""The way from an empty garage to a judged sheet, as a person goes it who has never seen the program."""

READINGS = {1: ("82", "176"), 2: ("80", "171"), 3: ("81", "174"), 4: ("79", "172")}  # psi; invented


def enter_car(person, name="Hill car", **more):
    person.get("/")
    person.get("/cars/new")
    return person.submit(person.page.form("/cars/new"), name=name, **more)


def begin_sheet(person, **more):
    """From the page that a new car leads to; the number of the sheet."""
    person.submit(person.page.form("/sheets/new"), **more)
    return int(person.page.path.split("/")[2])


def enter_reading(person, sheet, cylinder, final, first="", kind="dry", **more):
    person.get(f"/sheet/{sheet}/measure?kind={kind}&cylinder={cylinder}")
    return person.submit(person.page.form("/measure"), first=first, reading=final, **more)


def enter_all(person, sheet, rounds=2):
    for turn in range(rounds):
        for cylinder, (first, final) in READINGS.items():
            enter_reading(person, sheet, cylinder, str(int(final) + turn), first)


def sheet_with_readings(person, rounds=2):
    enter_car(person)
    sheet = begin_sheet(person)
    enter_all(person, sheet, rounds)
    return sheet
