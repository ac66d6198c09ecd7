"""Scanning a tag with a phone: a photo of it, or what the browser read by itself."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pytest
import segno

from portal.domain.tags import tag_of
from tests.cast import Cast
from tests.page import Page, Visitor


def code(*texts: str) -> bytes:
    """A picture with the square codes of these texts side by side."""
    from PIL import Image

    table = Image.new("RGB", (600 * max(1, len(texts)), 600), "white")
    for number, text in enumerate(texts):
        kept = BytesIO()
        segno.make(text, micro=False).save(kept, kind="png", scale=10, border=4)
        kept.seek(0)
        table.paste(Image.open(kept).convert("RGB").resize((560, 560)), (600 * number + 20, 20))
    written = BytesIO()
    table.save(written, "PNG")
    return written.getvalue()


def shoot(tina: Visitor, photo: bytes, name: str = "photo.png") -> Page:
    page = tina.get("/shop/scan/camera")
    given = {**page.form(), "photo": (BytesIO(photo), name)}
    return Page(
        tina.client.post(
            "/shop/scan/camera", data=given, content_type="multipart/form-data", follow_redirects=True
        )
    )


def test_a_photo_of_a_tag_opens_the_pair_with_what_is_next(tina: Visitor, desk: Any) -> None:
    assert "/shop/scan/camera" in tina.get("/shop/scan").links
    booked = desk.confirmed()
    page = shoot(tina, code(f"https://rillbook.example/tag/{tag_of(booked.pair_id)}"))
    assert page.response.request.path == f"/shop/pair/{booked.pair_id}"
    assert f"/shop/pairs/{booked.item_id}/check-in" in page.html
    # The next tag is scanned the same way.
    assert "/shop/scan/camera" in page.links


def test_what_the_browser_read_opens_the_pair_too(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    page = tina.send(
        tina.get("/shop/scan/camera"), code=f"https://rillbook.example/tag/{tag_of(booked.pair_id)}"
    )
    assert page.response.request.path == f"/shop/pair/{booked.pair_id}"


@pytest.mark.parametrize(
    ("photo", "told"),
    [
        (b"no photo", "This is no photo that can be read."),
        (code(), "No square code can be read in this photo."),
        (code("https://elsewhere.example/ticket"), "No pair has the code in this photo."),
        (code(f"https://rillbook.example/tag/{tag_of(999_999)}"), "No pair has the code in this photo."),
        (code("x" * 501), "No pair has the code in this photo."),
    ],
    ids=["text", "nothing", "elsewhere", "no pair", "long"],
)
def test_a_photo_that_does_not_help_says_what_to_do(tina: Visitor, photo: bytes, told: str) -> None:
    page = shoot(tina, photo)
    assert len(page.errors) == 1
    assert page.errors[0].startswith(told)


def test_a_photo_of_two_tags_is_not_guessed_at(tina: Visitor, cast: Cast) -> None:
    mine, other = (f"https://rillbook.example/tag/{tag_of(one)}" for one in (cast.pair_id, cast.club_pair_id))
    assert shoot(tina, code(mine, other)).errors == [
        "There are several tags in this photo. Take one tag alone"
    ]
    # A tag beside another square code is no riddle.
    page = shoot(tina, code(mine, "https://elsewhere.example"))
    assert page.response.request.path == f"/shop/pair/{cast.pair_id}"


def test_no_photo_is_told(tina: Visitor) -> None:
    assert tina.send(tina.get("/shop/scan/camera")).errors == ["Take a photo of a tag"]


def test_a_photo_as_a_phone_takes_it_is_let_in_here_and_nowhere_else(tina: Visitor, cast: Cast) -> None:
    # What stands behind the end of a picture is not looked at, but sent.
    large = code(f"https://rillbook.example/tag/{tag_of(cast.pair_id)}") + b"\0" * 6_000_000
    assert shoot(tina, large).response.request.path == f"/shop/pair/{cast.pair_id}"
    for path, size in (("/shop/scan/camera", 15_100_000), ("/shop/scan", 2_100_000)):
        answer = tina.raw("POST", path, data=b"x" * size, content_type="multipart/form-data; boundary=x")
        assert answer.status_code == 413, path


def test_the_camera_opens_on_this_page_only_and_for_staff_only(
    tina: Visitor, visitor: Visitor, cast: Cast
) -> None:
    policy = tina.raw("GET", "/shop/scan/camera").headers["Permissions-Policy"]
    assert "camera=(self)" in policy
    assert "microphone=()" in policy
    assert "camera=()" in tina.raw("GET", "/shop/scan").headers["Permissions-Policy"]
    visitor.as_(cast.alice).get("/shop/scan/camera", status=404)
    assert visitor.get("/shop/scan/camera").h1 == "Sign in"
