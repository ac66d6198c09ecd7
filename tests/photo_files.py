"""Real bytes of photos, good and bad, drawn here."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO

from PIL import Image, ImageDraw

PLACE = "59.9 north"
GPS_INFO, MAKE, ORIENTATION, COMMENT = 0x8825, 0x010F, 0x0112, 0x9286


def base(width: int = 400, height: int = 300) -> Image.Image:
    """A ski base from above: dark, a light stripe on its left half, so that a turn can be seen."""
    picture = Image.new("RGB", (width, height), (40, 44, 48))
    ImageDraw.Draw(picture).rectangle((0, 0, width // 2, height), fill=(200, 205, 210))
    return picture


def jpeg(picture: Image.Image | None = None, *, turned: int = 1) -> bytes:
    """A JPEG as a telephone sends it: with the place, the camera and a remark in its EXIF, and how it was held."""
    exif = Image.Exif()
    exif[MAKE] = "Lumenfjord"
    exif[ORIENTATION] = turned
    exif.get_ifd(0x8769)[COMMENT] = f"ASCII\0\0\0{PLACE}".encode()
    gps = exif.get_ifd(GPS_INFO)
    gps[1], gps[2], gps[3], gps[4] = "N", (59.0, 54.0, 30.0), "E", (10.0, 44.0, 0.0)
    out = BytesIO()
    (picture or base()).save(out, "JPEG", exif=exif, comment=PLACE)
    return out.getvalue()


def png(picture: Image.Image | None = None) -> bytes:
    out = BytesIO()
    (picture or base()).save(out, "PNG")
    return out.getvalue()


def bomb(side: int = 30_000) -> bytes:
    """A PNG of a few hundred bytes that says it is 900 million pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    lines = zlib.compress(bytes(1 + side // 8) * 64, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", lines) + chunk(b"IEND", b"")
