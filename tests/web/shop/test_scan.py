"""Scanning a tag: the pair with what is next for it, for those who may see it, and whom to ask for everybody else."""

from __future__ import annotations

from typing import Any

import pytest

from portal.domain.tags import grouped, tag_of
from tests.cast import Cast
from tests.page import Visitor


def test_a_scanned_tag_opens_the_pair_with_what_is_next(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    code = tag_of(booked.pair_id)
    page = tina.send(tina.get("/shop/scan"), code=f"https://elsewhere.example/tag/{code}")
    assert page.response.request.path == f"/shop/pair/{booked.pair_id}"
    assert grouped(code) in page.text
    assert booked.reference in page.text
    assert f"/shop/pairs/{booked.item_id}/check-in" in page.html
    assert "Scan the next tag" in page.text


def test_each_step_is_followed_by_the_next(tina: Visitor, desk: Any) -> None:
    here, done = desk.checked_in(), desk.ground()
    assert f"/shop/pairs/{here.item_id}/record" in tina.get(f"/shop/pair/{here.pair_id}?scanned=yes").html
    assert f"/shop/bookings/{done.id}/hand-back" in tina.get(f"/shop/pair/{done.pair_id}?scanned=yes").html


def test_a_pair_without_work_says_so(tina: Visitor, cast: Cast, desk: Any) -> None:
    assert "Nothing is agreed for this pair" in tina.get(f"/shop/pair/{cast.pair_id}?scanned=yes").text
    # What was only asked for is not agreed.
    asked = desk.asked()
    assert "Nothing is agreed for this pair" in tina.get(f"/shop/pair/{asked.pair_id}?scanned=yes").text


@pytest.mark.parametrize("typed", ["", "   ", "KKKKKK", "K" * 1000, "nothing of ours"])
def test_a_wrong_code_is_told_and_kept(tina: Visitor, typed: str) -> None:
    page = tina.send(tina.get("/shop/scan"), code=typed)
    told = "No pair has this code" if typed.strip() else "Scan a tag, or enter its code"
    assert len(page.errors) == 1
    assert page.errors[0].startswith(told)
    assert page.form()["code"] == typed.strip()


def test_a_right_code_without_a_pair_is_told(tina: Visitor) -> None:
    assert "No pair has this code" in tina.send(tina.get("/shop/scan"), code=tag_of(999_999)).text


def test_the_page_of_a_tag_shows_strangers_whom_to_ask_and_nothing_else(visitor: Visitor, cast: Cast) -> None:
    page = visitor.get(f"/tag/{tag_of(cast.pair_id)}")
    assert "Hand them in at the workshop" in page.text
    assert "Sign in, if they are yours" in page.text
    other = visitor.get(f"/tag/{tag_of(999_999)}")
    # A pair that is not there has the same page.
    assert page.text.replace(grouped(tag_of(cast.pair_id)), "") == other.text.replace(
        grouped(tag_of(999_999)), ""
    )
    for words in ("Alice", "Fennmark"):
        assert words not in page.html
    visitor.get("/tag/KKKKKK", status=404)


def test_whoever_may_see_the_pair_is_led_to_it(visitor: Visitor, tina: Visitor, cast: Cast) -> None:
    address = f"/tag/{tag_of(cast.pair_id)}"
    alice, cora = visitor.as_(cast.alice), visitor.as_(cast.cora)
    assert alice.raw("GET", address).location == f"/my/pairs/{cast.pair_id}"
    assert tina.raw("GET", address).location == f"/shop/pair/{cast.pair_id}"
    assert "Hand them in at the workshop" in cora.get(address).text
    # Who is signed in already is not told to sign in.
    assert "Sign in, if" not in cora.get(address).text
