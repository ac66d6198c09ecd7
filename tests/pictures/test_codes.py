"""Square codes in photos, written by segno and read here."""

from __future__ import annotations

import struct
import zlib
from io import BytesIO
from random import Random
from typing import Any

import pytest
import segno
from PIL import Image, ImageFilter

from portal.domain.tags import tag_of
from portal.pictures.codes import NoPhoto, codes_in

ADDRESS = f"https://rillbook.example/tag/{tag_of(17)}"


def square(text: str = ADDRESS, side: int = 500) -> Image.Image:
    kept = BytesIO()
    segno.make(text, error="m", micro=False).save(kept, kind="png", scale=10, border=4)
    kept.seek(0)
    return Image.open(kept).convert("RGB").resize((side, side))


def photo(*squares: Image.Image, size: tuple[int, int] = (2400, 1800), turned: float = 0) -> Image.Image:
    """Codes on a speckled grey table, seen askew and a little out of focus."""
    speckled = Image.frombytes("L", (240, 180), Random(1).randbytes(240 * 180)).point(
        lambda one: 90 + one // 6
    )
    table = speckled.resize(size).convert("RGB")
    for number, one in enumerate(squares):
        paper = one.rotate(turned, expand=True, fillcolor="white")
        table.paste(paper, (300 + 900 * number, 400))
    return table.filter(ImageFilter.GaussianBlur(2))


def saved(image: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    kept = BytesIO()
    image.save(kept, kind, **more)
    return kept.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
@pytest.mark.parametrize("turned", [0, 17, 90, 200])
def test_a_code_is_read_however_it_is_held(kind: str, turned: float) -> None:
    assert codes_in(saved(photo(square(), turned=turned), kind)) == (ADDRESS,)


def test_a_large_photo_of_a_phone_is_read() -> None:
    large = photo(square(side=900), size=(8000, 6000))
    assert codes_in(saved(large, quality=70)) == (ADDRESS,)


def test_a_photo_that_lies_on_its_side_is_read() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6
    assert codes_in(saved(photo(square()), exif=exif)) == (ADDRESS,)


def test_all_codes_of_a_photo_are_told_each_once() -> None:
    other = ADDRESS.replace(tag_of(17), tag_of(18))
    assert sorted(codes_in(saved(photo(square(), square(other))))) == sorted((ADDRESS, other))
    assert codes_in(saved(photo(square(), square()))) == (ADDRESS,)


def test_a_photo_without_a_code_has_none() -> None:
    assert codes_in(saved(photo())) == ()


def png_of(width: int, height: int) -> bytes:
    """The head of a PNG that says it is so large, with almost nothing in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"0" * 1000))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"no photo",
        b"GIF89a" + b"\0" * 100,
        saved(photo(square()))[:2_000],
        png_of(60_000, 60_000),
        png_of(6_000, 5_001),
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n",
    ],
    ids=["empty", "text", "gif", "cut off", "huge", "large", "svg", "eps"],
)
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    with pytest.raises(NoPhoto):
        codes_in(data)
