"""A client that sends what no browser would: bytes on a socket as they are, and what came back taken apart."""
import re
import select
import socket
import time

from browse import START_SECONDS

SAFE_HEADERS = {
    "content-security-policy": re.compile(r"default-src 'none'; (?!.*unsafe).*frame-ancestors 'none'"),
    "x-content-type-options": re.compile("nosniff$"),
    "x-frame-options": re.compile("DENY$"),
    "referrer-policy": re.compile("same-origin$"),
}


class Answer:
    """What came back until the connection closed: the first answer, and the statuses of all."""

    def __init__(self, data, seconds):
        self.data, self.seconds = data, seconds
        self.statuses = [int(found) for found in re.findall(rb"HTTP/1\.[01] (\d{3}) ", data)]
        head, _, self.body = data.partition(b"\r\n\r\n")
        lines = head.decode("latin-1").split("\r\n")
        self.status = int(lines[0].split(" ")[1]) if data.startswith(b"HTTP/1.") else 0  # 0: closed without a word
        self.headers = {}
        for line in lines[1:]:
            name, _, value = line.partition(": ")
            self.headers[name.lower()] = value

    def __repr__(self):
        return f"<{self.statuses} after {self.seconds:.1f} s: {self.data[:300]!r}>"


def connect(server, address="127.0.0.1"):
    return socket.create_connection((address, server.port), START_SECONDS)


def receive(link, seconds):
    """All that comes until the other side closes; fails where it has not within `seconds`."""
    begun, data = time.monotonic(), b""
    while True:
        left = begun + seconds - time.monotonic()
        assert left > 0, f"still open after {seconds} s with {data[:300]!r}"
        if not select.select([link], [], [], left)[0]:
            continue
        try:
            some = link.recv(65536)
        except ConnectionResetError:
            some = b""
        if not some:
            return Answer(data, time.monotonic() - begun)
        data += some


def send(server, data, half_close=True, seconds=START_SECONDS, address="127.0.0.1"):
    """One connection: send, say that no more comes, and read until the end."""
    with connect(server, address) as link:
        try:
            link.sendall(data)
            if half_close:
                link.shutdown(socket.SHUT_WR)
        except OSError:
            pass  # it may refuse before it has all
        return receive(link, seconds)


def request(server, line, *headers, body=b"", host=None):
    """One request by its parts, each text or bytes, and Host and Connection: close put in."""
    def as_bytes(part):
        return part if isinstance(part, bytes) else part.encode("latin-1")
    host = f"localhost:{server.port}" if host is None else host
    own = [f"Host: {host}"] if host else []
    head = b"\r\n".join(as_bytes(part) for part in (line, *own, "Connection: close", *headers))
    return head + b"\r\n\r\n" + body


def assert_safe(answer):
    """The headers that keep a browser from doing harm with an answer, whatever it holds."""
    for name, wanted in SAFE_HEADERS.items():
        assert name in answer.headers and wanted.match(answer.headers[name]), (name, answer)
