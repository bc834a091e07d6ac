"""Pictures made by hand, and what is inside one that comes back. Sources: W3C PNG, second edition, 5; ITU-T T.81, annex B; CIPA DC-008 (Exif)."""
import struct
import zlib

SECRET = b"52.5200 N 13.4050 E"  # what a camera would write beside the pixels; an invented place


def chunk(kind, content):
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def png(width, height, *extra, pixels=None):
    """Grey stripes, with further chunks."""
    rows = pixels if pixels is not None else b"".join(b"\0" + bytes((x * 3 + y) % 256 for x in range(width)) for y in range(height))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)) + b"".join(extra)
            + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))


def with_secret(jpeg, orientation):
    """The JPEG with an Exif segment that turns it and names a place, a comment, and something behind its end."""
    ifd = struct.pack("<HHHIHHHHIII", 2, 0x0112, 3, 1, orientation, 0, 0x010E, 2, len(SECRET), 38, 0)
    exif = b"Exif\0\0II*\0\x08\0\0\0" + ifd + SECRET
    app1 = b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif
    comment = b"\xff\xfe" + struct.pack(">H", len(SECRET) + 2) + SECRET
    return jpeg[:2] + app1 + comment + jpeg[2:] + SECRET


def jpeg_size(jpeg):
    """(width, height) by its frame header."""
    at = 2
    while jpeg[at] == 0xFF:
        marker, length = jpeg[at + 1], struct.unpack(">H", jpeg[at + 2:at + 4])[0]
        if marker in (0xC0, 0xC1, 0xC2):
            height, width = struct.unpack(">HH", jpeg[at + 5:at + 9])
            return width, height
        at += 2 + length
    raise AssertionError("no frame header")
