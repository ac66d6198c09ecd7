"""What a photo of a pair may be, and how large it is kept."""

from __future__ import annotations

from dataclasses import dataclass

# At most so many with one check-in.
MOST_PHOTOS = 6
# The longer side of what is kept: enough to see a scratch on a base.
LONGEST_SIDE_PX = 1600
# What is read at all: more bytes or pixels than any telephone takes are refused before they are unpacked.
MOST_BYTES = 15_000_000
MOST_PIXELS = 60_000_000
# Formats that are read, as Pillow names them, and what the file field asks for.
FORMATS = ("JPEG", "PNG", "WEBP")
ACCEPTED = "image/jpeg,image/png,image/webp"
# The format that is written.
MIMETYPE = "image/webp"


@dataclass(frozen=True)
class Picture:
    """A photo as it is kept: written anew, upright, with nothing in it but the picture."""

    data: bytes
    width: int
    height: int
    mimetype: str = MIMETYPE
