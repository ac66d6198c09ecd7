"""Papers of an order for the coach: who gets them, and what never stands on them."""

from __future__ import annotations

from typing import Any

import pytest

from portal.domain.tags import grouped, tag_of
from portal.queries import bookings as find_bookings
from tests import make
from tests.cast import Cast
from tests.documents.reading import text_of
from tests.page import Visitor

NAMES = ("packing-list", "handback-list", "tags")


@pytest.mark.parametrize("name", NAMES)
def test_a_confirmed_order_has_its_papers(visitor: Visitor, cast: Cast, clubhouse: Any, name: str) -> None:
    other = clubhouse.pair()
    order_id = clubhouse.ordered(cast.club_pair_id, other, confirmed=True)
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url(f"/orders/{order_id}"))
    (address,) = [link for link in page.links if f"/{name}.pdf" in link][:1]
    paper = cora.raw("GET", address)
    assert paper.mimetype == "application/pdf"
    text = text_of(paper.data)
    assert grouped(tag_of(other)) in text
    assert "2013" not in text, "a birth year stays at home"
    assert ("Junia" in text) == (name != "tags")


def test_nobody_else_finds_them(visitor: Visitor, cast: Cast, clubhouse: Any) -> None:
    order_id = clubhouse.ordered(confirmed=True)
    for name in NAMES:
        address = clubhouse.url(f"/orders/{order_id}/{name}.pdf")
        for who in (cast.dora, cast.alice, cast.carl):
            assert visitor.as_(who).raw("GET", address).status_code == 404
            assert visitor.as_(who).raw("GET", f"/shop/crates/{order_id}/{name}.pdf").status_code == 404
        assert visitor.as_(cast.tina).raw("GET", f"/shop/crates/{order_id}/{name}.pdf").status_code == 200
    # Another club's address leads to none of this club's orders, to whoever manages that club either.
    other = f"/club/{cast.other_club_id}/orders/{order_id}/tags.pdf"
    assert visitor.as_(cast.dora).raw("GET", other).status_code == 404


def test_what_is_not_agreed_or_no_order_or_no_paper_has_none(
    visitor: Visitor, cast: Cast, clubhouse: Any, database: Any
) -> None:
    cora, tina = visitor.as_(cast.cora), visitor.as_(cast.tina)
    asked = clubhouse.ordered()
    assert "Packing list" not in cora.get(clubhouse.url(f"/orders/{asked}")).text
    assert cora.raw("GET", clubhouse.url(f"/orders/{asked}/tags.pdf")).status_code == 404
    agreed = clubhouse.ordered(clubhouse.pair(), confirmed=True)
    assert cora.raw("GET", clubhouse.url(f"/orders/{agreed}/bill.pdf")).status_code == 404
    with database.write.begin() as session:
        alice = make.find_people.one(session, cast.alice.person_id)
        own = make.booking(session, alice).id
    assert tina.raw("GET", f"/shop/crates/{own}/packing-list.pdf").status_code == 404


def test_the_code_of_the_list_leads_everybody_to_their_own_page(
    visitor: Visitor, cast: Cast, clubhouse: Any, database: Any
) -> None:
    order_id = clubhouse.ordered(confirmed=True)
    with database.read() as session:
        reference = find_bookings.whole(session, order_id).reference
    address = f"/order/{reference}"
    assert visitor.as_(cast.cora).raw("GET", address).location == clubhouse.url(f"/orders/{order_id}")
    assert visitor.as_(cast.tina).raw("GET", address.lower()).location.startswith("/shop/")
    for who in (cast.dora, cast.alice):
        assert visitor.as_(who).raw("GET", address).status_code == 404
    assert visitor.as_(cast.tina).raw("GET", "/order/AAA-AAAA").status_code == 404
    # A stranger learns nothing: a wrong reference leads to the same page.
    for path in (address, "/order/AAA-AAAA"):
        assert visitor.raw("GET", path).location.startswith("/sign-in")
