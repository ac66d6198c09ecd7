"""A pair as the workshop sees it."""

from __future__ import annotations

from typing import Any

from tests.cast import Cast
from tests.page import Visitor


def test_a_pair_shows_its_facts_its_owner_and_what_was_ground(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    page = tina.get(f"/shop/pair/{booked.pair_id}")
    for words in (
        "Fennmark",
        "187 cm",
        "Alice",
        "alice@example.test",
        "1.15 / 1.14 / 1.13",
        "Tina",
        booked.reference,
    ):
        assert words in page.text
    assert "Base at its thinnest point: 1.13 mm. The workshop's minimum is 0.50 mm." in page.text


def test_a_pair_of_a_junior_shows_the_club_and_no_more_than_a_name(tina: Visitor, cast: Cast) -> None:
    text = tina.get(f"/shop/pair/{cast.club_pair_id}").text
    assert "Alder Valley Ski Club" in text
    assert "Junia" in text
    assert "2013" not in text


def test_a_pair_that_was_never_ground_says_so(tina: Visitor, cast: Cast) -> None:
    text = tina.get(f"/shop/pair/{cast.pair_id}").text
    assert "The base was never measured here" in text
    assert "This pair was never ground here" in text
    assert "This pair was never part of a booking" in text
