#!/usr/bin/python3
"""Pages of ours against nginx serving the same bytes from disk, by wrk over loopback, in one run on one machine.

The start page and a sheet's page of a small garage, and the style sheet, fetched once from our program and put into files that nginx serves (one worker, sendfile,
kept connections, no log). wrk asks each with 16 connections from one thread. Ours reads the garage, looks at the cookie and writes the page anew for each request;
nginx is what serving bytes costs at least. The ratio is requests a second of nginx over ours. Nothing is promised of it: a page has 5 ms (bench_pages.py).
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request

SOURCE = os.environ.get("CROSSHATCH_SOURCE", os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
BUILD = os.environ.get("CROSSHATCH_BUILD", os.path.join(SOURCE, "build-bench"))
os.environ.setdefault("CROSSHATCH", os.path.join(BUILD, "crosshatch"))
sys.path.insert(0, os.path.join(SOURCE, "tests/web"))
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

# pylint: disable=wrong-import-position
import rows  # noqa: E402
from browse import Person, Server  # noqa: E402
from newcomer import begin_sheet, enter_car, enter_reading  # noqa: E402

SECONDS, CONNECTIONS = 5, 16


def wrk(address, cookie):
    out = subprocess.run(["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{SECONDS}s", "-H", f"Cookie: {cookie}", address], check=True,
                         stdout=subprocess.PIPE).stdout.decode()
    assert "Non-2xx" not in out and "Socket errors" not in out, out
    return float(re.search(r"Requests/sec:\s+([0-9.]+)", out).group(1))


def start_nginx(folder, port):
    with open(os.path.join(folder, "nginx.conf"), "w", encoding="utf-8") as file:
        file.write(f"""worker_processes 1; daemon off; pid {folder}/pid; error_log {folder}/error; user {os.environ.get("USER", "root")};
events {{ worker_connections 256; }}
http {{ access_log off; sendfile on; keepalive_requests 1000000000; default_type text/html;
  client_body_temp_path {folder}; proxy_temp_path {folder}; fastcgi_temp_path {folder}; uwsgi_temp_path {folder}; scgi_temp_path {folder};
  server {{ listen 127.0.0.1:{port}; root {folder}/root; }} }}
""")
    process = subprocess.Popen([shutil.which("nginx") or "/usr/sbin/nginx", "-p", folder, "-c", os.path.join(folder, "nginx.conf")],
                               stderr=subprocess.DEVNULL)
    for _ in range(100):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/page0", timeout=1).read()
            return process
        except OSError:
            time.sleep(0.05)
    process.kill()
    raise SystemExit("nginx did not start")


def main():
    with tempfile.TemporaryDirectory() as folder, Server() as server:
        person = Person(server)
        enter_car(person)
        sheet = begin_sheet(person)
        for cylinder in range(1, 5):
            enter_reading(person, sheet, cylinder, str(170 + cylinder))
        style = next(load for load in person.get("/").loads if load.endswith(".css"))
        pages = [("start page", "/"), ("a sheet's page", f"/sheet/{sheet}"), ("the style sheet", style)]
        os.mkdir(os.path.join(folder, "root"))
        os.chmod(folder, 0o755)
        for number, (_, path) in enumerate(pages):
            with open(os.path.join(folder, "root", f"page{number}"), "wb") as file:
                file.write(person.send("GET", path)[2])
        nginx = start_nginx(folder, 18480)
        try:
            for number, (name, path) in enumerate(pages):
                size = os.path.getsize(os.path.join(folder, "root", f"page{number}"))
                ours = wrk(f"http://127.0.0.1:{server.port}{path}", person.cookie)
                theirs = wrk(f"http://127.0.0.1:18480/page{number}", person.cookie)
                ratio = rows.compare("pages", f"{name}, {size / 1000:.1f} kB, 16 clients", 1 / ours, 1 / theirs, "nginx, the same bytes from disk")
                print(f"{name}: {ours:.0f} requests a second, nginx {theirs:.0f}: ours has {ratio:.3f} of its speed")
        finally:
            nginx.terminate()
            nginx.wait()
    return 0


if __name__ == "__main__":
    sys.exit(main())
