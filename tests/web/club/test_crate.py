"""The coach sees what came of an order while its crate is unpacked, and afterwards."""

from __future__ import annotations

from typing import Any

from portal.db.engine import Database
from portal.domain.arrivals import CheckIn, Condition, Side
from portal.queries import crates as find_crates
from portal.services import arrivals, crates
from tests import make
from tests.cast import Cast
from tests.page import Visitor


def test_the_order_shows_the_crate_as_it_is_unpacked_and_looks_again(
    visitor: Visitor, cast: Cast, clubhouse: Any, database: Database
) -> None:
    first, second, extra = (clubhouse.pair(model=f"Crow {number}") for number in range(3))
    order_id = clubhouse.ordered(first, second, confirmed=True)
    cora, part = visitor.as_(cast.cora), clubhouse.url(f"/orders/{order_id}/crate")
    page = cora.get(clubhouse.url(f"/orders/{order_id}"))
    assert f'data-live="{part}"' in page.html
    assert 'data-again="30"' in page.html
    assert "The crate" not in page.text.replace("Papers for the crate", "")

    def unpack(*pairs: int) -> None:
        with database.write.begin() as session:
            for pair_id in pairs:
                crates.scan(session, cast.tina, order_id, pair_id, make.NOW)

    unpack(first, extra)
    page = cora.get(clubhouse.url(f"/orders/{order_id}"))
    for words in (
        "Being unpacked 1 of 2 pairs are here.",
        "Not found yet",
        "Junia: Fennmark Crow 1",
        "Crow 2",
    ):
        assert words in page.text, words
    shown = cora.raw("GET", part).get_data(as_text=True)
    assert 'data-again="5"' in shown
    assert "<html" not in shown
    assert "1 of 2 pairs are here." in shown
    unpack(second)
    with database.write.begin() as session:
        found = CheckIn(conditions=(Condition("delamination", Side.BOTH),))
        order = find_crates.order(session, cast.tina, order_id)
        arrivals.correct(session, cast.tina, order.items[1].id, found, (), make.NOW)
        crates.close(session, cast.tina, order_id, make.NOW)
    page = cora.get(clubhouse.url(f"/orders/{order_id}"))
    for words in (
        "Unpacked 2 of 2 pairs are here.",
        "Junia: Fennmark Crow 1 187 cm: Base or sidewall come loose",
    ):
        assert words in page.text, words
    assert "data-live" not in page.html, "nothing is left to wait for"


def test_nobody_else_sees_it(visitor: Visitor, cast: Cast, clubhouse: Any) -> None:
    order_id = clubhouse.ordered(confirmed=True)
    part = clubhouse.url(f"/orders/{order_id}/crate")
    for who in (cast.dora, cast.alice, cast.carl, cast.tina):
        assert visitor.as_(who).raw("GET", part).status_code == 404
    other = f"/club/{cast.other_club_id}/orders/{order_id}/crate"
    assert visitor.as_(cast.dora).raw("GET", other).status_code == 404
