"""A picture of a ski base as somebody might photograph it: invented, and drawn here."""

from __future__ import annotations

from io import BytesIO
from random import Random

from PIL import Image, ImageDraw, ImageFilter

from portal.domain.photos import Picture
from portal.pictures.photos import cleaned

WIDTH, HEIGHT = 1200, 800
BASE, BENCH, RILL, GROOVE = (52, 54, 58), (178, 164, 142), (74, 77, 82), (28, 29, 32)
BURN, SCRATCH = (120, 118, 112), (206, 204, 198)
LEFT, RIGHT = 260, 940


def drawn(rng: Random, *, burnt: bool) -> Picture:
    """The base from above, with its middle groove, the rills of an old structure, and a burn or scratches."""
    picture = Image.new("RGB", (WIDTH, HEIGHT), BENCH)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((LEFT, 0, RIGHT, HEIGHT), fill=BASE)
    for x in range(LEFT + 8, RIGHT, 9):
        pen.line((x, 0, x + rng.randrange(-3, 4), HEIGHT), fill=RILL, width=2)
    middle = (LEFT + RIGHT) // 2
    pen.rectangle((middle - 34, 0, middle + 34, HEIGHT), fill=GROOVE)
    if burnt:
        patch = Image.new("L", picture.size)
        ImageDraw.Draw(patch).ellipse((LEFT + 60, 260, middle - 60, 560), fill=200)
        picture.paste(Image.new("RGB", picture.size, BURN), mask=patch.filter(ImageFilter.GaussianBlur(24)))
    for _ in range(2 if burnt else 7):
        x, y = rng.randrange(LEFT + 20, RIGHT - 60), rng.randrange(20, HEIGHT - 160)
        pen.line((x, y, x + rng.randrange(-30, 30), y + rng.randrange(60, 150)), fill=SCRATCH, width=3)
    out = BytesIO()
    picture.save(out, "PNG")
    return cleaned(out.getvalue())
