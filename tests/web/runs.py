"""Simulated runs of invented cars as logs (tests/cli/drive_log.c), and sending them as the page's form does."""
import os
import subprocess
import tempfile

DRIVE_LOG = os.environ["DRIVE_LOG"]
FOLDER = tempfile.TemporaryDirectory(prefix="crosshatch-runs-")
PAGE = "/car/1/driveline"


def log_of(dialect="comma", seed=1, seconds=240, kind="slipping"):
    """Bytes of a simulated run."""
    name = os.path.join(FOLDER.name, f"{dialect}-{seed}-{seconds}-{kind}")
    if not os.path.exists(name):
        subprocess.run([DRIVE_LOG, dialect, str(seed), str(seconds), kind, name, name + ".json"], check=True)
    with open(name, "rb") as file:
        return file.read()


def multipart(fields, name, content):
    head = "".join(f'--limit\r\nContent-Disposition: form-data; name="{own}"\r\n\r\n{value}\r\n' for own, value in fields)
    about = f'--limit\r\nContent-Disposition: form-data; name="log"; filename="{name}"\r\nContent-Type: text/csv\r\n\r\n'
    return (head + about).encode() + content + b"\r\n--limit--\r\n"


def send_log(person, content, name="run.csv", status=200, day="2026-10-03"):
    """Send it by the form of the page, and arrive where that leads."""
    form = person.get(PAGE).form(PAGE)
    assert form.names("file") == ["log"] and 'enctype="multipart/form-data"' in person.page.source
    fields = [("token", form.value("token")), ("day", day)]
    answer = person.send("POST", PAGE, multipart(fields, name, content), Content_Type="multipart/form-data; boundary=limit")
    return person.arrive(PAGE, *answer, status)
